//! A wye or a loop has no reversing section.

use model::{Rule, Severity};

use std::collections::HashSet;

use crate::{check::Check, network::Place};

/// A wye or a loop has no reversing section.
pub static RULE: Rule = Rule {
    code: "reversing-section-missing",
    severity: Severity::Warning,
    title: "A wye or a loop has no reversing section.",
    explain: "Tracks here close a ring that brings a train back the other way around, so that \
        the left rail meets the right one: a short circuit, unless a stretch of the ring is \
        insulated at both ends and fed by a reversing switch. Make a district of that stretch \
        with `reversing = true`. It should hold the longest train. Wiring that carries mains \
        power is a matter for licensed hands and the local code; this is about the low voltage \
        of the track.",
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
"west leg" = { from = "s4", to = "bumper", length = "7 ft", use = "wye" }
"east leg" = { from = "s5", to = "s6", length = "4 ft", use = "wye" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
s4 = { on = "main", at = "2 ft", points = "W", hand = "right", number = 6 }
s5 = { on = "main", at = "12 ft", points = "E", hand = "left", number = 6 }
s6 = { on = "west leg", at = "5 ft", points = "to", hand = "left", number = 6 }
--- power.toml
[districts.all]
stations = ["Alder", "Birch"]
"#,
    rendered: r#"
warning[reversing-section-missing]: a train comes back the other way around by Alder / west leg, Alder / main, Alder / east leg
  --> stations/alder.toml:19:1
   |
19 | s6 = { on = "west leg", at = "5 ft", points = "to", hand = "left", number = 6 }
   | ^^
   |
  ::: power.toml:1:12
   |
 1 | [districts.all]
   |            --- no district among these is a reversing section
   |
   = help: write a district with `tracks = ["Alder / west leg"]` and `reversing = true`
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let (way, network) = (check.way, check.network);
    let Some(first) = way.power.first() else { return };
    let reversing = || way.power.iter().filter(|district| district.reversing);
    let stations: HashSet<_> = reversing().flat_map(|d| &d.stations).map(|s| s.value).collect();
    let tracks: HashSet<_> = reversing().flat_map(|d| &d.tracks).map(|t| t.value).collect();
    let cut = |edge: &crate::network::Edge| {
        edge.track().is_some_and(|track| tracks.contains(&track) || stations.contains(&track.station))
    };
    for ring in network.reversing(cut) {
        let names: Vec<String> =
            network.ring_tracks(&ring).into_iter().map(|track| way.track_name(track)).collect();
        let node = network.node(ring.node);
        let station = way.station(node.station);
        let place = match node.place {
            Place::Switch(switch) => station.switches[switch.index()].name.span,
            _ => station.name.span,
        };
        let example = names
            .iter()
            .find(|name| !name.ends_with("/ main"))
            .or(names.first())
            .cloned()
            .unwrap_or_default();
        check.out.push(
            RULE.at(place, format!("a train comes back the other way around by {}", names.join(", ")))
                .also(first.name.span, "no district among these is a reversing section")
                .help(format!("write a district with `tracks = [\"{example}\"]` and `reversing = true`")),
        );
    }
}
