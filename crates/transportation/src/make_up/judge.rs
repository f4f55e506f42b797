//! The judge of what trains carry. It plays the session by the clock, call by call, and knows nothing
//! of how the trains were made up.

use std::collections::{HashMap, HashSet};

use engineering::ids::{StationId, TrackRef};
use mechanical::CarId;
use model::{
    time::RailTime,
    units::{Actual, Weight},
};
use traffic::Bill;

use super::{Allowed, CarMove, LeftCar, MadeUp};

/// What the judge has to know of the railroad, in plain numbers.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Facts {
    /// The cars, by [`CarId`].
    pub cars: Vec<CarFacts>,
    /// The trains, by [`TrainId`](crate::TrainId); `None` for one that does not run.
    pub trains: Vec<Option<TrainFacts>>,
    /// Names of the stations, by [`StationId`].
    pub stations: Vec<String>,
    /// How long before a train leaves a car must have come to that station, seconds, by station.
    pub cut_off: Vec<i64>,
    /// The tracks whose room is judged: those where cars are spotted. A yard's own tracks change as
    /// it is worked and are not among them.
    pub tracks: HashMap<TrackRef, TrackFacts>,
}

/// A car.
#[derive(Debug, Clone, PartialEq)]
pub struct CarFacts {
    /// Marks and number.
    pub name: String,
    /// Over the pulling faces.
    pub length: Actual,
    /// Full size with what it carries, tons of 2000 lb.
    pub tons: f64,
    /// By the reckoning that governs ratings.
    pub weight: Weight,
    /// At which station it stands as the session begins; `None` if nowhere on the railroad.
    pub station: Option<StationId>,
    /// On which track, and at which of its spots.
    pub track: Option<(TrackRef, Option<usize>)>,
}

/// A train.
#[derive(Debug, Clone, PartialEq)]
pub struct TrainFacts {
    /// Number or symbol.
    pub symbol: String,
    /// Length of its engines and caboose.
    pub own_length: Actual,
    /// Weight of its caboose: tons full size, and by the reckoning that governs.
    pub caboose: (f64, Weight),
    /// Where it works, in running order, its ends included.
    pub calls: Vec<CallFacts>,
}

/// A train at a station of its work.
#[derive(Debug, Clone, PartialEq)]
pub struct CallFacts {
    /// The station.
    pub station: StationId,
    /// When it comes.
    pub arrive: RailTime,
    /// When it goes.
    pub leave: RailTime,
    /// Whether it takes cars here.
    pub takes: bool,
    /// Whether it leaves cars here.
    pub leaves: bool,
    /// What it may be from here to the next.
    pub allowed: Allowed,
}

/// A track where cars are spotted.
#[derive(Debug, Clone, PartialEq)]
pub struct TrackFacts {
    /// Its name with its station.
    pub name: String,
    /// How much of it holds cars.
    pub usable: Actual,
    /// How many spots it has.
    pub spots: usize,
}

/// How far limits may be overrun by the rounding of sums: lengths and weights are read in eighths and
/// tenths and summed as binary fractions.
const SLACK: f64 = 1e-6;

/// Where a car is in the course of the session.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Now {
    Nowhere,
    /// At a station: since when it came by a train of this session.
    At(StationId, Option<RailTime>),
    In(usize),
}

/// All that is wrong with a session's trains, in words; nothing if all is right.
///
/// It is right when every car is in one train or at one station at a time; every car is taken where it
/// is and had come before the cut-off, by a train that takes cars there, and left by one that leaves
/// cars there; no train leaves a station longer, heavier or with more cars than it may be; no track where
/// cars are spotted is overfull, and no spot is given twice, after a train has worked; every train
/// ends empty; blocks stand in the order in which they are set out; the cars ride as their waybills
/// say; and every waybill that does not reach its end in the session says why in `left`.
pub fn judge(facts: &Facts, made: &[MadeUp], bills: &[Bill], left: &[LeftCar]) -> Vec<String> {
    let mut court = Court {
        facts,
        faults: vec![],
        now: facts
            .cars
            .iter()
            .map(|car| {
                car.station
                    .map_or(Now::Nowhere, |station| Now::At(station, None))
            })
            .collect(),
        spotted: HashMap::new(),
        ridden: vec![vec![]; facts.cars.len()],
    };
    for (at, car) in facts.cars.iter().enumerate() {
        if let Some((track, spot)) = car.track
            && facts.tracks.contains_key(&track)
        {
            court
                .spotted
                .entry(track)
                .or_default()
                .push((CarId(at as u32), spot));
        }
    }
    court.trains(made);
    court.bills(bills, made, left);
    court.faults
}

