//! Sessions played one after another on the books.
//!
//! At midnight cars that have been loaded, unloaded or away are ready; other roads fetch and bring
//! theirs; orders come in and are filled; cars that nobody wants go where they are kept. Then the day's
//! trains run in order of time: each sets out, picks up what it may take, and yards are switched between.
//! Nothing moves but by [`Books::apply`], so that what cannot happen does not.

use std::collections::VecDeque;

use engineering::ids::{StationId, TrackRef};
use mechanical::{CarId, CarKind};
use model::{time::RailTime, units::Actual};
use traffic::{
    Moves,
    books::{Books, Load, Moment, Movement, Waiting, What, Whereabouts},
    demand::Stream,
};

use super::{
    Options,
    plan::{Event, Lies, Plan, Side, car},
    tally::Tally,
    ways::{Carries, DAY},
};

/// What a car is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Task {
    /// Empty, and nobody wants it.
    Idle,
    /// Empty, on its way to be loaded for a lane.
    ToLoad(usize),
    /// Being loaded.
    Loading { lane: usize, until: i64 },
    /// Loaded, on its way.
    Loaded(usize),
    /// Being unloaded.
    Unloading { lane: usize, until: i64 },
    /// It stands in staging for a car that is beyond.
    Beyond { lane: usize, until: i64 },
    /// Empty, on its way to where it is kept.
    Rest,
    /// Sessions do not move it.
    Fixed,
}

/// A car at work.
#[derive(Debug, Clone)]
pub(super) struct Job {
    pub task: Task,
    /// Where it is going.
    pub to: Option<StationId>,
    /// From when it may be moved.
    pub ready: i64,
    /// The session for which its load was ordered.
    pub wanted: u32,
    /// The spot that is kept for it.
    claim: Option<(usize, usize)>,
    /// The call at which its train leaves it.
    left_at: usize,
    pub dirty: bool,
    pub last: Option<usize>,
    /// Since when it is idle.
    pub idle_since: i64,
}

/// What is left of a car's way while it is in a train: which length is kept for it where.
const NOWHERE: usize = usize::MAX;

/// The kinds of freight cars there are or that are ordered, in order.
pub(super) fn kinds(plan: &Plan) -> Vec<CarKind> {
    let ordered = plan.lanes.iter().map(|lane| lane.lane.kind);
    let there = plan.wagons.iter().filter(|wagon| wagon.freight);
    let mut kinds: Vec<CarKind> = ordered
        .chain(there.filter_map(|wagon| wagon.kind))
        .collect();
    kinds.sort_unstable();
    kinds.dedup();
    kinds
}

/// Sessions being played.
pub(super) struct Play<'a> {
    pub plan: &'a Plan,
    options: &'a Options,
    /// The streams of the lanes under this run's dice.
    streams: Vec<Stream>,
    pub books: Books,
    pub jobs: Vec<Job>,
    /// For each lane the sessions for which cars are ordered and not chosen yet.
    pub orders: Vec<VecDeque<u32>>,
    /// For each lane how many cars are chosen and not loaded yet.
    pub filled: Vec<u32>,
    /// For each shipper's place how many empties are on their way.
    heading: Vec<u32>,
    /// For each track and spot the car for which it is kept.
    claims: Vec<Vec<Option<CarId>>>,
    /// For each track the cars that were refused for want of a spot, with when they were ready and when
    /// they last asked: whoever has waited longest comes first.
    queue: Vec<Vec<(CarId, i64, i64)>>,
    /// Number of the first track of each station.
    first_track: Vec<usize>,
    /// For each station the length of cars that trains will leave on its tracks.
    coming: Vec<Actual>,
    /// The cars of each train.
    consist: Vec<Vec<CarId>>,
    /// Cars that their train could not leave where it ended.
    stuck: Vec<Vec<CarId>>,
    passengers: Vec<Vec<CarId>>,
    pub tally: Tally,
    /// Everything that happened, if it is kept.
    pub log: Option<Vec<Movement>>,
    kinds: Vec<CarKind>,
    day: u32,
}

impl<'a> Play<'a> {
    /// Sessions that begin with these books.
    pub(super) fn new(
        plan: &'a Plan,
        books: Books,
        options: &'a Options,
        seed: u64,
        log: bool,
    ) -> Self {
        let mut first_track = vec![];
        let mut claims = vec![];
        for tracks in &plan.ground.tracks {
            first_track.push(claims.len());
            claims.extend(tracks.iter().map(|track| vec![None; track.spots]));
        }
        let kinds = kinds(plan);
        let stations = plan.stations.len();
        let tally = Tally::new(plan, &kinds);
        let mut play = Self {
            jobs: vec![],
            orders: vec![VecDeque::new(); plan.lanes.len()],
            filled: vec![0; plan.lanes.len()],
            heading: vec![0; plan.places.len()],
            queue: vec![vec![]; claims.len()],
            claims,
            first_track,
            coming: vec![Actual::ZERO; stations],
            consist: vec![vec![]; plan.trains.len()],
            stuck: vec![vec![]; stations],
            passengers: vec![vec![]; plan.passenger.len()],
            tally,
            log: log.then(Vec::new),
            kinds,
            day: books.day,
            streams: plan
                .lanes
                .iter()
                .map(|lane| lane.stream.under(seed))
                .collect(),
            plan,
            options,
            books,
        };
        play.begin();
        play
    }

    /// What the books say of each car.
    fn begin(&mut self) {
        for at in 0..self.plan.wagons.len() {
            let id = car(at);
            let book = self.books.car(id);
            let fixed = !self.plan.wagons[at].freight || book.at == Whereabouts::Aside;
            let mut job = Job {
                task: if fixed { Task::Fixed } else { Task::Idle },
                to: None,
                ready: 0,
                wanted: 0,
                claim: None,
                left_at: NOWHERE,
                dirty: false,
                last: None,
                idle_since: 0,
            };
            let lane_of = |flow| {
                self.plan
                    .lanes
                    .iter()
                    .position(|lane| lane.from.flow == Some(flow) || lane.to.flow == Some(flow))
            };
            if !fixed {
                let bill = self.books.bills.iter().rev().find(|bill| bill.car == id);
                let lane = book
                    .load
                    .as_ref()
                    .and_then(|load| load.flow)
                    .or(bill.and_then(|bill| bill.flow))
                    .and_then(lane_of);
                let track = match book.at {
                    Whereabouts::Track { track, .. } => Some(track),
                    _ => None,
                };
                match (&book.load, lane) {
                    (Some(_), Some(lane)) => {
                        let to = &self.plan.lanes[lane].to;
                        job.task = Task::Loaded(lane);
                        job.to = Some(to.station);
                        let there = track.is_some_and(|track| to.tracks.contains(&track));
                        if there {
                            job.task = match to.lies {
                                Lies::Here => Task::Unloading {
                                    lane,
                                    until: to.dwell,
                                },
                                _ => Task::Beyond {
                                    lane,
                                    until: self.plan.lanes[lane].away,
                                },
                            };
                        }
                    }
                    (None, Some(lane)) if bill.is_some() => {
                        job.task = Task::ToLoad(lane);
                        job.to = Some(self.plan.lanes[lane].from.station);
                        self.filled[lane] += 1;
                        self.head(lane, 1);
                        if let (Some(track), Lies::Here) = (track, self.plan.lanes[lane].from.lies)
                            && self.plan.lanes[lane].from.tracks.contains(&track)
                        {
                            job.task = Task::Loading {
                                lane,
                                until: self.plan.lanes[lane].from.dwell,
                            };
                        }
                    }
                    _ => {}
                }
            }
            self.jobs.push(job);
        }
        for at in 0..self.jobs.len() {
            if self.jobs[at].task == Task::Idle {
                self.dispose(car(at), 0);
            }
        }
    }

