//! Two trains name different stations for their meet.

use model::{Diagnostics, Rule, Severity};

use crate::{Service, train::meets_of};

/// Two trains name different stations for their meet.
pub static RULE: Rule = Rule {
    code: "meet-places-differ",
    severity: Severity::Error,
    title: "Two trains name different stations for their meet.",
    explain: "Each would wait for the other at another place.",
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
meets = [{ train = "1", at = "Alder" }]
"#,
    rendered: r#"
error[meet-places-differ]: train 1 meets train 2 at Birch, but train 2 meets it at Alder
  --> trains.toml:9:31
   |
 9 | meets = [{ train = "2", at = "Birch" }]
   |                               ^^^^^
...
19 | meets = [{ train = "1", at = "Alder" }]
   |                               ----- here they meet elsewhere
   |
   = help: write the same station in both trains
"#,
    file: file!(),
};

/// Two trains may meet more than once; a place that the other does not name is wrong.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    for (id, train) in service.train_ids() {
        for meet in &train.meets {
            let (Some(name), Some(at)) = (&meet.train, &meet.at) else {
                continue;
            };
            let Some(other_id) = service.find_train(&name.value).filter(|other| *other > id) else {
                continue;
            };
            let other = service.train(other_id);
            let mut theirs = meets_of(other, train)
                .filter_map(|meet| meet.at.as_ref())
                .peekable();
            let Some(first) = theirs.peek().copied() else {
                continue;
            };
            if theirs.all(|there| there.value != at.value) {
                let message = format!(
                    "train {} meets train {} at {}, but train {} meets it at {}",
                    train.symbol.value, name.value, at.value, name.value, first.value
                );
                out.push(
                    RULE.at(at.span, message)
                        .also(first.span, "here they meet elsewhere")
                        .help("write the same station in both trains"),
                );
            }
        }
    }
}
