//! Billing a session: from the books to waybills, car orders filled, and trains made up.
//!
//! Loads go where they are wanted and empties where the cheapest flow sends them; all of these are routed
//! through the trains of this session and those that follow; what falls on this session is made up into
//! trains and judged. Costs are in units of no name: an hour of an ordinary load is 20 of them.

mod cars;
mod facts;
mod made_up;
mod opening;
mod rooms;
mod trains;
pub mod words;

pub use opening::opening;

use std::collections::HashMap;

use engineering::ids::{StationId, TrackRef};
use mechanical::{CarId, CarKind};
use model::{
    time::{RailSpan, RailTime},
    units::Actual,
};
use railroad::Railroad;
use traffic::{
    Bill, CarLoad, CarOrder, FlowId, Leg, Restriction, Stand, WaybillNo,
    books::{Books, Whereabouts},
    demand::{Lane, lanes},
    supply::Homeward,
};
use transportation::{
    MadeUp, TrainId,
    make_up::{CarMove, Facts, LeftCar, Limit, WhyLeft, judge},
};

use crate::routing::{self, DAY, Full, Move, Plan, Problem, Station, solve};
use cars::{Asking, Reach, Want};
use rooms::Rooms;
use trains::{FAST, FreightTrain, ORDINARY, freight_trains, holds, size_up, weights};

/// How to bill.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// The dice for what is tried when trains are full.
    pub seed: u64,
    /// The time of the session from which to bill: trains that have left are as they are. The whole
    /// session if none.
    pub now: Option<RailTime>,
    /// Sessions looked ahead, this one included: at least 2.
    pub days: u32,
    /// Between a car's coming into a yard and its leaving in another train, by the railroad's clock. If none,
    /// ten real minutes at the railroad's clock ratio; common practice, no source.
    pub cut_off: Option<RailSpan>,
    /// What share of the room of later sessions' trains is kept for cars that nobody knows of yet.
    pub kept: f64,
    /// How hard to look for routes.
    pub routing: routing::Options,
}

impl Default for Options {
    fn default() -> Self {
        Self {
            seed: 0,
            now: None,
            days: 3,
            cut_off: None,
            kept: 0.5,
            routing: routing::Options::default(),
        }
    }
}

/// Why a car is to move.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// It is loaded.
    Loaded,
    /// A shipper ordered it; why this car.
    Ordered(Homeward),
    /// The yard will want it, for such a shipper among others.
    Stock(FlowId),
    /// It goes home.
    Home,
    /// It stands in the way and nobody wants it.
    Released,
    /// It was billed so before.
    AsBilled,
}

/// A car moved within its station: by the yard engine, or by the next train that works there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct YardMove {
    /// The car.
    pub car: CarId,
    /// Its waybill.
    pub bill: WaybillNo,
    /// Where it is.
    pub from: TrackRef,
    /// Where it is to be.
    pub to: TrackRef,
    /// At which spot.
    pub spot: Option<usize>,
}

/// A session billed.
#[derive(Debug, Clone, PartialEq)]
pub struct Billed {
    /// Which session, by the number of the books.
    pub day: u32,
    /// The waybills, by car.
    pub bills: Vec<Bill>,
    /// Why each of them was written, in the same order.
    pub why: Vec<Why>,
    /// The car orders, and what came of them.
    pub orders: Vec<CarOrder>,
    /// The trains of the session that carry freight, in the order of their page.
    pub made_up: Vec<MadeUp>,
    /// Cars moved within their stations.
    pub yard_moves: Vec<YardMove>,
    /// Cars that do not get where they are billed in this session, or are not billed, and why.
    pub left: Vec<LeftCar>,
    /// What the empties cost, proven least by prices that the judge has checked.
    pub supply_cost: i128,
    /// What the ways of all cars cost, and what no plan is below.
    pub routing_cost: [i64; 2],
    /// What the judge knows of the session.
    pub facts: Facts,
}

/// Why a session could not be billed.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoBill {
    /// A judge refused what was found: a mistake of the program.
    #[error("the plan was refused by the judge, and is not shown: {}", .0.join("; "))]
    Refused(Vec<String>),
}

