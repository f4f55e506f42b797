//! The sharpest curve of a line is under three times its longest car.

use std::collections::HashSet;

use engineering::ids::LineId;
use mechanical::{Car, CarKind, EngineKind};
use model::{Diagnostics, Rule, Severity, units::Actual};
use transportation::{Train, TrainKind};

use super::{context::Context, curves::Curves};

/// The sharpest curve of a line is under three times its longest car.
pub static RULE: Rule = Rule {
    code: "curve-sharp-for-cars",
    severity: Severity::Note,
    title: "The sharpest curve of a line is under three times its longest car.",
    explain: "A radius of three times the length of a car lets it run behind others; two and a half \
              times at best, with wide-swinging couplers and care. (Common practice among model \
              railroaders, no source.) Such cars may run, but look for trouble there first.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
curves = [{ from = "4 ft", to = "9 ft", radius = "15 in" }]
"#,
    rendered: r#"
note[curve-sharp-for-cars]: line Main has a curve of 1'-3", 2.5 times the 6" of SMR 101; another car is under 3 times too
 --> lines/main.toml:7:51
  |
7 | curves = [{ from = "4 ft", to = "9 ft", radius = "15 in" }]
  |                                                   ^^^^^
  |
 ::: cars.csv:2:19
  |
2 | SMR,101,XM,boxcar,6 in,1928
  |                   ---- the longest car
  |
  = help: ease it to 1'-6", or keep such cars off the line
"#,
    file: file!(),
};

/// Radius over length.
const RATIO: f64 = 3.0;

/// Once for each line, with the longest car that runs there: passenger cars where passenger trains
/// do, other than motor cars.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let way = &context.road.way;
    let mut cars: Vec<(Actual, &Car)> = context
        .road
        .roster
        .cars
        .iter()
        .filter(|car| car.state.on_the_railroad())
        .filter_map(|car| Some((car.length?.value, car)))
        .collect();
    cars.sort_by(|a, b| b.0.total_cmp(&a.0).then_with(|| a.1.span.cmp(&b.1.span)));
    let freight: Vec<(Actual, &Car)> = cars
        .iter()
        .copied()
        .filter(|(_, car)| !in_passenger_trains(car))
        .collect();
    let passenger = lines_of_passenger_trains(context);
    let curves = Curves::new(way);
    for (id, line) in way.lines() {
        let cars = if passenger.contains(&id) {
            &cars
        } else {
            &freight
        };
        let (Some(sharpest), Some(&(longest, car))) = (curves.of_line(id), cars.first()) else {
            continue;
        };
        if sharpest.value >= longest * RATIO {
            continue;
        }
        let count = cars.partition_point(|(length, _)| *length * RATIO > sharpest.value);
        let others = match count {
            1 => String::new(),
            2 => "; another car is under 3 times too".to_owned(),
            count => format!("; {} other cars are under 3 times too", count - 1),
        };
        let message = format!(
            "line {} has a curve of {}, {:.1} times the {} of {}{others}",
            line.name.value,
            context.show(sharpest.value),
            sharpest.value / longest,
            context.show(longest),
            car.name.value
        );
        let found = RULE.at(sharpest.span, message);
        out.push(
            (match car.length {
                Some(length) => found.also(length.span, "the longest car"),
                None => found,
            })
            .help(format!(
                "ease it to {}, or keep such cars off the line",
                context.show(longest * RATIO)
            )),
        );
    }
}

fn in_passenger_trains(car: &Car) -> bool {
    car.kind.is_some_and(|kind| {
        matches!(
            kind.value,
            CarKind::Coach
                | CarKind::Combine
                | CarKind::Baggage
                | CarKind::Mail
                | CarKind::Diner
                | CarKind::Lounge
                | CarKind::Sleeper
                | CarKind::Business
        )
    })
}

fn lines_of_passenger_trains(context: &Context<'_>) -> HashSet<LineId> {
    let roster = &context.road.roster;
    let motor = |train: &Train| {
        train.engines.iter().any(|engine| {
            let id = roster.find_engine(&engine.value);
            let kind = id.and_then(|id| roster.engine(id).kind);
            kind.is_some_and(|kind| kind.value == EngineKind::GasElectric)
        })
    };
    context
        .trains()
        .filter(|(_, train, _)| {
            let kind = train.kind.map(|kind| kind.value);
            matches!(kind, Some(TrainKind::Passenger | TrainKind::Express)) && !motor(train)
        })
        .flat_map(|(_, _, way)| way.opens.iter().map(|step| step.open.line))
        .collect()
}
