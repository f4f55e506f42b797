//! A train is longer than the track it begins, ends or stops on.

use engineering::{
    ids::{StationId, TrackId, TrackRef},
    station::TrackUse,
};
use model::{Diagnostics, Rule, Severity, Spanned, units::Actual};

use super::context::Context;

/// A train is longer than the track it begins, ends or stops on.
pub static RULE: Rule = Rule {
    code: "train-longer-than-its-track",
    severity: Severity::Error,
    title: "A train is longer than the track it begins, ends or stops on.",
    explain: "A train that stands on a track too short for it blocks the tracks beside it. Without \
              `from_track` and `to_track` the longest track that trains stand on is taken; without a \
              `track` at a stop nothing is.",
    fixture: r#"
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "Birch"
leave = "8:00 AM"
arrive = "8:40 AM"
engines = ["12"]
max_length = "11 ft"
to_track = "siding"
"#,
    rendered: r#"
error[train-longer-than-its-track]: train 1 may be 11'-0", but the track `siding` at Birch on which it ends holds 7'-6 1/2"
  --> trains.toml:9:15
   |
 9 | max_length = "11 ft"
   |               ^^^^^
10 | to_track = "siding"
   |             ------ it ends here
   |
   = help: `main` holds 12'-0", or limit the train to 7'-6 1/2"
"#,
    file: file!(),
};

/// At both ends and at stops.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    for train in &context.road.service.trains {
        let Some(limit) = train.max_length else {
            continue;
        };
        let ends = [
            (&train.from, &train.from_track, "begins"),
            (&train.to, &train.to_track, "ends"),
        ];
        let stops = train
            .stops
            .iter()
            .map(|stop| (&stop.station, &stop.track, "stops"));
        for (station, track, what) in ends.into_iter().chain(stops) {
            let Some(id) = context.station(station.as_ref()) else {
                continue;
            };
            let Some((chosen, holds)) = standing(context, id, track.as_ref(), what == "stops")
            else {
                continue;
            };
            if limit.value <= holds {
                continue;
            }
            let page = context.road.way.station(id);
            let message = format!(
                "train {} may be {}, but the track `{}` at {} on which it {what} holds {}",
                train.symbol.value,
                context.show(limit.value),
                page.track(chosen).name.value,
                page.name.value,
                context.show(holds)
            );
            let mut found = RULE.at(limit.span, message);
            if let Some(written) = track.as_ref().or(station.as_ref()) {
                found = found.also(written.span, format!("it {what} here"));
            }
            let longer = longest(context, id).filter(|(_, room)| *room >= limit.value);
            found = found.help(match longer {
                Some((longer, room)) => format!(
                    "`{}` holds {}, or limit the train to {}",
                    page.track(longer).name.value,
                    context.show(room),
                    context.show(holds)
                ),
                None => format!(
                    "limit the train to {}, {} less",
                    context.show(holds),
                    context.show(limit.value - holds)
                ),
            });
            out.push(found);
        }
    }
}

/// The track named, or at an end the longest one.
fn standing(
    context: &Context<'_>,
    station: StationId,
    track: Option<&Spanned<String>>,
    only_named: bool,
) -> Option<(TrackId, Actual)> {
    match track {
        Some(name) => {
            let track = context.road.way.station(station).find_track(&name.value)?;
            Some((track, context.usable(TrackRef { station, track })))
        }
        None if only_named => None,
        None => longest(context, station),
    }
}

/// The longest track of a station on which trains stand.
fn longest(context: &Context<'_>, station: StationId) -> Option<(TrackId, Actual)> {
    let page = context.road.way.station(station);
    page.tracks()
        .filter(|(_, track)| {
            matches!(
                track.usage,
                TrackUse::Main | TrackUse::Siding | TrackUse::Staging | TrackUse::ArrivalDeparture
            )
        })
        .map(|(id, track)| {
            let holds = context.usable(TrackRef { station, track: id });
            // At the end of its run a train may stand on the main beyond where others pass it.
            let main = track.usage == TrackUse::Main && track.usable.is_none();
            (id, if main { track.run().max(holds) } else { holds })
        })
        .reduce(|best, one| if one.1 > best.1 { one } else { best })
}
