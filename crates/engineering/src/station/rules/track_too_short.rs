//! A track is shorter than what it has to span.

use model::{Rule, Severity};

use crate::{check::Check, station::Meets};

/// A track is shorter than what it has to span.
pub static RULE: Rule = Rule {
    code: "track-too-short",
    severity: Severity::Warning,
    title: "A track is shorter than what it has to span.",
    explain: "Both ends of the track lie at switches on the same other track, which is longer between \
        them. A track beside it cannot be much shorter, unless it lies inside of a curve. Measure again, \
        or mend `at` at one of the switches.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "7 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
warning[track-too-short]: the track `siding` of Alder is 7'-0" long, but its switches are 12'-0" apart on `main`
  --> stations/alder.toml:8:46
   |
 8 | siding = { from = "s1", to = "s2", length = "7 ft", use = "siding" }
   |                                              ^^^^
...
12 | s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
   |                           ---- one
13 | s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
   |                           ----- the other
   |
   = help: measure both from the points of one switch to those of the other
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let limits = check.limits;
    for station in &check.way.stations {
        for track in &station.tracks {
            let [Meets::Switch(from), Meets::Switch(to)] = track.meets else { continue };
            let [from, to] = [from, to].map(|switch| &station.switches[switch.index()]);
            let (true, Some(length)) = (from.track == to.track, track.length) else { continue };
            let (Some(on), Some(a), Some(b)) = (from.track, from.at, to.at) else { continue };
            let apart = (a.value - b.value).abs();
            // On a curve the inner of two tracks is shorter: by their spacing times half a turn at
            // most, for all the curve that one station is likely to lie in.
            let inner = limits.track_centers * std::f64::consts::PI;
            if length.value >= apart - inner {
                continue;
            }
            let message = format!(
                "the track `{}` of {} is {} long, but its switches are {} apart on `{}`",
                track.name.value,
                station.name.value,
                check.show(length.value),
                check.show(apart),
                station.track(on).name.value
            );
            check.out.push(
                RULE.at(length.span, message)
                    .also(a.span, "one")
                    .also(b.span, "the other")
                    .help("measure both from the points of one switch to those of the other"),
            );
        }
    }
}
