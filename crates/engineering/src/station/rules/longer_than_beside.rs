//! A track is longer than the room between its switches.

use model::{Rule, Severity};

use model::units::Actual;

use crate::{check::Check, station::Meets};

/// A track is longer than the room between its switches.
pub static RULE: Rule = Rule {
    code: "longer-than-beside",
    severity: Severity::Warning,
    title: "A track is longer than the room between its switches.",
    explain: "Both ends of the track lie at switches on the same other track. Its `length` is \
        counted from points to points, and between the same points that other track is shorter. \
        Measure again, or mend `at` at one of the switches. If the track does bow out, say by \
        tape how much of it is `usable`.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "14 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
warning[longer-than-beside]: the track `siding` of Alder is 14'-0" long, but its switches are 12'-0" apart on `main`
  --> stations/alder.toml:8:46
   |
 8 | siding = { from = "s1", to = "s2", length = "14 ft", use = "siding" }
   |                                              ^^^^^
...
12 | s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
   |                           ---- points of one switch
13 | s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
   |                           ----- points of the other
   |
   = help: measure it from points to points, or write how much is `usable` by tape
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let limits = check.limits;
    for station in &check.way.stations {
        for track in &station.tracks {
            let [Meets::Switch(from), Meets::Switch(to)] = track.meets else { continue };
            let [from, to] = [from, to].map(|switch| &station.switches[switch.index()]);
            // By tape the owner knows better.
            let (true, None, Some(length)) = (from.track == to.track, track.usable, track.length) else {
                continue;
            };
            let (Some(on), Some(a), Some(b)) = (from.track, from.at, to.at) else { continue };
            let room = (a.value - b.value).abs();
            // On a curve the outer of two tracks is longer: by their spacing times half a turn; a switch
            // at each end adds a little.
            let outer = limits.track_centers * std::f64::consts::PI + Actual::from_inches(1.0);
            if length.value <= room + outer {
                continue;
            }
            let message = format!(
                "the track `{}` of {} is {} long, but its switches are {} apart on `{}`",
                track.name.value,
                station.name.value,
                check.show(length.value),
                check.show(room),
                station.track(on).name.value
            );
            check.out.push(
                RULE.at(length.span, message)
                    .also(a.span, "points of one switch")
                    .also(b.span, "points of the other")
                    .help("measure it from points to points, or write how much is `usable` by tape"),
            );
        }
    }
}