struct Court<'a> {
    facts: &'a Facts,
    faults: Vec<String>,
    now: Vec<Now>,
    spotted: HashMap<TrackRef, Vec<(CarId, Option<usize>)>>,
    /// For each car its rides: train, from, to.
    ridden: Vec<Vec<(String, StationId, StationId)>>,
}

impl Court<'_> {
    fn car(&self, id: CarId) -> &str {
        self.facts
            .cars
            .get(id.index())
            .map_or("a car that there is not", |car| car.name.as_str())
    }

    fn station(&self, id: StationId) -> &str {
        &self.facts.stations[id.index()]
    }

    fn trains(&mut self, made: &[MadeUp]) {
        let facts = self.facts;
        // Each call comes twice: as the train arrives and as it leaves.
        let mut events: Vec<(RailTime, bool, usize, usize)> = vec![];
        for (index, train) in made.iter().enumerate() {
            let Some(Some(of)) = facts.trains.get(train.train.index()) else {
                self.faults.push(format!(
                    "train number {} of the page is made up and does not run",
                    train.train.index() + 1
                ));
                continue;
            };
            if of.calls.len() != train.works.len()
                || of
                    .calls
                    .iter()
                    .zip(&train.works)
                    .any(|(call, work)| call.station != work.station)
            {
                self.faults.push(format!(
                    "{} is made up for other stations than those where it works",
                    of.symbol
                ));
                continue;
            }
            for (at, call) in of.calls.iter().enumerate() {
                events.push((call.arrive, false, index, at));
                events.push((call.leave, true, index, at));
            }
            self.blocks(&of.symbol, train);
        }
        events.sort();
        let mut inside: Vec<Vec<CarMove>> = vec![vec![]; made.len()];
        for (_, leaves, index, at) in events {
            let train = &made[index];
            let of = facts.trains[train.train.index()]
                .as_ref()
                .expect("only trains that run have events");
            if leaves {
                self.take(train, of, index, at, &mut inside[index]);
            } else {
                self.leave(train, of, index, at, &mut inside[index]);
            }
        }
    }

    fn leave(
        &mut self,
        train: &MadeUp,
        of: &TrainFacts,
        index: usize,
        at: usize,
        inside: &mut Vec<CarMove>,
    ) {
        let (call, work) = (&of.calls[at], &train.works[at]);
        let here = self.station(call.station).to_owned();
        if !work.set_out.is_empty() && (at == 0 || !call.leaves) {
            self.faults.push(format!(
                "{} sets out at {here}, where it leaves no cars",
                of.symbol
            ));
        }
        for out in &work.set_out {
            let name = self.car(out.car).to_owned();
            if self.now.get(out.car.index()) != Some(&Now::In(index)) {
                self.faults.push(format!(
                    "{} sets out {name} at {here} and does not have it",
                    of.symbol
                ));
                continue;
            }
            inside.retain(|car| car.car != out.car);
            self.now[out.car.index()] = Now::At(call.station, Some(call.arrive));
            if let Some(ride) = self.ridden[out.car.index()].last_mut() {
                ride.2 = call.station;
            }
        }
        if at + 1 == of.calls.len() && !inside.is_empty() {
            let names: Vec<String> = inside
                .iter()
                .map(|car| self.car(car.car).to_owned())
                .collect();
            self.faults.push(format!(
                "{} ends at {here} with {} still in it",
                of.symbol,
                names.join(", ")
            ));
        }
    }

    fn take(
        &mut self,
        train: &MadeUp,
        of: &TrainFacts,
        index: usize,
        at: usize,
        inside: &mut Vec<CarMove>,
    ) {
        let (call, work) = (&of.calls[at], &train.works[at]);
        let here = self.station(call.station).to_owned();
        let last = at + 1 == of.calls.len();
        if !work.pick_up.is_empty() && (last || !call.takes) {
            self.faults.push(format!(
                "{} picks up at {here}, where it takes no cars",
                of.symbol
            ));
        }
        for up in &work.pick_up {
            let name = self.car(up.car).to_owned();
            match self.now.get(up.car.index()).copied() {
                Some(Now::At(station, since)) if station == call.station => {
                    let closes = call.leave.seconds() - self.facts.cut_off[station.index()];
                    if let Some(since) = since.filter(|since| since.seconds() > closes) {
                        self.faults.push(format!(
                            "{} takes {name} at {here}, which came {} minutes after the cut-off",
                            of.symbol,
                            (since.seconds() - closes) / 60
                        ));
                    }
                }
                Some(Now::At(station, _)) => self.faults.push(format!(
                    "{} takes {name} at {here}, and it is at {}",
                    of.symbol,
                    self.station(station)
                )),
                Some(Now::In(_)) => self.faults.push(format!(
                    "{} takes {name} at {here}, and it is in a train",
                    of.symbol
                )),
                Some(Now::Nowhere) | None => self.faults.push(format!(
                    "{} takes {name} at {here}, and it is not on the railroad",
                    of.symbol
                )),
            }
            if let Some(now) = self.now.get_mut(up.car.index()) {
                *now = Now::In(index);
                self.ridden[up.car.index()].push((of.symbol.clone(), call.station, call.station));
                inside.push(up.clone());
            }
            for cars in self.spotted.values_mut() {
                cars.retain(|(car, _)| *car != up.car);
            }
        }
        for out in &work.set_out {
            if let Some(track) = out.track {
                let track = TrackRef {
                    station: call.station,
                    track,
                };
                if self.facts.tracks.contains_key(&track) {
                    self.spotted
                        .entry(track)
                        .or_default()
                        .push((out.car, out.spot));
                }
            }
        }
        self.room(&of.symbol, work);
        if !last {
            self.haul(of, at, inside);
        }
    }

    /// Whether the tracks that a train has put cars on hold them, and each spot has one.
    fn room(&mut self, symbol: &str, work: &super::StationWork) {
        let touched: HashSet<TrackRef> = work
            .set_out
            .iter()
            .filter_map(|out| {
                Some(TrackRef {
                    station: work.station,
                    track: out.track?,
                })
            })
            .collect();
        let mut touched: Vec<TrackRef> = touched.into_iter().collect();
        touched.sort();
        for track in touched {
            let Some(of) = self.facts.tracks.get(&track) else {
                continue;
            };
            let cars = self.spotted.get(&track).cloned().unwrap_or_default();
            let length: Actual = cars
                .iter()
                .filter_map(|(car, _)| self.facts.cars.get(car.index()))
                .map(|car| car.length)
                .sum();
            if length.meters() > of.usable.meters() + SLACK {
                self.faults.push(format!(
                    "{symbol} leaves {} with {} cars, {:.1} in of them, and it holds {:.1} in",
                    of.name,
                    cars.len(),
                    length.inches(),
                    of.usable.inches()
                ));
            }
            let mut seen: HashMap<usize, CarId> = HashMap::new();
            for (car, spot) in cars {
                let Some(spot) = spot else { continue };
                if spot >= of.spots {
                    self.faults.push(format!(
                        "{symbol} puts {} at spot {} of {}, which has {}",
                        self.car(car),
                        spot + 1,
                        of.name,
                        of.spots
                    ));
                }
                if let Some(other) = seen.insert(spot, car) {
                    self.faults.push(format!(
                        "{symbol} leaves {} and {} at the same spot of {}",
                        self.car(other),
                        self.car(car),
                        of.name
                    ));
                }
            }
        }
    }

    fn haul(&mut self, of: &TrainFacts, at: usize, inside: &[CarMove]) {
        let call = &of.calls[at];
        let next = of.calls[at + 1].station;
        let cars: Vec<&CarFacts> = inside
            .iter()
            .filter_map(|car| self.facts.cars.get(car.car.index()))
            .collect();
        let allowed = call.allowed;
        let length: Actual = cars.iter().map(|car| car.length).sum();
        let length = length + of.own_length;
        let tons = cars.iter().map(|car| car.tons).sum::<f64>() + of.caboose.0;
        let weight: Weight = cars.iter().map(|car| car.weight).sum();
        let weight = weight + of.caboose.1;
        let mut over: Vec<String> = vec![];
        if let Some(most) = allowed.cars.filter(|&most| cars.len() > most as usize) {
            over.push(format!("{} cars of {most}", cars.len()));
        }
        // An engine may be too long by itself; what matters is that no car is hung on.
        if let Some(most) = allowed
            .length
            .filter(|most| length.meters() > most.meters() + SLACK && !cars.is_empty())
        {
            over.push(format!("{:.1} in of {:.1}", length.inches(), most.inches()));
        }
        if let Some(most) = allowed
            .tons
            .filter(|most| tons > most + SLACK && !cars.is_empty())
        {
            over.push(format!("{tons:.0} tons of {most:.0}"));
        }
        if let Some(most) = allowed
            .rated
            .filter(|most| weight.kg() > most.kg() * (1.0 + SLACK) && !cars.is_empty())
        {
            over.push(format!(
                "{:.1} % of its rating",
                100.0 * weight.kg() / most.kg()
            ));
        }
        for what in over {
            let text = format!(
                "{} has {what} from {} to {}",
                of.symbol,
                self.station(call.station),
                self.station(next)
            );
            self.faults.push(text);
        }
    }

    /// Cars of one block stand together, and blocks in the order of their ranks.
    fn blocks(&mut self, symbol: &str, train: &MadeUp) {
        for work in &train.works {
            for pair in work.pick_up.windows(2) {
                if pair[0].rank > pair[1].rank {
                    let text = format!(
                        "{symbol} at {} has {} for {} ahead of {} for {}, which is set out first",
                        self.station(work.station),
                        self.car(pair[0].car),
                        pair[0].block,
                        self.car(pair[1].car),
                        pair[1].block
                    );
                    self.faults.push(text);
                }
            }
        }
        // Blocks nearer the engine are set out no later.
        let mut out: Vec<(u32, usize)> = vec![];
        for (at, work) in train.works.iter().enumerate() {
            out.extend(work.set_out.iter().map(|car| (car.rank, at)));
        }
        out.sort_unstable();
        if let Some(pair) = out
            .windows(2)
            .find(|pair| pair[0].0 < pair[1].0 && pair[0].1 > pair[1].1)
        {
            let text = format!(
                "{symbol} has a block for {} nearer the engine than one for {}",
                self.station(train.works[pair[0].1].station),
                self.station(train.works[pair[1].1].station)
            );
            self.faults.push(text);
        }
    }

    /// Cars ride as their waybills say, and those that do not arrive say why.
    fn bills(&mut self, bills: &[Bill], made: &[MadeUp], left: &[LeftCar]) {
        let mut by_car: HashMap<CarId, &Bill> = HashMap::new();
        for bill in bills {
            if by_car.insert(bill.car, bill).is_some() {
                let text = format!("{} has two waybills", self.car(bill.car));
                self.faults.push(text);
            }
        }
        let explained: HashSet<CarId> = left
            .iter()
            .chain(made.iter().flat_map(|train| &train.left))
            .map(|left| left.car)
            .collect();
        for at in 0..self.facts.cars.len() {
            let car = CarId(at as u32);
            let name = &self.facts.cars[at].name;
            let rides = &self.ridden[at];
            let Some(bill) = by_car.get(&car) else {
                if let Some((train, ..)) = rides.first() {
                    self.faults
                        .push(format!("{name} rides in {train} without a waybill"));
                }
                continue;
            };
            let due: Vec<(String, StationId, StationId)> = bill
                .legs
                .iter()
                .filter(|leg| leg.day == 0)
                .map(|leg| (leg.train.clone(), leg.from, leg.to))
                .collect();
            if due != *rides {
                self.faults.push(format!(
                    "{name} is billed by {} and rides in {}",
                    trains(&due),
                    trains(rides)
                ));
            }
            let arrives = rides.last().map(|ride| ride.2) == Some(bill.to.station)
                || (rides.is_empty() && self.facts.cars[at].station == Some(bill.to.station));
            if !arrives && !explained.contains(&car) {
                self.faults.push(format!(
                    "{name} does not reach {}, and nothing says why",
                    self.station(bill.to.station)
                ));
            }
        }
    }
}

