//! Two trains that are to meet are never out at the same time.

use model::{Diagnostics, Rule, Severity};

use crate::{Service, train::meets_of};

/// Two trains that are to meet are never out at the same time.
pub static RULE: Rule = Rule {
    code: "meet-never",
    severity: Severity::Error,
    title: "Two trains that are to meet are never out at the same time.",
    explain: "They run on different days, or one has arrived before the other leaves.",
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
leave = "10:00 AM"
arrive = "10:40 AM"
engines = ["14"]
meets = [{ train = "1", at = "Birch" }]
"#,
    rendered: r#"
error[meet-never]: train 1 has arrived before train 2 leaves
  --> trains.toml:9:21
   |
 7 | arrive = "8:40 AM"
   |           ------- arrives
 8 | engines = ["12"]
 9 | meets = [{ train = "2", at = "Birch" }]
   |                     ^
...
16 | leave = "10:00 AM"
   |          -------- leaves
   |
   = help: take the meet out, or change the times or days
"#,
    file: file!(),
};

/// By days, and by the times at the ends. Standing at an end counts as being out.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    for (id, train) in service.train_ids() {
        for meet in &train.meets {
            let Some(name) = &meet.train else { continue };
            // Of the two trains the first says it, unless only the second names the meet.
            let Some(other_id) = service.find_train(&name.value).filter(|other| {
                *other > id
                    || (*other < id && meets_of(service.train(*other), train).next().is_none())
            }) else {
                continue;
            };
            let other = service.train(other_id);
            if !train.shares_a_day_with(other) {
                let message = format!(
                    "trains {} and {} never run on the same day",
                    train.symbol.value, name.value
                );
                let found = RULE
                    .at(name.span, message)
                    .also(train.days.span, "its days");
                out.push(
                    found
                        .also(other.days.span, "the other's days")
                        .help("take the meet out, or change the times or days"),
                );
                continue;
            }
            let (Some(ours), Some(theirs)) = (train.hours(), other.hours()) else {
                continue;
            };
            if ours.1 < theirs.0 || theirs.1 < ours.0 {
                let (early, late) = if ours.1 < theirs.0 {
                    (train, other)
                } else {
                    (other, train)
                };
                let (Some(arrive), Some(leave)) = (early.arrive, late.leave) else {
                    continue;
                };
                let message = format!(
                    "train {} has arrived before train {} leaves",
                    early.symbol.value, late.symbol.value
                );
                let found = RULE.at(name.span, message).also(arrive.span, "arrives");
                out.push(
                    found
                        .also(leave.span, "leaves")
                        .help("take the meet out, or change the times or days"),
                );
            }
        }
    }
}
