//! What each car of the books is to do: loads go where they are wanted, empties where they are chosen to go.

use std::collections::{BTreeMap, HashMap};

use engineering::{
    ids::{StationId, TrackId, TrackRef},
    station::{StationKind, TrackUse},
};
use mechanical::{CarId, CarKind, CarState};
use railroad::Railroad;
use traffic::{
    Bill, CarLoad, CarOrder, FlowId, Lacking, Moves, Short, Stand, Traffic,
    books::{Books, CarBook, Waiting, Whereabouts},
    demand::Lane,
    supply::Homeward,
};
use transportation::make_up::{LeftCar, WhyLeft};

use super::{
    Why,
    rooms::{keeping_tracks, spots_of, tracks_of},
    trains::holds,
};
use crate::{
    routing::DAY,
    supply::{Question, Sink, choose, homes},
};

/// A car that is to go somewhere.
#[derive(Debug, Clone)]
pub(super) struct Want {
    pub car: CarId,
    pub to: Stand,
    pub flow: Option<FlowId>,
    pub commodity: Option<String>,
    pub state: CarLoad,
    pub priority: i64,
    /// Not before then, seconds from the first midnight of the session billed.
    pub ready: i64,
    pub why: Why,
}

/// What comes of the books before any train is looked at.
pub(super) struct Wants {
    pub wants: Vec<Want>,
    pub orders: Vec<CarOrder>,
    pub left: Vec<LeftCar>,
    pub supply_cost: i128,
}

/// What the search for ways says of a way without limits: miles, rides, when it arrives; seconds.
#[derive(Debug, Clone, Copy)]
pub(super) struct Reach {
    pub miles: i64,
    pub rides: i64,
    pub arrive: i64,
}

pub(super) struct Asking<'a> {
    pub railroad: &'a Railroad,
    pub books: &'a Books,
    pub lanes: &'a [Lane],
    /// Seconds since the midnight before the session.
    pub now: i64,
    /// Sessions looked ahead.
    pub days: u32,
    /// Seconds between a car's coming into a yard and its leaving.
    pub cut_off: i64,
    /// The way between two stations from a time on, for such a class of car; none if there is no train.
    pub reach: &'a mut dyn FnMut(StationId, StationId, i64) -> Option<Reach>,
}

/// An empty car that may be chosen.
struct Empty {
    car: CarId,
    at: StationId,
    track: TrackRef,
    spot: Option<usize>,
    ready: i64,
    kind: CarKind,
    pool: Option<String>,
    last: Option<String>,
    foreign: bool,
    private: bool,
    home: Option<StationId>,
}

/// Where a load leaves the railroad, if it does.
fn leaves_by(lane: &Lane) -> Option<StationId> {
    lane.to.is_off().then_some(lane.to.stand.station)
}

/// The lane by which a load moves, or for which an order is: of several that share a row, the first that
/// begins where the car is, else the first.
pub(super) fn lane_of<'a>(
    lanes: &'a [Lane],
    flow: Option<FlowId>,
    commodity: &str,
    at: Option<StationId>,
) -> Option<&'a Lane> {
    let fits = |lane: &&Lane| {
        lane.commodity == commodity
            && flow.is_none_or(|flow| {
                lane.flow == flow || lane.from.flow == Some(flow) || lane.to.flow == Some(flow)
            })
    };
    lanes
        .iter()
        .filter(fits)
        .find(|lane| Some(lane.from.stand.station) == at)
        .or_else(|| lanes.iter().find(fits))
}

/// Whether a car stands at a stand already.
fn stands_at(railroad: &Railroad, books: &Books, book: &CarBook, stand: &Stand) -> bool {
    let Whereabouts::Track { track, spot, .. } = &book.at else {
        return false;
    };
    if track.station != stand.station {
        return false;
    }
    let tracks = tracks_of(railroad, stand);
    if stand.beyond.is_some() || stand.tracks.is_empty() {
        // Beyond staging any of its tracks will do; in a yard any track but those of shippers.
        return tracks.contains(track)
            || railroad.way.station(track.station).kind == StationKind::Staging;
    }
    let spots = spots_of(books, stand, &tracks);
    tracks.contains(track) && (spots.is_empty() || spot.is_some_and(|spot| spots.contains(&spot)))
}