/// Bills the session that comes next, or what is left of it.
///
/// # Errors
/// If a judge refuses the plan.
pub fn bill(railroad: &Railroad, books: &Books, options: &Options) -> Result<Billed, NoBill> {
    let session = Session::new(railroad, books, options);
    session.bill()
}

/// The caboose that trains are reckoned with: the longest in service. Which one a crew takes is theirs to say.
pub(crate) fn longest_caboose(railroad: &Railroad) -> Option<CarId> {
    trains::cabooses(railroad)
        .max_by(|a, b| a.1.meters().total_cmp(&b.1.meters()).then(b.0.cmp(&a.0)))
        .map(|(id, _)| id)
}

struct Session<'a> {
    railroad: &'a Railroad,
    books: &'a Books,
    options: Options,
    lanes: Vec<Lane>,
    trains: Vec<FreightTrain>,
    /// For each run of the problem its train and day.
    runs: Vec<(usize, u32)>,
    problem: Problem,
    now: i64,
}

/// What it costs that a train takes a car and leaves it.
const HANDLING: i64 = 40;
/// What it costs to bring a car from one staging track to another by hand; and out of a train that stands there
/// made up.
const SHIFT: [i64; 2] = [20, 120];
/// What it costs to run around for a spur.
const AROUND: i64 = 20;
/// What each hour costs that a car waits where it begins.
const LINGER: i64 = 1;

/// What an hour costs, by priority 1 to 9: so that one car of the first goes before several of the fifth.
/// Common practice, no source.
const HOUR: [i64; 9] = [120, 60, 40, 30, 20, 12, 6, 5, 4];

impl<'a> Session<'a> {
    fn new(railroad: &'a Railroad, books: &'a Books, options: &Options) -> Self {
        let mut options = *options;
        options.days = options.days.max(2);
        options.routing.seed ^= options.seed;
        let cut_off = options.cut_off.map_or_else(
            || (600.0 * railroad.identity.clock).round() as i64,
            RailSpan::seconds,
        );
        let trains = freight_trains(railroad);
        let weekday = railroad
            .identity
            .date
            .and_then(|date| date.value.plus_days(i32::try_from(books.day).ok()?))
            .map(|date| date.weekday().days_after_monday());
        let mut runs = vec![];
        let mut problem = Problem {
            stations: railroad
                .way
                .stations()
                .map(|(id, _)| Station {
                    cut_off,
                    holds: holds(railroad, id),
                })
                .collect(),
            handling: HANDLING,
            around: AROUND,
            // The last session looked at stands for all that follow.
            unlimited_from: Some(i64::from(options.days - 1) * DAY),
            linger: LINGER,
            ..Problem::default()
        };
        for day in 0..options.days {
            for (at, train) in trains.iter().enumerate() {
                let days = railroad.service.train(train.id).days.value;
                let on =
                    weekday.is_none_or(|today| days.contains(((u32::from(today) + day) % 7) as u8));
                if on {
                    runs.push((at, day));
                    let mut run = train.run(day);
                    if day > 0 {
                        let share = (1.0 - options.kept).clamp(0.0, 1.0);
                        for leg in &mut run.legs {
                            leg.room = leg.room.map(|room| (room as f64 * share) as i64);
                        }
                    }
                    problem.runs.push(run);
                }
            }
        }
        let month = railroad.identity.date.map(|date| date.value.month());
        let lanes = lanes(&railroad.traffic, &railroad.way)
            .0
            .into_iter()
            .filter(|lane| month.is_none_or(|month| lane.season.contains(month) || lane.rate > 0.0))
            .collect();
        Self {
            railroad,
            books,
            lanes,
            trains,
            runs,
            problem,
            now: options.now.map_or(0, RailTime::seconds),
            options,
        }
    }

