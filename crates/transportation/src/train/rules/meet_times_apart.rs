//! Two trains that are to meet at a station are never there together.

use model::{
    Diagnostics, Rule, Severity,
    time::{RailTime, TimeStyle},
};

use crate::{Service, train::Train};

/// Two trains that are to meet at a station are never there together.
pub static RULE: Rule = Rule {
    code: "meet-times-apart",
    severity: Severity::Warning,
    title: "Two trains that are to meet at a station are never there together.",
    explain: "By the times written for that station one has left before the other arrives. Mend the \
              times, or the place.",
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
leave = "8:20 AM"
arrive = "9:00 AM"
engines = ["14"]
meets = [{ train = "1", at = "Birch" }]
"#,
    rendered: r#"
warning[meet-times-apart]: train 2 has left Birch at 8:20 AM, before train 1 arrives at 8:40 AM
 --> trains.toml:9:31
  |
9 | meets = [{ train = "2", at = "Birch" }]
  |                               ^^^^^
  |
  = help: change the times there, or meet elsewhere
"#,
    file: file!(),
};

/// Where both trains write times for the station. At an end a train stands as long as it likes, but
/// not before it has arrived or after it has left.
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
            let (Some(ours), Some(theirs)) = (stay(train, &at.value), stay(other, &at.value))
            else {
                continue;
            };
            // Trains that are never out together are another rule's.
            let (Some(out_ours), Some(out_theirs)) = (train.hours(), other.hours()) else {
                continue;
            };
            if out_ours.1 < out_theirs.0 || out_theirs.1 < out_ours.0 {
                continue;
            }
            let (early, late, gone, comes) = if ours.1 < theirs.0 {
                (train, other, ours.1, theirs.0)
            } else if theirs.1 < ours.0 {
                (other, train, theirs.1, ours.0)
            } else {
                continue;
            };
            let style = TimeStyle::AmPm;
            let message = format!(
                "train {} has left {} at {}, before train {} arrives at {}",
                early.symbol.value,
                at.value,
                gone.show(style),
                late.symbol.value,
                comes.show(style)
            );
            out.push(
                RULE.at(at.span, message)
                    .help("change the times there, or meet elsewhere"),
            );
        }
    }
}

/// From when to when a train can be at a station, by its times there.
fn stay(train: &Train, station: &str) -> Option<(RailTime, RailTime)> {
    let (arrive, leave) = train.time_at(station)?;
    let begins = train
        .from
        .as_ref()
        .is_some_and(|from| from.value == station);
    let ends = train.to.as_ref().is_some_and(|to| to.value == station);
    Some((
        if begins {
            RailTime::from_seconds(i64::MIN)
        } else {
            arrive
        },
        if ends {
            RailTime::from_seconds(i64::MAX)
        } else {
            leave
        },
    ))
}