    fn head(&mut self, lane: usize, by: i32) {
        if let Some(place) = self.plan.lanes[lane].from.place {
            self.heading[place] = self.heading[place].saturating_add_signed(by);
        }
    }

    /// Plays the next session.
    pub(super) fn session(&mut self) {
        self.midnight();
        let (_, weekday) = self.plan.calendar(self.day, self.options.calendar_moves);
        let base = i64::from(self.day) * DAY;
        for at in 0..self.plan.events.len() {
            let (time, event) = self.plan.events[at];
            let now = base + time;
            match event {
                Event::Arrive(call) | Event::Leave(call) => {
                    let train = self.plan.ways.calls[call].train;
                    if !self.plan.trains[train].days.contains(weekday) {
                        continue;
                    }
                    if matches!(event, Event::Arrive(_)) {
                        self.arrive(call, now);
                    } else {
                        self.leave(call, now);
                    }
                }
                Event::Board(train) => self.board(train, weekday, now),
                Event::Passengers(train) => self.unboard(train, now),
            }
        }
        self.close();
        self.day += 1;
        self.books.day = self.day;
    }

    // ---- midnight ----

    fn midnight(&mut self) {
        let now = i64::from(self.day) * DAY;
        for at in 0..self.jobs.len() {
            self.finish(car(at), now);
        }
        for station in 0..self.plan.stations.len() {
            self.exchange(StationId(station as u32), now);
            self.unstick(StationId(station as u32), now);
            if self.plan.stations[station].yard {
                self.serve(StationId(station as u32), now);
            }
        }
        let (month, weekday) = self.plan.calendar(
            self.day + self.options.order_ahead,
            self.options.calendar_moves,
        );
        for lane in 0..self.plan.lanes.len() {
            let one = &self.plan.lanes[lane];
            let wanted = self.day + self.options.order_ahead;
            let cars = self.streams[lane].cars(&one.lane, wanted, month, weekday);
            self.tally.offered[lane] += u64::from(cars);
            for _ in 0..cars {
                self.orders[lane].push_back(wanted);
            }
        }
        self.fill(now);
        self.relieve(now);
        self.spread_cabooses();
        for lane in 0..self.plan.lanes.len() {
            let due = self.orders[lane]
                .iter()
                .filter(|&&day| day <= self.day)
                .count() as u32;
            self.tally.open_today[lane] = due;
        }
        for job in &self.jobs {
            if let Task::ToLoad(lane) | Task::Loading { lane, .. } = job.task
                && job.wanted <= self.day
            {
                self.tally.open_today[lane] += 1;
            }
        }
    }

    fn moment(&self, id: CarId, time: i64) -> Moment {
        let time = time.max(self.books.car(id).since.seconds());
        Moment {
            day: time.div_euclid(DAY) as u32,
            time: RailTime::from_seconds(time.rem_euclid(DAY)),
        }
    }

    /// Enters what happened; whether the books accept it.
    fn happens(&mut self, id: CarId, time: i64, what: What) -> bool {
        let movement = Movement {
            car: id,
            when: self.moment(id, time),
            what,
        };
        let accepted = self.books.apply(&movement).is_ok();
        if accepted && let Some(log) = &mut self.log {
            log.push(movement);
        }
        accepted
    }

    fn track_of(&self, id: CarId) -> Option<(TrackRef, Option<usize>)> {
        match self.books.car(id).at {
            Whereabouts::Track { track, spot, .. } => Some((track, spot)),
            _ => None,
        }
    }

    /// Whatever was to be done with a car by now is done.
    fn finish(&mut self, id: CarId, now: i64) {
        let at = id.index();
        match self.jobs[at].task {
            Task::Loading { lane, until } if until <= now => {
                self.load(id, lane, until);
            }
            Task::Unloading { lane, until } if until <= now => {
                self.happens(id, until, What::Unload);
                self.emptied(id, lane, until);
                self.dispose(id, until);
            }
            Task::Beyond { lane, until } if until <= now => {
                // Off the railroad nobody sees what is in it.
                if self.track_of(id).is_some() {
                    self.happens(id, until, What::Unload);
                }
                self.emptied(id, lane, until);
                self.jobs[at].dirty = false;
                self.books.remark(id, Some(Waiting::Order));
            }
            _ => {}
        }
    }

    fn load(&mut self, id: CarId, lane: usize, when: i64) {
        let one = &self.plan.lanes[lane];
        let load = Load {
            flow: Some(one.lane.flow),
            commodity: one.lane.commodity.clone(),
        };
        let to = one.to.station;
        self.happens(id, when, What::Load(load));
        self.filled[lane] -= 1;
        self.head(lane, -1);
        self.tally.loaded[lane] += 1;
        let late = (when - i64::from(self.jobs[id.index()].wanted) * DAY).max(0);
        self.tally.late[lane] += late as f64 / DAY as f64;
        let job = &mut self.jobs[id.index()];
        job.task = Task::Loaded(lane);
        job.to = Some(to);
        job.ready = when;
        self.books.remark(id, Some(Waiting::Train));
    }

    fn emptied(&mut self, id: CarId, lane: usize, when: i64) {
        self.tally.delivered[lane] += 1;
        let one = &self.plan.lanes[lane];
        let job = &mut self.jobs[id.index()];
        job.task = Task::Idle;
        job.to = None;
        job.ready = when;
        job.idle_since = when;
        job.last = Some(one.commodity);
        job.dirty |= one.lane.dirties;
        self.books.remark(id, Some(Waiting::Order));
    }

