//! A crew's packet: what it runs, with what, under which orders, and what it does at every station, with
//! the town's drawing beside the work.

use engineering::{ids::StationId, station::StationKind};
use serde::Serialize;
use transportation::{
    Train,
    day::{Call, Holds},
};

use super::{
    orders::{Orders, Slip},
    switch_list::{SwitchList, Work, train_page},
};
use crate::{
    form::{Form, Sheet},
    session::{Called, Session},
    words::Wording,
};

/// A packet for one job.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Packet {
    /// The job.
    pub job: String,
    /// On duty when and where.
    pub on_duty: String,
    /// Who works it; empty lines where nobody is called.
    pub people: Vec<String>,
    /// The owner's note on the job.
    pub note: String,
    /// Its trains, in order.
    pub trains: Vec<PacketTrain>,
}

/// A train of the packet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PacketTrain {
    /// Number or symbol.
    pub symbol: String,
    /// Name or purpose.
    pub name: String,
    /// Class and direction, in words.
    pub rank: String,
    /// Its engines.
    pub power: String,
    /// Helper, if it takes one.
    pub helper: String,
    /// The owner's note on it.
    pub note: String,
    /// Every station of its way.
    pub calls: Vec<CallRow>,
    /// Orders addressed to it.
    pub orders: Vec<Slip>,
    /// Its work, with the drawing of each town.
    pub work: Vec<WorkWithDrawing>,
}

/// A station of the way.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CallRow {
    /// The station.
    pub station: String,
    /// When it arrives, if it stops.
    pub arrive: String,
    /// When it leaves or passes.
    pub leave: String,
    /// On which track.
    pub track: String,
    /// What it does: whom it meets and what it works.
    pub what: String,
}

/// The work at a station, with the file of its drawing.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WorkWithDrawing {
    /// The work.
    pub work: Work,
    /// The drawing's file, if there is one.
    pub drawing: String,
}

impl Form for Packet {
    const SHEET: Sheet = Sheet {
        path: "packet.typ",
        text: include_str!("../../forms/packet.typ"),
    };
    const TITLE: &'static str = "packet-title";

    fn page(&self) -> String {
        self.trains
            .first()
            .map_or_else(|| "/crews".into(), |train| train_page(&train.symbol))
    }
}

/// The file of a station's drawing.
fn drawing_file(station: StationId) -> String {
    format!("station-{}", station.index())
}

impl Packet {
    /// The packet of a job, and the drawings it refers to: name and SVG.
    pub fn new(
        session: &Session<'_>,
        wording: &Wording,
        job: &transportation::Job,
    ) -> (Self, Vec<(String, String)>) {
        let mut drawings: Vec<(String, String)> = vec![];
        // A crew gets each town's drawing once, where it first works there.
        let mut drawn: Vec<String> = vec![];
        let service = &session.railroad.service;
        let trains: Vec<PacketTrain> = job
            .trains
            .iter()
            .filter_map(|symbol| service.find_train(&symbol.value))
            .map(|id| {
                let train = session.train(id);
                let work = session
                    .made_up
                    .iter()
                    .find(|made_up| made_up.train == id)
                    .map_or_else(Vec::new, |made_up| {
                        SwitchList::new(session, wording, made_up).stations
                    });
                let work = work
                    .into_iter()
                    .map(|mut work| {
                        // In staging nobody switches: the train stands there whole, and its cars are
                        // listed once, where it begins.
                        let staging = session
                            .railroad
                            .way
                            .find_station(&work.station)
                            .is_some_and(|id| {
                                session.railroad.way.station(id).kind == StationKind::Staging
                            });
                        if staging && work.pick_up.is_empty() {
                            work.ends =
                                format!("{}: {}", wording.at("ends-here"), work.set_out.len());
                        }
                        let drawing = if staging || drawn.contains(&work.station) {
                            String::new()
                        } else {
                            drawn.push(work.station.clone());
                            draw(session, &work.station, &mut drawings)
                        };
                        WorkWithDrawing { work, drawing }
                    })
                    .collect();
                let only = [train.symbol.value.clone()];
                PacketTrain {
                    symbol: train.symbol.value.clone(),
                    name: train.name.clone().unwrap_or_default(),
                    rank: rank(train, wording),
                    power: join(train.engines.iter().map(|engine| engine.value.clone())),
                    helper: helper(train, wording),
                    note: train.note.clone().unwrap_or_default(),
                    calls: calls(session, wording, id),
                    orders: Orders::new(session, wording, Some(&only)).orders,
                    work,
                }
            })
            .collect();
        let mut people = session
            .called
            .iter()
            .find(|called| called.job == job.name.value)
            .map_or_else(Vec::new, Called::words);
        if people.is_empty() {
            people = vec![String::new(); usize::try_from(job.people.value).unwrap_or(1).min(8)];
        }
        let on_duty = [
            job.on_duty.map(|time| session.time(time.value)),
            job.at.as_ref().map(|at| at.value.clone()),
        ];
        let packet = Self {
            job: job.name.value.clone(),
            on_duty: join(on_duty.into_iter().flatten()),
            people,
            note: job.note.clone().unwrap_or_default(),
            trains,
        };
        (packet, drawings)
    }
}