impl Asking<'_> {
    pub fn ask(&mut self) -> Result<Wants, String> {
        let mut wants = vec![];
        let mut left = vec![];
        let mut empties = vec![];
        let mut orders = self.books.orders.clone();
        let promised: HashMap<CarId, usize> = orders
            .iter()
            .enumerate()
            .flat_map(|(at, order)| order.filled.iter().map(move |&car| (car, at)))
            .collect();
        let homes = homes(self.railroad);
        let last = last_loads(self.railroad);
        for book in self.books.cars() {
            let car = self.railroad.roster.car(book.car);
            let Some(kind) = car
                .kind
                .map(|kind| kind.value)
                .filter(|kind| kind.carries_freight())
            else {
                continue;
            };
            let station = match &book.at {
                Whereabouts::Track { track, .. } => Some(track.station),
                Whereabouts::Train { from, .. } => Some(*from),
                Whereabouts::Off { .. } | Whereabouts::Aside => None,
            };
            let Some(station) = station else { continue };
            let mut leave = |why| {
                left.push(LeftCar {
                    car: book.car,
                    bill: book.waybill,
                    station,
                    why,
                });
            };
            if car.state != CarState::InService || book.waiting_for == Some(Waiting::Repairs) {
                leave(WhyLeft::Unfit);
                continue;
            }
            let until = match &book.waiting_for {
                Some(
                    Waiting::Loading { until, .. }
                    | Waiting::Unloading { until, .. }
                    | Waiting::Beyond { until, .. },
                ) => until.seconds() - i64::from(self.books.day) * DAY,
                _ => i64::MIN,
            };
            // What came into a yard today can go on when it has been sorted.
            let came = book.since.seconds() - i64::from(self.books.day) * DAY;
            let sorted = if came > 0 && holds(self.railroad, station) {
                came + self.cut_off
            } else {
                0
            };
            let ready = until.max(self.now).max(sorted);
            if until >= i64::from(self.days) * DAY {
                leave(WhyLeft::Loading);
                continue;
            }
            let bill = book
                .waybill
                .and_then(|no| self.books.bills.iter().find(|bill| bill.no == no));
            // What it will carry when it is next to be moved.
            let load = match (&book.waiting_for, &book.load) {
                (Some(Waiting::Unloading { .. }), _) => None,
                (Some(Waiting::Loading { flow, .. }), _) => Some((
                    Some(*flow),
                    commodity_of(&self.railroad.traffic, *flow).unwrap_or_default(),
                )),
                (_, Some(load)) => Some((load.flow, load.commodity.clone())),
                (_, None) => None,
            };
            if let Some((flow, commodity)) = load {
                match self.loaded(book, station, flow, &commodity, bill) {
                    Some(want) if stands_at(self.railroad, self.books, book, &want.to) => {
                        leave(WhyLeft::Spotted);
                    }
                    Some(mut want) => {
                        want.ready = ready;
                        wants.push(want);
                    }
                    None => leave(WhyLeft::NoWay),
                }
                continue;
            }
            if let Some(&order) = promised.get(&book.car) {
                let order = &orders[order];
                let what = commodity_of(&self.railroad.traffic, order.flow).unwrap_or_default();
                if let Some(lane) = lane_of(self.lanes, Some(order.flow), &what, None) {
                    let want = for_order(book.car, lane, ready);
                    if stands_at(self.railroad, self.books, book, &want.to) {
                        leave(WhyLeft::Spotted);
                    } else {
                        wants.push(want);
                    }
                    continue;
                }
            }
            let Whereabouts::Track { track, spot, .. } = &book.at else {
                // Empty, in a train: it goes on as it was billed, else to where the train ends.
                if let Some(bill) = bill {
                    wants.push(Want {
                        car: book.car,
                        to: bill.to.clone(),
                        flow: bill.flow,
                        commodity: bill.commodity.clone(),
                        state: CarLoad::Empty,
                        priority: bill.priority,
                        ready,
                        why: Why::AsBilled,
                    });
                }
                continue;
            };
            let marks = car.marks.value.as_str();
            empties.push(Empty {
                car: book.car,
                at: station,
                track: *track,
                spot: *spot,
                ready,
                kind,
                pool: car.pool.clone(),
                last: last.get(&book.car).cloned(),
                foreign: car.is_foreign(&railroad::shop(self.railroad)),
                private: marks.ends_with('X'),
                home: homes.get(marks).copied(),
            });
        }
        let supply_cost = self.empties(&empties, &mut orders, &mut wants, &mut left)?;
        wants.sort_by_key(|want| want.car);
        Ok(Wants {
            wants,
            orders,
            left,
            supply_cost,
        })
    }

    fn loaded(
        &self,
        book: &CarBook,
        at: StationId,
        flow: Option<FlowId>,
        commodity: &str,
        bill: Option<&Bill>,
    ) -> Option<Want> {
        let lane = lane_of(self.lanes, flow, commodity, Some(at));
        let billed = bill
            .filter(|bill| bill.state == CarLoad::Loaded)
            .map(|bill| (bill.to.clone(), bill.flow, bill.priority));
        let (to, flow, priority) = billed.or_else(|| {
            let lane = lane?;
            Some((lane.to.stand.clone(), Some(lane.flow), lane.priority))
        })?;
        Some(Want {
            car: book.car,
            to,
            flow,
            commodity: Some(commodity.to_owned()),
            state: CarLoad::Loaded,
            priority,
            ready: self.now,
            why: Why::Loaded,
        })
    }

    /// Chooses for all empties at once.
    fn empties(
        &mut self,
        empties: &[Empty],
        orders: &mut [CarOrder],
        wants: &mut Vec<Want>,
        left: &mut Vec<LeftCar>,
    ) -> Result<i128, String> {
        let mut sinks: Vec<Sink> = vec![];
        let mut goes: Vec<Goes> = vec![];
        for (at, order) in orders.iter().enumerate() {
            let what = commodity_of(&self.railroad.traffic, order.flow).unwrap_or_default();
            let Some(lane) = lane_of(self.lanes, Some(order.flow), &what, None) else {
                continue;
            };
            // The company's own after paying freight of the same priority.
            let company = self.railroad.traffic.flow(lane.flow).moves == Moves::Company;
            sinks.push(Sink {
                most: Some(order.open()),
                worth: (1000 - 60 * lane.priority.clamp(1, 9) - 30 * i64::from(company)) * MILE,
            });
            goes.push(Goes::Order(at, lane.clone()));
        }
        let stocks = self.stocks(empties, orders);
        for stock in stocks {
            // Our own shippers before those beyond.
            let worth = if stock.lane.from.is_off() { 45 } else { 70 };
            sinks.push(Sink {
                most: Some(stock.count),
                worth: worth * MILE,
            });
            goes.push(Goes::Stock(stock));
        }
        let fixed = sinks.len();
        for goes_to in [Goes::Home, Goes::Yard, Goes::Stay] {
            sinks.push(Sink {
                most: None,
                worth: 0,
            });
            goes.push(goes_to);
        }
        let mut ways = vec![];
        let mut barred: BTreeMap<usize, Lacking> = BTreeMap::new();
        for (number, empty) in empties.iter().enumerate() {
            for (sink, goes) in goes.iter().enumerate().take(fixed) {
                let (lane, to, due) = match goes {
                    Goes::Order(at, lane) => {
                        let day = i64::from(orders[*at].wanted) - i64::from(self.books.day);
                        (lane, lane.from.stand.station, day.max(0) * DAY)
                    }
                    Goes::Stock(stock) => {
                        let to = if self.is_at_hand(empty, &stock.lane) {
                            empty.at
                        } else {
                            stock.yard
                        };
                        (&stock.lane, to, i64::from(self.days) * DAY)
                    }
                    _ => continue,
                };
                if lane.kind != empty.kind {
                    continue;
                }
                let lacking = barred.entry(sink).or_default();
                if !suits(empty, lane) {
                    lacking.barred += 1;
                    continue;
                }
                let Some(cost) = self.bring(empty, lane, to, due) else {
                    lacking.too_far += 1;
                    continue;
                };
                ways.push((number, sink, cost));
            }
            self.otherwise(number, empty, fixed, &mut ways);
        }
        let question = Question {
            cars: empties.len(),
            sinks,
            ways,
        };
        let choice = choose(&question)?;
        for (empty, sink) in empties.iter().zip(&choice.sink) {
            let Some(sink) = *sink else { continue };
            self.chosen(empty, sink, &goes, orders, wants, left);
        }
        for (sink, goes) in goes.iter().enumerate() {
            if let Goes::Order(at, lane) = goes
                && orders[*at].open() > 0
            {
                let lacking = self.lacking(&orders[*at], lane, empties, barred.get(&sink));
                let short = short_words(&orders[*at], lane, lacking);
                orders[*at].short = Some(short);
            }
        }
        Ok(choice.cost)
    }

    fn chosen(
        &mut self,
        empty: &Empty,
        sink: usize,
        goes: &[Goes],
        orders: &mut [CarOrder],
        wants: &mut Vec<Want>,
        left: &mut Vec<LeftCar>,
    ) {
        let plain = |to: Stand, priority, why| Want {
            car: empty.car,
            to,
            flow: None,
            commodity: None,
            state: CarLoad::Empty,
            priority,
            ready: empty.ready,
            why,
        };
        let want = match &goes[sink] {
            Goes::Order(at, lane) => {
                orders[*at].filled.push(empty.car);
                let mut want = for_order(empty.car, lane, empty.ready);
                want.why = Why::Ordered(homeward(empty, lane));
                want
            }
            Goes::Stock(stock) => {
                if self.is_at_hand(empty, &stock.lane) {
                    left.push(LeftCar {
                        car: empty.car,
                        bill: None,
                        station: empty.at,
                        why: WhyLeft::Waiting,
                    });
                    return;
                }
                let mut want = plain(Stand::at(stock.yard), 7, Why::Stock(stock.lane.flow));
                if stock.lane.from.is_off() {
                    // To be loaded beyond.
                    want.to.beyond.clone_from(&stock.lane.from.stand.beyond);
                    want.to.tracks = interchange(self.railroad, stock.yard);
                }
                want
            }
            Goes::Home => {
                let home = empty.home.expect("only cars with a home are offered one");
                let tracks = interchange(self.railroad, home);
                plain(
                    Stand {
                        station: home,
                        tracks,
                        spots: vec![],
                        beyond: Some("home".to_owned()),
                    },
                    8,
                    Why::Home,
                )
            }
            Goes::Yard => {
                let Some(yard) = self.nearest_yard(empty) else {
                    return;
                };
                plain(Stand::at(yard), 6, Why::Released)
            }
            Goes::Stay => {
                left.push(LeftCar {
                    car: empty.car,
                    bill: None,
                    station: empty.at,
                    why: WhyLeft::Waiting,
                });
                return;
            }
        };
        let book = self.books.car(empty.car);
        if stands_at(self.railroad, self.books, book, &want.to) {
            left.push(LeftCar {
                car: empty.car,
                bill: None,
                station: empty.at,
                why: match want.why {
                    Why::Ordered(_) => WhyLeft::Spotted,
                    _ => WhyLeft::Waiting,
                },
            });
        } else {
            wants.push(want);
        }
    }

    /// What it costs to bring an empty to a station for a lane; none if no train brings it.
    fn bring(&mut self, empty: &Empty, lane: &Lane, to: StationId, due: i64) -> Option<i64> {
        let reach = if to == empty.at {
            Reach {
                miles: 0,
                rides: 0,
                arrive: empty.ready,
            }
        } else {
            (self.reach)(empty.at, to, empty.ready)?
        };
        let mut miles = reach.miles + reach.rides * RIDE + homeward(empty, lane).miles();
        // Due at any time of that day; each day later is a day lost to the shipper.
        let late = (reach.arrive.div_euclid(DAY) - due.div_euclid(DAY)).max(0);
        miles += late * LATE;
        if lane.pool.is_some() && empty.pool != lane.pool {
            miles += 10;
        }
        if empty.pool.is_some() && empty.pool != lane.pool {
            miles += 60;
        }
        Some(miles * MILE)
    }

    /// What else may become of an empty.
    fn otherwise(
        &mut self,
        number: usize,
        empty: &Empty,
        fixed: usize,
        ways: &mut Vec<(usize, usize, i64)>,
    ) {
        let page = self.railroad.way.station(empty.at);
        let staging = page.kind == StationKind::Staging;
        let usage = self.railroad.way.track(empty.track).usage;
        // In the way: at a shipper's door, or on the interchange.
        let kept = matches!(
            usage,
            TrackUse::Classification | TrackUse::ArrivalDeparture | TrackUse::Storage
        );
        let in_the_way = !staging && (empty.spot.is_some() || !kept);
        let stay = if in_the_way {
            120
        } else if staging {
            0
        } else if empty.foreign && !empty.private {
            // It costs us by the day as long as we have it.
            25
        } else {
            0
        };
        ways.push((number, fixed + 2, stay * MILE));
        if empty.foreign
            && let Some(home) = empty.home
            && home != empty.at
            // What stands beyond staging goes home by other ways.
            && !staging
            && let Some(reach) = (self.reach)(empty.at, home, empty.ready)
        {
            // Private cars are sent where they are loaded next; they go home only for want of that.
            let private = if empty.private { 20 } else { 0 };
            let miles = (reach.miles + reach.rides * RIDE) / 5 + private;
            ways.push((number, fixed, miles * MILE));
        }
        if in_the_way && let Some(yard) = self.nearest_yard(empty) {
            let miles = if yard == empty.at {
                0
            } else {
                (self.reach)(empty.at, yard, empty.ready).map_or(1000, |reach| reach.miles)
            };
            let foreign = if empty.foreign && !empty.private {
                25
            } else {
                0
            };
            ways.push((number, fixed + 1, (20 + miles / 5 + foreign) * MILE));
        }
    }

    /// Whether an empty waits on a storage track of a station from which a train takes it straight to the
    /// shipper: there is no need to bring it to a yard first.
    fn is_at_hand(&mut self, empty: &Empty, lane: &Lane) -> bool {
        let shipper = lane.from.stand.station;
        self.railroad.way.track(empty.track).usage == TrackUse::Storage
            && !holds(self.railroad, empty.at)
            && !lane.from.is_off()
            && (shipper == empty.at
                || (self.reach)(empty.at, shipper, empty.ready).is_some_and(|way| way.rides == 1))
    }

    fn nearest_yard(&mut self, empty: &Empty) -> Option<StationId> {
        let yards: Vec<StationId> = self
            .railroad
            .way
            .stations()
            .map(|(id, _)| id)
            .filter(|&id| holds(self.railroad, id))
            .filter(|&id| !keeping_tracks(self.railroad, id).is_empty())
            .collect();
        if yards.contains(&empty.at) {
            return Some(empty.at);
        }
        yards
            .into_iter()
            .filter_map(|yard| {
                let reach = (self.reach)(empty.at, yard, empty.ready)?;
                Some((reach.miles + reach.rides * RIDE, reach.arrive, yard))
            })
            .min()
            .map(|(_, _, yard)| yard)
    }

    /// Which empties each yard, and each gateway, will want in the next sessions for the shippers that its locals serve: the mean
    /// of what they load, less what is ordered already.
    fn stocks(&mut self, empties: &[Empty], orders: &[CarOrder]) -> Vec<Stock> {
        let month = self.railroad.identity.date.map(|date| date.value.month());
        let mut sums: BTreeMap<Wanted, (f64, Lane)> = BTreeMap::new();
        let yards: Vec<StationId> = self
            .railroad
            .way
            .stations()
            .map(|(id, _)| id)
            .filter(|&id| holds(self.railroad, id))
            .collect();
        for lane in self.lanes {
            if month.is_some_and(|month| !lane.season.contains(month)) {
                continue;
            }
            if !empties.iter().any(|empty| empty.kind == lane.kind) {
                continue;
            }
            let shipper = lane.from.stand.station;
            let yard = if yards.contains(&shipper) || lane.from.is_off() {
                Some(shipper)
            } else {
                yards
                    .iter()
                    .filter_map(|&yard| {
                        let reach = (self.reach)(yard, shipper, 0)?;
                        (reach.rides == 1).then_some((reach.miles, yard))
                    })
                    .min()
                    .map(|(_, yard)| yard)
            };
            let Some(yard) = yard else { continue };
            let ordered: u32 = orders
                .iter()
                .filter(|order| order.flow == lane.flow)
                .map(|order| order.count)
                .sum();
            let mean = lane.rate / f64::from(lane.days.count().max(1)) * f64::from(self.days - 1);
            let sum = sums
                .entry((yard, lane.kind, leaves_by(lane), lane.pool.clone()))
                .or_insert((0.0, lane.clone()));
            sum.0 += (mean - f64::from(ordered)).max(0.0);
        }
        sums.into_iter()
            .map(|((yard, ..), (mean, lane))| Stock {
                yard,
                lane,
                count: mean.round() as u32,
            })
            .filter(|stock| stock.count > 0)
            .collect()
    }

    fn lacking(
        &self,
        order: &CarOrder,
        lane: &Lane,
        empties: &[Empty],
        barred: Option<&Lacking>,
    ) -> Lacking {
        let mut lacking = barred.copied().unwrap_or_default();
        for book in self.books.cars() {
            let car = self.railroad.roster.car(book.car);
            if car.kind.map(|kind| kind.value) != Some(lane.kind) {
                continue;
            }
            lacking.of_kind += 1;
            if car.state != CarState::InService || book.waiting_for == Some(Waiting::Repairs) {
                lacking.unfit += 1;
            } else if matches!(book.at, Whereabouts::Off { .. } | Whereabouts::Aside)
                || matches!(book.waiting_for, Some(Waiting::Beyond { .. }))
            {
                lacking.away += 1;
            } else if !empties.iter().any(|empty| empty.car == book.car)
                && !order.filled.contains(&book.car)
            {
                lacking.busy += 1;
            }
        }
        let empty = empties
            .iter()
            .filter(|empty| empty.kind == lane.kind)
            .count() as u32;
        let own = order.filled.len() as u32;
        lacking.others = empty
            .saturating_sub(own)
            .saturating_sub(lacking.barred)
            .saturating_sub(lacking.too_far);
        lacking
    }
}