    /// An idle car that stands in somebody's way goes where it is kept.
    fn dispose(&mut self, id: CarId, now: i64) {
        let Some((track, _)) = self.track_of(id) else {
            return;
        };
        let here = &self.plan.stations[track.station.index()];
        let job = &mut self.jobs[id.index()];
        job.task = Task::Idle;
        job.ready = job.ready.max(now);
        if here.yard || here.staging || here.hold.contains(&track) {
            return;
        }
        if let Some(to) = self.rest_of(id, track.station) {
            let job = &mut self.jobs[id.index()];
            job.task = Task::Rest;
            job.to = Some(to);
            self.books.remark(id, Some(Waiting::Train));
        }
    }

    /// Where a car is kept: the nearest yard; a foreign one goes toward home.
    fn rest_of(&self, id: CarId, from: StationId) -> Option<StationId> {
        let wagon = &self.plan.wagons[id.index()];
        if let Some(home) = wagon.home
            && self.plan.ways.reaches(0, from, home)
        {
            return Some(home);
        }
        (0..self.plan.stations.len() as u32)
            .map(StationId)
            .filter(|&to| {
                to != from
                    && self.plan.stations[to.index()].yard
                    && !self.plan.stations[to.index()].staging
                    && self.plan.ways.reaches(0, from, to)
            })
            .min_by_key(|&to| (self.plan.ways.eta(0, from, to), to))
            .or_else(|| {
                (0..self.plan.stations.len() as u32)
                    .map(StationId)
                    .filter(|&to| {
                        to != from
                            && self.plan.stations[to.index()].staging
                            && self.plan.ways.reaches(0, from, to)
                    })
                    .min_by_key(|&to| (self.plan.ways.eta(0, from, to), to))
            })
    }

    /// Other roads fetch what was left for them, and bring what they have; cars beyond staging are
    /// loaded there.
    fn exchange(&mut self, station: StationId, now: i64) {
        let here = &self.plan.stations[station.index()];
        let by_hand = here.behind.is_empty();
        let interchange = here.interchange.clone();
        for track in &interchange {
            for id in self.books.standing(*track).to_vec() {
                let job = &self.jobs[id.index()];
                if job.to != Some(station) {
                    continue;
                }
                let (lane, loaded) = match job.task {
                    Task::Loaded(lane) => (lane, true),
                    Task::ToLoad(lane) => (lane, false),
                    Task::Rest => (usize::MAX, false),
                    _ => continue,
                };
                let one = self.plan.lanes.get(lane);
                if !loaded && one.is_some_and(|one| one.from.lies != Lies::Here) {
                    // The load has been waiting for it.
                    self.load(id, lane, now);
                    continue;
                }
                let until = now + one.map_or(0, |one| one.away);
                if by_hand {
                    let place = one.and_then(|one| one.to.beyond.clone());
                    let back = Some(until.div_euclid(DAY) as u32);
                    self.happens(id, now, What::Leave { place, back });
                } else {
                    let tracks = self.plan.stations[station.index()].behind.clone();
                    if !self.shift(id, &tracks, now) {
                        continue;
                    }
                }
                let job = &mut self.jobs[id.index()];
                job.to = None;
                if loaded {
                    job.task = Task::Beyond { lane, until };
                } else {
                    job.task = Task::Idle;
                    job.idle_since = now;
                    job.dirty = false;
                }
            }
        }
        // Cars sent empty to staging for a load that waits beyond.
        for track in here.hold.clone() {
            for id in self.books.standing(track).to_vec() {
                if let Task::ToLoad(lane) = self.jobs[id.index()].task
                    && self.jobs[id.index()].to == Some(station)
                    && self.plan.lanes[lane].from.lies == Lies::Staging
                {
                    self.load(id, lane, now);
                }
                if self.plan.stations[station.index()].cleans {
                    self.jobs[id.index()].dirty = false;
                }
            }
        }
    }

    /// Fills car orders: the most urgent first, each with the best car of the nearest station that has
    /// one.
    fn fill(&mut self, now: i64) {
        let stations = self.plan.stations.len();
        let kinds = self.kinds.len();
        let mut idle: Vec<Vec<CarId>> = vec![vec![]; stations * kinds];
        for at in 0..self.jobs.len() {
            let job = &self.jobs[at];
            if !matches!(job.task, Task::Idle | Task::Rest) || !self.plan.wagons[at].freight {
                continue;
            }
            let id = car(at);
            let Some(station) = self.books.car(id).at.station() else {
                continue;
            };
            let Some(kind) = self.plan.wagons[at].kind else {
                continue;
            };
            if let Ok(kind) = self.kinds.binary_search(&kind) {
                idle[station.index() * kinds + kind].push(id);
            }
        }
        let mut lanes: Vec<usize> = (0..self.plan.lanes.len())
            .filter(|&lane| !self.orders[lane].is_empty())
            .collect();
        lanes.sort_by_key(|&lane| {
            let one = &self.plan.lanes[lane].lane;
            let company = one.moves == Moves::Company;
            (
                one.priority,
                company,
                self.orders[lane].front().copied(),
                lane,
            )
        });
        for lane in lanes {
            let one = &self.plan.lanes[lane];
            let Ok(kind) = self.kinds.binary_search(&one.lane.kind) else {
                continue;
            };
            let together = one.lane.cars_at_once.max(1) as usize;
            while self.orders[lane].len() >= together {
                if let Some(place) = one.from.place
                    && self.heading[place] as usize + together
                        > (2 * self.plan.places[place].holds + 1).max(together)
                {
                    break;
                }
                let mut chosen = vec![];
                for &station in self.plan.ways.near(one.from.station) {
                    let list = &mut idle[station.index() * kinds + kind];
                    while chosen.len() < together {
                        let Some(best) = self.best(lane, list) else {
                            break;
                        };
                        chosen.push(list.swap_remove(best));
                    }
                    if chosen.len() == together {
                        break;
                    }
                }
                if chosen.len() < together {
                    for id in chosen {
                        let station = self.books.car(id).at.station();
                        if let Some(station) = station {
                            idle[station.index() * kinds + kind].push(id);
                        }
                    }
                    break;
                }
                for id in chosen {
                    let wanted = self.orders[lane].pop_front().unwrap_or(self.day);
                    self.assign(id, lane, wanted, now);
                }
            }
        }
    }