    fn bill(mut self) -> Result<Billed, NoBill> {
        let problem = self.problem.clone();
        let wants = {
            let mut known: HashMap<(StationId, StationId, i64), Option<Reach>> = HashMap::new();
            let mut ways = routing::Ways::new(&problem);
            let mut reach = |from: StationId, to: StationId, ready: i64| {
                *known
                    .entry((from, to, ready))
                    .or_insert_with(|| reach(&problem, &mut ways, from, to, ready))
            };
            Asking {
                railroad: self.railroad,
                books: self.books,
                lanes: &self.lanes,
                now: self.now,
                days: self.options.days,
                cut_off: problem
                    .stations
                    .first()
                    .map_or(0, |station| station.cut_off),
                reach: &mut reach,
            }
            .ask()
            .map_err(|wrong| NoBill::Refused(vec![wrong]))?
        };
        let cars::Wants {
            wants,
            orders,
            mut left,
            supply_cost,
        } = wants;
        let kept: Vec<Stand> = wants.iter().map(|want| self.put_at(&want.to)).collect();
        let stands = wants.iter().map(|want| &want.to).chain(&kept);
        let mut rooms = Rooms::new(self.railroad, self.books, stands);
        let mut spots = Spots::new(self.railroad, self.books);
        let first = self.books.bills.iter().map(|bill| bill.no.0 + 1).max();
        let mut next = first.unwrap_or(1);
        let numbers: Vec<WaybillNo> = wants
            .iter()
            .map(|want| {
                self.books.car(want.car).waybill.unwrap_or_else(|| {
                    next += 1;
                    WaybillNo(next - 1)
                })
            })
            .collect();
        let yard_moves = self.yard_moves(&wants, &numbers, &mut rooms, &mut spots, &mut left);
        self.problem.rooms.clone_from(&rooms.rooms);
        self.problem.moves = wants
            .iter()
            .map(|want| self.move_of(want, &rooms))
            .collect();
        let plan = solve(&self.problem, &self.options.routing);
        let bills: Vec<Bill> = wants
            .iter()
            .zip(&numbers)
            .zip(&plan.routes)
            .map(|((want, no), route)| self.write(want, *no, route))
            .collect();
        for (at, (want, route)) in wants.iter().zip(&plan.routes).enumerate() {
            let today = route
                .rides
                .iter()
                .filter(|ride| self.runs[ride.run].1 == 0)
                .count();
            let arrives = !route.rides.is_empty() && today == route.rides.len();
            let moved = yard_moves.iter().any(|one| one.car == want.car);
            let told = left.iter().any(|left| left.car == want.car);
            if !arrives && !moved && !told {
                left.push(LeftCar {
                    car: want.car,
                    bill: Some(numbers[at]),
                    station: self.where_is(want.car),
                    why: self.why_left(&plan, &rooms, at),
                });
            }
        }
        left.sort_by_key(|left| left.car);
        let made_up = self.made_up(&wants, &numbers, &plan, &mut spots, &left);
        for made in &made_up {
            for work in &made.works {
                for out in work.set_out.iter().filter(|out| out.off_spot) {
                    let want = wants.iter().find(|want| want.car == out.car);
                    left.push(LeftCar {
                        car: out.car,
                        bill: Some(out.bill),
                        station: work.station,
                        why: WhyLeft::NoRoom {
                            at: work.station,
                            track: want.and_then(|want| want.to.tracks.first().copied()),
                        },
                    });
                }
            }
        }
        let facts = facts::facts(&self, &wants, &yard_moves);
        let faults = judge(&facts, &made_up, &bills, &left);
        if !faults.is_empty() {
            return Err(NoBill::Refused(faults));
        }
        Ok(Billed {
            day: self.books.day,
            why: wants.iter().map(|want| want.why).collect(),
            bills,
            orders,
            made_up,
            yard_moves,
            left,
            supply_cost,
            routing_cost: [plan.cost, plan.bound],
            facts,
        })
    }

    fn where_is(&self, car: CarId) -> StationId {
        match &self.books.car(car).at {
            Whereabouts::Track { track, .. } => track.station,
            Whereabouts::Train { from, .. } => *from,
            Whereabouts::Off { via, .. } => *via,
            Whereabouts::Aside => StationId(0),
        }
    }

    fn length(&self, car: CarId) -> Actual {
        self.books.ground().cars[car.index()].length
    }