fn trains(rides: &[(String, StationId, StationId)]) -> String {
    if rides.is_empty() {
        return "no train".to_owned();
    }
    rides
        .iter()
        .map(|ride| ride.0.as_str())
        .collect::<Vec<_>>()
        .join(", then ")
}

#[cfg(test)]
mod tests {
    use engineering::ids::TrackId;
    use traffic::{CarLoad, Leg, Stand, WaybillNo};

    use super::*;
    use crate::{
        TrainId,
        make_up::{StationWork, WhyLeft},
    };

    const YARD: StationId = StationId(0);
    const MILL: StationId = StationId(1);
    const END: StationId = StationId(2);
    const SPUR: TrackRef = TrackRef {
        station: MILL,
        track: TrackId(3),
    };

    fn car(at: Option<StationId>, track: Option<(TrackRef, Option<usize>)>) -> CarFacts {
        CarFacts {
            name: String::new(),
            length: Actual::from_inches(6.0),
            tons: 40.0,
            weight: Weight::from_ounces(4.0),
            station: at,
            track,
        }
    }

    fn call(station: StationId, hours: [u16; 2]) -> CallFacts {
        CallFacts {
            station,
            arrive: RailTime::from_hm(hours[0], 0),
            leave: RailTime::from_hm(hours[1], 0),
            takes: true,
            leaves: true,
            allowed: Allowed {
                cars: Some(3),
                length: Some(Actual::from_inches(32.0)),
                tons: Some(130.0),
                rated: Some(Weight::from_ounces(13.0)),
            },
        }
    }

