//! A planned day, ready to be run many times.

use engineering::station::StationKind;
use railroad::Railroad;

use super::{Booked, Meaning, Sort, Worked};
use crate::day::{Day, Kind};

/// The day with what its operations mean.
pub fn worked<'a>(railroad: &Railroad, day: &'a Day) -> Worked<'a> {
    let parts = &day.parts;
    let base = parts.base;
    let booked = day
        .plan
        .trains
        .iter()
        .map(|train| {
            let kind = |at: usize| {
                train
                    .calls
                    .get(at)
                    .map(|call| railroad.way.station(call.station).kind)
            };
            Booked {
                name: train.symbol.clone(),
                class: train.class,
                places: train
                    .calls
                    .iter()
                    .map(|call| railroad.way.station(call.station).name.value.clone())
                    .collect(),
                due: train
                    .calls
                    .last()
                    .and_then(|call| call.due_arrive)
                    .map(|due| due.seconds() - base),
                from_staging: kind(0) == Some(StationKind::Staging),
            }
        })
        .collect();
    let meanings = day
        .problem
        .trains
        .iter()
        .enumerate()
        .map(|(train, one)| {
            (0..one.operations.len())
                .map(|operation| {
                    let part = parts.operations.get(train)?.get(operation)?;
                    Some(Meaning {
                        train: part.train,
                        call: part.call,
                        sort: match part.kind {
                            Kind::Before => Sort::Before,
                            Kind::Open => Sort::Open,
                            Kind::Station => Sort::Station,
                            Kind::After => Sort::After,
                        },
                    })
                })
                .collect()
        })
        .collect();
    Worked {
        problem: &day.problem,
        plan: &day.solution,
        meanings,
        resources: day.problem.resources.clone(),
        booked,
    }
}
