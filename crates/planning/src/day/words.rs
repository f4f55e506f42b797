//! Resources and waits in words.

use dispatching::reasons::{self, Link};
use engineering::{
    ids::StationId,
    network::Place,
    station::{StationKind, TrackUse},
};
use model::time::{RailSpan, RailTime};
use railroad::Railroad;

use super::{
    compile::{Compiled, Kind, Resource},
    ground::Ground,
    legs::Leg,
    turns::{Handed, Turns},
};

/// What a resource is called.
pub(super) fn resource(
    railroad: &Railroad,
    ground: &Ground,
    turns: &Turns,
    legs: &[Leg],
    resource: &Resource,
) -> String {
    let name = |station: StationId| railroad.way.station(station).name.value.as_str();
    match resource {
        Resource::Open { open, track, block } => {
            let page = railroad.way.open(*open);
            let end = |at: usize| page.ends[at].id.map_or("the end of track", name);
            let (low, high) = (end(0), end(1));
            let line = railroad.way.line(open.line);
            let mut text = if page.tracks.value > 1 {
                let word = &line.directions[usize::from(*track == 2)];
                format!("the {word}bound main from {low} to {high}")
                    .replace("the upbound", "the up")
            } else {
                format!("the main track from {low} to {high}")
            };
            if page.blocks > 1 {
                text.push_str(&format!(", block {}", block + 1));
            }
            text
        }
        Resource::Stand {
            station,
            track,
            place,
        } => {
            let text = track_at(railroad, *station, *track);
            if *place > 0 {
                format!("{text}, place {}", place + 1)
            } else {
                text
            }
        }
        Resource::Clearance {
            open,
            inferior,
            superior,
        } => {
            let page = railroad.way.open(*open);
            let end = |at: usize| page.ends[at].id.map_or("the end of track", name);
            format!(
                "the main track from {} to {}, where {} must be in clear before {}",
                end(0),
                end(1),
                legs[*inferior].symbol,
                legs[*superior].symbol
            )
        }
        Resource::Throat(id) => {
            let (station, edges) = &ground.throats[id.0];
            let mut switches: Vec<&str> = edges
                .iter()
                .flat_map(|edge| railroad.network.edge(*edge).ends)
                .filter_map(|(node, _)| match railroad.network.node(node).place {
                    Place::Switch(switch) => {
                        let page = railroad.way.station(*station);
                        Some(page.switches[switch.index()].name.value.as_str())
                    }
                    _ => None,
                })
                .collect();
            switches.sort_unstable();
            switches.dedup();
            if switches.is_empty() {
                format!("the switches at {}", name(*station))
            } else {
                format!("switches {} at {}", switches.join(", "), name(*station))
            }
        }
        Resource::SawBy {
            station,
            siding,
            main,
        } => format!(
            "the tracks at {}, where {} would saw by {}",
            name(*station),
            legs[*siding].symbol,
            legs[*main].symbol
        ),
        Resource::Coupled(number) => {
            let hand_over = &turns.hand_overs[*number];
            match &hand_over.what {
                Handed::Engine(engine) | Handed::Helper(engine) => {
                    format!("engine {engine} on its track")
                }
                Handed::Crew(_) | Handed::Connection => String::new(),
            }
        }
        Resource::Handed(number) => {
            let hand_over = &turns.hand_overs[*number];
            match &hand_over.what {
                Handed::Engine(engine) => format!("engine {engine}"),
                Handed::Helper(engine) => format!("helper {engine}"),
                Handed::Crew(job) => format!("the {job} crew"),
                Handed::Connection => {
                    let from = railroad.service.train(hand_over.from);
                    format!("the connection from {}", from.symbol.value)
                }
            }
        }
    }
}

/// A track of a station as people say it: `the siding at Wendry`, `ad1 at Kellander`.
pub fn track_at(
    railroad: &Railroad,
    station: StationId,
    track: engineering::ids::TrackId,
) -> String {
    let page = railroad.way.station(station);
    let place = &page.name.value;
    let one = page.track(track);
    let only = |usage: TrackUse| {
        page.tracks
            .iter()
            .filter(|track| track.usage == usage)
            .count()
            == 1
    };
    match one.usage {
        TrackUse::Main if only(TrackUse::Main) => format!("the main track at {place}"),
        TrackUse::Siding if only(TrackUse::Siding) => format!("the siding at {place}"),
        _ if page.kind == StationKind::Staging
            || one.name.value.chars().all(|c| c.is_ascii_digit()) =>
        {
            format!("track {} at {place}", one.name.value)
        }
        _ => format!("{} at {place}", one.name.value),
    }
}

/// A time as the owner likes it.
pub fn time(railroad: &Railroad, time: RailTime) -> String {
    let style = railroad.identity.clock_face.style();
    // Crews have no use for seconds: up to the next minute.
    let seconds = time.seconds();
    let whole = seconds.div_euclid(60) + i64::from(seconds.rem_euclid(60) > 0);
    RailTime::from_seconds(whole * 60).show(style).to_string()
}