    /// Car 0 goes from the yard to the mill's spur, car 1 from the spur to the end, car 2 from the
    /// yard to the end; car 3 stands at the yard and waits. Train B goes back from the end.
    fn session() -> (Facts, Vec<MadeUp>, Vec<Bill>, Vec<LeftCar>) {
        let mut cars = vec![
            car(Some(YARD), None),
            car(Some(MILL), Some((SPUR, Some(0)))),
            car(Some(YARD), None),
            car(Some(YARD), None),
        ];
        for (at, car) in cars.iter_mut().enumerate() {
            car.name = format!("X {at}");
        }
        let train = |symbol: &str, calls| {
            Some(TrainFacts {
                symbol: symbol.to_owned(),
                own_length: Actual::from_inches(14.0),
                caboose: (20.0, Weight::from_ounces(3.0)),
                calls,
            })
        };
        let facts = Facts {
            cars,
            trains: vec![
                train(
                    "A",
                    vec![call(YARD, [6, 6]), call(MILL, [7, 8]), call(END, [9, 9])],
                ),
                train("B", vec![call(END, [10, 10]), call(YARD, [12, 12])]),
            ],
            stations: ["Yard", "Mill", "End"].map(str::to_owned).to_vec(),
            cut_off: vec![1800; 3],
            tracks: HashMap::from([(
                SPUR,
                TrackFacts {
                    name: "Mill / spur".into(),
                    usable: Actual::from_inches(9.0),
                    spots: 1,
                },
            )]),
        };
        let moved = |id: u32, block: &str, rank, track: Option<TrackId>| CarMove {
            car: CarId(id),
            bill: WaybillNo(id),
            block: block.to_owned(),
            rank,
            track,
            spot: track.map(|_| 0),
            off_spot: false,
        };
        let spur = Some(SPUR.track);
        let work = |station, set_out, pick_up| StationWork {
            station,
            set_out,
            pick_up,
        };
        let a = MadeUp {
            train: TrainId(0),
            works: vec![
                work(
                    YARD,
                    vec![],
                    vec![moved(0, "Mill", 0, None), moved(2, "End", 1, None)],
                ),
                work(
                    MILL,
                    vec![moved(0, "Mill", 0, spur)],
                    vec![moved(1, "End", 1, spur)],
                ),
                work(END, vec![], vec![]),
            ],
            hauls: vec![],
            left: vec![],
        };
        let mut a = a;
        a.works[2].set_out = vec![moved(1, "End", 1, None), moved(2, "End", 1, None)];
        let b = MadeUp {
            train: TrainId(1),
            works: vec![work(END, vec![], vec![]), work(YARD, vec![], vec![])],
            hauls: vec![],
            left: vec![],
        };
        let bill = |id: u32, from, to, rides: bool| Bill {
            no: WaybillNo(id),
            car: CarId(id),
            from: Stand::at(from),
            to: Stand::at(to),
            flow: None,
            commodity: None,
            state: CarLoad::Loaded,
            priority: 5,
            restrictions: vec![],
            legs: if rides {
                vec![Leg {
                    day: 0,
                    train: "A".into(),
                    from,
                    to,
                    block: String::new(),
                }]
            } else {
                vec![]
            },
            route: String::new(),
            written: None,
        };
        let bills = vec![
            bill(0, YARD, MILL, true),
            bill(1, MILL, END, true),
            bill(2, YARD, END, true),
            bill(3, YARD, MILL, false),
        ];
        let left = vec![LeftCar {
            car: CarId(3),
            bill: Some(WaybillNo(3)),
            station: YARD,
            why: WhyLeft::NextSession(1),
        }];
        (facts, vec![a, b], bills, left)
    }

