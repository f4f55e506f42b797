//! A passenger or express train is inferior by class to a freight train it meets.

use model::{Diagnostics, Rule, Severity};

use super::waits_for_lesser;
use crate::{Service, train::TrainKind};

/// A passenger or express train is inferior by class to a freight train it meets.
pub static RULE: Rule = Rule {
    code: "passenger-inferior",
    severity: Severity::Warning,
    title: "A passenger or express train is inferior by class to a freight train it meets.",
    explain: "By the timetable the train of the lower class waits: people would sit in a siding for \
              freight. Give it a class at least as high. In the rule books of the period a first-class \
              train is superior to a second-class one, and so on.",
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
kind = "passenger"
meets = [{ train = "2", at = "Birch" }]

[trains.2]
class = 2
direction = "west"
from = "Birch"
to = "Alder"
leave = "8:40 AM"
arrive = "9:20 AM"
engines = ["14"]
kind = "through freight"
meets = [{ train = "1", at = "Birch" }]
"#,
    rendered: r#"
warning[passenger-inferior]: passenger train 1 of class 3 waits for train 2 of class 2
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

/// Fast freights of the first class do run, so that only trains that meet are compared. Perishables
/// may go before a local passenger train.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    let people = |kind| matches!(kind, TrainKind::Passenger | TrainKind::Express);
    let freight = |kind: Option<TrainKind>| {
        kind.is_some_and(|kind| {
            matches!(
                kind,
                TrainKind::ThroughFreight
                    | TrainKind::Local
                    | TrainKind::Transfer
                    | TrainKind::Work
                    | TrainKind::Helper
                    | TrainKind::LightEngine
            )
        })
    };
    waits_for_lesser(&RULE, service, people, freight, out);
}
