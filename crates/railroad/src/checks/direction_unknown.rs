//! A train's direction is none of its line's.

use engineering::ids::LineId;
use model::{Diagnostics, Rule, Severity};
use transportation::Train;

use super::context::Context;

/// A train's direction is none of its line's.
pub static RULE: Rule = Rule {
    code: "direction-unknown",
    severity: Severity::Error,
    title: "A train's direction is none of its line's.",
    explain: "A line names its two directions, `west` and `east` unless it says otherwise.",
    fixture: r#"
--- trains.toml
[trains.1]
class = 2
direction = "estward"
from = "Alder"
to = "Birch"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]
"#,
    rendered: r#"
error[direction-unknown]: line Main has no direction `estward`
 --> trains.toml:3:14
  |
3 | direction = "estward"
  |              ^^^^^^^
  |
  = help: write `west` or `east`
"#,
    file: file!(),
};

/// By the line the train names, or its first station's.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for train in &context.road.service.trains {
        let (Some(line), Some(direction)) = (line_of(context, train), &train.direction) else {
            continue;
        };
        let line = context.road.way.line(line);
        if !line.directions.contains(&direction.value) {
            let [low, high] = &line.directions;
            let message = format!(
                "line {} has no direction `{}`",
                line.name.value, direction.value
            );
            let found = RULE.at(direction.span, message);
            out.push(
                found
                    .did_you_mean(&direction.value, [low.as_str(), high.as_str()])
                    .help(format!("write `{low}` or `{high}`")),
            );
        }
    }
}

/// The line whose directions a train goes by.
pub(super) fn line_of(context: &Context<'_>, train: &Train) -> Option<LineId> {
    let way = &context.road.way;
    match &train.line {
        Some(line) => way.find_line(&line.value),
        None => way.station(context.station(train.from.as_ref())?).line(),
    }
}