/// A mile of empty running, in the units of the choice.
const MILE: i64 = 10;
/// What being taken by a train and left again is worth, in miles. Common practice, no source.
const RIDE: i64 = 10;
/// What a day is worth by which an empty comes late, in miles. Common practice, no source.
const LATE: i64 = 60;

/// The interchange tracks of a station; none where any track will do.
fn interchange(railroad: &Railroad, station: StationId) -> Vec<TrackId> {
    let page = railroad.way.station(station);
    if page.kind == StationKind::Staging {
        return vec![];
    }
    page.tracks()
        .filter(|(_, track)| track.usage == TrackUse::Interchange)
        .map(|(id, _)| id)
        .collect()
}

/// A yard's want of empties for the days to come, or that of the shippers beyond a gateway.
struct Stock {
    yard: StationId,
    /// A lane of those that will want them.
    lane: Lane,
    count: u32,
}

/// What is wanted at a yard or gateway: where, which kind, by which gateway its loads leave, of which pool.
type Wanted = (StationId, CarKind, Option<StationId>, Option<String>);

/// Where an empty may go.
enum Goes {
    Order(usize, Lane),
    Stock(Stock),
    Home,
    Yard,
    Stay,
}

fn for_order(car: CarId, lane: &Lane, ready: i64) -> Want {
    Want {
        car,
        to: lane.from.stand.clone(),
        flow: Some(lane.flow),
        commodity: Some(lane.commodity.clone()),
        state: CarLoad::Empty,
        priority: lane.priority.clamp(1, 9),
        ready,
        why: Why::Ordered(Homeward::OwnAtHome),
    }
}

