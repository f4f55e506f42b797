//! The trains of the day with everything the dispatcher has to know of each.

use std::collections::BTreeSet;

use engineering::{
    ids::TrackId,
    station::{StationKind, TrackUse},
};
use mechanical::tonnage::Governs;
use model::{
    Spanned,
    time::{RailSpan, RailTime},
};
use railroad::{
    Railroad, TrainWay,
    rating::{rating_car, train_limits},
    way_between,
};
use transportation::{StopWork, Train, TrainId, TrainKind};

use super::{
    ground::{VisitKind, visit},
    turns::Light,
};
use crate::running::{Assumed, Profiles, TrainTimes, longest, times};

/// One train's call at a station, as asked for.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Ask {
    /// Whether it stops.
    pub(super) stops: bool,
    /// When it is due to arrive.
    pub(super) due_arrive: Option<RailTime>,
    /// When it is due to leave; it does not leave before.
    pub(super) due_leave: Option<RailTime>,
    /// How long it stands at least, once stopped.
    pub(super) dwell: i64,
    /// How long its switching takes, if it works here.
    pub(super) work: Option<RailSpan>,
}

/// A train of the day.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Leg {
    /// The train as written; nothing for a light engine the plan adds.
    pub(super) train: Option<TrainId>,
    /// What it goes by in hand-overs.
    pub(super) id: TrainId,
    /// Its engines, by number.
    pub(super) engines: Vec<String>,
    pub(super) symbol: String,
    pub(super) class: i64,
    pub(super) direction: String,
    pub(super) superior_direction: bool,
    pub(super) way: TrainWay,
    pub(super) times: TrainTimes,
    pub(super) asks: Vec<Ask>,
    pub(super) visits: Vec<VisitKind>,
    /// It must be in by then: its crew's hours of service.
    pub(super) off_duty: Option<RailTime>,
    /// From which stations on it could not start again on the open line, and at which it could not.
    pub(super) no_start: [Vec<bool>; 2],
}

impl Leg {
    /// Whether it must not stop between a call and the next.
    pub(super) fn runs_through(&self, call: usize) -> bool {
        self.no_start[0].get(call).copied().unwrap_or(false)
    }

    /// Whether it must not wait at a call. Where it is made to stop, it stops.
    pub(super) fn passes_by(&self, call: usize) -> bool {
        let within = call > 0 && call + 1 < self.asks.len();
        within && !self.asks[call].stops && self.no_start[1].get(call).copied().unwrap_or(false)
    }
}

/// What a kind of work takes where nobody has said or reckoned it, railroad minutes. Common practice, no
/// source.
pub fn usual_minutes(work: StopWork) -> i64 {
    match work {
        StopWork::PassengerStop | StopWork::Register => 2,
        StopWork::PickUp | StopWork::SetOut | StopWork::Switch => 20,
        StopWork::Meet => 0,
        StopWork::Water => 8,
        StopWork::Coal => 10,
        StopWork::Ice => 20,
        StopWork::HelperOn | StopWork::HelperOff => 5,
        StopWork::Crew => 5,
        StopWork::CutIn | StopWork::CutOut => 10,
    }
}

/// What the day needs to know of each train besides its page: how long and heavy it is made up, and how
/// long its work takes. Anything left out is taken from the page.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Made {
    /// Length over all, on the model.
    pub length: Option<model::units::Actual>,
    /// Tons behind the engines.
    pub tons: Option<f64>,
    /// For each of its stops, in the order written, how long its switching takes.
    pub work: Vec<Option<RailSpan>>,
    /// How long its work takes at the end of its run, before it goes back as another train.
    pub turn: Option<RailSpan>,
}

/// Makes the leg of a train, if it has a way and a time to leave.
pub(super) fn leg(
    railroad: &Railroad,
    profiles: &Profiles,
    assumed: &Assumed,
    id: TrainId,
    way: &TrainWay,
    made: Option<&Made>,
) -> Option<Leg> {
    let train = railroad.service.train(id);
    let leave = train.leave?.value;
    let length = made
        .and_then(|made| made.length)
        .unwrap_or_else(|| longest(railroad, train));
    let tons = made.and_then(|made| made.tons);
    let times = times(railroad, profiles, assumed, train, way, length, tons);
    let (direction, superior_direction) = direction(railroad, train, way);
    Some(Leg {
        train: Some(id),
        id,
        engines: train
            .engines
            .iter()
            .map(|engine| engine.value.clone())
            .collect(),
        no_start: no_start(railroad, train, id, way, tons),
        symbol: train.symbol.value.clone(),
        class: train.class.map_or(4, |class| class.value),
        direction,
        superior_direction,
        asks: asks(railroad, train, way, leave, made),
        visits: visits(railroad, train, way),
        way: way.clone(),
        times,
        off_duty: None,
    })
}

