//! A railroad made ready for playing sessions: everything that stays the same from one to the next, by
//! number.

use std::{collections::BTreeMap, sync::Arc};

use engineering::{
    ids::{StationId, TrackId, TrackRef},
    station::{StationKind, TrackUse},
};
use mechanical::{CarId, CarKind, CarState};
use model::units::{Actual, Prototype};
use railroad::{Railroad, identity::RoadKind, rating::train_limits};
use traffic::{
    FlowId, Place,
    books::Ground,
    demand::{End, Lane, Stream, lanes},
};
use transportation::TrainKind;

use super::{
    Options,
    ways::{DAY, Ways, is_yard},
};

/// How an end of a lane lies.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Lies {
    /// On the railroad.
    Here,
    /// Beyond staging: cars stay on its tracks and stand for those beyond.
    Staging,
    /// On another road that comes with staging of its own, at this station.
    Live,
    /// On another road: cars are exchanged by hand between sessions.
    ByHand,
}

/// An end of a lane.
#[derive(Debug, Clone)]
pub(super) struct Side {
    pub lies: Lies,
    pub station: StationId,
    /// Where cars are put, the preferred first.
    pub tracks: Vec<TrackRef>,
    /// Spots of the first track, if it has any that count.
    pub spots: Vec<usize>,
    pub flow: Option<FlowId>,
    pub dwell: i64,
    /// Number of the shipper at this end in [`Plan::places`].
    pub place: Option<usize>,
    pub beyond: Option<String>,
}

/// A lane, ready for playing.
#[derive(Debug, Clone)]
pub(super) struct Stretch {
    pub lane: Lane,
    pub stream: Stream,
    pub from: Side,
    pub to: Side,
    pub pool: Option<usize>,
    pub not_after: Vec<usize>,
    pub commodity: usize,
    /// Whether the load spoils: it may go in perishable trains.
    pub class: usize,
    pub away: i64,
    /// The station by which a load leaves the railroad, if it does.
    pub out: Option<StationId>,
}

/// A set of spots, or a track without any, at which somebody loads and unloads.
#[derive(Debug, Clone)]
pub(super) struct ShipperPlace {
    /// The shipper's name.
    pub name: String,
    pub track: TrackRef,
    pub spots: Vec<usize>,
    /// Cars it takes at a time.
    pub holds: usize,
}

/// A car, ready for playing.
#[derive(Debug, Clone)]
pub(super) struct Wagon {
    pub kind: Option<CarKind>,
    pub length: Actual,
    pub tons: [f64; 2],
    pub pool: Option<usize>,
    /// Whether sessions move it as freight.
    pub freight: bool,
    pub caboose: bool,
    /// Whether it runs in passenger trains.
    pub passenger: bool,
    /// The station toward which it goes home, if it is another's.
    pub home: Option<StationId>,
    pub foreign: bool,
}

/// What a station is for.
#[derive(Debug, Clone)]
pub(super) struct Place_ {
    pub yard: bool,
    pub staging: bool,
    /// Tracks where cars are kept, the preferred first.
    pub hold: Vec<TrackRef>,
    /// Tracks of last resort.
    pub spare: Vec<TrackRef>,
    pub interchange: Vec<TrackRef>,
    /// Staging behind the interchange.
    pub behind: Vec<TrackRef>,
    pub caboose: Vec<TrackRef>,
    /// Repair tracks: cars are cleaned there.
    pub cleans: bool,
    pub all: Vec<TrackRef>,
}

/// What a train may take.
#[derive(Debug, Clone)]
pub(super) struct Most {
    pub symbol: String,
    pub name: String,
    pub length: Actual,
    pub cars: usize,
    pub tons: f64,
    pub caboose: bool,
    /// Days of the week on which it runs.
    pub days: model::days::Days,
    /// The train as which its engine goes on from the end of its run.
    pub onward: Option<usize>,
}

/// A train of passenger cars: it takes those that stand where it is made up.
#[derive(Debug, Clone)]
pub(super) struct PassengerTrain {
    pub symbol: String,
    pub days: model::days::Days,
    pub from: TrackRef,
    pub to: Vec<TrackRef>,
    pub leave: i64,
    pub arrive: i64,
    pub length: Actual,
}

/// What happens in a day, in order of time.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Event {
    /// A freight train comes to a call.
    Arrive(usize),
    /// It leaves it.
    Leave(usize),
    /// A passenger train arrives.
    Passengers(usize),
    /// It leaves.
    Board(usize),
}

