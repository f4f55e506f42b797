//! Tracks are in no power district.

use model::{Rule, Severity};

use std::collections::HashSet;

use crate::{check::Check, ids::TrackRef};

/// Tracks are in no power district.
pub static RULE: Rule = Rule {
    code: "track-without-power",
    severity: Severity::Note,
    title: "Tracks are in no power district.",
    explain: "Once there are districts, a track in none of them is dead. Name the station or the \
        track in one of them; open line is fed with the stations it joins.",
    fixture: r#"
--- power.toml
[districts.west]
stations = ["Alder"]
"#,
    rendered: r#"
note[track-without-power]: no power district feeds Birch
 --> stations/birch.toml:1:9
  |
1 | name = "Birch"
  |         ^^^^^
  |
 ::: power.toml:1:12
  |
1 | [districts.west]
  |            ---- there are power districts
  |
  = help: write `stations = ["Birch"]` in one of them
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    let Some(first) = way.power.first() else { return };
    let stations: HashSet<_> = way.power.iter().flat_map(|d| &d.stations).map(|s| s.value).collect();
    let tracks: HashSet<_> = way.power.iter().flat_map(|d| &d.tracks).map(|t| t.value).collect();
    for (id, station) in way.stations() {
        if stations.contains(&id) {
            continue;
        }
        let dead: Vec<&str> = station
            .tracks()
            .filter(|(track, _)| !tracks.contains(&TrackRef { station: id, track: *track }))
            .map(|(_, track)| track.name.value.as_str())
            .collect();
        if dead.is_empty() {
            continue;
        }
        let message = if dead.len() == station.tracks.len() {
            format!("no power district feeds {}", station.name.value)
        } else {
            format!("no power district feeds these tracks of {}: {}", station.name.value, dead.join(", "))
        };
        check.out.push(
            RULE.at(station.name.span, message)
                .also(first.name.span, "there are power districts")
                .help(format!("write `stations = [\"{}\"]` in one of them", station.name.value)),
        );
    }
}
