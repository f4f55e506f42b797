//! A train's direction is not the one in which it runs.

use model::{Diagnostics, Rule, Severity};

use super::{context::Context, direction_unknown::line_of};

/// A train's direction is not the one in which it runs.
pub static RULE: Rule = Rule {
    code: "direction-against-way",
    severity: Severity::Error,
    title: "A train's direction is not the one in which it runs.",
    explain: "On its line a train runs toward lower or toward higher miles, and the line names both \
              directions. Change the direction, or exchange the ends.",
    fixture: r#"
--- trains.toml
[trains.1]
class = 2
direction = "west"
from = "Alder"
to = "Birch"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]
"#,
    rendered: r#"
error[direction-against-way]: train 1 runs east from Alder to Birch, not west
 --> trains.toml:3:14
  |
3 | direction = "west"
  |              ^^^^
  |
  = help: write `east`
"#,
    file: file!(),
};

/// Where both ends lie on the line whose directions the train goes by.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for train in &context.road.service.trains {
        let (Some(id), Some(direction)) = (line_of(context, train), &train.direction) else {
            continue;
        };
        let (Some(from), Some(to)) = (
            context.station(train.from.as_ref()),
            context.station(train.to.as_ref()),
        ) else {
            continue;
        };
        let way = &context.road.way;
        let (Some(first), Some(last)) = (way.station(from).mile(id), way.station(to).mile(id))
        else {
            continue;
        };
        let line = way.line(id);
        let Some(named) = line
            .directions
            .iter()
            .position(|one| *one == direction.value)
        else {
            continue;
        };
        let runs = usize::from(last > first);
        if first != last && named != runs {
            let message = format!(
                "train {} runs {} from {} to {}, not {}",
                train.symbol.value,
                line.directions[runs],
                way.station(from).name.value,
                way.station(to).name.value,
                direction.value
            );
            out.push(
                RULE.at(direction.span, message)
                    .help(format!("write `{}`", line.directions[runs])),
            );
        }
    }
}