    /// Which of some idle cars is best for a lane, if any will do.
    fn best(&self, lane: usize, cars: &[CarId]) -> Option<usize> {
        let one = &self.plan.lanes[lane];
        let cost = |id: CarId| {
            let (wagon, job) = (&self.plan.wagons[id.index()], &self.jobs[id.index()]);
            let same_pool = wagon.pool == one.pool;
            if (one.lane.captive && !(same_pool && one.pool.is_some()))
                || (one.lane.clean && job.dirty)
                || job
                    .last
                    .is_some_and(|last| one.not_after.contains(&last) && job.dirty)
            {
                return None;
            }
            // Foreign cars are loaded toward home, and not the other way; own cars with what stays.
            let way = match (wagon.foreign, wagon.home, one.out) {
                (true, Some(home), Some(out)) if home == out => 0,
                (true, _, None) => 2,
                (true, ..) => 3,
                (false, _, None) => 0,
                (false, ..) => 1,
            };
            let pool = if one.pool.is_some() && same_pool {
                0
            } else {
                1 + u8::from(wagon.pool.is_some())
            };
            Some((pool, way, job.idle_since, id))
        };
        cars.iter()
            .enumerate()
            .filter_map(|(at, &id)| Some((cost(id)?, at)))
            .min()
            .map(|(_, at)| at)
    }

    fn assign(&mut self, id: CarId, lane: usize, wanted: u32, now: i64) {
        let one = &self.plan.lanes[lane];
        let station = one.from.station;
        self.filled[lane] += 1;
        self.head(lane, 1);
        let job = &mut self.jobs[id.index()];
        job.task = Task::ToLoad(lane);
        job.to = Some(station);
        job.ready = job.ready.max(now);
        job.wanted = wanted;
        self.books.remark(id, Some(Waiting::Train));
        match self.books.car(id).at.clone() {
            Whereabouts::Off { via, .. } => {
                // It comes onto the interchange: loaded if that is for a load from beyond.
                let tracks = self.plan.stations[via.index()].interchange.clone();
                let track = tracks.into_iter().find(|&track| self.fits(id, track));
                let came = track.is_some_and(|track| {
                    let at = self.books.standing(track).len();
                    self.happens(id, now, What::Come { track, at })
                });
                if !came {
                    // No room tonight: the order waits.
                    self.filled[lane] -= 1;
                    self.head(lane, -1);
                    self.orders[lane].push_front(wanted);
                    let job = &mut self.jobs[id.index()];
                    job.task = Task::Idle;
                    job.to = None;
                    self.tally.no_room[via.index()] += 1;
                } else if via == station && one.from.lies != Lies::Here {
                    self.load(id, lane, now);
                }
            }
            Whereabouts::Track { track, spot, .. } if track.station == station => {
                if one.from.lies != Lies::Here {
                    if one.from.lies == Lies::Live {
                        let tracks = one.from.tracks.clone();
                        self.shift(id, &tracks, now);
                    }
                    self.load(id, lane, now);
                } else if one.from.tracks.first() == Some(&track)
                    && spot.is_some_and(|spot| one.from.spots.contains(&spot))
                {
                    self.start(id, now);
                }
            }
            _ => {}
        }
    }

    /// A car is at its spot: loading or unloading begins.
    fn start(&mut self, id: CarId, now: i64) {
        let job = &mut self.jobs[id.index()];
        let waiting = match job.task {
            Task::ToLoad(lane) => {
                let from = &self.plan.lanes[lane].from;
                let until = now.max(i64::from(job.wanted) * DAY) + from.dwell;
                job.task = Task::Loading { lane, until };
                from.flow.map(|flow| (flow, until, true))
            }
            Task::Loaded(lane) => {
                let to = &self.plan.lanes[lane].to;
                let until = now + to.dwell;
                job.task = Task::Unloading { lane, until };
                to.flow.map(|flow| (flow, until, false))
            }
            _ => None,
        };
        job.to = None;
        let remark = waiting.map(|(flow, until, loading)| {
            let until = Moment {
                day: until.div_euclid(DAY) as u32,
                time: RailTime::from_seconds(until.rem_euclid(DAY)),
            };
            if loading {
                Waiting::Loading { flow, until }
            } else {
                Waiting::Unloading { flow, until }
            }
        });
        self.books.remark(id, remark);
    }

    /// Cars that nobody wants leave yards that are filling, and foreign ones go home.
    fn relieve(&mut self, now: i64) {
        for station in 0..self.plan.stations.len() {
            let here = &self.plan.stations[station];
            if here.staging {
                continue;
            }
            let id = StationId(station as u32);
            let mut taken: Actual = here.hold.iter().map(|&track| self.books.taken(track)).sum();
            let room: Actual = here
                .hold
                .iter()
                .filter_map(|&track| self.plan.ground.track(track))
                .map(|track| track.room)
                .sum();
            let mut idle: Vec<CarId> = here
                .hold
                .iter()
                .flat_map(|&track| self.books.standing(track))
                .copied()
                .filter(|car| self.jobs[car.index()].task == Task::Idle)
                .collect();
            if idle.is_empty() {
                continue;
            }
            idle.sort_by_key(|car| (self.jobs[car.index()].idle_since, *car));
            let mut sent = 0;
            for car in idle {
                let wagon = &self.plan.wagons[car.index()];
                let old = now - self.jobs[car.index()].idle_since > DAY;
                let full = taken > room * 0.6 && sent < 6;
                let to = match (wagon.home, full) {
                    (Some(home), _) if (old || full) && self.plan.ways.reaches(0, id, home) => {
                        Some(home)
                    }
                    (_, true) => self.roomiest(id),
                    _ => None,
                };
                let Some(to) = to.filter(|&to| to != id) else {
                    continue;
                };
                sent += 1;
                taken -= wagon.length;
                let job = &mut self.jobs[car.index()];
                job.task = Task::Rest;
                job.to = Some(to);
                self.books.remark(car, Some(Waiting::Train));
            }
        }
    }

    /// The staging with most room that cars get to.
    fn roomiest(&self, from: StationId) -> Option<StationId> {
        (0..self.plan.stations.len() as u32)
            .map(StationId)
            .filter(|&to| {
                self.plan.stations[to.index()].staging && self.plan.ways.reaches(0, from, to)
            })
            .max_by(|&a, &b| {
                let room = |to| self.free(to) - self.coming[StationId::index(to)];
                room(a).total_cmp(&room(b)).then(b.cmp(&a))
            })
    }

    // ---- trains ----

