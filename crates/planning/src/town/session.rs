//! What a train finds and brings in a session: drawn from what the shippers ship and receive.
//!
//! A town is played from the day before: cars come by the trains that bring them, stand as long as
//! they are loaded or unloaded, and go by the trains that take them; other roads fetch and bring cars
//! on the interchange overnight. After a few days its tracks are as full as they usually are, and the
//! next train's work is a typical session's. With no days before it is the work that the car record
//! leaves for today.

use engineering::{
    ids::{StationId, TrackId},
    station::TrackUse,
};
use mechanical::{CarKind, CarState};
use model::units::Actual;
use railroad::Railroad;
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;

use super::{
    compile::{Assumptions, CompiledTown, actual, compile, usual_car},
    demand::{Demand, carriers, demands},
    visit::{Visit, has_yard, visits_at},
};

/// Seconds in a day.
const DAY: i64 = 86_400;

/// Days played before a typical session.
pub const DAYS_BEFORE: u32 = 8;

/// A car or engine by name and length.
#[derive(Debug, Clone, PartialEq)]
pub struct RosterCar {
    /// Marks and number, or an engine's number.
    pub name: String,
    /// Over the pulling faces, on the model.
    pub length: Actual,
}

/// Where a car is to be put.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Target {
    /// At a spot of a track, by number.
    Spot(TrackId, usize),
    /// On any of these tracks.
    Tracks(Vec<TrackId>),
}

/// What is to be done with a standing car.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Intent {
    /// It is to stand there afterward as well.
    Stay,
    /// The train takes it, in this of [`Facts::blocks`].
    PickUp(usize),
    /// It is to be put elsewhere.
    Put(Target),
}

/// A car standing in the town.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// The car.
    pub car: RosterCar,
    /// On which track.
    pub track: TrackId,
    /// At which of the track's spots, by number.
    pub spot: Option<usize>,
    /// What is to be done with it.
    pub intent: Intent,
}

/// A car that the train brings.
#[derive(Debug, Clone, PartialEq)]
pub struct Inbound {
    /// The car.
    pub car: RosterCar,
    /// Where it is to be put.
    pub target: Target,
    /// For whom, for the words.
    pub who: String,
}

/// A session's work at a town, in the railroad's terms.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// The engine, or engines as one.
    pub engine: RosterCar,
    /// The caboose, last in the train.
    pub caboose: Option<RosterCar>,
    /// Blocks in which the train leaves, from the engine.
    pub blocks: Vec<String>,
    /// Cars for this town, from the engine.
    pub inbound: Vec<Inbound>,
    /// Cars that stay in the train, with their block, from the engine: behind those for this town.
    pub through: Vec<(RosterCar, usize)>,
    /// Cars that stand here; on each track from its beginning.
    pub standing: Vec<Standing>,
}

impl Facts {
    /// Length of the train as it comes.
    pub fn train_length(&self) -> Actual {
        let cars = self
            .inbound
            .iter()
            .map(|inbound| &inbound.car)
            .chain(self.through.iter().map(|(car, _)| car))
            .chain(&self.caboose);
        cars.fold(self.engine.length, |sum, car| sum + car.length)
    }

    /// Cars set out, picked up or moved to another spot.
    pub fn to_do(&self) -> usize {
        let moved = self
            .standing
            .iter()
            .filter(|standing| standing.intent != Intent::Stay)
            .count();
        self.inbound.len() + moved
    }
}

/// A train's session: how many days were played before, and the dice.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dice {
    /// Days played before.
    pub days: u32,
    /// The dice.
    pub seed: u64,
}

impl Dice {
    /// The day of the railroad's own page: cars stand where the car record says.
    pub fn today(seed: u64) -> Self {
        Self { days: 0, seed }
    }

    /// A typical session.
    pub fn typical(seed: u64) -> Self {
        Self {
            days: DAYS_BEFORE,
            seed,
        }
    }
}

#[derive(Debug, Clone)]
struct Parked {
    /// Place in the roster.
    car: usize,
    track: TrackId,
    spot: Option<usize>,
    demand: Option<usize>,
    /// Since when it has been loading or unloading.
    since: i64,
    /// Whether our trains take it; else the other road does.
    ours: bool,
    /// Which visit takes it.
    takes: usize,
}