    /// Cars that are wanted at another track of the station where they are.
    fn yard_moves(
        &self,
        wants: &[Want],
        numbers: &[WaybillNo],
        rooms: &mut Rooms,
        spots: &mut Spots,
        left: &mut Vec<LeftCar>,
    ) -> Vec<YardMove> {
        let mut out = vec![];
        let mut wanted: Vec<usize> = (0..wants.len()).collect();
        wanted.sort_by_key(|&at| (wants[at].priority, at));
        for at in wanted {
            let want = &wants[at];
            let Whereabouts::Track { track, spot, .. } = &self.books.car(want.car).at else {
                continue;
            };
            if track.station != want.to.station {
                continue;
            }
            let length = self.length(want.car);
            let needs = rooms.needs(self.railroad, self.books, &want.to, length);
            let frees = rooms.frees(*track, *spot, length);
            rooms.give(&frees);
            let found = rooms
                .take(&needs)
                .then(|| spots.find(self.railroad, self.books, &want.to, length))
                .flatten();
            match found {
                Some((to, to_spot)) => {
                    spots.leave(want.car, *track);
                    spots.put(want.car, to, to_spot, length);
                    out.push(YardMove {
                        car: want.car,
                        bill: numbers[at],
                        from: *track,
                        to,
                        spot: to_spot,
                    });
                }
                None => {
                    rooms.take(&frees);
                    left.push(LeftCar {
                        car: want.car,
                        bill: Some(numbers[at]),
                        station: track.station,
                        why: WhyLeft::NoRoom {
                            at: want.to.station,
                            track: want.to.tracks.first().copied(),
                        },
                    });
                }
            }
        }
        out
    }

    fn move_of(&self, want: &Want, rooms: &Rooms) -> Move {
        let book = self.books.car(want.car);
        let loaded = want.state == CarLoad::Loaded;
        let length = self.length(want.car);
        let (tons, weight) = weights(self.railroad, want.car, loaded);
        let kind = self
            .railroad
            .roster
            .car(want.car)
            .kind
            .map(|kind| kind.value);
        let hour = HOUR[(want.priority.clamp(1, 9) - 1) as usize];
        let spoils = matches!(
            kind,
            Some(
                CarKind::Reefer
                    | CarKind::Ventilator
                    | CarKind::Stock
                    | CarKind::Poultry
                    | CarKind::ExpressReefer
            )
        );
        let fast = loaded && (spoils || want.priority <= 1);
        let mut one = Move {
            to: want.to.station.index(),
            ready: want.ready,
            size: [
                1,
                size_up(length.inches() * 100.0),
                size_up(tons * 10.0),
                size_up(weight.kg() * 1000.0),
            ],
            class: if fast { FAST } else { ORDINARY },
            hour,
            stay: hour * 24 * i64::from(self.options.days) + 3_000,
            to_track: want.to.tracks.first().map(|track| track.index()),
            needs: rooms.needs(self.railroad, self.books, &self.put_at(&want.to), length),
            ..Move::default()
        };
        match &book.at {
            Whereabouts::Track { track, spot, .. } => {
                one.from = track.station.index();
                one.from_track = Some(track.track.index());
                let made_up = self.trains.iter().any(|train| {
                    train.calls[0].station == track.station && train.made_up_on == Some(track.track)
                });
                one.shift = SHIFT[usize::from(made_up)];
                one.frees = rooms.frees(*track, *spot, length);
            }
            Whereabouts::Train { train, from } => {
                one.from = from.index();
                one.aboard = self.runs.iter().enumerate().find_map(|(run, &(of, day))| {
                    let of = &self.trains[of];
                    let call = of.calls.iter().position(|call| call.station == *from)?;
                    (day == 0 && of.symbol == *train).then_some((run, call))
                });
                // It comes, whether or not there is room for it: it may be put off its spot.
                one.stay = 100_000_000;
                one.needs.clear();
            }
            Whereabouts::Off { via, .. } => one.from = via.index(),
            Whereabouts::Aside => {}
        }
        one
    }

    fn name(&self, station: StationId) -> &str {
        &self.railroad.way.station(station).name.value
    }

    /// Where a train puts a car that goes to a stand: at a yard its own engine spots it, when there is room.
    fn put_at(&self, stand: &Stand) -> Stand {
        if stand.beyond.is_none() && holds(self.railroad, stand.station) {
            Stand::at(stand.station)
        } else {
            stand.clone()
        }
    }

