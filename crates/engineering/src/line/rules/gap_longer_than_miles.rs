//! A gap is longer than the scheduled miles around it.

use model::{Rule, Severity};

use crate::check::Check;

/// A gap is longer than the scheduled miles around it.
pub static RULE: Rule = Rule {
    code: "gap-longer-than-miles",
    severity: Severity::Warning,
    title: "A gap is longer than the scheduled miles around it.",
    explain: "A `gap` is that part of the scheduled miles between two stations for which there \
        is no track. It cannot be longer than all of them.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "42 in"]
gap = "6 mi"
"#,
    rendered: r#"
warning[gap-longer-than-miles]: the gap is 6.0 mi, but Alder and Birch are 4.5 mi apart
 --> lines/main.toml:8:8
  |
8 | gap = "6 mi"
  |        ^^^^
  |
  = help: shorten the gap, or mend the miles of the stations
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (id, open) in way.opens() {
        let (Some(gap), [Some(from), Some(to)]) = (open.gap, [open.ends[0].id, open.ends[1].id]) else {
            continue;
        };
        let miles = [from, to].map(|station| way.station(station).mile(id.line));
        let [Some(low), Some(high)] = miles else { continue };
        if gap.value.miles() <= high - low || high <= low {
            continue;
        }
        check.out.push(
            RULE.at(
                gap.span,
                format!(
                    "the gap is {:.1} mi, but {} and {} are {:.1} mi apart",
                    gap.value.miles(),
                    way.station(from).name.value,
                    way.station(to).name.value,
                    high - low
                ),
            )
            .help("shorten the gap, or mend the miles of the stations"),
        );
    }
}
