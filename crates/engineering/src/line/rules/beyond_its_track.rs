//! A curve, slow order or structure lies beyond the end of its track.

use model::{Rule, Severity};

use model::{Span, units::Actual};

use crate::check::Check;

/// A curve, slow order or structure lies beyond the end of its track.
pub static RULE: Rule = Rule {
    code: "beyond-its-track",
    severity: Severity::Error,
    title: "A curve, slow order or structure lies beyond the end of its track.",
    explain: "Distances on open line are counted from the station named `from`, those on a track \
        from its beginning, and none is longer than the track itself.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "42 in"]
structures = [{ at = "19 ft", length = "2 ft", kind = "trestle" }]
"#,
    rendered: r#"
error[beyond-its-track]: the trestle ends 21'-0" along a track of 20'-0"
 --> lines/main.toml:8:23
  |
8 | structures = [{ at = "19 ft", length = "2 ft", kind = "trestle" }]
  |                       ^^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (_, open) in way.opens() {
        let Some(length) = open.length else { continue };
        for curve in &open.curves {
            let Some(reach) = &curve.reach else { continue };
            report(check, "the curve", reach[1].value, reach[1].span, length.value);
        }
        for slow in &open.slow {
            let Some(reach) = &slow.reach else { continue };
            report(check, "the slow order", reach[1].value, reach[1].span, length.value);
        }
        for one in &open.structures {
            let Some(at) = one.at else { continue };
            report(check, &format!("the {}", one.kind), at.value + one.length, at.span, length.value);
        }
    }
    for (_, station) in way.stations() {
        for track in &station.tracks {
            let Some(length) = track.length else { continue };
            for curve in &track.curves {
                let Some(reach) = &curve.reach else { continue };
                report(check, "the curve", reach[1].value, reach[1].span, length.value);
            }
        }
    }
}

fn report(check: &mut Check<'_>, what: &str, end: Actual, span: Span, length: Actual) {
    // What is written to the nearest sixteenth of an inch may be off by half of one.
    if end <= length + Actual::from_inches(1.0 / 32.0) {
        return;
    }
    let message =
        format!("{what} ends {} along a track of {}", check.show(end), check.show(length));
    check.out.push(RULE.at(span, message));
}
