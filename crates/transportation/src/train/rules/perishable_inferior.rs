//! A perishable train is inferior by class to a train it meets.

use model::{Diagnostics, Rule, Severity};

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
    for train in &service.trains {
        let perishable = train
            .kind
            .is_some_and(|kind| kind.value == TrainKind::Perishable);
        let Some(class) = train.class.filter(|_| perishable) else {
            continue;
        };
        for name in train.meets.iter().filter_map(|meet| meet.train.as_ref()) {
            let Some(other) = service.find_train(&name.value).map(|id| service.train(id)) else {
                continue;
            };
            let before_fruit = matches!(
                other.kind.map(|kind| kind.value),
                Some(TrainKind::Passenger | TrainKind::Express)
            );
            if let Some(theirs) = other.class
                && theirs.value < class.value
                && !before_fruit
            {
                let message = format!(
                    "perishable train {} of class {} waits for train {} of class {}",
                    train.symbol.value, class.value, name.value, theirs.value
                );
                out.push(
                    RULE.at(class.span, message)
                        .also(theirs.span, "the other's class")
                        .help(format!("write `class = {}` or less", theirs.value)),
                );
            }
        }
    }
}