/// The sessions of one town.
pub struct Sessions<'a> {
    railroad: &'a Railroad,
    /// Where.
    pub station: StationId,
    /// The trains that work here, by time.
    pub visits: Vec<Visit>,
    demands: Vec<Demand>,
    /// For each demand the visits that bring its cars and those that take them.
    carriers: Vec<[Vec<usize>; 2]>,
    /// How much of each track holds cars.
    room: Vec<Actual>,
    /// For each visit the mean number of cars in each block that only pass through.
    through: Vec<Vec<f64>>,
}

impl<'a> Sessions<'a> {
    /// The sessions of a town under the trains that the railroad runs.
    pub fn new(railroad: &'a Railroad, station: StationId) -> Self {
        Self::with(railroad, station, visits_at(railroad, station))
    }

    /// The sessions of a town under these visits.
    pub fn with(railroad: &'a Railroad, station: StationId, visits: Vec<Visit>) -> Self {
        let (demands, carriers) = demand_of(railroad, station, &visits);
        let town = compile(
            railroad,
            station,
            &Assumptions::new(railroad, Actual::ZERO, None),
        );
        let room = town
            .places
            .iter()
            .map(|places| {
                places
                    .iter()
                    .map(|&place| actual(town.town.place_length(place)))
                    .fold(Actual::ZERO, Actual::max)
            })
            .collect();
        let through = visits
            .iter()
            .map(|visit| through_cars(railroad, visit))
            .collect();
        Self {
            railroad,
            station,
            visits,
            demands,
            carriers,
            room,
            through,
        }
    }

    /// The longest a visiting train may be.
    pub fn longest(&self, visit: &Visit) -> Actual {
        longest(self.railroad, visit)
    }

    /// The town compiled for a visit's trains.
    pub fn town(&self, visit: &Visit, facts: &Facts) -> CompiledTown {
        let train = longest(self.railroad, visit).max(facts.train_length());
        compile(
            self.railroad,
            self.station,
            &Assumptions::new(self.railroad, train, Some(visit.enter)),
        )
    }

    /// The work of a visit in a session.
    pub fn facts(&self, visit: usize, dice: Dice) -> Facts {
        let mut play = Play {
            of: self,
            random: Pcg64::seed_from_u64(dice.seed),
            parked: vec![],
            waiting: vec![0; self.demands.len()],
            gone: vec![],
        };
        play.begin();
        for day in 0..=i64::from(dice.days) {
            play.overnight(day);
            for at in 0..self.visits.len() {
                let facts = play.visit(at, day);
                if day == i64::from(dice.days) && at == visit {
                    return facts;
                }
            }
        }
        play.visit(visit, i64::from(dice.days))
    }
}

/// The days of a week in which trains work a town, at least one.
fn days_of(railroad: &Railroad, visits: &[Visit]) -> f64 {
    visits
        .iter()
        .map(|visit| railroad.service.train(visit.train).days.value.count())
        .max()
        .map_or(7.0, f64::from)
        .max(1.0)
}

fn demand_of(
    railroad: &Railroad,
    station: StationId,
    visits: &[Visit],
) -> (Vec<Demand>, Vec<[Vec<usize>; 2]>) {
    let demands = demands(railroad, station, days_of(railroad, visits));
    let carriers = demands
        .iter()
        .map(|demand| carriers(railroad, demand, visits))
        .collect();
    (demands, carriers)
}

fn longest(railroad: &Railroad, visit: &Visit) -> Actual {
    let limit = |id| {
        railroad
            .service
            .train(id)
            .max_length
            .map(|length| length.value)
    };
    let own = [Some(visit.train), visit.onward]
        .into_iter()
        .flatten()
        .filter_map(limit)
        .reduce(Actual::min);
    own.or(railroad.identity.limits.train_length)
        .unwrap_or_else(|| usual_car(railroad) * 12.0)
}

/// The blocks in which a visit's train leaves: those for stations still ahead.
fn blocks(railroad: &Railroad, visit: &Visit) -> Vec<String> {
    let train = railroad.service.train(visit.onward.unwrap_or(visit.train));
    let here = &railroad.way.station(visit.station).name.value;
    let all: Vec<String> = train
        .blocks
        .iter()
        .map(|block| block.value.clone())
        .collect();
    let ahead = all.iter().position(|block| block == here);
    let left = all[ahead.map_or(0, |at| at + 1)..].to_vec();
    if !left.is_empty() {
        return left;
    }
    vec![
        train
            .to
            .as_ref()
            .map_or_else(|| "through".to_owned(), |to| to.value.clone()),
    ]
}