    fn arrive(&mut self, call: usize, now: i64) {
        let ways = &self.plan.ways;
        let this = ways.calls[call];
        let train = this.train;
        let last = this.nth + 1 == ways.trains[train].calls.len();
        let station = this.station;
        let yard = self.plan.stations[station.index()].yard;
        let mut handled = 0;
        if yard {
            self.serve(station, now);
        } else {
            for id in self.cars_at(station) {
                self.finish(id, now);
            }
            // Room is made before cars are set out: the train takes what is ready, or, where it ends,
            // the one as which its engine goes back.
            let taking = if last {
                let (_, weekday) = self.plan.calendar(self.day, self.options.calendar_moves);
                self.plan.trains[train]
                    .onward
                    .filter(|&next| self.plan.trains[next].days.contains(weekday))
                    .map(|next| ways.trains[next].calls[0])
            } else {
                this.takes.then_some(call)
            };
            if let Some(taking) = taking {
                handled += self.pick_up(taking, now);
            }
            handled += self.serve(station, now);
        }
        self.unstick(station, now);
        let leaving: Vec<CarId> = self.consist[train]
            .iter()
            .copied()
            .filter(|id| last || self.jobs[id.index()].left_at == call)
            .collect();
        for id in leaving {
            if self.jobs[id.index()].task != Task::Fixed {
                self.release(id, station);
            }
            if self.leave_at(id, station, now) {
                handled += 1;
                self.consist[train].retain(|&other| other != id);
            } else if last {
                self.consist[train].retain(|&other| other != id);
                self.stuck[station.index()].push(id);
                self.tally.no_room[station.index()] += 1;
                self.tally.stuck += 1;
            } else {
                // Carried by to the end of the run.
                let end = *ways.trains[train].calls.last().unwrap_or(&call);
                self.jobs[id.index()].left_at = end;
                let length = self.plan.wagons[id.index()].length;
                self.coming[self.plan.ways.calls[end].station.index()] += length;
                self.tally.carried_by += 1;
            }
        }
        if !yard {
            self.worked(call, handled);
        }
        if last {
            self.caboose_off(station, now);
        }
        if yard {
            self.serve(station, now);
        }
        self.tally.peak(&self.books, self.plan, station);
    }

    /// Reckons what the work at a stop took beyond the time there was.
    fn worked(&mut self, call: usize, handled: usize) {
        if handled == 0 {
            return;
        }
        let this = self.plan.ways.calls[call];
        let allowed = this.work.or_else(|| {
            let onward = self.plan.trains[this.train].onward?;
            let next = self.plan.ways.trains[onward].calls[0];
            Some(self.plan.ways.calls[next].leave - this.arrive)
        });
        let (fixed, each) = self.plan.pace;
        let took = fixed + each * handled as i64;
        if let Some(allowed) = allowed {
            self.tally.over[this.train] += (took - allowed).max(0) as f64 / 60.0;
        }
    }

    fn leave(&mut self, call: usize, now: i64) {
        let this = self.plan.ways.calls[call];
        let yard = self.plan.stations[this.station.index()].yard;
        if this.nth > 0 && !yard {
            // It took what there was when it came.
            self.count(call);
            return;
        }
        if yard {
            self.serve(this.station, now);
        } else {
            for id in self.cars_at(this.station) {
                self.finish(id, now);
            }
        }
        if this.nth == 0 {
            self.caboose_on(this.train, this.station, now);
            self.tally.runs[this.train] += 1;
        }
        if this.takes {
            self.pick_up(call, now);
        }
        self.count(call);
        self.tally.peak(&self.books, self.plan, this.station);
    }

    fn count(&mut self, call: usize) {
        let this = self.plan.ways.calls[call];
        let freight = self.consist[this.train]
            .iter()
            .filter(|id| self.plan.wagons[id.index()].freight)
            .count();
        self.tally.leaves_with(this.train, this.nth, freight);
    }

    fn cars_at(&self, station: StationId) -> Vec<CarId> {
        self.plan.stations[station.index()]
            .all
            .iter()
            .flat_map(|&track| self.books.standing(track))
            .copied()
            .collect()
    }

    /// A train takes what it may; how many cars it took.
    fn pick_up(&mut self, call: usize, now: i64) -> usize {
        let this = self.plan.ways.calls[call];
        let train = &self.plan.ways.trains[this.train];
        let limit = &self.plan.trains[this.train];
        let mut wanted: Vec<(i64, i64, CarId, usize)> = vec![];
        for id in self.cars_at(this.station) {
            let job = &self.jobs[id.index()];
            let Some(to) = job.to.filter(|&to| to != this.station) else {
                continue;
            };
            if job.ready > now {
                continue;
            }
            let (priority, class) = match job.task {
                Task::Loaded(lane) => {
                    let one = &self.plan.lanes[lane];
                    (one.lane.priority, one.class)
                }
                Task::ToLoad(lane) => (self.plan.lanes[lane].lane.priority, 0),
                // Without its caboose a train does not run.
                Task::Rest if self.plan.wagons[id.index()].caboose => (0, 0),
                Task::Rest => (10, 0),
                _ => continue,
            };
            if train.carries == Carries::Perishable && class == 0 {
                continue;
            }
            let Some(end) = self.plan.ways.take(class, call, to) else {
                continue;
            };
            // Whoever has waited for two days goes before others of the next class.
            let waited = (now - job.ready).div_euclid(2 * DAY);
            wanted.push((priority - waited, job.ready, id, end));
        }
        if wanted.is_empty() {
            return 0;
        }
        wanted.sort_unstable();
        let (mut cars, mut length, mut tons) = self.consist_of(this.train);
        let mut took = 0;
        for (_, _, id, end) in wanted {
            let wagon = &self.plan.wagons[id.index()];
            let weight = self.weight(id);
            if cars + 1 > limit.cars
                || length + wagon.length > limit.length
                || tons + weight > limit.tons
            {
                self.tally.full[this.train] += 1;
                continue;
            }
            if !self.keep(id, end, now) {
                continue;
            }
            let train = limit.symbol.clone();
            if !self.happens(id, now, What::PickUp { train }) {
                let station = self.plan.ways.calls[end].station;
                self.release(id, station);
                continue;
            }
            self.jobs[id.index()].left_at = end;
            self.consist[this.train].push(id);
            self.tally.carried[this.train] += 1;
            cars += 1;
            length += wagon.length;
            tons += weight;
            took += 1;
        }
        took
    }

    fn weight(&self, id: CarId) -> f64 {
        let loaded = matches!(self.jobs[id.index()].task, Task::Loaded(_));
        self.plan.wagons[id.index()].tons[usize::from(loaded)]
    }

    fn consist_of(&self, train: usize) -> (usize, Actual, f64) {
        let mut sum = (0, Actual::ZERO, 0.0);
        for &id in &self.consist[train] {
            let wagon = &self.plan.wagons[id.index()];
            // The length of the train's own caboose is in the limit.
            if !wagon.caboose || self.jobs[id.index()].task == Task::Rest {
                sum.0 += 1;
                sum.1 += wagon.length;
                sum.2 += self.weight(id);
            }
        }
        sum
    }

