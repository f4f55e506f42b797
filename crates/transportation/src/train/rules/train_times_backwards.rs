//! A train's times go backwards.

use model::{
    Diagnostics, Rule, Severity, Spanned,
    time::{RailSpan, RailTime, TimeStyle},
};

use crate::Service;

/// A train's times go backwards.
pub static RULE: Rule = Rule {
    code: "train-times-backwards",
    severity: Severity::Error,
    title: "A train's times go backwards.",
    explain: "Along its way a train's times only grow. Past midnight they are written `12:30 AM +1` or \
              `24:30`.",
    fixture: r#"
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Birch"
leave = "11:50 PM"
arrive = "12:30 AM"
engines = ["12"]
"#,
    rendered: r#"
error[train-times-backwards]: train 1 arrives at Birch before it leaves Alder
 --> trains.toml:7:11
  |
6 | leave = "11:50 PM"
  |          -------- leaves Alder
7 | arrive = "12:30 AM"
  |           ^^^^^^^^
  |
  = help: if it is the next day, write `12:30 AM +1`
"#,
    file: file!(),
};

/// Each written time against the one before it.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    for train in &service.trains {
        let mut before: Option<(Spanned<RailTime>, String)> = None;
        for place in train.times() {
            let name = place
                .station
                .map_or("a stop", |station| station.value.as_str());
            for (time, word) in [(place.arrive, "arrives at"), (place.leave, "leaves")] {
                let Some(time) = time else { continue };
                let what = format!("{word} {name}");
                if let Some((earlier, said)) = &before
                    && time.value < earlier.value
                {
                    let message = format!("train {} {what} before it {said}", train.symbol.value);
                    let mut found = RULE.at(time.span, message).also(earlier.span, said.clone());
                    // Half a day back is the next morning, not a slip of minutes.
                    if earlier.value.since(time.value).minutes() > 720.0 {
                        let next = time.value + RailSpan::from_minutes(24 * 60);
                        let next = next.show(TimeStyle::AmPm);
                        found = found.help(format!("if it is the next day, write `{next}`"));
                    }
                    out.push(found);
                }
                before = Some((time, what));
            }
        }
    }
}
