//! The points of two switches contradict each other.

use model::{Rule, Severity};

use model::Span;

use crate::{
    check::Check,
    network::Cause,
    station::{Points, Side, Station},
};

/// The points of two switches contradict each other.
pub static RULE: Rule = Rule {
    code: "points-contradict",
    severity: Severity::Error,
    title: "The points of two switches contradict each other.",
    explain: "A track that leaves a switch whose points face one end of the station heads for \
        the other end. Here a track would have to run both ways, so no train could pass over it \
        without backing. Mend `points` at one of its switches. If the track does turn trains \
        around, write `from` or `to` for the points.",
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

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "13 ft", points = "W", hand = "right", number = 6 }
s3 = { on = "siding", at = "5 ft", points = "W", hand = "left", number = 5 }
"#,
    rendered: r#"
error[points-contradict]: the track `siding` of Alder would have to run both ways
  --> stations/alder.toml:13:45
   |
12 | s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
   |                                            - by the points of `s1`
13 | s2 = { on = "main", at = "13 ft", points = "W", hand = "right", number = 6 }
   |                                             ^ by the points of `s2`
   |
   = help: should the points face `E`?
"#,
    file: file!(),
};

pub(crate) fn check(check: &mut Check<'_>) {
    let way = check.way;
    for (id, station) in way.stations() {
        for conflict in &check.network.orientation(id).conflicts {
            if !conflict.mistake {
                continue;
            }
            let track = station.track(conflict.track);
            let place = place(station, conflict.cause).unwrap_or(track.name.span);
            let mut found = RULE.at(
                place,
                format!("{} would have to run both ways", named(station, &track.name.value)),
            );
            found = found.label(words(station, conflict.cause));
            if let Some(first) = self::place(station, conflict.first) {
                found = found.also(first, words(station, conflict.first));
            }
            if let Some(other) = other_side(station, conflict.cause) {
                found = found.help(format!("should the points face `{other}`?"));
            }
            check.out.push(found);
        }
    }
}

fn named(station: &Station, track: &str) -> String {
    format!("the track `{track}` of {}", station.name.value)
}

fn place(station: &Station, cause: Cause) -> Option<Span> {
    match cause {
        Cause::Switch(id) => {
            let switch = &station.switches[id.index()];
            Some(switch.points_written.as_ref().map_or(switch.name.span, |points| points.span))
        }
        Cause::Joint(id) => Some(station.joints[id.index()].name.span),
        Cause::End(id) => station.ends[id.index()].span,
        Cause::Nothing => None,
    }
}

fn words(station: &Station, cause: Cause) -> String {
    match cause {
        Cause::Switch(id) => format!("by the points of `{}`", station.switches[id.index()].name.value),
        Cause::Joint(id) => format!("by the joint `{}`", station.joints[id.index()].name.value),
        Cause::End(id) => format!("by the end `{}`", station.ends[id.index()].name),
        Cause::Nothing => String::new(),
    }
}

/// The end on the other side from the one that a switch's points face.
fn other_side(station: &Station, cause: Cause) -> Option<&str> {
    let Cause::Switch(id) = cause else { return None };
    let Points::End(end) = station.switches[id.index()].points else { return None };
    let other: Side = station.ends[end.index()].side?.other();
    station.ends.iter().find(|end| end.side == Some(other)).map(|end| end.name.as_str())
}