    /// Keeps a place for a car where a train is to leave it; whether there is one.
    fn keep(&mut self, id: CarId, end: usize, now: i64) -> bool {
        let there = self.plan.ways.calls[end];
        let station = there.station;
        let arrive = i64::from(self.day) * DAY + there.arrive;
        let length = self.plan.wagons[id.index()].length;
        let job = &self.jobs[id.index()];
        let side = match job.task {
            _ if job.to != Some(station) => None,
            Task::ToLoad(lane) => Some(&self.plan.lanes[lane].from),
            Task::Loaded(lane) => Some(&self.plan.lanes[lane].to),
            _ => None,
        };
        match side {
            // In a yard a car may wait for its spot.
            Some(side) if side.lies == Lies::Here && !self.plan.stations[station.index()].yard => {
                if side.spots.is_empty() {
                    let free: Actual = side
                        .tracks
                        .iter()
                        .map(|&track| self.books.room(track))
                        .sum();
                    if free - self.coming[station.index()] < length {
                        self.held(side.place, id);
                        return false;
                    }
                    self.coming[station.index()] += length;
                    return true;
                }
                let track = side.tracks[0];
                let flat = self.flat(track);
                let mut free = side.spots.iter().copied().filter(|&spot| {
                    self.claims[flat][spot].is_none() && self.free_by(track, spot, arrive)
                });
                // Those that wait there already come first, then those who asked before.
                let ready = job.ready;
                let before = self.queue[flat]
                    .iter()
                    .filter(|(other, since, asked)| {
                        *other != id
                            && *since < ready
                            && now - asked <= DAY + DAY / 12
                            && self.shares_spots(*other, side)
                    })
                    .count();
                match free.nth(self.waiting(side) + before) {
                    Some(spot) => {
                        self.claims[flat][spot] = Some(id);
                        self.jobs[id.index()].claim = Some((flat, spot));
                        self.queue[flat].retain(|(other, ..)| *other != id);
                        true
                    }
                    None => {
                        self.queue[flat]
                            .retain(|(other, _, asked)| *other != id && now - asked <= 2 * DAY);
                        self.queue[flat].push((id, ready, now));
                        self.held(side.place, id);
                        false
                    }
                }
            }
            Some(side) if matches!(side.lies, Lies::ByHand | Lies::Live) => {
                let free: Actual = side
                    .tracks
                    .iter()
                    .map(|&track| self.books.room(track))
                    .sum();
                self.room_or_refuse(station, free, length)
            }
            _ => {
                let free = match self.home_by_hand(id, station) {
                    Some(tracks) => tracks.iter().map(|&track| self.books.room(track)).sum(),
                    None => self.free(station),
                };
                self.room_or_refuse(station, free, length)
            }
        }
    }