    /// What the judge says first of the session after a change; there may follow more of the same mistake.
    fn fault(
        change: impl FnOnce(&mut Facts, &mut Vec<MadeUp>, &mut Vec<Bill>, &mut Vec<LeftCar>),
    ) -> String {
        let (mut facts, mut made, mut bills, mut left) = session();
        change(&mut facts, &mut made, &mut bills, &mut left);
        let mut faults = judge(&facts, &made, &bills, &left);
        assert!(!faults.is_empty(), "nothing found");
        faults.remove(0)
    }

    #[test]
    fn a_right_session_is_right() {
        let (facts, made, bills, left) = session();
        assert_eq!(judge(&facts, &made, &bills, &left), [] as [String; 0]);
        let order = |at| -> Vec<u32> {
            made[0]
                .consist_after(at)
                .iter()
                .map(|car| car.car.0)
                .collect()
        };
        assert_eq!(order(0), [0, 2]);
        assert_eq!(order(1), [2, 1]);
        assert_eq!(order(2), [] as [u32; 0]);
    }

    #[test]
    fn every_limit_is_judged() {
        let over = fault(|facts, _, _, _| {
            facts.trains[0].as_mut().unwrap().calls[0].allowed.cars = Some(1);
        });
        assert_eq!(over, "A has 2 cars of 1 from Yard to Mill");
        let over = fault(|facts, _, _, _| facts.cars[0].length = Actual::from_inches(12.5));
        assert!(
            over.contains("A has 32.5 in of 32.0 from Yard to Mill"),
            "{over}"
        );
        let over = fault(|facts, _, _, _| facts.cars[1].tons = 71.0);
        assert_eq!(over, "A has 131 tons of 130 from Mill to End");
        let over = fault(|facts, _, _, _| facts.cars[2].weight = Weight::from_ounces(6.5));
        // Too heavy on both stretches it rides: the judge says so of each.
        assert!(over.contains("rating"), "{over}");
    }

