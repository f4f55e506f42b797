//! The miles do not increase along a district of open line.

use model::{Rule, Severity};

use crate::check::Check;

/// The miles do not increase along a district of open line.
pub static RULE: Rule = Rule {
    code: "miles-not-increasing",
    severity: Severity::Error,
    title: "The miles do not increase along a district of open line.",
    explain: "A district of open line is written from the station with the lower mile to the one \
        with the higher: its distances, grades and curves are all counted that way. Exchange \
        `from` and `to`, or mend the mile in the page of the station.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Birch"
to = "Alder"
length = "20 ft"
elevation = ["42 in", "40 in"]
"#,
    rendered: r#"
error[miles-not-increasing]: the open line runs from Birch at mile 4.5 to Alder at mile 0
 --> lines/main.toml:4:9
  |
4 | from = "Birch"
  |         ^^^^^
  |
  = help: write `from = "Alder"`, `to = "Birch"`, and turn its distances around
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (id, open) in way.opens() {
        let [Some(from), Some(to)] = [open.ends[0].id, open.ends[1].id] else { continue };
        let [from, to] = [from, to].map(|station| way.station(station));
        let (Some(low), Some(high)) = (from.mile(id.line), to.mile(id.line)) else { continue };
        if low < high {
            continue;
        }
        let (a, b) = (&from.name.value, &to.name.value);
        let found = RULE.at(open.span, format!("the open line runs from {a} at mile {low} to {b} at mile {high}"));
        check.out.push(if low > high {
            found.help(format!("write `from = \"{b}\"`, `to = \"{a}\"`, and turn its distances around"))
        } else {
            found.help("give one of the two stations another mile")
        });
    }
}