    fn write(&self, want: &Want, no: WaybillNo, route: &routing::Route) -> Bill {
        let book = self.books.car(want.car);
        let from = match &book.at {
            Whereabouts::Track { track, spot, .. } => Stand {
                station: track.station,
                tracks: vec![track.track],
                spots: spot.iter().copied().collect(),
                beyond: None,
            },
            _ => Stand::at(self.where_is(want.car)),
        };
        let legs: Vec<Leg> = route
            .rides
            .iter()
            .enumerate()
            .map(|(at, ride)| {
                let (train, day) = self.runs[ride.run];
                let train = &self.trains[train];
                let to = train.calls[ride.to].station;
                Leg {
                    day,
                    train: train.symbol.clone(),
                    from: train.calls[ride.from].station,
                    to,
                    block: self.block(train, want, &route.rides[at..]).0,
                }
            })
            .collect();
        let written = self
            .railroad
            .identity
            .date
            .and_then(|date| date.value.plus_days(i32::try_from(self.books.day).ok()?));
        Bill {
            no,
            car: want.car,
            from,
            to: want.to.clone(),
            flow: want.flow,
            commodity: want.commodity.clone(),
            state: want.state,
            priority: want.priority,
            restrictions: self.restrictions(want, &route.rides),
            route: self.route_words(&legs),
            legs,
            written,
        }
    }

    /// `41 to Kellander; next day 33 to Ellenmoor`.
    fn route_words(&self, legs: &[Leg]) -> String {
        let mut day = 0;
        let mut words = vec![];
        for leg in legs {
            let when = match leg.day - day {
                0 => String::new(),
                1 => "next day ".to_owned(),
                days => format!("{days} days later "),
            };
            day = leg.day;
            words.push(format!("{when}{} to {}", leg.train, self.name(leg.to)));
        }
        words.join(", ")
    }

    /// In which block of a train a car goes, and the block's place among those set out at the same call: the
    /// block of where it goes, of where it is set out, of where a later train takes it; else the block
    /// nearest to where it goes, or one named for where it is set out.
    fn block(&self, train: &FreightTrain, want: &Want, rides: &[routing::Ride]) -> (String, u32) {
        let ends = std::iter::once(want.to.station).chain(rides.iter().map(|ride| {
            let (of, _) = self.runs[ride.run];
            self.trains[of].calls[ride.to].station
        }));
        for end in ends {
            let name = self.name(end);
            if let Some(at) = train.blocks.iter().position(|block| block == name) {
                return (name.to_owned(), at as u32);
            }
        }
        let out = train.calls[rides[0].to].station;
        if out == want.to.station {
            return (self.name(out).to_owned(), train.blocks.len() as u32);
        }
        let distance = |block: &String| {
            let there = self.railroad.way.find_station(block)?;
            self.railroad.way.lines().find_map(|(line, _)| {
                let mile = |station| self.railroad.way.station(station).mile(line);
                Some((mile(there)? - mile(want.to.station)?).abs())
            })
        };
        let nearest = train
            .blocks
            .iter()
            .enumerate()
            .filter_map(|(at, block)| Some((distance(block)?, at, block)))
            .min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        match nearest {
            // A block is set out as a whole: not one for elsewhere at a stop on the way.
            Some((_, at, block)) if out == train.calls[train.calls.len() - 1].station => {
                (block.clone(), at as u32)
            }
            _ => (self.name(out).to_owned(), train.blocks.len() as u32),
        }
    }