    #[test]
    fn a_car_is_taken_only_where_it_is() {
        let wrong = fault(|facts, _, _, _| facts.cars[2].station = Some(END));
        assert_eq!(wrong, "A takes X 2 at Yard, and it is at End");
        let wrong = fault(|facts, _, _, _| facts.cars[2].station = None);
        assert_eq!(wrong, "A takes X 2 at Yard, and it is not on the railroad");
        let wrong = fault(|_, made, _, _| {
            let again = made[0].works[0].pick_up[1].clone();
            made[0].works[0].pick_up.push(again);
            made[0].works[2].set_out.retain(|car| car.car.0 != 2);
            let out = made[0].works[0].pick_up[1].clone();
            made[0].works[2].set_out.push(out);
        });
        assert!(
            wrong.starts_with("A takes X 2 at Yard, and it is in a train"),
            "{wrong}"
        );
    }

    #[test]
    fn a_connection_is_made_only_before_the_cut_off() {
        // Car 1 goes on from the end by B at 10; it came at 9.
        let onward = |facts: &mut Facts, made: &mut Vec<MadeUp>, bills: &mut Vec<Bill>| {
            let mut on = made[0].works[2].set_out[0].clone();
            on.track = None;
            made[1].works[0].pick_up.push(on.clone());
            made[1].works[1].set_out.push(on);
            bills[1].to = Stand::at(YARD);
            bills[1].legs.push(Leg {
                day: 0,
                train: "B".into(),
                from: END,
                to: YARD,
                block: String::new(),
            });
            facts.cut_off[END.index()] = 3600;
        };
        let (mut facts, mut made, mut bills, left) = session();
        onward(&mut facts, &mut made, &mut bills);
        assert_eq!(judge(&facts, &made, &bills, &left), [] as [String; 0]);
        let late = fault(|facts, made, bills, _| {
            onward(facts, made, bills);
            facts.cut_off[END.index()] = 3600 + 600;
        });
        assert_eq!(
            late,
            "B takes X 1 at End, which came 10 minutes after the cut-off"
        );
    }

