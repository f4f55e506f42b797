//! Neither of two trains that are to meet fits a track of the station.

use engineering::ids::StationId;
use model::{Diagnostics, Rule, Severity, units::Actual};

use super::{
    context::Context,
    meets::{PlannedMeet, meets, rooms},
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
error[meet-siding-too-short]: trains 1 and 2 cannot meet at Birch: its `siding` holds 7'-6 1/2", and train 2 is 8'-6", 11 1/2" too long
  --> trains.toml:12:7
   |
12 | at = "Birch"
   |       ^^^^^
...
22 | max_length = "8 ft 6 in"
   |               --------- limit of train 2
   |
  ::: stations/birch.toml:8:46
   |
 8 | siding = { from = "s1", to = "s2", length = "10 ft", use = "siding" }
   |                                              ----- the longest track
   |
   = help: meet at Cedar, which holds 10'-6 1/2", or limit train 2 to 7'-6 1/2"
"#,
    file: file!(),
};

/// Of the tracks on which either train can stand clear of the other, the one that wants least.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for meet in meets(context) {
        let rooms = rooms(context, &meet, meet.station);
        let short = rooms.iter().filter_map(|room| {
            let length = context.longest(room.train)?;
            Some((length - room.holds, length, room))
        });
        let Some((excess, length, room)) = short.reduce(|a, b| if b.0 < a.0 { b } else { a })
        else {
            continue;
        };
        // A train that states no length may be as short as it likes.
        let open = rooms
            .iter()
            .any(|room| context.longest(room.train).is_none());
        if excess <= Actual::ZERO || open {
            continue;
        }
        let station = context.road.way.station(meet.station);
        let page = station.track(room.track);
        let symbol = &room.train.symbol.value;
        let message = format!(
            "trains {} and {} cannot meet at {}: its `{}` holds {}, and train {symbol} is {}, {} too long",
            meet.train.symbol.value,
            meet.other.symbol.value,
            station.name.value,
            page.name.value,
            context.show(room.holds),
            context.show(length),
            context.show(excess)
        );
        let mut found = RULE.at(meet.at.span, message);
        if let Some(limit) = room.train.max_length {
            found = found.also(limit.span, format!("limit of train {symbol}"));
        }
        found = found.also(
            page.length.map_or(page.span, |length| length.span),
            "the longest track",
        );
        let shorten = format!("limit train {symbol} to {}", context.show(room.holds));
        found = found.help(match elsewhere(context, &meet) {
            Some((other, holds)) => format!(
                "meet at {}, which holds {}, or {shorten}",
                context.road.way.station(other).name.value,
                context.show(holds)
            ),
            None => shorten,
        });
        out.push(found);
    }
}

/// The nearest other station within the ways of both trains where one of them fits.
fn elsewhere(context: &Context<'_>, meet: &PlannedMeet<'_>) -> Option<(StationId, Actual)> {
    let mut places: Vec<usize> = (1..meet.way.stations.len().saturating_sub(1)).collect();
    places.sort_by_key(|place| (place.abs_diff(meet.place), *place));
    places
        .into_iter()
        .filter(|place| *place != meet.place)
        .find_map(|place| {
            let station = meet.way.stations[place];
            let fits = rooms(context, meet, station)
                .into_iter()
                .filter(|room| {
                    context
                        .longest(room.train)
                        .is_some_and(|length| length <= room.holds)
                })
                .map(|room| room.holds)
                .reduce(Actual::max)?;
            Some((station, fits))
        })
}