/// In which block a car for a station goes: its own, or that of the last yard, or the last.
fn block_for(railroad: &Railroad, blocks: &[String], to: Option<StationId>) -> usize {
    let own = to.and_then(|to| {
        let name = &railroad.way.station(to).name.value;
        blocks.iter().position(|block| block == name)
    });
    own.or_else(|| {
        blocks.iter().rposition(|block| {
            railroad
                .way
                .find_station(block)
                .is_some_and(|station| has_yard(railroad, station))
        })
    })
    .unwrap_or(blocks.len().saturating_sub(1))
}

/// For each block of a visit's train, how many cars of it are in the train when it comes: those it
/// brings for the stations ahead, and those it took at the stations behind.
fn through_cars(railroad: &Railroad, visit: &Visit) -> Vec<f64> {
    let blocks = blocks(railroad, visit);
    let mut mean = vec![0.0; blocks.len()];
    if visit.onward.is_some() {
        return mean;
    }
    let train = railroad.service.train(visit.train);
    let way: Vec<StationId> = train
        .times()
        .iter()
        .filter_map(|place| railroad.way.find_station(&place.station?.value))
        .collect();
    let here = way.iter().position(|&at| at == visit.station);
    for (at, &station) in way.iter().enumerate() {
        if station == visit.station || has_yard(railroad, station) {
            continue;
        }
        let there = visits_at(railroad, station);
        let (demands, carriers) = demand_of(railroad, station, &there);
        for (demand, [bring, take]) in demands.iter().zip(&carriers) {
            let share = |list: &[usize], rate: f64| {
                let ours = list
                    .iter()
                    .filter(|&&at| there[at].train == visit.train)
                    .count();
                rate * ours as f64 / list.len().max(1) as f64
            };
            if Some(at) > here {
                mean[block_for(railroad, &blocks, Some(station))] += share(bring, demand.brought);
            } else if demand.toward != Some(visit.station) {
                mean[block_for(railroad, &blocks, demand.toward)] +=
                    share(take, demand.brought.max(demand.handed));
            }
        }
    }
    mean
}

struct Play<'a, 'b> {
    of: &'b Sessions<'a>,
    random: Pcg64,
    parked: Vec<Parked>,
    /// For each demand, cars that found no room and wait in the yard.
    waiting: Vec<usize>,
    /// Cars that the train at work takes: it cannot bring them as well.
    gone: Vec<usize>,
}

impl Play<'_, '_> {
    fn car(&self, at: usize) -> RosterCar {
        let car = &self.of.railroad.roster.cars[at];
        RosterCar {
            name: car.name.value.clone(),
            length: self.length(at),
        }
    }

    fn length(&self, at: usize) -> Actual {
        self.of.railroad.roster.cars[at]
            .length
            .map_or_else(|| usual_car(self.of.railroad), |length| length.value)
    }

    /// Cars where the car record says they stand. Those on a main or a siding belong to a train that
    /// is made up there.
    fn begin(&mut self) {
        let railroad = self.of.railroad;
        for (at, car) in railroad.roster.cars.iter().enumerate() {
            if !car.state.on_the_railroad() {
                continue;
            }
            let Some(track) = car
                .at
                .as_ref()
                .and_then(|at| railroad.way.find_track(&at.value))
                .filter(|track| track.station == self.of.station)
            else {
                continue;
            };
            let usage = railroad.way.track(track).usage;
            if matches!(usage, TrackUse::Main | TrackUse::Siding)
                || self.room_on(track.track) < self.length(at)
            {
                continue;
            }
            let kind = car.kind.map(|kind| kind.value);
            let free = |demand: &Demand| {
                demand
                    .spots
                    .iter()
                    .copied()
                    .find(|&spot| self.is_free(track.track, spot))
            };
            let fits = |demand: &&(usize, &Demand)| {
                kind == Some(demand.1.kind) && demand.1.tracks.contains(&track.track)
            };
            let all: Vec<(usize, &Demand)> = self.of.demands.iter().enumerate().collect();
            let found = all
                .iter()
                .filter(fits)
                .find(|(_, demand)| demand.spots.is_empty() || free(demand).is_some())
                .or_else(|| all.iter().find(fits));
            let spots = railroad.way.track(track).spots.len();
            let spot = match found {
                Some((_, demand)) => free(demand),
                None => (0..spots).find(|&spot| self.is_free(track.track, spot)),
            };
            let demand = found
                .map(|found| found.0)
                .filter(|_| car.state == CarState::InService);
            // It came with the train that brings such cars, a day or two ago.
            let days = self.random.random_range(1..=2_i64);
            let bring = demand.and_then(|demand| self.of.carriers[demand][0].first());
            let came = bring.map_or(0, |&visit| self.of.visits[visit].at);
            let ours = match demand {
                Some(demand) => {
                    self.of.demands[demand].returns || self.random.random_range(0..2) == 0
                }
                None => true,
            };
            let takes = self.taker(demand);
            self.parked.push(Parked {
                car: at,
                track: track.track,
                spot,
                demand,
                since: came - days * DAY,
                ours,
                takes,
            });
        }
    }

