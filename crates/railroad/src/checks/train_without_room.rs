//! A train's engines take up all of its length.

use mechanical::{CarKind, EngineKind};
use model::{Diagnostics, Rule, Severity, units::Actual};
use transportation::TrainKind;

use super::context::Context;

/// A train's engines take up all of its length.
pub static RULE: Rule = Rule {
    code: "train-without-room",
    severity: Severity::Warning,
    title: "A train's engines take up all of its length.",
    explain: "`max_length` includes the engines and the caboose; nothing is left for cars.",
    fixture: r#"
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Birch"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]
max_length = "9 in"
"#,
    rendered: r#"
warning[train-without-room]: train 1 may be 9", and its engines and caboose take 1'-2": no car fits
 --> trains.toml:9:15
  |
9 | max_length = "9 in"
  |               ^^^^
  |
  = help: raise `max_length`, or take an engine off
"#,
    file: file!(),
};

/// Engines that are on the roster; the shortest caboose, if the train carries one.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let roster = &context.road.roster;
    let of_kind = |caboose: bool| {
        roster
            .cars
            .iter()
            .filter(move |car| {
                car.kind
                    .is_some_and(|kind| (kind.value == CarKind::Caboose) == caboose)
            })
            .filter_map(|car| car.length.map(|length| length.value))
            .reduce(Actual::min)
    };
    let (caboose, car) = (of_kind(true), of_kind(false));
    for train in &context.road.service.trains {
        let light = train
            .kind
            .is_some_and(|kind| matches!(kind.value, TrainKind::LightEngine | TrainKind::Helper));
        // A motor car is train enough.
        let motor = train.engines.iter().any(|engine| {
            let id = roster.find_engine(&engine.value);
            let kind = id.and_then(|id| roster.engine(id).kind);
            kind.is_some_and(|kind| {
                matches!(kind.value, EngineKind::GasElectric | EngineKind::Electric)
            })
        });
        let carless = train.max_cars.is_some_and(|cars| cars.value == 0);
        let Some(limit) = train.max_length.filter(|_| !light && !motor && !carless) else {
            continue;
        };
        let engines: Actual = train
            .engines
            .iter()
            .filter_map(|engine| roster.find_engine(&engine.value))
            .filter_map(|id| roster.engine(id).length.map(|length| length.value))
            .sum();
        let rear = caboose.filter(|_| train.caboose).unwrap_or(Actual::ZERO);
        let taken = engines + rear;
        if engines > Actual::ZERO && limit.value < taken + car.unwrap_or(Actual::ZERO) {
            let with = if rear > Actual::ZERO {
                "engines and caboose"
            } else {
                "engines"
            };
            let message = format!(
                "train {} may be {}, and its {with} take {}: no car fits",
                train.symbol.value,
                context.show(limit.value),
                context.show(taken)
            );
            out.push(
                RULE.at(limit.span, message)
                    .help("raise `max_length`, or take an engine off"),
            );
        }
    }
}