    #[test]
    fn a_spur_holds_what_it_holds() {
        let full = fault(|_, made, bills, left| {
            // The mill's own car is not taken.
            made[0].works[1].pick_up.clear();
            made[0].works[2].set_out.remove(0);
            made[0].works[1].set_out[0].spot = None;
            bills[1].legs.clear();
            left.push(LeftCar {
                car: CarId(1),
                bill: None,
                station: MILL,
                why: WhyLeft::NoWay,
            });
        });
        assert!(
            full.starts_with("A leaves Mill / spur with 2 cars, 12.0 in of them"),
            "{full}"
        );
        let same = fault(|facts, made, bills, left| {
            facts.tracks.get_mut(&SPUR).unwrap().usable = Actual::from_inches(20.0);
            made[0].works[1].pick_up.clear();
            made[0].works[2].set_out.remove(0);
            bills[1].legs.clear();
            left.push(LeftCar {
                car: CarId(1),
                bill: None,
                station: MILL,
                why: WhyLeft::NoWay,
            });
        });
        assert_eq!(same, "A leaves X 1 and X 0 at the same spot of Mill / spur");
    }

    #[test]
    fn nothing_is_left_without_a_word() {
        let silent = fault(|_, _, _, left| left.clear());
        assert_eq!(silent, "X 3 does not reach Mill, and nothing says why");
        let off = fault(|_, _, bills, _| bills[2].legs.clear());
        assert_eq!(off, "X 2 is billed by no train and rides in A");
        let left_in = fault(|_, made, _, left| {
            made[0].works[2].set_out.remove(1);
            left.push(LeftCar {
                car: CarId(2),
                bill: None,
                station: YARD,
                why: WhyLeft::NoWay,
            });
        });
        assert!(
            left_in.contains("A ends at End with X 2 still in it"),
            "{left_in}"
        );
    }

    #[test]
    fn blocks_stand_in_station_order() {
        let back = fault(|_, made, _, _| made[0].works[0].pick_up.reverse());
        assert!(
            back.starts_with("A at Yard has X 2 for End ahead of X 0 for Mill"),
            "{back}"
        );
    }
}
