//! A perishable train is inferior by class to a train it meets.

use model::{Diagnostics, Rule, Severity};

use super::waits_for_lesser;
use crate::{Service, train::TrainKind};

/// A perishable train is inferior by class to a train it meets.
pub static RULE: Rule = Rule {
    code: "perishable-inferior",
    severity: Severity::Warning,
    title: "A perishable train is inferior by class to a train it meets.",
    explain: "What spoils should not wait in sidings for a train of no hurry. Give it a class at least \
              as high, or say with `kind` what the other train is.",
    fixture: r#"
--- trains.toml
[trains.1]
class = 3
direction = "east"
from = "Alder"
to = "Birch"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]
kind = "perishable"
meets = [{ train = "2", at = "Birch" }]

[trains.2]
class = 2
direction = "west"
from = "Birch"
to = "Alder"
leave = "8:40 AM"
arrive = "9:20 AM"
engines = ["14"]
kind = "local"
meets = [{ train = "1", at = "Birch" }]
"#,
    rendered: r#"
warning[perishable-inferior]: perishable train 1 of class 3 waits for train 2 of class 2
  --> trains.toml:2:9
   |
 2 | class = 3
   |         ^
...
13 | class = 2
   |         - the other's class
   |
   = help: write `class = 2` or less
"#,
    file: file!(),
};

/// Passenger and express trains go before fruit; nothing else should.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    let fruit = |kind| kind == TrainKind::Perishable;
    let lesser = |kind| !matches!(kind, Some(TrainKind::Passenger | TrainKind::Express));
    waits_for_lesser(&RULE, service, fruit, lesser, out);
}