    fn restrictions(&self, want: &Want, rides: &[routing::Ride]) -> Vec<Restriction> {
        let mut out = vec![];
        let car = self.railroad.roster.car(want.car);
        let kind = car.kind.map(|kind| kind.value);
        let loaded = want.state == CarLoad::Loaded;
        if is_dangerous(want) {
            out.push(Restriction::Hazard);
        }
        // Plate B, the outline that cars without restriction keep within: 15 ft 1 in high from 1948 on.
        if let Some(height) = car.height
            && height.value.feet() > 15.0 + 1.0 / 12.0
        {
            out.push(Restriction::HighWide(format!(
                "{:.1} ft high",
                height.value.feet()
            )));
        }
        if loaded && want.priority <= 1 {
            out.push(Restriction::Rush);
        }
        if loaded && kind == Some(CarKind::Reefer) {
            let iced = rides.iter().find_map(|ride| {
                let (of, day) = self.runs[ride.run];
                let train = self.railroad.service.train(self.trains[of].id);
                let stop = train.stops.iter().find(|stop| {
                    stop.work
                        .iter()
                        .any(|work| work.value == transportation::StopWork::Ice)
                })?;
                let leave = stop.leave?.value.seconds() + i64::from(day) * DAY;
                Some(RailTime::from_seconds(leave))
            });
            out.extend(iced.map(Restriction::IceBy));
        }
        if loaded && kind == Some(CarKind::Stock) {
            // Animals were not to be kept in cars longer than 28 hours without feed, water and rest: act of
            // June 29, 1906; from memory.
            let since = self.books.car(want.car).since.seconds() - i64::from(self.books.day) * DAY;
            let begun = since.max(want.ready - DAY);
            out.push(Restriction::UnloadBy(RailTime::from_seconds(
                begun.max(0) + 28 * 3600,
            )));
        }
        out
    }

    /// Why a car does not get where it goes in this session.
    fn why_left(&self, plan: &Plan, rooms: &Rooms, at: usize) -> WhyLeft {
        let today = |route: &routing::Route| {
            route
                .rides
                .last()
                .is_some_and(|ride| self.runs[ride.run].1 == 0)
        };
        let alone = &plan.alone[at];
        if let Some(full) = plan.full[at]
            && (today(alone) || plan.routes[at].rides.is_empty())
        {
            return match full {
                Full::Train { run, leg, limit } => {
                    let train = &self.trains[self.runs[run].0];
                    WhyLeft::Full {
                        limit: [Limit::Cars, Limit::Length, Limit::Tons, Limit::Rating][limit],
                        from: train.calls[leg].station,
                        to: train.calls[leg + 1].station,
                    }
                }
                Full::Room(room) => {
                    let track = rooms.track(room);
                    WhyLeft::NoRoom {
                        at: track.station,
                        track: Some(track.track),
                    }
                }
            };
        }
        let route = &plan.routes[at];
        if let Some(missed) = self.missed(route) {
            return missed;
        }
        if let Some(last) = route.rides.last() {
            return WhyLeft::NextSession(self.runs[last.run].1);
        }
        WhyLeft::NoWay
    }
}

impl Session<'_> {
    /// The connection that a car misses today: it comes after the cut-off of a train that it takes next
    /// session.
    fn missed(&self, route: &routing::Route) -> Option<WhyLeft> {
        let pair = route
            .rides
            .windows(2)
            .find(|pair| self.runs[pair[0].run].1 == 0 && self.runs[pair[1].run].1 > 0)?;
        let (came, goes) = (pair[0], pair[1]);
        let comes = self.problem.runs[came.run].calls[came.to].arrive;
        let train = &self.trains[self.runs[goes.run].0];
        let call = &train.calls[goes.from];
        let runs_today = self.runs.contains(&(self.runs[goes.run].0, 0));
        let closes = call.leave.seconds() - self.problem.stations[call.station.index()].cut_off;
        // Not one that left hours before.
        (runs_today && comes > closes && comes < closes + 3 * 3600).then_some(WhyLeft::CutOff {
            comes: RailTime::from_seconds(comes),
            closes: RailTime::from_seconds(closes),
        })
    }
}

fn is_dangerous(want: &Want) -> bool {
    let what = want.commodity.as_deref().unwrap_or_default().to_lowercase();
    want.state == CarLoad::Loaded && HAZARDS.iter().any(|hazard| what.contains(hazard))
}

/// What is dangerous to carry: parts of the names of commodities. Common practice, no source.
const HAZARDS: [&str; 14] = [
    "gasoline",
    "oil",
    "kerosene",
    "naphtha",
    "benzol",
    "alcohol",
    "propane",
    "acid",
    "chlorine",
    "ammonia",
    "powder",
    "dynamite",
    "explosive",
    "ammunition",
];

