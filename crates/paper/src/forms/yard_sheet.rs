//! A yard's sheet: the trains that come with what they bring, and those that leave with the blocks they
//! take, by time.

use engineering::{ids::StationId, station::StationKind};
use model::time::RailTime;
use serde::Serialize;
use transportation::make_up::CarMove;

use super::switch_list::Block;
use crate::{
    code::segment,
    form::{Form, Sheet},
    session::Session,
};

/// Sheets of the yards.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct YardSheets {
    /// A sheet a yard.
    pub yards: Vec<Yard>,
}

/// A yard.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Yard {
    /// The station.
    pub station: String,
    /// Its page in the office.
    pub page: String,
    /// Trains that bring or take cars, by time.
    pub trains: Vec<Row>,
}

/// A train at the yard.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Row {
    /// When it comes or leaves.
    pub time: String,
    /// Number or symbol.
    pub train: String,
    /// On which track.
    pub track: String,
    /// Cars it leaves, by where they go next.
    pub brings: Vec<Block>,
    /// Blocks it takes, from the engine.
    pub takes: Vec<Block>,
    /// How many cars it leaves and takes.
    pub count: [usize; 2],
}

impl Form for YardSheets {
    const SHEET: Sheet = Sheet {
        path: "yard-sheets.typ",
        text: include_str!("../../forms/yard-sheets.typ"),
    };
    const TITLE: &'static str = "yard-sheet-title";

    fn pages(&self) -> Vec<String> {
        self.yards.iter().map(|yard| yard.page.clone()).collect()
    }
}

impl YardSheets {
    /// The sheets of all yards and staging, or of one station.
    pub fn new(session: &Session<'_>, only: Option<&str>) -> Self {
        let yards = session
            .railroad
            .way
            .stations()
            .filter(|(_, station)| match only {
                Some(name) => station.name.value == name,
                None => matches!(station.kind, StationKind::Yard | StationKind::Staging),
            })
            .map(|(id, station)| Yard {
                station: station.name.value.clone(),
                page: format!("/stations/{}", segment(&station.name.value)),
                trains: rows(session, id),
            })
            .collect();
        Self { yards }
    }
}

fn rows(session: &Session<'_>, station: StationId) -> Vec<Row> {
    let mut rows: Vec<(Option<RailTime>, Row)> = session
        .made_up
        .iter()
        .filter_map(|made_up| {
            let work = made_up.work_at(station)?;
            let call = session
                .planned(made_up.train)
                .and_then(|plan| plan.call(station));
            let time = call.map(|call| call.arrive);
            let train = session.train(made_up.train);
            Some((
                time,
                Row {
                    time: time.map_or_else(String::new, |time| session.time(time)),
                    train: train.symbol.value.clone(),
                    track: call
                        .and_then(|call| call.track)
                        .map_or_else(String::new, |track| {
                            session.track(station, track).to_owned()
                        }),
                    brings: onward(session, &work.set_out),
                    takes: super::switch_list::blocks(&work.pick_up.iter().collect::<Vec<_>>()),
                    count: [work.set_out.len(), work.pick_up.len()],
                },
            ))
        })
        .filter(|(_, row)| row.count != [0, 0])
        .collect();
    rows.sort_by(|a, b| (a.0, &a.1.train).cmp(&(b.0, &b.1.train)));
    rows.into_iter().map(|(_, row)| row).collect()
}

/// Cars by the station to which their waybills go.
fn onward(session: &Session<'_>, cars: &[CarMove]) -> Vec<Block> {
    let mut out: Vec<Block> = vec![];
    for car in cars {
        let name = session.bill(car.bill).map_or_else(
            || car.block.clone(),
            |bill| session.station(bill.to.station).to_owned(),
        );
        match out.iter_mut().find(|block| block.name == name) {
            Some(block) => block.cars += 1,
            None => out.push(Block { name, cars: 1 }),
        }
    }
    out
}
