//! A stop is shorter than the work done there.

use model::{Diagnostics, Rule, Severity, time::RailSpan};

use crate::Service;

/// A stop is shorter than the work done there.
pub static RULE: Rule = Rule {
    code: "stop-shorter-than-its-work",
    severity: Severity::Warning,
    title: "A stop is shorter than the work done there.",
    explain: "The time between arriving and leaving is less than what `minutes` says the work takes.",
    fixture: r#"
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Cedar"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]

[[trains.1.stops]]
station = "Birch"
arrive = "8:20 AM"
leave = "8:25 AM"
work = "set out"
minutes = "15 min"
"#,
    rendered: r#"
warning[stop-shorter-than-its-work]: train 1 stays 5 min at Birch, but its work takes 15 min
  --> trains.toml:15:12
   |
13 | leave = "8:25 AM"
   |          ------- it leaves
14 | work = "set out"
15 | minutes = "15 min"
   |            ^^^^^^
   |
   = help: leave later, or allow less time for the work
"#,
    file: file!(),
};

/// Stops with both times and minutes.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    for train in &service.trains {
        for stop in &train.stops {
            let (Some(arrive), Some(leave), Some(minutes), Some(station)) =
                (stop.arrive, stop.leave, stop.minutes, &stop.station)
            else {
                continue;
            };
            let stay = leave.value.since(arrive.value);
            if stay >= RailSpan::ZERO && stay < minutes.value {
                let message = format!(
                    "train {} stays {stay} at {}, but its work takes {}",
                    train.symbol.value, station.value, minutes.value
                );
                out.push(
                    RULE.at(minutes.span, message)
                        .also(leave.span, "it leaves")
                        .help("leave later, or allow less time for the work"),
                );
            }
        }
    }
}
