//! A train is to meet itself.

use model::{Diagnostics, Rule, Severity};

use crate::Service;

/// A train is to meet itself.
pub static RULE: Rule = Rule {
    code: "meet-with-itself",
    severity: Severity::Error,
    title: "A train is to meet itself.",
    explain: "The number of the other train is a slip.",
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
meets = [{ train = "1", at = "Birch" }]
"#,
    rendered: r#"
error[meet-with-itself]: train 1 would meet itself
 --> trains.toml:9:21
  |
9 | meets = [{ train = "1", at = "Birch" }]
  |                     ^
  |
  = help: name the other train
"#,
    file: file!(),
};

/// By number.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    for train in &service.trains {
        for name in train.meets.iter().filter_map(|meet| meet.train.as_ref()) {
            if name.value == train.symbol.value {
                out.push(
                    RULE.at(name.span, format!("train {} would meet itself", name.value))
                        .help("name the other train"),
                );
            }
        }
    }
}