/// The leg of a helper that runs light, of the class after the last.
pub(super) fn light(
    railroad: &Railroad,
    profiles: &Profiles,
    assumed: &Assumed,
    light: &Light,
    class: i64,
    before: &[Leg],
) -> Option<Leg> {
    let way = way_between(railroad, light.from, light.to)?;
    let name = |station| railroad.way.station(station).name.clone();
    let helped = railroad.service.trains.iter().find(|train| {
        let helper = train
            .helper
            .as_ref()
            .and_then(|helper| helper.engine.as_ref());
        let own = train.engines.iter();
        helper
            .into_iter()
            .chain(own)
            .any(|engine| engine.value == light.engine)
    })?;
    let span = helped.span;
    let spanned = |value| Spanned { value, span };
    // As if its page had it.
    let mut page = Train {
        name: None,
        class: Some(Spanned { value: class, span }),
        kind: Some(Spanned {
            value: TrainKind::LightEngine,
            span,
        }),
        line: None,
        direction: None,
        from: Some(name(light.from)),
        to: Some(name(light.to)),
        from_track: None,
        from_place: None,
        to_track: None,
        leave: Some(Spanned {
            value: light.at,
            span,
        }),
        arrive: None,
        engines: vec![spanned(light.engine.clone())],
        helper: None,
        max_length: None,
        max_cars: None,
        max_tons: None,
        blocks: Vec::new(),
        stops: Vec::new(),
        meets: Vec::new(),
        job: None,
        caboose: false,
        note: None,
        ..helped.clone()
    };
    let (direction, superior_direction) = direction(railroad, &page, &way);
    let mut letters = direction.chars();
    let capital: String = letters
        .next()
        .map(|first| first.to_uppercase().collect::<String>() + letters.as_str())
        .unwrap_or_default();
    let called = format!("Extra {} {capital}", light.engine);
    let trips = before
        .iter()
        .filter(|leg| leg.symbol == called || leg.symbol.starts_with(&format!("{called}, ")))
        .count();
    page.symbol = spanned(if trips > 0 {
        format!("{called}, trip {}", trips + 1)
    } else {
        called
    });
    let length = longest(railroad, &page);
    let times = times(railroad, profiles, assumed, &page, &way, length, Some(0.0));
    Some(Leg {
        train: None,
        id: light.id,
        engines: vec![light.engine.clone()],
        no_start: [Vec::new(), Vec::new()],
        symbol: page.symbol.value.clone(),
        class,
        direction,
        superior_direction,
        asks: asks(railroad, &page, &way, light.at, None),
        visits: visits(railroad, &page, &way),
        way,
        times,
        off_duty: None,
    })
}

/// Where a train could not start again, by the ratings of engines and cars, if the owner wants that heeded: from
/// which stations on, and at which.
fn no_start(
    railroad: &Railroad,
    train: &Train,
    id: TrainId,
    way: &TrainWay,
    tons: Option<f64>,
) -> [Vec<bool>; 2] {
    let mut found = [Vec::new(), Vec::new()];
    if !railroad.service.operating.no_stop_grades {
        return found;
    }
    let car = rating_car(railroad).full_size.short_tons();
    let tons = tons.or(train.max_tons.map(|tons| tons.value));
    let cars = tons
        .filter(|_| railroad.tonnage.governs == Governs::FullSize)
        .map(|tons| (tons / car.max(1.0)).ceil() as u32);
    let Some(limits) = train_limits(railroad, id, cars) else {
        return found;
    };
    // An engine whose record says too little is held back nowhere.
    let Ok(taken) = limits.governing() else {
        return found;
    };
    found = [
        vec![false; way.opens.len()],
        vec![false; way.stations.len()],
    ];
    let mut step = 0;
    for (at, leg) in limits.legs.iter().enumerate() {
        for stretch in &leg.stretches {
            let there = &leg.profile.places[stretch.reaches];
            for (_, reach) in taken.no_stop.iter().filter(|(leg, _)| *leg == at) {
                let (Some(open), Some(station)) = (found[0].get(step), found[1].get(step + 1))
                else {
                    continue;
                };
                let open = *open || (reach.from < there.from && reach.to > stretch.from);
                let station = *station || (reach.from <= there.to && there.to <= reach.to);
                found[0][step] = open;
                found[1][step + 1] = station;
            }
            step += 1;
        }
    }
    found
}