/// A railroad made ready.
pub(super) struct Plan {
    pub ways: Ways,
    pub lanes: Vec<Stretch>,

    pub wagons: Vec<Wagon>,
    pub stations: Vec<Place_>,
    pub trains: Vec<Most>,
    pub passenger: Vec<PassengerTrain>,
    pub events: Vec<(i64, Event)>,
    pub places: Vec<ShipperPlace>,
    pub ground: Arc<Ground>,
    pub month: u8,
    pub weekday: u8,
    pub date: Option<model::date::Date>,
    /// Seconds of the railroad's clock a train needs at a stop: for any work, and for each car.
    pub pace: (i64, i64),
    pub mean_length: Actual,
    /// How long a car needs from one train to the next.
    pub connection: i64,
    /// For each station how many cabooses its trains need at midnight.
    pub cabooses: Vec<i64>,
}

impl Plan {
    pub(super) fn new(railroad: &Railroad, options: &Options) -> Self {
        let way = &railroad.way;
        let ground = Arc::new(railroad::books::ground(railroad));
        let connection = options.connection.seconds();
        let ways = Ways::new(railroad, connection);
        let (all, _) = lanes(&railroad.traffic, way);
        let mut names = Words::default();
        let mut pools = Words::default();
        let mut places: Vec<ShipperPlace> = vec![];
        let stations: Vec<Place_> = way
            .stations()
            .map(|(id, _)| station(railroad, id))
            .collect();
        let mut count: BTreeMap<FlowId, u64> = BTreeMap::new();
        let lanes: Vec<Stretch> = all
            .into_iter()
            .map(|lane| {
                let nth = count.entry(lane.flow).or_default();
                let stream = Stream::new(&railroad.traffic, &lane, 0, *nth);
                *nth += 1;
                let from = side(railroad, &ground, &stations, &lane.from, &mut places);
                let to = side(railroad, &ground, &stations, &lane.to, &mut places);
                Stretch {
                    stream,
                    pool: lane.pool.as_deref().map(|pool| pools.number(pool)),
                    not_after: lane
                        .not_after
                        .iter()
                        .map(|what| names.number(what))
                        .collect(),
                    commodity: names.number(&lane.commodity),
                    class: usize::from(matches!(lane.kind, CarKind::Reefer | CarKind::Stock)),
                    away: lane.away.seconds(),
                    out: (to.lies != Lies::Here).then_some(to.station),
                    from,
                    to,
                    lane,
                }
            })
            .collect();
        let homes = homes(railroad);
        let shop = railroad::shop(railroad);
        let wagons: Vec<Wagon> = railroad
            .roster
            .car_ids()
            .map(|(id, car)| {
                let tons = |weight: Option<model::Spanned<model::units::Weight>>, usual: f64| {
                    weight.map_or(usual, |weight| weight.value.short_tons())
                };
                // A load is as often light and bulky as heavy: three quarters of the capacity.
                // Common practice, no source.
                let tare = tons(car.light_weight, 22.0);
                let load = 0.75 * tons(car.capacity, 40.0);
                let kind = car.kind.map(|kind| kind.value);
                let foreign = car.is_foreign(&shop);
                let in_service = car.state == CarState::InService;
                Wagon {
                    kind,
                    length: ground.cars[id.index()].length,
                    tons: [tare, tare + load],
                    pool: car.pool.as_deref().map(|pool| pools.number(pool)),
                    freight: in_service && kind.is_some_and(CarKind::carries_freight),
                    caboose: in_service && kind == Some(CarKind::Caboose),
                    passenger: in_service
                        && matches!(
                            kind,
                            Some(
                                CarKind::Coach
                                    | CarKind::Combine
                                    | CarKind::Baggage
                                    | CarKind::Mail
                                    | CarKind::Diner
                                    | CarKind::Lounge
                                    | CarKind::Sleeper
                            )
                        ),
                    home: foreign
                        .then(|| homes.get(&car.marks.value).copied())
                        .flatten(),
                    foreign,
                }
            })
            .collect();
        let lengths: Vec<Actual> = wagons
            .iter()
            .filter(|wagon| wagon.freight)
            .map(|wagon| wagon.length)
            .collect();
        let mean_length = match lengths.len() {
            0 => Actual::from_inches(6.0),
            count => lengths.into_iter().sum::<Actual>() / count as f64,
        };
        let trains: Vec<Most> = ways
            .trains
            .iter()
            .map(|train| most(railroad, &ways, train.train))
            .collect();
        let passenger = passenger(railroad, &stations);
        let mut events = vec![];
        for (at, call) in ways.calls.iter().enumerate() {
            let last = call.nth + 1 == ways.trains[call.train].calls.len();
            if call.nth > 0 {
                events.push((call.arrive, Event::Arrive(at)));
            }
            if !last {
                events.push((call.leave, Event::Leave(at)));
            }
        }
        for (at, train) in passenger.iter().enumerate() {
            events.push((train.leave, Event::Board(at)));
            events.push((train.arrive, Event::Passengers(at)));
        }
        events.sort_unstable();
        let date = railroad.identity.date.map(|date| date.value);
        let mut cabooses = vec![0_i64; stations.len()];
        let mut stock = cabooses.clone();
        for (_, event) in &events {
            let (Event::Arrive(call) | Event::Leave(call)) = *event else {
                continue;
            };
            let call = ways.calls[call];
            if !trains[call.train].caboose {
                continue;
            }
            let at = call.station.index();
            if call.nth == 0 {
                stock[at] -= 1;
                cabooses[at] = cabooses[at].max(-stock[at]);
            } else if call.nth + 1 == ways.trains[call.train].calls.len() {
                stock[at] += 1;
            }
        }
        Self {
            ways,
            cabooses,
            lanes,

            wagons,
            stations,
            trains,
            passenger,
            events,
            places,
            ground,
            month: date.map_or(10, model::date::Date::month),
            weekday: date.map_or(0, |date| date.weekday().days_after_monday()),
            date,
            pace: super::pace::clock_seconds(railroad),
            mean_length,
            connection,
        }
    }

