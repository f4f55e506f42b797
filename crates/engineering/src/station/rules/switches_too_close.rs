//! Two switches on a track overlap.

use model::{Rule, Severity};

use model::units::Actual;

use crate::{check::Check, station::TrackEnd};

/// Two switches on a track overlap.
pub static RULE: Rule = Rule {
    code: "switches-too-close",
    severity: Severity::Warning,
    title: "Two switches on a track overlap.",
    explain: "From its points to its frog a turnout takes up about twice the gauge times its \
        frog number, and no other can be laid there. Move one of them, or take smaller frog \
        numbers. If they are laid into each other, as a lap switch, say `hand = \"three-way\"`.",
    fixture: r#"
--- stations/alder.toml
name = "Alder"
line = "Main"
mile = 0
elevation = "40 in"

[tracks]
main = { from = "W", to = "E", length = "14 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }
mill = { from = "s3", to = "bumper", length = "4 ft", use = "spur", spots = ["door 1", "door 2"] }
coal = { from = "s4", to = "bumper", length = "3 ft", use = "spur" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
s4 = { on = "main", at = "1 ft 3 in", points = "W", hand = "right", number = 6 }
"#,
    rendered: r#"
warning[switches-too-close]: the switches `s1` and `s4` of Alder overlap by 4"
  --> stations/alder.toml:16:27
   |
13 | s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
   |                           ---- the other
...
16 | s4 = { on = "main", at = "1 ft 3 in", points = "W", hand = "right", number = 6 }
   |                           ^^^^^^^^^
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let (way, limits) = (check.way, check.limits);
    for (id, station) in way.stations() {
        let facing = &check.network.orientation(id).facing;
        let mut by_track: Vec<Vec<(Actual, Actual, usize)>> = vec![Vec::new(); station.tracks.len()];
        for (at, switch) in station.switches.iter().enumerate() {
            let (Some(track), Some(points)) = (switch.track, switch.at) else { continue };
            let lead = limits.lead(limits.number(switch.number.map(|n| n.value)));
            // Leads as built are up to a tenth shorter than the formula that is taken if the owner
            // says nothing of how they are built.
            let lead = if limits.leads.is_some() { lead } else { lead * 0.9 };
            let (from, to) = match facing[at] {
                TrackEnd::From => (points.value, points.value + lead),
                TrackEnd::To => (points.value - lead, points.value),
            };
            by_track[track.index()].push((from, to, at));
        }
        for list in &mut by_track {
            list.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.2.cmp(&b.2)));
            for pair in list.windows(2) {
                let ((_, end, first), (begin, _, second)) = (pair[0], pair[1]);
                if begin >= end - Actual::from_inches(0.125) {
                    continue;
                }
                let (a, b) = (&station.switches[first], &station.switches[second]);
                let (Some(at_a), Some(at_b)) = (a.at, b.at) else { continue };
                let message = format!(
                    "the switches `{}` and `{}` of {} overlap by {}",
                    a.name.value,
                    b.name.value,
                    station.name.value,
                    check.show(end - begin)
                );
                check.out.push(RULE.at(at_b.span, message).also(at_a.span, "the other"));
            }
        }
    }
}
