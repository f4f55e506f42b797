//! The points of a profile are not in order along the line.

use model::{Rule, Severity};

use crate::check::Check;

/// The points of a profile are not in order along the line.
pub static RULE: Rule = Rule {
    code: "profile-out-of-order",
    severity: Severity::Error,
    title: "The points of a profile are not in order along the line.",
    explain: "Points are written as they come from the station named `from`, each farther along \
        than the one before, and all before the end of the district.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "42 in"]
profile = [["12 ft", "41 in"], ["8 ft", "41.5 in"]]
"#,
    rendered: r#"
error[profile-out-of-order]: 8'-0" comes after 12'-0"
 --> lines/main.toml:8:34
  |
8 | profile = [["12 ft", "41 in"], ["8 ft", "41.5 in"]]
  |              -----               ^^^^
  |              |
  |              after this one
  |
  = help: put the points in order
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (_, open) in way.opens() {
        for pair in open.profile.windows(2) {
            let (before, at) = (pair[0][0], pair[1][0]);
            if at.value <= before.value {
                let message =
                    format!("{} comes after {}", check.show(at.value), check.show(before.value));
                check.out.push(
                    RULE.at(at.span, message).also(before.span, "after this one").help("put the points in order"),
                );
            }
        }
        let (Some(length), Some([at, _])) = (open.length, open.profile.last()) else { continue };
        if at.value >= length.value {
            let message = format!(
                "the point lies {} along open line of {}",
                check.show(at.value),
                check.show(length.value)
            );
            check.out.push(
                RULE.at(at.span, message)
                    .also(length.span, "its length")
                    .help("the height at the end is the second under `elevation`"),
            );
        }
    }
}