/// A span in minutes, rounded to the nearest.
pub fn minutes(span: RailSpan) -> String {
    let minutes = (span.seconds() as f64 / 60.0).round() as i64;
    if minutes == 0 && span.seconds() > 0 {
        format!("{} s", span.seconds())
    } else {
        format!("{minutes} min")
    }
}

/// The chain of a wait as sentences, and the trains in it.
pub(super) fn chain(
    railroad: &Railroad,
    compiled: &Compiled,
    legs: &[Leg],
    plan: &[Vec<(usize, i64)>],
    wait: &reasons::Wait,
) -> Vec<(String, Option<usize>)> {
    let who = |train: usize, operation: usize| -> (String, Option<usize>) {
        let tag = compiled.tags[train][operation];
        match legs.get(tag.leg) {
            Some(leg) => (leg.symbol.clone(), Some(tag.leg)),
            None => (compiled.problem.trains[train].name.clone(), None),
        }
    };
    // The waiting train's own leg at each link: that of its operation then.
    let mut sentences = Vec::new();
    for link in &wait.chain {
        match link {
            Link::Cleared {
                train,
                resources,
                holder,
                holder_operation,
                left,
                release_time,
            } => {
                let (holder_name, leg) = who(holder.index, *holder_operation);
                let waiter = name_at(compiled, legs, plan, train.index, *left);
                let at = time(
                    railroad,
                    RailTime::from_seconds(left + release_time + compiled.base),
                );
                let what = shortest(resources);
                let sentence = match first_kind(compiled, resources) {
                    Some(Resource::Handed(_)) => {
                        format!(
                            "{waiter} waits for {what}, which comes with {holder_name}, ready at {at}"
                        )
                    }
                    Some(Resource::Stand { station, track, .. })
                        if railroad.way.station(*station).track(*track).several_trains =>
                    {
                        let track = track_at(railroad, *station, *track);
                        format!(
                            "{waiter} waits for {holder_name}, which stands in its way on {track}, to go at {at}"
                        )
                    }
                    _ if leg.is_none() => {
                        format!("{waiter} waits for {what}, closed until {at}: {holder_name}")
                    }
                    _ => format!("{waiter} waits for {holder_name} to clear {what}, at {at}"),
                };
                sentences.push((sentence, leg));
            }
            Link::MayNotStand {
                train,
                operation,
                holding,
                ..
            } => {
                let (name, _) = who(train.index, *operation);
                let what = shortest(&tracks_of(compiled, holding));
                let sentence = match compiled.tags[train.index][*operation].kind {
                    Kind::Open(_) => {
                        let grade = compiled.tags[train.index][*operation];
                        let why = match legs.get(grade.leg) {
                            Some(leg) if leg.runs_through(grade.call) => {
                                ": stopped on that grade it could not start again"
                            }
                            _ => "",
                        };
                        format!("{name} does not start out on {what} until it can run through{why}")
                    }
                    Kind::Out => {
                        format!("{name} starts only when it can go right out on {what}")
                    }
                    _ => format!("{name} may not stop on {what}"),
                };
                sentences.push((sentence, None));
            }
        }
    }
    sentences
}

/// Those of some resources on which a train can be; on the way out of a station the open line.
fn tracks_of(compiled: &Compiled, names: &[String]) -> Vec<String> {
    let kind = |name: &String| {
        let resources = &compiled.problem.resources;
        let at = resources.iter().position(|one| one == name);
        at.and_then(|at| compiled.resources.get(at))
    };
    let of = |wanted: &dyn Fn(&Resource) -> bool| -> Vec<String> {
        names
            .iter()
            .filter(|name| kind(name).is_some_and(wanted))
            .cloned()
            .collect()
    };
    let open = of(&|resource| matches!(resource, Resource::Open { .. }));
    if open.is_empty() {
        of(&|resource| matches!(resource, Resource::Stand { .. } | Resource::Throat(_)))
    } else {
        open
    }
}

fn first_kind<'a>(compiled: &'a Compiled, names: &[String]) -> Option<&'a Resource> {
    let first = names.first()?;
    let at = compiled
        .problem
        .resources
        .iter()
        .position(|name| name == first)?;
    compiled.resources.get(at)
}

fn shortest(names: &[String]) -> String {
    names
        .iter()
        .min_by_key(|name| (name.len(), name.as_str()))
        .cloned()
        .unwrap_or_else(|| "the track".to_owned())
}

fn name_at(
    compiled: &Compiled,
    legs: &[Leg],
    plan: &[Vec<(usize, i64)>],
    train: usize,
    at: i64,
) -> String {
    let operation = plan[train]
        .iter()
        .take_while(|(_, time)| *time <= at)
        .last()
        .map_or(0, |(operation, _)| *operation);
    let tag = compiled.tags[train][operation];
    legs.get(tag.leg).map_or_else(
        || compiled.problem.trains[train].name.clone(),
        |leg| leg.symbol.clone(),
    )
}
