//! Two stations that follow each other on a line are not joined.

use model::{Rule, Severity};

use crate::check::Check;

/// Two stations that follow each other on a line are not joined.
pub static RULE: Rule = Rule {
    code: "line-broken",
    severity: Severity::Error,
    title: "Two stations that follow each other on a line are not joined.",
    explain: "Trains run from station to station in the order of their miles. Write a district \
        of open line between the two (`[[open]]` in the page of the line), or mend the mile of \
        the station that stands in the wrong place.",
    fixture: r#"
--- stations/cedar.toml
name = "Cedar"
line = "Main"
mile = 9
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "6 ft", use = "main" }
"#,
    rendered: r#"
error[line-broken]: the line `Main` is broken between Birch and Cedar
 --> lines/main.toml:1:9
  |
1 | name = "Main"
  |         ^^^^
  |
 ::: stations/birch.toml:1:9
  |
1 | name = "Birch"
  |         ----- mile 4.5 of the line
  |
 ::: stations/cedar.toml:1:9
  |
1 | name = "Cedar"
  |         ----- mile 9
  |
  = help: write `[[open]]` with `from = "Birch"`, `to = "Cedar"` and a `length`
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (id, line) in way.lines() {
        for pair in way.line_stations(id).windows(2) {
            let joined = way.open_between(id, pair[0], pair[1]).is_some()
                || way.open_between(id, pair[1], pair[0]).is_some();
            // A line of another road that is only met here and there need not be whole.
            if joined || line.kind == crate::line::LineKind::Foreign {
                continue;
            }
            // Open line to a station that does not exist, or that is not placed on the line, is what
            // is wrong, and has been said.
            let lost = |station: Option<crate::ids::StationId>| {
                station.is_none_or(|station| way.station(station).mile(id).is_none())
            };
            let half = line.open.iter().any(|open| {
                let [from, to] = [open.ends[0].id, open.ends[1].id];
                from == Some(pair[0]) && lost(to) || to == Some(pair[1]) && lost(from)
            });
            if half {
                continue;
            }
            let [low, high] = [0, 1].map(|at: usize| way.station(pair[at]));
            let (a, b) = (&low.name.value, &high.name.value);
            let miles = [low, high].map(|station| station.mile(id).unwrap_or_default());
            check.out.push(
                RULE.at(line.name.span, format!("the line `{}` is broken between {a} and {b}", line.name.value))
                    .also(low.name.span, format!("mile {} of the line", miles[0]))
                    .also(high.name.span, format!("mile {}", miles[1]))
                    .help(format!("write `[[open]]` with `from = \"{a}\"`, `to = \"{b}\"` and a `length`")),
            );
        }
    }
}