fn join(parts: impl Iterator<Item = String>) -> String {
    parts.collect::<Vec<_>>().join(", ")
}

fn draw(session: &Session<'_>, name: &str, drawings: &mut Vec<(String, String)>) -> String {
    let railroad = session.railroad;
    let Some(id) = railroad.way.find_station(name) else {
        return String::new();
    };
    let file = drawing_file(id);
    if drawings.iter().any(|(drawn, _)| *drawn == file) {
        return file;
    }
    let Some(line) = railroad.way.station(id).line() else {
        return String::new();
    };
    let facts = drawing::track_chart::facts(railroad, line);
    let units = railroad.identity.units;
    let Some(svg) = drawing::track_chart::station(&facts, name, units, 180.0) else {
        return String::new();
    };
    drawings.push((file.clone(), svg));
    file
}

fn rank(train: &Train, wording: &Wording) -> String {
    let class = train
        .class
        .map(|class| wording.at(&format!("class-{}", class.value)).to_lowercase());
    let direction = train.direction.as_ref().map(|way| way.value.clone());
    let kind = train.kind.map(|kind| kind.value.word().to_owned());
    join([kind, class, direction].into_iter().flatten())
}

fn helper(train: &Train, wording: &Wording) -> String {
    let Some(helper) = &train.helper else {
        return String::new();
    };
    let [engine, from, to] = [&helper.engine, &helper.from, &helper.to]
        .map(|word| word.as_ref().map_or("", |word| word.value.as_str()));
    format!("{engine}, {from} {} {to}", wording.at("run-to"))
}

/// Every station of the train's way, by the plan; by the timetable where there is none.
fn calls(session: &Session<'_>, wording: &Wording, id: transportation::TrainId) -> Vec<CallRow> {
    let train = session.train(id);
    let works = |station: &str| {
        let words = train
            .stops
            .iter()
            .filter(|stop| stop.station.as_ref().is_some_and(|at| at.value == station))
            .flat_map(|stop| stop.work.iter().map(|work| work.value.word().to_owned()));
        // Meets are told by the plan, or below.
        words.filter(|word| word != "meet").collect::<Vec<_>>()
    };
    if let Some(plan) = session.planned(id) {
        return plan
            .calls
            .iter()
            .map(|call| {
                let station = session.station(call.station);
                let mut what: Vec<String> = meets(session, call);
                what.extend(works(station));
                CallRow {
                    station: station.to_owned(),
                    arrive: if call.stops {
                        session.time(call.arrive)
                    } else {
                        String::new()
                    },
                    leave: session.time(call.leave),
                    track: call.track.map_or_else(String::new, |track| {
                        session.track(call.station, track).to_owned()
                    }),
                    what: what.join("; "),
                }
            })
            .collect();
    }
    train
        .times()
        .iter()
        .filter_map(|place| {
            let station = &place.station?.value;
            let mut what: Vec<String> = train
                .meets
                .iter()
                .filter(|meet| meet.at.as_ref().is_some_and(|at| at.value == *station))
                .filter_map(|meet| {
                    Some(format!(
                        "{} {}",
                        wording.at("meets"),
                        meet.train.as_ref()?.value
                    ))
                })
                .collect();
            what.extend(works(station));
            Some(CallRow {
                station: station.clone(),
                arrive: place
                    .arrive
                    .map_or_else(String::new, |time| session.time(time.value)),
                leave: place
                    .leave
                    .map_or_else(String::new, |time| session.time(time.value)),
                track: String::new(),
                what: what.join("; "),
            })
        })
        .collect()
}

fn meets(session: &Session<'_>, call: &Call) -> Vec<String> {
    call.meets
        .iter()
        .filter_map(|meet| {
            let other = &session.plan?.trains.get(meet.other.0)?.symbol;
            let holds = match meet.holds {
                Holds::Clear => String::new(),
                holds => format!(", {}", holds.word()),
            };
            Some(format!("{} {other}{holds}", meet.kind.word()))
        })
        .collect()
}
