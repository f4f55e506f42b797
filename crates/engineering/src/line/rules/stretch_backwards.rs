//! A curve or a slow order ends before it begins.

use model::{Rule, Severity};

use model::{Spanned, units::Actual};

use crate::check::Check;

/// A curve or a slow order ends before it begins.
pub static RULE: Rule = Rule {
    code: "stretch-backwards",
    severity: Severity::Error,
    title: "A curve or a slow order ends before it begins.",
    explain: "Write the nearer distance under `from` and the farther under `to`.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "42 in"]
curves = [{ from = "9 ft", to = "4 ft", radius = "30 in" }]
"#,
    rendered: r#"
error[stretch-backwards]: it runs from 9'-0" to 4'-0"
 --> lines/main.toml:8:34
  |
8 | curves = [{ from = "9 ft", to = "4 ft", radius = "30 in" }]
  |                     ----         ^^^^
  |                     |
  |                     begins here
  |
  = help: exchange the two, or mend one
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (_, open) in way.opens() {
        let curves = open.curves.iter().filter_map(|curve| curve.reach);
        let slow = open.slow.iter().filter_map(|slow| slow.reach);
        for reach in curves.chain(slow) {
            report(check, reach);
        }
    }
    for track in way.stations.iter().flat_map(|station| &station.tracks) {
        for reach in track.curves.iter().filter_map(|curve| curve.reach) {
            report(check, reach);
        }
    }
}

fn report(check: &mut Check<'_>, [from, to]: [Spanned<Actual>; 2]) {
    if from.value >= to.value {
        let message = format!("it runs from {} to {}", check.show(from.value), check.show(to.value));
        check.out.push(
            RULE.at(to.span, message).also(from.span, "begins here").help("exchange the two, or mend one"),
        );
    }
}
