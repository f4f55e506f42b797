//! The documents of a session, by name, and which forms each is made of.

use transportation::Job;

use crate::{
    form::{Filled, Occasion, fill},
    forms::{
        bulletin::Bulletin,
        call_board::CallBoard,
        car_cards::CarCards,
        interchange::Interchange,
        map::Map,
        orders::Orders,
        packet::Packet,
        plans::Plans,
        restaging::Restaging,
        roster::Roster,
        season::{Season, SeasonReport},
        stations::Stations,
        switch_list::SwitchLists,
        timetable::Timetable,
        tonnage::Tonnage,
        train_sheet::TrainSheet,
        wall_cards::WallCards,
        waybills::Waybills,
        yard_sheet::YardSheets,
    },
    press::PressError,
    session::Session,
};

model::words! {
    /// A document that can be printed.
    pub enum Document {
        Timetable = "timetable", "the employees' timetable with the special instructions";
        Map = "map", "the lines with their stations, and where they join";
        Stations = "stations", "every station by mile, with what its tracks hold";
        Plans = "plans", "each station's tracks drawn, with lengths and spots";
        Tonnage = "tonnage", "what each engine class may take over each line";
        Bulletin = "bulletin", "slow orders, cautions and notices";
        CallBoard = "call board", "who works what, from when";
        TrainSheet = "train sheet", "the dispatcher's record of the day";
        Orders = "orders", "train orders and clearances";
        Packets = "packets", "for each crew: its trains, orders and work with the towns' drawings";
        SwitchLists = "switch lists", "for each train: what it sets out and picks up";
        YardSheets = "yard sheets", "for each yard: what comes and what leaves";
        Waybills = "waybills", "a waybill for each car that moves, to be cut apart";
        Interchange = "interchange", "cars received from and delivered to other roads";
        Roster = "roster", "every engine and car by its record";
        CarCards = "car cards", "a card for each car, to be cut apart and folded";
        WallCards = "wall cards", "for the door, the desks and each station: codes that lead to the office";
        Restaging = "restaging list", "what is done by hand in staging between sessions";
        SeasonReport = "season report", "what many sessions come to, with charts";
    }
}

impl Document {
    /// What one session needs: everything but what is printed once and kept.
    pub const SESSION: [Self; 14] = [
        Self::Timetable,
        Self::Map,
        Self::Stations,
        Self::Tonnage,
        Self::Bulletin,
        Self::CallBoard,
        Self::TrainSheet,
        Self::Orders,
        Self::Packets,
        Self::SwitchLists,
        Self::YardSheets,
        Self::Waybills,
        Self::Interchange,
        Self::Restaging,
    ];
}

/// For whom a document is printed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub enum For {
    /// For everybody.
    #[default]
    All,
    /// For those who work this train.
    Train(String),
    /// For these jobs: one, or all those of a person.
    Jobs(Vec<String>),
    /// For this station.
    Station(String),
}

/// What the owner adds to the forms in words of their own.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Own {
    /// Special instructions for the timetable: paragraphs with empty lines between.
    pub instructions: Option<String>,
    /// Notices for the bulletin.
    pub notices: Vec<String>,
    /// Photographs of cars: file name and bytes.
    pub photographs: Vec<(String, Vec<u8>)>,
    /// Whether waybills are slips to be folded and used again.
    pub folded_waybills: bool,
    /// What a season came to, if one was played.
    pub season: Option<Season>,
}