/// The timetable direction of a train, and whether it is the superior one of its line.
pub(super) fn direction(railroad: &Railroad, train: &Train, way: &TrainWay) -> (String, bool) {
    let first = way
        .opens
        .first()
        .map(|step| railroad.way.line(step.open.line));
    let line = train
        .line
        .as_ref()
        .and_then(|line| railroad.way.find_line(&line.value))
        .map(|line| railroad.way.line(line))
        .or(first);
    let by_way = first
        .zip(way.opens.first())
        .map_or_else(String::new, |(line, step)| {
            line.directions[usize::from(step.up)].clone()
        });
    let direction = train
        .direction
        .as_ref()
        .map_or(by_way, |direction| direction.value.clone());
    let superior = line
        .and_then(|line| line.superior.as_ref())
        .is_some_and(|superior| superior.value == direction);
    (direction, superior)
}

fn asks(
    railroad: &Railroad,
    train: &Train,
    way: &TrainWay,
    leave: RailTime,
    made: Option<&Made>,
) -> Vec<Ask> {
    let last = way.stations.len() - 1;
    let mut asks: Vec<Ask> = (0..way.stations.len())
        .map(|at| Ask {
            stops: at == 0 || at == last,
            due_arrive: None,
            due_leave: None,
            dwell: 0,
            work: None,
        })
        .collect();
    asks[0].due_leave = Some(leave);
    asks[last].due_arrive = train.arrive.map(|arrive| arrive.value);
    for (index, stop) in train.stops.iter().enumerate() {
        let Some(at) = stop.station.as_ref().and_then(|name| {
            way.stations
                .iter()
                .position(|id| railroad.way.station(*id).name.value == name.value)
        }) else {
            continue;
        };
        if at == 0 || at == last {
            continue;
        }
        let ask = &mut asks[at];
        ask.due_arrive = stop.arrive.map(|time| time.value);
        ask.due_leave = stop.leave.map(|time| time.value);
        ask.stops = !stop.work.is_empty() || stop.arrive.is_some();
        let switches = stop.work.iter().any(|work| {
            matches!(
                work.value,
                StopWork::PickUp | StopWork::SetOut | StopWork::Switch
            )
        });
        let reckoned = made.and_then(|made| made.work.get(index).copied().flatten());
        let usual: i64 = stop
            .work
            .iter()
            .map(|work| usual_minutes(work.value))
            .max()
            .unwrap_or(0);
        let written = stop.minutes.map(|minutes| minutes.value);
        let least = match (switches, reckoned, written) {
            // What the owner wrote is not to be computed.
            (_, _, Some(written)) => written,
            (true, Some(reckoned), None) => reckoned,
            _ => RailSpan::from_minutes(usual),
        };
        ask.dwell = least.seconds().max(0);
        ask.work = switches.then_some(least);
    }
    // A helper is coupled on and cut off standing, written or not.
    let helper = train.helper.as_ref();
    for (name, work) in [
        (
            helper.and_then(|helper| helper.from.as_ref()),
            StopWork::HelperOn,
        ),
        (
            helper.and_then(|helper| helper.to.as_ref()),
            StopWork::HelperOff,
        ),
    ] {
        let at = name.and_then(|name| {
            way.stations
                .iter()
                .position(|id| railroad.way.station(*id).name.value == name.value)
        });
        if let Some(at) = at.filter(|at| *at > 0 && *at < last) {
            let ask = &mut asks[at];
            ask.stops = true;
            let written = train.stops.iter().any(|stop| {
                stop.station.as_ref().map(|s| &s.value) == name.map(|name| &name.value)
                    && (stop.minutes.is_some() || !stop.work.is_empty())
            });
            if !written {
                ask.dwell = ask.dwell.max(usual_minutes(work) * 60);
            }
        }
    }
    asks
}

