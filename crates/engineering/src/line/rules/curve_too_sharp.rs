//! A curve is sharper than the limit.

use model::{Rule, Severity};

use model::{Spanned, units::Actual};

use crate::{check::Check, station::TrackUse};

/// A curve is sharper than the limit.
pub static RULE: Rule = Rule {
    code: "curve-too-sharp",
    severity: Severity::Warning,
    title: "A curve is sharper than the limit.",
    explain: "The limit is the `radius` of the line, or that under `[limits]` in \
        `railroad.toml`. Long cars and engines may bind or derail on it.",
    fixture: r#"
--- lines/main.toml
name = "Main"
radius = "30 in"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "42 in"]
curves = [{ from = "4 ft", to = "9 ft", radius = "24 in" }]
"#,
    rendered: r#"
warning[curve-too-sharp]: the curve has a radius of 2'-0" where 2'-6" is the limit
 --> lines/main.toml:9:51
  |
9 | curves = [{ from = "4 ft", to = "9 ft", radius = "24 in" }]
  |                                                   ^^^^^
  |
  = help: widen it, or lower the limit
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (id, open) in way.opens() {
        let Some(limit) = way.line(id.line).radius.or(check.limits.radius) else { continue };
        for radius in open.curves.iter().filter_map(|curve| curve.radius) {
            report(check, radius, limit, "the curve");
        }
    }
    for (_, station) in way.stations() {
        let line = station.line().and_then(|line| way.line(line).radius);
        for track in &station.tracks {
            // A line's own limit is for its mains; elsewhere the railroad's holds.
            let limit = match track.usage {
                TrackUse::Main | TrackUse::Siding => line.or(check.limits.radius),
                _ => check.limits.radius.or(line),
            };
            let (Some(limit), Some(radius)) = (limit, track.sharpest()) else { continue };
            let name = format!("the track `{}` of {}", track.name.value, station.name.value);
            report(check, radius, limit, &name);
        }
    }
}

fn report(check: &mut Check<'_>, radius: Spanned<Actual>, limit: Actual, what: &str) {
    // What rounding of a degree of curve may take off.
    if radius.value >= limit - Actual::from_mm(0.01) {
        return;
    }
    let message = format!(
        "{what} has a radius of {} where {} is the limit",
        check.show(radius.value),
        check.show(limit)
    );
    check.out.push(RULE.at(radius.span, message).help("widen it, or lower the limit"));
}
