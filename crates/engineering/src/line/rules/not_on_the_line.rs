//! Open line joins a station that is not on its line.

use model::{Rule, Severity};

use crate::check::Check;

/// Open line joins a station that is not on its line.
pub static RULE: Rule = Rule {
    code: "not-on-the-line",
    severity: Severity::Error,
    title: "Open line joins a station that is not on its line.",
    explain: "A station lies on the lines that its page names: its own under `line`, those that \
        meet it under `also`, each with a mile. Add the line there.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Cedar"
length = "20 ft"
elevation = ["40 in", "42 in"]
--- stations/cedar.toml
name = "Cedar"
line = "Branch"
mile = 9
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "6 ft", use = "main" }
--- lines/branch.toml
name = "Branch"
"#,
    rendered: r#"
error[not-on-the-line]: Cedar is not on the line `Main`
 --> lines/main.toml:5:7
  |
5 | to = "Cedar"
  |       ^^^^^
  |
 ::: stations/cedar.toml:1:9
  |
1 | name = "Cedar"
  |         ----- its page
  |
  = help: write there `also = [{ line = "Main", mile = ... }]`
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (id, open) in way.opens() {
        for end in &open.ends {
            let (Some(station_id), Some(written)) = (end.id, &end.station) else { continue };
            let station = way.station(station_id);
            // A line that the station's page misspells has been reported there.
            if station.lines.iter().any(|on| on.line.is_none() || on.line == Some(id.line)) {
                continue;
            }
            let line = &way.line(id.line).name.value;
            check.out.push(
                RULE.at(written.span, format!("{} is not on the line `{line}`", written.value))
                    .also(station.name.span, "its page")
                    .help(format!("write there `also = [{{ line = \"{line}\", mile = ... }}]`")),
            );
        }
    }
}
