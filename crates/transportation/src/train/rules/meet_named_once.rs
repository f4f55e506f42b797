//! A meet is named by one of the two trains only.

use model::{Diagnostics, Rule, Severity};

use crate::{Service, train::meets_of};

/// A meet is named by one of the two trains only.
pub static RULE: Rule = Rule {
    code: "meet-named-once",
    severity: Severity::Warning,
    title: "A meet is named by one of the two trains only.",
    explain: "Both crews need to know of a meet: each train names the other and the station.",
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
meets = [{ train = "2", at = "Birch" }]

[trains.2]
class = 2
direction = "west"
from = "Birch"
to = "Alder"
leave = "8:30 AM"
arrive = "9:20 AM"
engines = ["14"]
"#,
    rendered: r#"
warning[meet-named-once]: train 1 meets train 2 at Birch, but train 2 does not say so
  --> trains.toml:9:21
   |
 9 | meets = [{ train = "2", at = "Birch" }]
   |                     ^
10 |
11 | [trains.2]
   |         - the other train
   |
   = help: write `meets = [{ train = "1", at = "Birch" }]` in train 2
"#,
    file: file!(),
};

/// The other train has no meet with this one at all.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    for train in &service.trains {
        for meet in &train.meets {
            let (Some(name), Some(at)) = (&meet.train, &meet.at) else {
                continue;
            };
            let Some(other) = service.find_train(&name.value).map(|id| service.train(id)) else {
                continue;
            };
            if meets_of(other, train).next().is_none() && name.value != train.symbol.value {
                let message = format!(
                    "train {} meets train {} at {}, but train {} does not say so",
                    train.symbol.value, name.value, at.value, name.value
                );
                let found = RULE
                    .at(name.span, message)
                    .also(other.symbol.span, "the other train");
                out.push(found.help(format!(
                    "write `meets = [{{ train = \"{}\", at = \"{}\" }}]` in train {}",
                    train.symbol.value, at.value, name.value
                )));
            }
        }
    }
}
