//! Neither of two trains that are to meet fits a track of the station.

use engineering::ids::{StationId, TrackId, TrackRef};
use model::{Diagnostics, Rule, Severity, units::Actual};

use super::{
    context::Context,
    meets::{PlannedMeet, meets},
};

/// Neither of two trains that are to meet fits a track of the station.
pub static RULE: Rule = Rule {
    code: "meet-siding-too-short",
    severity: Severity::Error,
    title: "Neither of two trains that are to meet fits a track of the station.",
    explain: "At a meet one train stands clear on one track while the other runs by on another. Of the \
              two the shorter must fit, or they have to saw by each other. A train counts with its \
              `max_length`, or with the railroad's `train_length`; a track with its usable length.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"

[[open]]
from = "Birch"
to = "Cedar"
length = "20 ft"

[[open]]
from = "Cedar"
to = "Dogwood"
length = "20 ft"
--- stations/cedar.toml
name = "Cedar"
line = "Main"
mile = 9
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "16 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "13 ft", use = "siding" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "15 ft", points = "E", hand = "right", number = 6 }
--- stations/dogwood.toml
name = "Dogwood"
line = "Main"
mile = 13
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "12 ft", use = "main" }
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Dogwood"
leave = "8:00 AM"
arrive = "9:30 AM"
engines = ["12"]
max_length = "9 ft"
[[trains.1.meets]]
train = "2"
at = "Birch"

[trains.2]
class = 2
direction = "west"
from = "Dogwood"
to = "Alder"
leave = "8:10 AM"
arrive = "9:40 AM"
engines = ["14"]
max_length = "8 ft 6 in"
[[trains.2.meets]]
train = "1"
at = "Birch"
"#,
    rendered: r#"
error[meet-siding-too-short]: trains 1 and 2 cannot meet at Birch: its `main` holds 7'-6 3/4", and the shorter train, 2, is 8'-6", 11 1/4" too long
  --> trains.toml:12:7
   |
12 | at = "Birch"
   |       ^^^^^
...
22 | max_length = "8 ft 6 in"
   |               --------- limit of train 2
   |
  ::: stations/birch.toml:7:42
   |
 7 | main = { from = "W", to = "E", length = "12 ft", use = "main" }
   |                                          ----- the longest track
   |
   = help: meet at Cedar, which holds 11'-6 3/4", or limit train 2 to 7'-6 3/4"
"#,
    file: file!(),
};

/// The shorter train against the longest track that lets another by.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for meet in meets(context) {
        let Some(ends) = context.ends(meet.way, meet.place) else {
            continue;
        };
        let tracks = context.through_tracks(meet.station, ends);
        if tracks.len() < 2 {
            continue;
        }
        let (Some(ours), Some(theirs)) = (context.longest(meet.train), context.longest(meet.other))
        else {
            continue;
        };
        let Some((track, holds)) = longest(context, meet.station, &tracks) else {
            continue;
        };
        let (shorter, length) = if ours <= theirs {
            (meet.train, ours)
        } else {
            (meet.other, theirs)
        };
        if length <= holds {
            continue;
        }
        let station = context.road.way.station(meet.station);
        let page = station.track(track);
        let message = format!(
            "trains {} and {} cannot meet at {}: its `{}` holds {}, and the shorter train, {}, is {}, {} too long",
            meet.train.symbol.value,
            meet.other.symbol.value,
            station.name.value,
            page.name.value,
            context.show(holds),
            shorter.symbol.value,
            context.show(length),
            context.show(length - holds)
        );
        let mut found = RULE.at(meet.at.span, message);
        if let Some(limit) = shorter.max_length {
            found = found.also(
                limit.span,
                format!("limit of train {}", shorter.symbol.value),
            );
        }
        found = found.also(
            page.length.map_or(page.span, |length| length.span),
            "the longest track",
        );
        found = found.help(match elsewhere(context, &meet, length) {
            Some((other, room)) => format!(
                "meet at {}, which holds {}, or limit train {} to {}",
                context.road.way.station(other).name.value,
                context.show(room),
                shorter.symbol.value,
                context.show(holds)
            ),
            None => {
                format!(
                    "limit train {} to {}",
                    shorter.symbol.value,
                    context.show(holds)
                )
            }
        });
        out.push(found);
    }
}

fn longest(
    context: &Context<'_>,
    station: StationId,
    tracks: &[TrackId],
) -> Option<(TrackId, Actual)> {
    let room = tracks
        .iter()
        .map(|&track| (track, context.usable(TrackRef { station, track })));
    room.reduce(|best, one| if one.1 > best.1 { one } else { best })
}

/// The nearest other station on the train's way where the two can meet: between the ends of both.
fn elsewhere(
    context: &Context<'_>,
    meet: &PlannedMeet<'_>,
    length: Actual,
) -> Option<(StationId, Actual)> {
    let mut places: Vec<usize> = (1..meet.way.stations.len().saturating_sub(1)).collect();
    places.sort_by_key(|place| (place.abs_diff(meet.place), *place));
    places
        .into_iter()
        .filter(|place| *place != meet.place)
        .find_map(|place| {
            let station = meet.way.stations[place];
            let inside =
                meet.other_way.position(station).is_some() && !meet.other_way.is_end(station);
            let tracks = context.through_tracks(station, context.ends(meet.way, place)?);
            let (_, room) = longest(context, station, &tracks)?;
            (inside && tracks.len() >= 2 && room >= length).then_some((station, room))
        })
}
