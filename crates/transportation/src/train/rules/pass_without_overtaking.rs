//! Two trains of one direction are to pass, but neither overtakes the other.

use model::{Diagnostics, Rule, Severity, Spanned};

use crate::Service;

/// Two trains of one direction are to pass, but neither overtakes the other.
pub static RULE: Rule = Rule {
    code: "pass-without-overtaking",
    severity: Severity::Warning,
    title: "Two trains of one direction are to pass, but neither overtakes the other.",
    explain: "Where two trains run the same way between the same ends, the one that leaves later must \
              arrive earlier, or there is nothing to pass. The times or the meet are wrong.",
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
meets = [{ train = "3", at = "Birch" }]

[trains.3]
class = 2
direction = "east"
from = "Alder"
to = "Birch"
leave = "8:20 AM"
arrive = "9:20 AM"
engines = ["14"]
meets = [{ train = "1", at = "Birch" }]
"#,
    rendered: r#"
warning[pass-without-overtaking]: train 1 leaves and arrives before train 3: neither overtakes
  --> trains.toml:9:21
   |
 9 | meets = [{ train = "3", at = "Birch" }]
   |                     ^
10 |
11 | [trains.3]
   |         - the other train
   |
   = help: take the meet out, or mend the times
"#,
    file: file!(),
};

/// Trains with the same direction and the same ends.
pub(crate) fn check(service: &Service, out: &mut Diagnostics) {
    let text = |text: &Option<Spanned<String>>| text.as_ref().map(|text| text.value.clone());
    for (id, train) in service.train_ids() {
        for name in train.meets.iter().filter_map(|meet| meet.train.as_ref()) {
            let Some(other_id) = service.find_train(&name.value).filter(|other| *other > id) else {
                continue;
            };
            let other = service.train(other_id);
            let (Some(ours), Some(theirs)) = (train.hours(), other.hours()) else {
                continue;
            };
            let together = text(&train.direction) == text(&other.direction)
                && text(&train.from) == text(&other.from)
                && text(&train.to) == text(&other.to);
            // Trains that are never out together are another rule's.
            let apart = ours.1 < theirs.0 || theirs.1 < ours.0;
            let overtakes = (ours.0 <= theirs.0) != (ours.1 <= theirs.1);
            if together && !apart && !overtakes {
                let (first, second) = if ours.0 <= theirs.0 {
                    (train, other)
                } else {
                    (other, train)
                };
                let message = format!(
                    "train {} leaves and arrives before train {}: neither overtakes",
                    first.symbol.value, second.symbol.value
                );
                out.push(
                    RULE.at(name.span, message)
                        .also(other.symbol.span, "the other train")
                        .help("take the meet out, or mend the times"),
                );
            }
        }
    }
}
