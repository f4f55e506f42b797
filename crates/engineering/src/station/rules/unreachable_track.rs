//! No train can reach a track.

use model::{Rule, Severity};

use crate::{
    check::Check,
    ids::{EndId, TrackRef},
    station::Meets,
};

/// No train can reach a track.
pub static RULE: Rule = Rule {
    code: "unreachable-track",
    severity: Severity::Error,
    title: "No train can reach a track.",
    explain: "The track hangs together with nothing that leads to a station end. Let it begin or \
        end at a switch on a track that does.",
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
mine = { from = "bumper", to = "bumper", length = "5 ft", use = "storage" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "E", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[unreachable-track]: no train can reach the track `mine` of Alder
  --> stations/alder.toml:10:1
   |
10 | mine = { from = "bumper", to = "bumper", length = "5 ft", use = "storage" }
   | ^^^^
   |
   = help: let it begin or end at a switch on a track that leads to a station end
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let (way, network) = (check.way, check.network);
    for (id, station) in way.stations() {
        let first = network.station_nodes(id).next().map_or(0, |node| node.0);
        let mut seen = vec![false; network.station_nodes(id).count()];
        // Everything that hangs together with an end, or with the main of a station without ends.
        let mut stack: Vec<_> = (0..station.ends.len())
            .map(|end| network.end_node(id, EndId(end as u32)))
            .collect();
        let main = station.tracks().find(|(_, track)| track.usage == crate::station::TrackUse::Main);
        if let Some((track, _)) = main {
            let edges = network.track_edges(TrackRef { station: id, track });
            stack.push(network.edge(edges[0]).ends[0].0);
        }
        for node in &stack {
            seen[(node.0 - first) as usize] = true;
        }
        while let Some(node) = stack.pop() {
            for &(edge, _) in network.node(node).ports.iter().flatten() {
                let edge = network.edge(edge);
                if edge.track().is_none() {
                    continue;
                }
                for (next, _) in edge.ends {
                    if !std::mem::replace(&mut seen[(next.0 - first) as usize], true) {
                        stack.push(next);
                    }
                }
            }
        }
        for (track_id, track) in station.tracks() {
            let edges = network.track_edges(TrackRef { station: id, track: track_id });
            let apart = edges.iter().all(|edge| {
                network.edge(*edge).ends.iter().all(|(node, _)| !seen[(node.0 - first) as usize])
            });
            // What dangles has been said already.
            if !apart || track.meets.contains(&Meets::Nowhere) {
                continue;
            }
            // A switch on a track that does not exist has been said already too.
            let lost = track.meets.iter().any(|meets| match meets {
                Meets::Switch(switch) => station.switches[switch.index()].track.is_none(),
                _ => false,
            });
            if lost {
                continue;
            }
            check.out.push(
                RULE.at(
                    track.name.span,
                    format!("no train can reach the track `{}` of {}", track.name.value, station.name.value),
                )
                .help("let it begin or end at a switch on a track that leads to a station end"),
            );
        }
    }
}