    /// The interchange tracks over which an empty goes home here, if it does.
    fn home_by_hand(&self, id: CarId, station: StationId) -> Option<&'a [TrackRef]> {
        let here = &self.plan.stations[station.index()];
        let job = &self.jobs[id.index()];
        (job.task == Task::Rest
            && job.to == Some(station)
            && !here.staging
            && !here.interchange.is_empty()
            && self.plan.wagons[id.index()].home == Some(station))
        .then_some(&here.interchange)
    }

    /// How many cars stand at a station and wait for one of these spots.
    fn waiting(&self, side: &Side) -> usize {
        let stuck = self.stuck[side.station.index()].iter().copied();
        self.cars_at(side.station)
            .into_iter()
            .chain(stuck)
            .filter(|&id| {
                self.jobs[id.index()].to == Some(side.station) && self.shares_spots(id, side)
            })
            .count()
    }

    /// Whether a car on its way to be spotted may come to one of these spots.
    fn shares_spots(&self, id: CarId, side: &Side) -> bool {
        let other = match self.jobs[id.index()].task {
            Task::ToLoad(lane) => &self.plan.lanes[lane].from,
            Task::Loaded(lane) => &self.plan.lanes[lane].to,
            _ => return false,
        };
        other.tracks.first() == side.tracks.first()
            && other.spots.iter().any(|spot| side.spots.contains(spot))
    }

    fn held(&mut self, place: Option<usize>, id: CarId) {
        if let Some(place) = place {
            let loaded = matches!(self.jobs[id.index()].task, Task::Loaded(_));
            self.tally.held(place, id, loaded);
        }
    }

    fn room_or_refuse(&mut self, station: StationId, free: Actual, length: Actual) -> bool {
        if free - self.coming[station.index()] < length {
            self.tally.no_room[station.index()] += 1;
            return false;
        }
        self.coming[station.index()] += length;
        true
    }

    /// What is kept for a car is free again.
    fn release(&mut self, id: CarId, station: StationId) {
        let job = &mut self.jobs[id.index()];
        match job.claim.take() {
            Some((flat, spot)) => {
                if self.claims[flat][spot] == Some(id) {
                    self.claims[flat][spot] = None;
                }
            }
            None => {
                let left = self.coming[station.index()] - self.plan.wagons[id.index()].length;
                self.coming[station.index()] = left.max(Actual::ZERO);
            }
        }
        job.left_at = NOWHERE;
    }

    fn flat(&self, track: TrackRef) -> usize {
        self.first_track[track.station.index()] + track.track.index()
    }

    /// Whether a spot will be free at a time: nobody is there, or whoever is goes then.
    fn free_by(&self, track: TrackRef, spot: usize, time: i64) -> bool {
        let there = self.books.standing(track).iter().find(|&&other| {
            matches!(self.books.car(other).at, Whereabouts::Track { spot: Some(s), .. } if s == spot)
        });
        let Some(&other) = there else { return true };
        let job = &self.jobs[other.index()];
        match job.task {
            Task::Loading { until, .. } | Task::Unloading { until, .. } => until <= time,
            Task::Loaded(_) | Task::ToLoad(_) | Task::Rest | Task::Idle => {
                job.to.is_none_or(|to| to != track.station)
            }
            _ => false,
        }
    }

    /// How much of a station's tracks for keeping cars is free, in whole cars. One arrival track of a
    /// yard is kept open for trains.
    fn free(&self, station: StationId) -> Actual {
        let here = &self.plan.stations[station.index()];
        let mean = self.plan.mean_length;
        let of = |&track: &TrackRef| mean * (self.books.room(track) / mean).floor().max(0.0);
        let all: Actual = here.hold.iter().map(of).sum();
        if here.yard && !here.staging && here.hold.len() > 2 {
            all - here.hold.last().map_or(Actual::ZERO, of)
        } else {
            all
        }
    }

    /// Leaves a car that is in a train at a station.
    fn leave_at(&mut self, id: CarId, station: StationId, now: i64) -> bool {
        let job = &self.jobs[id.index()];
        let here = &self.plan.stations[station.index()];
        let final_ = job.to == Some(station);
        let side = match job.task {
            Task::ToLoad(lane) if final_ => Some((lane, &self.plan.lanes[lane].from)),
            Task::Loaded(lane) if final_ => Some((lane, &self.plan.lanes[lane].to)),
            _ => None,
        };
        match side {
            Some((_, side)) if side.lies == Lies::Here => {
                if self.spot(id, side, now, true) {
                    return true;
                }
                // Off spot, near it if there is room.
                let mut tracks = side.tracks.clone();
                tracks.extend(&here.hold);
                tracks.extend(&here.spare);
                let put = self.put(id, &tracks, now);
                if put {
                    self.jobs[id.index()].ready = now;
                    self.tally.off_spot += 1;
                    if let Some(flow) = side.flow {
                        self.books.remark(id, Some(Waiting::Spot { flow }));
                    }
                }
                put
            }
            Some((lane, side)) => {
                let tracks = side.tracks.clone();
                if !self.put(id, &tracks, now) {
                    let hold = here.hold.clone();
                    if !self.put(id, &hold, now) {
                        return false;
                    }
                }
                let away = self.plan.lanes[lane].away;
                let beyond = side.beyond.clone();
                let lies = side.lies;
                let job = &mut self.jobs[id.index()];
                job.ready = now;
                if lies == Lies::Staging && matches!(job.task, Task::Loaded(_)) {
                    let until = now + away;
                    job.task = Task::Beyond { lane, until };
                    job.to = None;
                    let until = Moment {
                        day: until.div_euclid(DAY) as u32,
                        time: RailTime::from_seconds(until.rem_euclid(DAY)),
                    };
                    let place = beyond.unwrap_or_default();
                    self.books
                        .remark(id, Some(Waiting::Beyond { place, until }));
                }
                true
            }
            None => {
                if let Some(tracks) = self.home_by_hand(id, station) {
                    // The other road takes it from there.
                    return self.put(id, tracks, now);
                }
                let mut tracks = here.hold.clone();
                tracks.extend(&here.spare);
                if !self.put(id, &tracks, now) {
                    return false;
                }
                let job = &mut self.jobs[id.index()];
                job.ready = now + self.plan.connection;
                if final_ {
                    job.task = if self.plan.wagons[id.index()].caboose {
                        Task::Fixed
                    } else {
                        Task::Idle
                    };
                    job.to = None;
                    job.idle_since = now;
                    self.books.remark(id, Some(Waiting::Order));
                }
                true
            }
        }
    }

    /// Puts a car at a free spot of its shipper, from a train or from where it stands here.
    fn spot(&mut self, id: CarId, side: &Side, now: i64, from_train: bool) -> bool {
        let Some(&track) = side.tracks.first() else {
            return false;
        };
        let what = |spot, at| {
            if from_train {
                What::SetOut { track, spot, at }
            } else {
                What::Shift { track, spot, at }
            }
        };
        if side.spots.is_empty() {
            for &track in &side.tracks {
                if !from_train && self.track_of(id).is_some_and(|(on, _)| on == track) {
                    self.start(id, now);
                    return true;
                }
                if self.books.room(track) >= self.plan.wagons[id.index()].length {
                    let at = self.books.standing(track).len();
                    let what = if from_train {
                        What::SetOut {
                            track,
                            spot: None,
                            at,
                        }
                    } else {
                        What::Shift {
                            track,
                            spot: None,
                            at,
                        }
                    };
                    if self.happens(id, now, what) {
                        self.start(id, now);
                        return true;
                    }
                }
            }
            return false;
        }
        let flat = self.flat(track);
        for &spot in &side.spots {
            if self.claims[flat][spot].is_some_and(|other| other != id)
                || !self.books.spot_is_free(track, spot)
            {
                continue;
            }
            // Counted without the car itself, if it stands there.
            let mut at = self.books.place_for_spot(track, spot);
            if let Whereabouts::Track {
                track: on, at: own, ..
            } = self.books.car(id).at
                && on == track
                && own < at
            {
                at -= 1;
            }
            if self.happens(id, now, what(Some(spot), at)) {
                self.start(id, now);
                return true;
            }
        }
        false
    }

    fn fits(&self, id: CarId, track: TrackRef) -> bool {
        self.books.room(track) >= self.plan.wagons[id.index()].length
    }

    fn put(&mut self, id: CarId, tracks: &[TrackRef], now: i64) -> bool {
        for &track in tracks {
            if self.fits(id, track) {
                let at = self.books.standing(track).len();
                if self.happens(
                    id,
                    now,
                    What::SetOut {
                        track,
                        spot: None,
                        at,
                    },
                ) {
                    return true;
                }
            }
        }
        false
    }

    fn shift(&mut self, id: CarId, tracks: &[TrackRef], now: i64) -> bool {
        for &track in tracks {
            if self.fits(id, track) && self.track_of(id).is_none_or(|(on, _)| on != track) {
                let at = self.books.standing(track).len();
                if self.happens(
                    id,
                    now,
                    What::Shift {
                        track,
                        spot: None,
                        at,
                    },
                ) {
                    return true;
                }
            }
        }
        false
    }

    /// Cars that a train could not leave are left as soon as there is room.
    fn unstick(&mut self, station: StationId, now: i64) {
        if self.stuck[station.index()].is_empty() {
            return;
        }
        for id in std::mem::take(&mut self.stuck[station.index()]) {
            if !self.leave_at(id, station, now) {
                self.stuck[station.index()].push(id);
            }
        }
    }

    /// A station is switched: what is done leaves its spot, where there are tracks to keep it, and
    /// what waits for a spot gets it. How many cars were moved, at most so many.
    fn serve(&mut self, station: StationId, now: i64) -> usize {
        let here = &self.plan.stations[station.index()];
        if here.staging {
            for id in self.cars_at(station) {
                self.finish(id, now);
            }
            return 0;
        }
        let mut moved = 0;
        let yard = here.yard;
        let cars = self.cars_at(station);
        for &id in &cars {
            self.finish(id, now);
        }
        let (hold, spare) = (&here.hold, &here.spare);
        for &id in &cars {
            let Some((track, spot)) = self.track_of(id) else {
                continue;
            };
            let job = &self.jobs[id.index()];
            let side = match job.task {
                Task::ToLoad(lane) => Some(&self.plan.lanes[lane].from),
                Task::Loaded(lane) => Some(&self.plan.lanes[lane].to),
                _ => None,
            };
            let done = match job.task {
                Task::Idle | Task::Rest => true,
                Task::Loaded(_) | Task::ToLoad(_) => job.to != Some(station),
                _ => false,
            };
            if yard && done && (spot.is_some() || !hold.contains(&track)) {
                moved += usize::from(self.shift(id, hold, now));
            } else if let Some(side) = side
                && !done
                && spot.is_some()
                && side.tracks.first() != Some(&track)
            {
                // It keeps another from its spot: out of the way, near its own if there is room.
                let tracks = [&side.tracks[..], hold, spare].concat();
                moved += usize::from(self.shift(id, &tracks, now));
            }
        }
        for id in cars {
            let job = &self.jobs[id.index()];
            if job.to != Some(station) || job.ready > now {
                continue;
            }
            let lane = match job.task {
                Task::ToLoad(lane) => &self.plan.lanes[lane].from,
                Task::Loaded(lane) => &self.plan.lanes[lane].to,
                Task::Rest if self.home_by_hand(id, station).is_some() => continue,
                Task::Rest => {
                    let caboose = self.plan.wagons[id.index()].caboose;
                    let job = &mut self.jobs[id.index()];
                    job.task = if caboose { Task::Fixed } else { Task::Idle };
                    job.to = None;
                    continue;
                }
                _ => continue,
            };
            if lane.lies == Lies::Here {
                if self.spot(id, lane, now, false) {
                    moved += 1;
                } else {
                    self.held(lane.place, id);
                }
            }
        }
        moved
    }

    // ---- cabooses and passenger cars ----

    /// Cabooses beyond what a station's trains need are sent, as cars, to where they lack.
    fn spread_cabooses(&mut self) {
        let stations = self.plan.stations.len();
        let mut has = vec![0_i64; stations];
        let mut spare: Vec<Vec<CarId>> = vec![vec![]; stations];
        for (at, wagon) in self.plan.wagons.iter().enumerate() {
            if !wagon.caboose {
                continue;
            }
            let (job, id) = (&self.jobs[at], car(at));
            if let Some(station) = job.to {
                has[station.index()] += 1;
            } else if let Some((track, _)) = self.track_of(id) {
                has[track.station.index()] += 1;
                spare[track.station.index()].push(id);
            }
        }
        for to in 0..stations {
            while has[to] < self.plan.cabooses[to] {
                let from = (0..stations)
                    .filter(|&from| {
                        has[from] > self.plan.cabooses[from]
                            && !spare[from].is_empty()
                            && self.plan.ways.reaches(
                                0,
                                StationId(from as u32),
                                StationId(to as u32),
                            )
                    })
                    .max_by_key(|&from| (has[from] - self.plan.cabooses[from], stations - from));
                let Some(from) = from else { break };
                let Some(id) = spare[from].pop() else { break };
                has[from] -= 1;
                has[to] += 1;
                let job = &mut self.jobs[id.index()];
                job.task = Task::Rest;
                job.to = Some(StationId(to as u32));
            }
        }
    }

    fn caboose_on(&mut self, train: usize, station: StationId, now: i64) {
        if !self.plan.trains[train].caboose {
            return;
        }
        // First one that belongs here: what is being sent goes as a car, or where the train ends would
        // get one where it needs two. Then one that is sent there; only then one that is being sent
        // elsewhere, which then stays with its train.
        let calls = &self.plan.ways.trains[train].calls;
        let end = calls.last().map(|&call| self.plan.ways.calls[call].station);
        let found = self
            .cars_at(station)
            .into_iter()
            .filter(|id| {
                self.plan.wagons[id.index()].caboose && self.books.car(*id).since.seconds() <= now
            })
            .min_by_key(|id| match self.jobs[id.index()].to {
                None => 0,
                Some(to) if Some(to) == end => 1,
                Some(_) => 2,
            });
        let train_name = self.plan.trains[train].symbol.clone();
        match found {
            Some(id) if self.happens(id, now, What::PickUp { train: train_name }) => {
                let calls = &self.plan.ways.trains[train].calls;
                let job = &mut self.jobs[id.index()];
                job.left_at = *calls.last().unwrap_or(&NOWHERE);
                job.task = Task::Fixed;
                job.to = None;
                self.consist[train].push(id);
            }
            _ => self.tally.no_caboose[train] += 1,
        }
    }

    fn caboose_off(&mut self, station: StationId, now: i64) {
        // The caboose is set out with the rest: in the yard's own track if there is one.
        let here = &self.plan.stations[station.index()];
        if here.caboose.is_empty() {
            return;
        }
        let tracks = here.caboose.clone();
        for id in self.cars_at(station) {
            if self.plan.wagons[id.index()].caboose
                && self
                    .track_of(id)
                    .is_some_and(|(track, _)| !tracks.contains(&track))
            {
                self.shift(id, &tracks, now);
            }
        }
    }

    fn board(&mut self, train: usize, weekday: u8, now: i64) {
        let run = &self.plan.passenger[train];
        if !run.days.contains(weekday) {
            return;
        }
        let mut length = Actual::ZERO;
        for id in self.books.standing(run.from).to_vec() {
            let wagon = &self.plan.wagons[id.index()];
            if wagon.passenger
                && length + wagon.length <= run.length
                && self.books.car(id).since.seconds() <= now
            {
                let symbol = run.symbol.clone();
                if self.happens(id, now, What::PickUp { train: symbol }) {
                    length += wagon.length;
                    self.passengers[train].push(id);
                }
            }
        }
    }

    fn unboard(&mut self, train: usize, now: i64) {
        let tracks = self.plan.passenger[train].to.clone();
        for id in std::mem::take(&mut self.passengers[train]) {
            if !self.put(id, &tracks, now) {
                self.passengers[train].push(id);
                self.tally.stuck += 1;
            }
        }
    }

    // ---- the end of a session ----

    fn close(&mut self) {
        let mut idle = vec![0_u32; self.kinds.len()];
        for (at, job) in self.jobs.iter().enumerate() {
            if let (Task::Idle, Some(kind)) = (job.task, self.plan.wagons[at].kind)
                && let Ok(kind) = self.kinds.binary_search(&kind)
            {
                idle[kind] += 1;
            }
        }
        let oldest: Vec<u32> = self
            .orders
            .iter()
            .map(|orders| {
                orders
                    .front()
                    .map_or(0, |&wanted| self.day.saturating_sub(wanted))
            })
            .collect();
        let mut short = vec![0_u32; self.kinds.len()];
        for (lane, orders) in self.orders.iter().enumerate() {
            if let Ok(kind) = self.kinds.binary_search(&self.plan.lanes[lane].lane.kind) {
                short[kind] += orders.iter().filter(|&&wanted| wanted <= self.day).count() as u32;
            }
        }
        self.tally
            .close(self.plan, &self.books, self.day, &idle, &short, &oldest);
    }
}
