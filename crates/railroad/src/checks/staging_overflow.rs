//! More trains stand in staging at one time than it has tracks.

use std::collections::HashMap;

use engineering::{ids::StationId, station::TrackUse};
use model::{Diagnostics, Rule, Severity, time::RailTime};
use transportation::Train;

use super::context::Context;

/// More trains stand in staging at one time than it has tracks.
pub static RULE: Rule = Rule {
    code: "staging-overflow",
    severity: Severity::Warning,
    title: "More trains stand in staging at one time than it has tracks.",
    explain: "A train stands in staging until it leaves, and after it has arrived; one whose engine \
              came in on another is made of that one. Each takes a track.",
    fixture: r#"
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"

[[open]]
from = "Birch"
to = "East Staging"
length = "20 ft"
--- stations/east.toml
name = "East Staging"
line = "Main"
mile = 9
kind = "staging"
ends = ["W"]
elevation = "42 in"

[tracks]
main = { from = "W", to = "bumper", length = "12 ft", use = "staging" }
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "42 in"

[tracks]
main = { from = "W", to = "E", length = "12 ft", use = "main" }
siding = { from = "s1", to = "s2", length = "9 ft", use = "siding" }

[switches]
s1 = { on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }
s2 = { on = "main", at = "11 ft", points = "E", hand = "right", number = 6 }
--- trains.toml
[trains.1]
class = 2
direction = "east"
from = "Alder"
to = "East Staging"
leave = "8:00 AM"
arrive = "9:00 AM"
engines = ["12"]

[trains.2]
class = 2
direction = "east"
from = "Alder"
to = "East Staging"
leave = "10:00 AM"
arrive = "11:00 AM"
engines = ["14"]
"#,
    rendered: r#"
warning[staging-overflow]: 2 trains stand at East Staging at 11:00 AM when train 2 is in, and it has 1 staging track
  --> trains.toml:14:7
   |
14 | to = "East Staging"
   |       ^^^^^^^^^^^^
   |
  ::: stations/east.toml:1:9
   |
 1 | name = "East Staging"
   |         ------------ the station
   |
   = help: let a train leave before this one comes in, or end it elsewhere
"#,
    file: file!(),
};

/// Staging stations against the trains that begin and end there, daily ones and others alike.
pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let mut ends: HashMap<StationId, Standing<'_>> = HashMap::new();
    for train in &context.road.service.trains {
        let (Some(leave), Some(arrive)) = (train.leave, train.arrive) else {
            continue;
        };
        if let Some(station) = context.station(train.from.as_ref()) {
            ends.entry(station)
                .or_default()
                .leaving
                .push((leave.value, train));
        }
        if let Some(station) = context.station(train.to.as_ref()) {
            ends.entry(station)
                .or_default()
                .arriving
                .push((arrive.value, train));
        }
    }
    for (station, page) in context.road.way.stations() {
        let tracks = page
            .tracks
            .iter()
            .filter(|track| track.usage == TrackUse::Staging)
            .count();
        let Some(standing) = ends.get_mut(&station).filter(|_| tracks > 0) else {
            continue;
        };
        if let Some((count, time, train)) = standing.first_over(tracks) {
            let message = format!(
                "{count} trains stand at {} at {} when train {} is in, and it has {tracks} staging {}",
                page.name.value,
                context.time(time),
                train.symbol.value,
                if tracks == 1 { "track" } else { "tracks" }
            );
            let span = train.to.as_ref().map_or(train.symbol.span, |to| to.span);
            out.push(
                RULE.at(span, message)
                    .also(page.name.span, "the station")
                    .help("let a train leave before this one comes in, or end it elsewhere"),
            );
        }
    }
}

/// The trains that leave a station and those that come to it.
#[derive(Default)]
struct Standing<'a> {
    leaving: Vec<(RailTime, &'a Train)>,
    arriving: Vec<(RailTime, &'a Train)>,
}

impl<'a> Standing<'a> {
    /// The first arrival that makes too many, with how many stand there then.
    fn first_over(&mut self, tracks: usize) -> Option<(usize, RailTime, &'a Train)> {
        self.leaving
            .sort_by_key(|(time, train)| (*time, train.symbol.span));
        self.arriving
            .sort_by_key(|(time, train)| (*time, train.symbol.span));
        // A train made of one that came in takes that one's track; all others stand from the start.
        let mut came: HashMap<&str, usize> = HashMap::new();
        let mut arrivals = self.arriving.iter().peekable();
        let mut present = 0;
        for (time, train) in &self.leaving {
            while let Some((_, other)) = arrivals.next_if(|(arrive, _)| arrive <= time) {
                if let Some(engine) = other.engines.first() {
                    *came.entry(&engine.value).or_default() += 1;
                }
            }
            let engine = train.engines.first();
            match engine
                .and_then(|engine| came.get_mut(engine.value.as_str()))
                .filter(|n| **n > 0)
            {
                Some(left) => *left -= 1,
                None => present += 1,
            }
        }
        let mut leaving = self.leaving.iter().peekable();
        for &(time, train) in &self.arriving {
            while leaving.next_if(|(leave, _)| *leave <= time).is_some() {
                present -= 1;
            }
            present += 1;
            if present > tracks {
                return Some((present, time, train));
            }
        }
        None
    }
}
