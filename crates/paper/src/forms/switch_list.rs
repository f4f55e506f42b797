//! A train's switch list: what it sets out and picks up at each station, in running order, and what it
//! should look like when it leaves.

use serde::Serialize;
use transportation::{
    MadeUp,
    make_up::{CarMove, Haul},
};

use crate::{
    code::segment,
    form::{Form, Sheet},
    session::Session,
    words::Wording,
};

/// A switch list for each train.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SwitchLists {
    /// Each train's.
    pub trains: Vec<SwitchList>,
}

/// A train's work.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SwitchList {
    /// Number or symbol.
    pub symbol: String,
    /// Its name, or what it is for.
    pub name: String,
    /// Its engines.
    pub power: String,
    /// From where to where, and when.
    pub run: String,
    /// Its work, station by station.
    pub stations: Vec<Work>,
    /// Its page in the office.
    pub page: String,
}

/// The page of a train in the office.
pub(super) fn train_page(symbol: &str) -> String {
    format!("/trains/{}", segment(symbol))
}

/// The work at a station.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Work {
    /// The station.
    pub station: String,
    /// When it is there by the plan.
    pub when: String,
    /// How many minutes are allowed for it.
    pub minutes: String,
    /// Cars it leaves, from the engine.
    pub set_out: Vec<Entry>,
    /// Cars it takes.
    pub pick_up: Vec<Entry>,
    /// The train as it leaves, from the engine: each block with the number of its cars.
    pub leaves_with: Vec<Block>,
    /// What it then hauls, in a sentence.
    pub haul: String,
    /// In place of the cars it sets out, where it ends and all stay in it: a sentence.
    pub ends: String,
}

/// A block of the train.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Block {
    /// Its name.
    pub name: String,
    /// How many cars.
    pub cars: usize,
}

/// A car on the list.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Entry {
    /// Marks and number.
    pub car: String,
    /// What kind of car.
    pub kind: String,
    /// What it carries.
    pub lading: String,
    /// Whether it is loaded.
    pub loaded: bool,
    /// Where it is put or found.
    pub place: String,
    /// Where it goes in the end, or the block it goes in.
    pub to: String,
    /// Waybill number.
    pub bill: u32,
    /// What the crew must mind.
    pub mind: String,
}

impl Form for SwitchLists {
    const SHEET: Sheet = Sheet {
        path: "switch-lists.typ",
        text: include_str!("../../forms/switch-lists.typ"),
    };
    const TITLE: &'static str = "switch-list-title";

    fn pages(&self) -> Vec<String> {
        self.trains.iter().map(|train| train.page.clone()).collect()
    }
}

impl SwitchLists {
    /// The lists of all trains that carry something, or of those of these symbols.
    pub fn new(session: &Session<'_>, wording: &Wording, only: Option<&[String]>) -> Self {
        let trains = session
            .made_up
            .iter()
            .filter(|made_up| {
                let symbol = &session.train(made_up.train).symbol.value;
                only.is_none_or(|only| only.contains(symbol)) && made_up.cars() > 0
            })
            .map(|made_up| SwitchList::new(session, wording, made_up))
            .collect();
        Self { trains }
    }
}

impl SwitchList {
    /// The list of one train.
    pub fn new(session: &Session<'_>, wording: &Wording, made_up: &MadeUp) -> Self {
        let train = session.train(made_up.train);
        let plan = session.planned(made_up.train);
        let engines: Vec<&str> = train.engines.iter().map(|e| e.value.as_str()).collect();
        let stations = made_up
            .works
            .iter()
            .enumerate()
            .map(|(at, work)| {
                let call = plan.and_then(|plan| plan.call(work.station));
                Work {
                    station: session.station(work.station).to_owned(),
                    when: call.map_or_else(String::new, |call| session.time(call.arrive)),
                    minutes: call
                        .and_then(|call| call.work)
                        .map_or_else(String::new, |work| {
                            format!("{:.0} {}", work.minutes(), wording.at("minutes"))
                        }),
                    set_out: entries(session, wording, work.station, &work.set_out),
                    pick_up: entries(session, wording, work.station, &work.pick_up),
                    leaves_with: blocks(&made_up.consist_after(at)),
                    haul: made_up
                        .hauls
                        .get(at)
                        .map_or_else(String::new, |haul| hauled(session, wording, haul)),
                    ends: String::new(),
                }
            })
            .filter(|work| !work.set_out.is_empty() || !work.pick_up.is_empty())
            .collect();
        let run =
            [&train.from, &train.to].map(|end| end.as_ref().map_or("", |end| end.value.as_str()));
        let leaves = plan
            .and_then(|plan| plan.hours())
            .map(|(leaves, _)| leaves)
            .or(train.leave.map(|leave| leave.value));
        Self {
            page: train_page(&train.symbol.value),
            symbol: train.symbol.value.clone(),
            name: train.name.clone().unwrap_or_else(|| {
                train
                    .kind
                    .map_or_else(String::new, |kind| kind.value.word().to_owned())
            }),
            power: engines.join(", "),
            run: format!(
                "{} {} {}{}",
                run[0],
                wording.at("run-to"),
                run[1],
                leaves.map_or_else(String::new, |leaves| format!(
                    ", {} {}",
                    wording.at("leaves"),
                    session.time(leaves)
                ))
            ),
            stations,
        }
    }
}

fn entries(
    session: &Session<'_>,
    wording: &Wording,
    station: engineering::ids::StationId,
    moves: &[CarMove],
) -> Vec<Entry> {
    moves
        .iter()
        .map(|car_move| {
            let car = session.car(car_move.car);
            let bill = session.bill(car_move.bill);
            let mut mind: Vec<String> = bill.map_or_else(Vec::new, |bill| {
                bill.restrictions
                    .iter()
                    .map(|restriction| restriction.words(|time| session.time(time)))
                    .collect()
            });
            if car_move.off_spot {
                mind.push(wording.at("off-spot").to_owned());
            }
            Entry {
                car: car.name.value.clone(),
                kind: car
                    .kind
                    .map_or_else(String::new, |kind| kind.value.word().to_owned()),
                lading: bill.map_or_else(String::new, |bill| {
                    session.lading(bill, wording.at("empty"))
                }),
                loaded: bill.is_some_and(|bill| bill.state == traffic::CarLoad::Loaded),
                place: session.place(station, car_move.track, car_move.spot),
                to: bill.map_or_else(|| car_move.block.clone(), |bill| session.stand(&bill.to)),
                bill: car_move.bill.0,
                mind: mind.join("; "),
            }
        })
        .collect()
}

pub(super) fn blocks(consist: &[&CarMove]) -> Vec<Block> {
    let mut out: Vec<Block> = vec![];
    for car in consist {
        match out.last_mut() {
            Some(block) if block.name == car.block => block.cars += 1,
            _ => out.push(Block {
                name: car.block.clone(),
                cars: 1,
            }),
        }
    }
    out
}

fn hauled(session: &Session<'_>, wording: &Wording, haul: &Haul) -> String {
    format!(
        "{} {}, {:.0} {}, {}",
        haul.cars,
        wording.at("cars"),
        haul.tons,
        wording.at("tons"),
        session.railroad.identity.units.show(haul.length),
    )
}
