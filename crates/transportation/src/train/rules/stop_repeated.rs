//! A train stops twice at the same station.

use model::{Diagnostics, Rule, Severity};

use crate::Service;

/// A train stops twice at the same station.
pub static RULE: Rule = Rule {
    code: "stop-repeated",
    severity: Severity::Warning,
    title: "A train stops twice at the same station.",
    explain: "Stops are listed once each, in the order of the way; the ends of the way are no stops. \
              What a train does at an end is the work of making it up or of yarding it.",
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

[[trains.1.stops]]
station = "Birch"
work = "set out"
"#,
    rendered: r#"
warning[stop-repeated]: train 1 is at Birch twice
  --> trains.toml:11:12
   |
 5 | to = "Birch"
   |       ----- it ends there
...
11 | station = "Birch"
   |            ^^^^^
   |
   = help: list each station once, and the ends not at all
"#,
    file: file!(),
};

/// Stops against the ends and the stops before them.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    for train in &service.trains {
        let ends = [
            (&train.from, "it begins there"),
            (&train.to, "it ends there"),
        ];
        for (at, stop) in train.stops.iter().enumerate() {
            let Some(station) = &stop.station else {
                continue;
            };
            let before = train.stops[..at]
                .iter()
                .filter_map(|stop| stop.station.as_ref());
            let taken = ends
                .iter()
                .filter_map(|(end, word)| end.as_ref().map(|end| (end, *word)))
                .chain(before.map(|station| (station, "first here")))
                .find(|(other, _)| other.value == station.value);
            if let Some((other, word)) = taken {
                let message = format!("train {} is at {} twice", train.symbol.value, station.value);
                out.push(
                    RULE.at(station.span, message)
                        .also(other.span, word)
                        .help("list each station once, and the ends not at all"),
                );
            }
        }
    }
}