fn visits(railroad: &Railroad, train: &Train, way: &TrainWay) -> Vec<VisitKind> {
    let last = way.stations.len() - 1;
    (0..=last)
        .map(|at| {
            let id = way.stations[at];
            let page = railroad.way.station(id);
            let name = match at {
                0 => train.from_track.as_ref(),
                _ if at == last => train.to_track.as_ref(),
                _ => train
                    .stops
                    .iter()
                    .find(|stop| {
                        stop.station
                            .as_ref()
                            .is_some_and(|station| station.value == page.name.value)
                    })
                    .and_then(|stop| stop.track.as_ref()),
            };
            let mut only: Option<Vec<TrackId>> = name
                .and_then(|name| page.find_track(&name.value))
                .map(|track| vec![track]);
            if only.is_none() && (at == 0 || at == last) {
                only = engine_tracks(railroad, train, id, at == 0);
            }
            visit(
                id,
                at.checked_sub(1).and_then(|before| way.opens.get(before)),
                way.opens.get(at),
                only,
            )
        })
        .collect()
}

/// Where an engine that runs alone begins and ends: on the track it is said to stand on, else on any for
/// engines.
fn engine_tracks(
    railroad: &Railroad,
    train: &Train,
    station: engineering::ids::StationId,
    begins: bool,
) -> Option<Vec<TrackId>> {
    if !matches!(
        kind(train),
        Some(TrainKind::LightEngine | TrainKind::Helper)
    ) {
        return None;
    }
    let page = railroad.way.station(station);
    let number = train.engines.first()?;
    let engine = railroad.roster.find_engine(&number.value)?;
    let at = railroad.roster.engine(engine).at.as_ref();
    let stands = at
        .and_then(|at| railroad.way.find_track(&at.value))
        .filter(|track| begins && track.station == station);
    let tracks: Vec<TrackId> = match stands {
        Some(track) => vec![track.track],
        None => page
            .tracks()
            .filter(|(_, track)| track.usage == TrackUse::Engine)
            .map(|(id, _)| id)
            .collect(),
    };
    (!tracks.is_empty()).then_some(tracks)
}

/// Whether a train stands ready at its initial station from the beginning of the day: in staging, or
/// anywhere without a yard to make it up.
pub(super) fn stands_ready(railroad: &Railroad, leg: &Leg) -> bool {
    let page = railroad.way.station(leg.way.stations[0]);
    match page.kind {
        StationKind::Staging => true,
        StationKind::Yard => leg.train.is_some_and(|id| {
            let train = railroad.service.train(id);
            // A train that is not made up here today stood here overnight.
            let engine_there = train.engines.first().is_some_and(|number| {
                let at = railroad
                    .roster
                    .find_engine(&number.value)
                    .and_then(|id| railroad.roster.engine(id).at.as_ref());
                let track = train.from_track.as_ref();
                at.zip(track).is_some_and(|(at, track)| {
                    at.value == format!("{} / {}", page.name.value, track.value)
                })
            });
            engine_there && matches!(kind(train), Some(TrainKind::Passenger | TrainKind::Express))
        }),
        // An engine alone, or a motor, stands in its stall.
        _ => !leg.train.is_none_or(|id| {
            matches!(
                kind(railroad.service.train(id)),
                Some(TrainKind::LightEngine | TrainKind::Helper)
            )
        }),
    }
}

fn kind(train: &Train) -> Option<TrainKind> {
    train.kind.map(|kind| kind.value)
}

/// The trains that run on the railroad's day, annulled ones left out.
pub fn running(railroad: &Railroad) -> Vec<TrainId> {
    let weekday = railroad
        .identity
        .date
        .map(|date| date.value.weekday().days_after_monday());
    let annulled: BTreeSet<&str> = railroad
        .service
        .operating
        .annulled
        .iter()
        .map(|name| name.value.as_str())
        .collect();
    railroad
        .service
        .train_ids()
        .filter(|(_, train)| weekday.is_none_or(|day| train.days.value.contains(day)))
        .filter(|(_, train)| !annulled.contains(train.symbol.value.as_str()))
        .map(|(id, _)| id)
        .collect()
}