fn suits(empty: &Empty, lane: &Lane) -> bool {
    if lane.captive && empty.pool != lane.pool {
        return false;
    }
    empty
        .last
        .as_ref()
        .is_none_or(|last| !lane.not_after.contains(last))
}

fn homeward(empty: &Empty, lane: &Lane) -> Homeward {
    match (empty.foreign, leaves_by(lane)) {
        _ if empty.private => Homeward::Private,
        (false, None) => Homeward::OwnAtHome,
        (false, Some(_)) => Homeward::OwnLeaving,
        (true, None) => Homeward::Idle,
        (true, Some(by)) => match empty.home {
            Some(home) if home == by => Homeward::Toward,
            Some(_) => Homeward::Away,
            None => Homeward::Unknown,
        },
    }
}

fn commodity_of(traffic: &Traffic, flow: FlowId) -> Option<String> {
    traffic
        .flow(flow)
        .commodity
        .as_ref()
        .map(|what| what.value.clone())
}

/// What each car carried last, by the waybills kept.
fn last_loads(railroad: &Railroad) -> HashMap<CarId, String> {
    let mut last = HashMap::new();
    for waybill in &railroad.traffic.waybills {
        if let Some(car) = &waybill.car
            && let Some(car) = railroad.roster.find_car(&car.value)
            && let Some(what) = &waybill.commodity
        {
            last.insert(car, what.value.clone());
        }
    }
    last
}