    fn taker(&mut self, demand: Option<usize>) -> usize {
        let list = match demand {
            Some(demand) => &self.of.carriers[demand][1],
            None => return 0,
        };
        self.choose(list)
    }

    fn choose(&mut self, list: &[usize]) -> usize {
        match list {
            [] => 0,
            [one] => *one,
            _ => list[self.random.random_range(0..list.len())],
        }
    }

    fn is_free(&self, track: TrackId, spot: usize) -> bool {
        !self
            .parked
            .iter()
            .any(|parked| parked.track == track && parked.spot == Some(spot))
    }

    fn room_on(&self, track: TrackId) -> Actual {
        let used = self
            .parked
            .iter()
            .filter(|parked| parked.track == track)
            .fold(Actual::ZERO, |sum, parked| sum + self.length(parked.car));
        self.of.room[track.index()] - used
    }

    /// A number of cars with this mean.
    fn draw(&mut self, mean: f64) -> usize {
        // Knuth's way: how many uniform numbers multiply to less than e^-mean.
        let floor = (-mean.min(30.0)).exp();
        let mut product: f64 = self.random.random();
        let mut count = 0;
        while product > floor && count < 60 {
            product *= self.random.random::<f64>();
            count += 1;
        }
        count
    }

    /// A car of a kind that stands nowhere here.
    fn fetch(&mut self, kind: CarKind, taken: &[usize]) -> Option<usize> {
        let free: Vec<usize> = self
            .of
            .railroad
            .roster
            .cars
            .iter()
            .enumerate()
            .filter(|(at, car)| {
                car.kind.is_some_and(|one| one.value == kind)
                    && car.state == CarState::InService
                    && !taken.contains(at)
                    && !self.gone.contains(at)
                    && !self.parked.iter().any(|parked| parked.car == *at)
            })
            .map(|(at, _)| at)
            .collect();
        if free.is_empty() {
            return None;
        }
        Some(free[self.random.random_range(0..free.len())])
    }

    /// A caboose that does not stand here.
    fn caboose(&self) -> Option<RosterCar> {
        let cars = &self.of.railroad.roster.cars;
        (0..cars.len())
            .find(|&at| {
                cars[at]
                    .kind
                    .is_some_and(|kind| kind.value == CarKind::Caboose)
                    && cars[at].state == CarState::InService
                    && !self.parked.iter().any(|parked| parked.car == at)
            })
            .map(|at| self.car(at))
    }

    /// The other roads fetch what we set out for them and leave what they bring.
    fn overnight(&mut self, day: i64) {
        if day > 0 {
            self.parked.retain(|parked| parked.ours);
        }
        for demand in 0..self.of.demands.len() {
            let (handed, kind) = {
                let of = &self.of.demands[demand];
                (of.handed, of.kind)
            };
            if handed <= 0.0 || day == 0 {
                continue;
            }
            for _ in 0..self.draw(handed) {
                let Some(car) = self.fetch(kind, &[]) else {
                    break;
                };
                let tracks = self.of.demands[demand].tracks.clone();
                // One track for each direction, where there are two.
                let Some(track) = tracks
                    .iter()
                    .rev()
                    .copied()
                    .find(|&track| self.room_on(track) >= self.length(car))
                else {
                    break;
                };
                let takes = self.taker(Some(demand));
                self.parked.push(Parked {
                    car,
                    track,
                    spot: None,
                    demand: Some(demand),
                    since: (day - 1) * DAY,
                    ours: true,
                    takes,
                });
            }
        }
    }

