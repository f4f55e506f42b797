//! No line leads from where a train begins to where it ends.

use model::{Diagnostics, Rule, Severity};

use super::context::{Context, NoWay};

/// No line leads from where a train begins to where it ends.
pub static RULE: Rule = Rule {
    code: "train-without-way",
    severity: Severity::Error,
    title: "No line leads from where a train begins to where it ends.",
    explain: "Districts of open line must join every station to the next, from the initial to the \
              terminal station.",
    fixture: r#"
--- stations/cedar.toml
name = "Cedar"
line = "Main"
mile = 9
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "12 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "9 ft", use = "siding" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "11 ft", points = "E", hand = "right", number = 6 }
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Cedar"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]
"#,
    rendered: r#"
error[train-without-way]: train 1 cannot run from Alder to Cedar
 --> trains.toml:5:7
  |
4 | from = "Alder"
  |         ----- it begins
5 | to = "Cedar"
  |       ^^^^^
  |
  = help: line Main has no open line between Birch and Cedar
"#,
    file: file!(),
};

/// Along its line, or by any other.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for (train, way) in context.road.service.trains.iter().zip(&context.ways) {
        let (Some(from), Some(to), Err(reason)) = (&train.from, &train.to, way) else {
            continue;
        };
        let symbol = &train.symbol.value;
        let way = &context.road.way;
        match reason {
            NoWay::Unknown => {}
            NoWay::Gap(line, low, high) => {
                let (low, high) = (
                    &way.station(*low).name.value,
                    &way.station(*high).name.value,
                );
                let message = format!(
                    "train {symbol} cannot run from {} to {}",
                    from.value, to.value
                );
                let found = RULE.at(to.span, message).also(from.span, "it begins");
                out.push(found.help(format!(
                    "line {} has no open line between {low} and {high}",
                    way.line(*line).name.value
                )));
            }
            NoWay::Apart => {
                let message = format!(
                    "no line leads train {symbol} from {} to {}",
                    from.value, to.value
                );
                out.push(RULE.at(to.span, message).also(from.span, "it begins"));
            }
        }
    }
}