    /// The month and the day of the week of a session.
    pub(super) fn calendar(&self, day: u32, moves: bool) -> (u8, u8) {
        let weekday = ((u32::from(self.weekday) + day) % 7) as u8;
        let month = if moves {
            self.date
                .and_then(|date| date.plus_days(day as i32))
                .map_or(self.month, model::date::Date::month)
        } else {
            self.month
        };
        (month, weekday)
    }
}

/// Words by number.
#[derive(Default)]
struct Words {
    all: Vec<String>,
    by: BTreeMap<String, usize>,
}

impl Words {
    fn number(&mut self, word: &str) -> usize {
        if let Some(&number) = self.by.get(word) {
            return number;
        }
        self.all.push(word.to_owned());
        self.by.insert(word.to_owned(), self.all.len() - 1);
        self.all.len() - 1
    }
}

fn station(railroad: &Railroad, id: StationId) -> Place_ {
    let page = railroad.way.station(id);
    let of = |wanted: &[TrackUse]| -> Vec<TrackRef> {
        let mut found: Vec<(usize, TrackRef)> = page
            .tracks()
            .filter_map(|(track, on)| {
                let rank = wanted.iter().position(|usage| *usage == on.usage)?;
                Some((rank, TrackRef { station: id, track }))
            })
            .collect();
        found.sort();
        found.into_iter().map(|(_, track)| track).collect()
    };
    let staging = page.kind == StationKind::Staging;
    let hold = if staging {
        of(&[TrackUse::Staging, TrackUse::Storage, TrackUse::Main])
    } else {
        of(&[
            TrackUse::Classification,
            TrackUse::Storage,
            TrackUse::ArrivalDeparture,
        ])
    };
    let interchange = of(&[TrackUse::Interchange]);
    Place_ {
        yard: is_yard(railroad, id),
        staging,
        hold,
        spare: of(&[TrackUse::Runaround, TrackUse::Siding]),
        behind: if interchange.is_empty() || staging {
            vec![]
        } else {
            of(&[TrackUse::Staging])
        },
        interchange,
        caboose: of(&[TrackUse::Caboose]),
        cleans: page
            .tracks
            .iter()
            .any(|track| track.usage == TrackUse::Repair),
        all: page
            .tracks()
            .map(|(track, _)| TrackRef { station: id, track })
            .collect(),
    }
}