    /// The work of one visit, and the town as the visit leaves it.
    fn visit(&mut self, at: usize, day: i64) -> Facts {
        let railroad = self.of.railroad;
        let visit = self.of.visits[at];
        let now = day * DAY + visit.at;
        let train = railroad.service.train(visit.train);
        let engine = engine_of(railroad, &visit);
        let caboose = train.caboose.then(|| self.caboose()).flatten();
        let blocks = blocks(railroad, &visit);
        let fixed = caboose
            .as_ref()
            .map_or(engine.length, |car| engine.length + car.length);
        let most = (longest(railroad, &visit) - fixed).max(Actual::ZERO);

        // Who is ready goes, the most urgent first, as far as the train has room.
        let mut room = most;
        let mut ready: Vec<usize> = (0..self.parked.len())
            .filter(|&at_parked| {
                let parked = &self.parked[at_parked];
                let Some(demand) = parked.demand else {
                    return false;
                };
                let demand = &self.of.demands[demand];
                let spotted = parked.spot.is_some() || demand.spots.is_empty();
                parked.ours
                    && parked.takes == at
                    && spotted
                    && now - parked.since >= demand.dwell
                    && visit.leave.is_some()
            })
            .collect();
        ready.sort_by_key(|&parked| {
            self.parked[parked]
                .demand
                .map_or(9, |demand| self.of.demands[demand].priority)
        });
        ready.retain(|&parked| {
            let length = self.length(self.parked[parked].car);
            let fits = length <= room;
            if fits {
                room -= length;
            }
            fits
        });
        let mut before = self.parked.clone();
        let mut intents: Vec<Intent> = vec![Intent::Stay; before.len()];
        for &parked in &ready {
            let demand = self.parked[parked].demand.map(|at| &self.of.demands[at]);
            let to = demand.and_then(|demand| demand.toward);
            intents[parked] = Intent::PickUp(block_for(railroad, &blocks, to));
        }
        let picked = most - room;
        // From here on the town without them.
        let mut keep: Vec<usize> = (0..before.len()).filter(|at| !ready.contains(at)).collect();
        self.parked = keep.iter().map(|&at| before[at].clone()).collect();
        self.gone = ready.iter().map(|&at| before[at].car).collect();

        // Cars that wait for a spot get it.
        for (here, &was) in keep.iter().enumerate() {
            let parked = self.parked[here].clone();
            let Some(demand) = parked.demand else {
                continue;
            };
            let of = &self.of.demands[demand];
            if parked.spot.is_some() || of.spots.is_empty() || !parked.ours {
                continue;
            }
            let track = of.tracks[0];
            let fits = track == parked.track || self.room_on(track) >= self.length(parked.car);
            let free = of
                .spots
                .iter()
                .copied()
                .find(|&spot| self.is_free(track, spot));
            if let (true, Some(spot)) = (fits, free) {
                intents[was] = Intent::Put(Target::Spot(track, spot));
                let moved = &mut self.parked[here];
                (moved.track, moved.spot, moved.since) = (track, Some(spot), now);
            }
        }
        keep.clear();

        let inbound = self.bring(at, now, most);
        let brought = inbound
            .iter()
            .fold(Actual::ZERO, |sum, inbound| sum + inbound.car.length);
        let through = self.through(at, (most - brought).min(most - picked), &inbound);
        before.truncate(intents.len());
        let mut standing: Vec<Standing> = before
            .iter()
            .zip(intents)
            .map(|(parked, intent)| Standing {
                car: self.car(parked.car),
                track: parked.track,
                spot: parked.spot,
                intent,
            })
            .collect();
        // From the beginning of each track; cars off spot stand farther in.
        standing.sort_by_key(|one| (one.track, one.spot.is_none(), one.spot));
        Facts {
            engine,
            caboose,
            blocks,
            inbound,
            through,
            standing,
        }
    }