/// Why an order is short and what would mend it, in words.
fn short_words(order: &CarOrder, lane: &Lane, lacking: Lacking) -> Short {
    let open = order.open();
    let kind = lane.kind.word();
    let mut what = vec![];
    let mut tell = |count: u32, words: &str| {
        if count > 0 {
            what.push(format!("{count} {words}"));
        }
    };
    tell(lacking.busy, "loaded or at work");
    tell(lacking.away, "off the railroad");
    tell(lacking.unfit, "not fit to run");
    tell(lacking.others, "empty and wanted more elsewhere");
    tell(
        lacking.barred,
        "empty but of another pool or not clean for it",
    );
    tell(lacking.too_far, "empty where no train brings them in time");
    tell(order.filled.len() as u32, "on the way to it");
    let words = if what.is_empty() {
        format!("there is no {kind} on the railroad")
    } else {
        format!("of {} {kind} cars {}", lacking.of_kind, what.join(", "))
    };
    let cars = |count: u32| if count == 1 { "one more" } else { "more" };
    let mend = if lacking.too_far > 0 && lacking.too_far >= open {
        format!("a train that brings {kind} cars here, or a stock of them at the nearest yard")
    } else if lacking.barred >= open {
        format!("{} {kind} in the pool, or a cleaned car", cars(open))
    } else if lacking.unfit >= open {
        format!("{open} of the {} that wait for repairs", lacking.unfit)
    } else if lacking.away >= open {
        format!("{open} of the {} that are away, asked home", lacking.away)
    } else {
        format!("{open} {kind} more on the railroad, or an order placed earlier")
    };
    Short {
        lacking: open,
        why: lacking,
        words,
        mend,
    }
}