/// The way between two stations without limits.
fn reach(
    problem: &Problem,
    ways: &mut routing::Ways,
    from: StationId,
    to: StationId,
    ready: i64,
) -> Option<Reach> {
    let one = Move {
        from: from.index(),
        to: to.index(),
        ready,
        class: ORDINARY,
        hour: HOUR[4],
        stay: i64::MAX / 8,
        ..Move::default()
    };
    let route = ways.cheapest(problem, &one);
    let last = route.rides.last()?;
    let miles: f64 = route
        .rides
        .iter()
        .map(|ride| {
            problem.runs[ride.run].legs[ride.from..ride.to]
                .iter()
                .map(|leg| leg.haul)
                .sum::<i64>() as f64
        })
        .sum::<f64>()
        / trains::HAUL as f64;
    Some(Reach {
        miles: miles.round() as i64,
        rides: route.rides.len() as i64,
        arrive: problem.runs[last.run].calls[last.to].arrive,
    })
}

/// Which car stands at which spot, as the session goes.
struct Spots {
    taken: HashMap<TrackRef, Vec<(CarId, Option<usize>)>>,
    room: HashMap<TrackRef, Actual>,
}

impl Spots {
    fn new(railroad: &Railroad, books: &Books) -> Self {
        let mut spots = Self {
            taken: HashMap::new(),
            room: HashMap::new(),
        };
        for (station, page) in railroad.way.stations() {
            for (track, _) in page.tracks() {
                let track = TrackRef { station, track };
                spots.room.insert(track, books.room(track));
                let there = books
                    .standing(track)
                    .iter()
                    .map(|&car| match &books.car(car).at {
                        Whereabouts::Track { spot, .. } => (car, *spot),
                        _ => (car, None),
                    })
                    .collect();
                spots.taken.insert(track, there);
            }
        }
        spots
    }

    fn is_free(&self, track: TrackRef, spot: usize) -> bool {
        self.taken
            .get(&track)
            .is_none_or(|cars| cars.iter().all(|(_, at)| *at != Some(spot)))
    }

    /// A track and spot of a stand where a car fits now.
    fn find(
        &self,
        railroad: &Railroad,
        books: &Books,
        stand: &Stand,
        length: Actual,
    ) -> Option<(TrackRef, Option<usize>)> {
        let tracks = rooms::tracks_of(railroad, stand);
        let spots = rooms::spots_of(books, stand, &tracks);
        let fits = |track: &TrackRef| {
            self.room
                .get(track)
                .is_some_and(|room| room.meters() + 1e-6 >= length.meters())
        };
        let track = *tracks.iter().find(|track| fits(track))?;
        if spots.is_empty() {
            return Some((track, None));
        }
        spots
            .into_iter()
            .find(|&spot| self.is_free(track, spot))
            .map(|spot| (track, Some(spot)))
    }

    fn put(&mut self, car: CarId, track: TrackRef, spot: Option<usize>, length: Actual) {
        self.taken.entry(track).or_default().push((car, spot));
        if let Some(room) = self.room.get_mut(&track) {
            *room -= length;
        }
    }

    fn leave(&mut self, car: CarId, track: TrackRef) {
        if let Some(cars) = self.taken.get_mut(&track) {
            cars.retain(|(one, _)| *one != car);
        }
    }

    fn give(&mut self, track: TrackRef, length: Actual) {
        if let Some(room) = self.room.get_mut(&track) {
            *room += length;
        }
    }
}

impl Billed {
    /// What a train takes and leaves.
    pub fn train(&self, train: TrainId) -> Option<&MadeUp> {
        self.made_up.iter().find(|made| made.train == train)
    }

    /// A car's waybill.
    pub fn bill_of(&self, car: CarId) -> Option<&Bill> {
        self.bills.iter().find(|bill| bill.car == car)
    }

    /// All cars that a train takes or leaves at a station.
    pub fn moves_at(&self, station: StationId) -> impl Iterator<Item = (&MadeUp, &CarMove, bool)> {
        self.made_up.iter().flat_map(move |made| {
            made.works
                .iter()
                .filter(move |work| work.station == station)
                .flat_map(move |work| {
                    let out = work.set_out.iter().map(move |car| (made, car, false));
                    let up = work.pick_up.iter().map(move |car| (made, car, true));
                    out.chain(up)
                })
        })
    }
}
