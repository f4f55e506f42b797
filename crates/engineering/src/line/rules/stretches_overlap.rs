//! Two curves or two slow orders overlap.

use model::{Rule, Severity};

use model::{Spanned, units::Actual};

use crate::check::Check;

/// Two curves or two slow orders overlap.
pub static RULE: Rule = Rule {
    code: "stretches-overlap",
    severity: Severity::Warning,
    title: "Two curves or two slow orders overlap.",
    explain: "A piece of track has one radius and one lowest speed. Let the second begin where \
        the first ends.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "42 in"]
curves = [
  { from = "2 ft", to = "6 ft", radius = "30 in" },
  { from = "5 ft", to = "9 ft", radius = "36 in" },
]
"#,
    rendered: r#"
warning[stretches-overlap]: the curves overlap by 1'-0"
  --> lines/main.toml:10:13
   |
 9 |   { from = "2 ft", to = "6 ft", radius = "30 in" },
   |                          ---- before the other ends here
10 |   { from = "5 ft", to = "9 ft", radius = "36 in" },
   |             ^^^^ one begins here
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (_, open) in way.opens() {
        report(check, "curves", open.curves.iter().filter_map(|curve| curve.reach).collect());
        report(check, "slow orders", open.slow.iter().filter_map(|slow| slow.reach).collect());
    }
    for track in way.stations.iter().flat_map(|station| &station.tracks) {
        report(check, "curves", track.curves.iter().filter_map(|curve| curve.reach).collect());
    }
}

fn report(check: &mut Check<'_>, what: &str, mut list: Vec<[Spanned<Actual>; 2]>) {
    list.sort_by(|a, b| a[0].value.total_cmp(&b[0].value));
    for pair in list.windows(2) {
        let (end, begin) = (pair[0][1], pair[1][0]);
        if begin.value < end.value - Actual::from_inches(1.0 / 32.0) {
            let message = format!("the {what} overlap by {}", check.show(end.value - begin.value));
            check.out.push(
                RULE.at(begin.span, message).label("one begins here").also(end.span, "before the other ends here"),
            );
        }
    }
}