    /// The cars that a visit brings; they stand in the town from then on.
    fn bring(&mut self, at: usize, now: i64, most: Actual) -> Vec<Inbound> {
        let mut room = most;
        let mut inbound: Vec<Inbound> = vec![];
        let mut order: Vec<usize> = (0..self.of.demands.len()).collect();
        order.sort_by_key(|&demand| (self.of.demands[demand].priority, demand));
        for demand in order {
            let list = self.of.carriers[demand][0].clone();
            let ours = self.choose(&list) == at;
            if !list.contains(&at) {
                continue;
            }
            let of = self.of.demands[demand].clone();
            if ours {
                self.waiting[demand] += self.draw(of.brought);
            }
            // Nobody orders cars for weeks ahead.
            let cap = (2.0 * of.brought).ceil() as usize + 1;
            self.waiting[demand] = self.waiting[demand].min(cap);
            while self.waiting[demand] > 0 {
                let Some(car) = self.fetch(of.kind, &[]) else {
                    break;
                };
                let length = self.length(car);
                let Some((target, track, spot)) = self.target(&of, length) else {
                    break;
                };
                if length > room {
                    break;
                }
                room -= length;
                self.waiting[demand] -= 1;
                let takes = self.taker(Some(demand));
                inbound.push(Inbound {
                    car: self.car(car),
                    target,
                    who: of.who.clone(),
                });
                self.parked.push(Parked {
                    car,
                    track,
                    spot,
                    demand: Some(demand),
                    since: now,
                    ours: of.returns,
                    takes,
                });
            }
        }
        // In the order in which the yard happened to make them up.
        for last in (1..inbound.len()).rev() {
            let other = self.random.random_range(0..=last);
            inbound.swap(last, other);
        }
        inbound
    }

    /// Where a car of this length can be put: at a free spot, or, loaded, on a track without spots
    /// until one is free.
    fn target(&self, of: &Demand, length: Actual) -> Option<(Target, TrackId, Option<usize>)> {
        let first = *of.tracks.first()?;
        if of.spots.is_empty() {
            let fits: Vec<TrackId> = of
                .tracks
                .iter()
                .copied()
                .filter(|&track| self.room_on(track) >= length)
                .collect();
            let track = *fits.first()?;
            return Some((Target::Tracks(vec![track]), track, None));
        }
        if self.room_on(first) >= length
            && let Some(spot) = of
                .spots
                .iter()
                .copied()
                .find(|&spot| self.is_free(first, spot))
        {
            return Some((Target::Spot(first, spot), first, Some(spot)));
        }
        // Empties are not sent for before there is a spot for them.
        of.from?;
        let page = self.of.railroad.way.station(self.of.station);
        let track = page
            .tracks()
            .filter(|(_, track)| {
                matches!(
                    track.usage,
                    TrackUse::Storage | TrackUse::Team | TrackUse::House | TrackUse::Spur
                ) && track.spots.is_empty()
            })
            .map(|(id, _)| id)
            .find(|&track| self.room_on(track) >= length)?;
        Some((Target::Tracks(vec![track]), track, None))
    }

    fn through(
        &mut self,
        at: usize,
        mut room: Actual,
        inbound: &[Inbound],
    ) -> Vec<(RosterCar, usize)> {
        let means = self.of.through[at].clone();
        let kinds = [
            CarKind::Boxcar,
            CarKind::Boxcar,
            CarKind::Reefer,
            CarKind::Gondola,
            CarKind::Hopper,
        ];
        let mut taken: Vec<usize> = vec![];
        let mut out = vec![];
        let named = |name: &str| inbound.iter().any(|one| one.car.name == name);
        for (block, mean) in means.into_iter().enumerate() {
            for _ in 0..self.draw(mean) {
                let kind = kinds[self.random.random_range(0..kinds.len())];
                let Some(car) = self.fetch(kind, &taken) else {
                    continue;
                };
                let made = self.car(car);
                if made.length > room || named(&made.name) {
                    continue;
                }
                room -= made.length;
                taken.push(car);
                out.push((made, block));
            }
        }
        out
    }
}

/// A train's engine, or several as one.
fn engine_of(railroad: &Railroad, visit: &Visit) -> RosterCar {
    let train = railroad.service.train(visit.train);
    let usual = || {
        let scale = railroad.identity.scale.scale;
        // A consolidation and its tender, over the couplers; common practice, no source.
        scale.to_actual(model::units::Prototype::from_feet(68.0))
    };
    let length = |number: &str| {
        railroad
            .roster
            .find_engine(number)
            .and_then(|id| railroad.roster.engine(id).length)
            .map_or_else(usual, |length| length.value)
    };
    let numbers: Vec<&str> = train
        .engines
        .iter()
        .map(|number| number.value.as_str())
        .collect();
    match numbers[..] {
        [] => RosterCar {
            name: "the engine".to_owned(),
            length: usual(),
        },
        _ => RosterCar {
            name: numbers.join(" and "),
            length: numbers
                .iter()
                .fold(Actual::ZERO, |sum, number| sum + length(number)),
        },
    }
}