fn side(
    railroad: &Railroad,
    ground: &Ground,
    stations: &[Place_],
    end: &End,
    places: &mut Vec<ShipperPlace>,
) -> Side {
    let station = end.stand.station;
    let here = &stations[station.index()];
    let on = |track: &TrackId| TrackRef {
        station,
        track: *track,
    };
    let lies = match (&end.stand.beyond, here.staging) {
        (None, _) => Lies::Here,
        (Some(_), true) => Lies::Staging,
        (Some(_), false) if !here.behind.is_empty() => Lies::Live,
        (Some(_), false) if !here.interchange.is_empty() => Lies::ByHand,
        // Staging tracks at a station of another kind.
        (Some(_), false) => Lies::Staging,
    };
    let tracks: Vec<TrackRef> = match lies {
        Lies::Here => end.stand.tracks.iter().map(on).collect(),
        Lies::Staging if here.staging => here.hold.clone(),
        Lies::Staging => end.stand.tracks.iter().map(on).collect(),
        Lies::Live | Lies::ByHand => here.interchange.clone(),
    };
    let mut spots = end.stand.spots.clone();
    let mut place = None;
    if lies == Lies::Here
        && let Some(&track) = tracks.first()
    {
        let marks = ground.track(track).map_or(0, |track| track.spots);
        if spots.is_empty() && end.stand.tracks.len() == 1 {
            spots = (0..marks).collect();
        }
        let name = end
            .flow
            .and_then(|flow| railroad.traffic.flow(flow).shipper_name.as_ref())
            .map_or_else(|| railroad.way.track_name(track), |name| name.value.clone());
        let holds = if spots.is_empty() {
            let room: Actual = tracks
                .iter()
                .filter_map(|&track| ground.track(track))
                .map(|track| track.room)
                .sum();
            ((room / Actual::from_inches(6.2)).floor() as usize).max(1)
        } else {
            spots.len()
        };
        let known = places
            .iter()
            .position(|one| one.track == track && one.spots == spots && one.name == name);
        place = Some(known.unwrap_or_else(|| {
            places.push(ShipperPlace {
                name,
                track,
                spots: spots.clone(),
                holds,
            });
            places.len() - 1
        }));
    }
    Side {
        lies,
        station,
        tracks,
        spots: if lies == Lies::Here { spots } else { vec![] },
        flow: end.flow,
        dwell: end.dwell.seconds(),
        place,
        beyond: end.stand.beyond.clone(),
    }
}

/// For marks the station by which other roads' cars go home: that of the places whose loads are most
/// often in the railroad's history with such cars, or else none.
fn homes(railroad: &Railroad) -> BTreeMap<String, StationId> {
    let way = &railroad.way;
    let mut seen: BTreeMap<String, BTreeMap<StationId, usize>> = BTreeMap::new();
    for waybill in &railroad.traffic.waybills {
        let Some(car) = waybill
            .car
            .as_ref()
            .and_then(|car| railroad.roster.find_car(&car.value))
        else {
            continue;
        };
        for place in [&waybill.from, &waybill.to] {
            if let Some(Place::Via { via, .. }) = place
                && let Some(station) = way.find_station(&via.value)
            {
                let marks = railroad.roster.car(car).marks.value.clone();
                *seen.entry(marks).or_default().entry(station).or_default() += 1;
            }
        }
    }
    let mut homes: BTreeMap<String, StationId> = seen
        .into_iter()
        .filter_map(|(marks, stations)| {
            let (station, _) = stations
                .into_iter()
                .max_by_key(|(id, n)| (*n, std::cmp::Reverse(*id)))?;
            Some((marks, station))
        })
        .collect();
    // What the owner says of a road, where it names a station by which cars leave.
    for road in &railroad.identity.roads {
        if !matches!(road.kind, RoadKind::Foreign | RoadKind::Private) {
            continue;
        }
        let Some(about) = &road.about else { continue };
        let named = way
            .stations()
            .filter(|(_, page)| {
                page.kind == StationKind::Staging
                    || page.tracks.iter().any(|track| {
                        matches!(track.usage, TrackUse::Interchange | TrackUse::Staging)
                    })
            })
            .find(|(_, page)| about.contains(&page.name.value));
        if let Some((station, _)) = named {
            homes.insert(road.marks.clone(), station);
        }
    }
    homes
}