/// Fills in the forms of a document. A document that has nothing for whom it is printed has none.
///
/// # Errors
/// If a form cannot be filled in: a fault of the form.
pub fn forms(
    document: Document,
    session: &Session<'_>,
    occasion: &Occasion,
    whom: &For,
    own: &Own,
) -> Result<Vec<Filled>, PressError> {
    let railroad = session.railroad;
    let identity = &railroad.identity;
    let words = &occasion.wording;
    let symbols = symbols(session, whom);
    let only = symbols.as_deref();
    let station = match whom {
        For::Station(name) => Some(name.as_str()),
        _ => None,
    };
    macro_rules! one {
        ($form:expr) => {
            Ok(vec![fill(&$form, identity, occasion, vec![])?])
        };
    }
    match document {
        Document::Timetable => one!(Timetable::new(
            railroad,
            words,
            occasion.size,
            own.instructions.as_deref(),
        )),
        Document::Map => {
            let wide = Occasion {
                size: occasion.size.sideways(),
                ..occasion.clone()
            };
            let (map, drawings) = Map::new(railroad);
            Ok(vec![fill(&map, identity, &wide, drawings)?])
        }
        Document::WallCards => one!(WallCards::new(railroad, words, station)),
        Document::Restaging => one!(Restaging::new(session, words, station)),
        Document::SeasonReport => match &own.season {
            Some(season) => {
                let (report, drawings) = SeasonReport::new(season);
                Ok(vec![fill(&report, identity, occasion, drawings)?])
            }
            None => Ok(vec![]),
        },
        Document::Stations => one!(Stations::new(railroad, words)),
        Document::Plans => {
            let (plans, drawings) = Plans::new(railroad, station);
            Ok(vec![fill(&plans, identity, occasion, drawings)?])
        }
        Document::Tonnage => one!(Tonnage::new(railroad, words)),
        Document::Bulletin => one!(Bulletin::new(railroad, words, &own.notices)),
        Document::CallBoard => one!(CallBoard::new(session)),
        Document::TrainSheet => {
            let wide = Occasion {
                size: occasion.size.sideways(),
                ..occasion.clone()
            };
            let sheet = TrainSheet::new(session, wide.size);
            Ok(vec![fill(&sheet, identity, &wide, vec![])?])
        }
        Document::Orders => one!(Orders::new(session, words, only)),
        Document::Packets => jobs(session, whom)
            .into_iter()
            .map(|job| {
                let (packet, drawings) = Packet::new(session, words, job);
                fill(&packet, identity, occasion, drawings)
            })
            .collect(),
        Document::SwitchLists => one!(SwitchLists::new(session, words, only)),
        Document::YardSheets => one!(YardSheets::new(session, station)),
        Document::Waybills => one!(Waybills::new(session, words, own.folded_waybills, only)),
        Document::Interchange => one!(Interchange::new(session, words)),
        Document::Roster => one!(Roster::new(railroad)),
        Document::CarCards => {
            let names: Vec<String> = own
                .photographs
                .iter()
                .map(|(name, _)| name.clone())
                .collect();
            let mut cards = fill(
                &CarCards::new(session, None, &names),
                identity,
                occasion,
                vec![],
            )?;
            for (name, bytes) in &own.photographs {
                cards.add_picture(name.clone(), bytes.clone());
            }
            Ok(vec![cards])
        }
    }
}

/// The jobs for whom a packet is printed. Posts that stand have none.
fn jobs<'a>(session: &Session<'a>, whom: &For) -> Vec<&'a Job> {
    session
        .railroad
        .service
        .jobs
        .iter()
        .filter(|job| !job.trains.is_empty())
        .filter(|job| match whom {
            For::All | For::Station(_) => true,
            For::Train(symbol) => job.trains.iter().any(|train| train.value == *symbol),
            For::Jobs(names) => names.contains(&job.name.value),
        })
        .collect()
}

/// The trains for whom a document is printed; all if none are named.
fn symbols(session: &Session<'_>, whom: &For) -> Option<Vec<String>> {
    match whom {
        For::All | For::Station(_) => None,
        For::Train(symbol) => Some(vec![symbol.clone()]),
        For::Jobs(names) => Some(
            session
                .railroad
                .service
                .jobs
                .iter()
                .filter(|job| names.contains(&job.name.value))
                .flat_map(|job| job.trains.iter().map(|train| train.value.clone()))
                .collect(),
        ),
    }
}