fn most(railroad: &Railroad, ways: &Ways, id: transportation::TrainId) -> Most {
    let train = railroad.service.train(id);
    let roster = &railroad.roster;
    let engines: Actual = train
        .engines
        .iter()
        .filter_map(|number| roster.find_engine(&number.value))
        .filter_map(|id| roster.engine(id).length)
        .map(|length| length.value)
        .sum();
    let usual = || {
        // A consolidation and its tender, over the couplers; common practice, no source.
        railroad
            .identity
            .scale
            .scale
            .to_actual(Prototype::from_feet(68.0))
    };
    let engines = if engines > Actual::ZERO {
        engines
    } else {
        usual()
    };
    let caboose = if train.caboose {
        roster
            .cars
            .iter()
            .filter(|car| car.kind.is_some_and(|kind| kind.value == CarKind::Caboose))
            .filter_map(|car| car.length)
            .map(|length| length.value)
            .fold(Actual::ZERO, Actual::max)
    } else {
        Actual::ZERO
    };
    let longest = train
        .max_length
        .map(|length| length.value)
        .or(railroad.identity.limits.train_length);
    let length = longest.map_or(Actual::from_miles(1.0), |longest| {
        (longest - engines - caboose).max(Actual::ZERO)
    });
    let rated = train_limits(railroad, id, None).and_then(|limits| {
        let taken = limits.governing().as_ref().ok()?.clone();
        Some(match limits.rated_for {
            mechanical::tonnage::RatedFor::Starting => taken.starting,
            mechanical::tonnage::RatedFor::Moving => taken.moving,
        })
    });
    let cars = [
        train
            .max_cars
            .and_then(|cars| usize::try_from(cars.value).ok()),
        // A train without a rating is not held to one.
        rated.filter(|&cars| cars > 0).map(|cars| cars as usize),
    ]
    .into_iter()
    .flatten()
    .min()
    .unwrap_or(usize::MAX);
    let arrive = train.arrive.map(|time| time.value.seconds());
    let onward = ways
        .trains
        .iter()
        .enumerate()
        .filter(|(_, other)| {
            let next = railroad.service.train(other.train);
            other.train != id
                && next.from.as_ref().map(|name| &name.value)
                    == train.to.as_ref().map(|name| &name.value)
                && !train.engines.is_empty()
                && next.engines.first().map(|engine| &engine.value)
                    == train.engines.first().map(|engine| &engine.value)
                && next.leave.map(|time| time.value.seconds()) >= arrive
        })
        .min_by_key(|(at, other)| {
            let next = railroad.service.train(other.train);
            (next.leave.map(|time| time.value.seconds()), *at)
        })
        .map(|(at, _)| at);
    Most {
        symbol: train.symbol.value.clone(),
        name: match &train.name {
            Some(name) => format!("{} ({name})", train.symbol.value),
            None => train.symbol.value.clone(),
        },
        length,
        cars,
        tons: train.max_tons.map_or(f64::INFINITY, |tons| tons.value),
        caboose: train.caboose
            && !matches!(
                train.kind.map(|kind| kind.value),
                Some(TrainKind::Passenger)
            ),
        days: train.days.value,
        onward,
    }
}

fn passenger(railroad: &Railroad, stations: &[Place_]) -> Vec<PassengerTrain> {
    let mut out = vec![];
    for train in &railroad.service.trains {
        if train.kind.map(|kind| kind.value) != Some(TrainKind::Passenger) {
            continue;
        }
        let track = |station: &Option<model::Spanned<String>>,
                     track: &Option<model::Spanned<String>>| {
            let (station, track) = (station.as_ref()?, track.as_ref()?);
            railroad
                .way
                .find_track(&format!("{} / {}", station.value, track.value))
        };
        let (Some(from), Some((leave, arrive))) =
            (track(&train.from, &train.from_track), train.hours())
        else {
            continue;
        };
        let Some(end) = train
            .to
            .as_ref()
            .and_then(|name| railroad.way.find_station(&name.value))
        else {
            continue;
        };
        let mut to: Vec<TrackRef> = track(&train.to, &train.to_track).into_iter().collect();
        to.extend(&stations[end.index()].hold);
        to.extend(&stations[end.index()].spare);
        out.push(PassengerTrain {
            symbol: train.symbol.value.clone(),
            days: train.days.value,
            from,
            to,
            leave: leave.seconds().min(DAY - 1),
            arrive: arrive.seconds(),
            length: train
                .max_length
                .map_or(Actual::from_miles(1.0), |length| length.value),
        });
    }
    out
}

/// Cars of a place in the car record.
pub(super) fn car(at: usize) -> CarId {
    CarId(at as u32)
}
