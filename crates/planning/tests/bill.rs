//! Sessions billed: the railroads that come with the program, many dice, and the middle of a session.

use std::collections::BTreeSet;

use engineering::{
    ids::{StationId, TrackRef},
    station::{StationKind, TrackUse},
};
use mechanical::CarKind;
use model::{time::RailTime, units::Actual};
use planning::{
    bill::{Billed, Options, Why, bill, opening},
    make_up::work_at,
    town::{Assumptions, Pace, compile, model_rates, solve, visits, work},
};
use railroad::{Folder, Railroad, load};
use switching::Answer;
use traffic::{
    CarLoad, CarOrder, Does, Restriction,
    books::{Books, Moment, Movement, What, Whereabouts},
    supply::Homeward,
};
use transportation::make_up::{WhyLeft, judge};

fn road(name: &str) -> Railroad {
    load(&Folder::built_in(name).expect("it is built in")).railroad
}

fn billed(railroad: &Railroad, books: &Books, seed: u64) -> Billed {
    let options = Options {
        seed,
        ..Options::default()
    };
    bill(railroad, books, &options).unwrap_or_else(|none| panic!("seed {seed}: {none}"))
}

#[test]
fn every_session_is_billed_and_the_judge_has_nothing_to_say() {
    for (name, seeds) in [("example", 4), ("learning", 6), ("smallest", 6)] {
        let railroad = road(name);
        for seed in 0..seeds {
            let books = opening(&railroad, seed);
            let billed = billed(&railroad, &books, seed);
            let faults = judge(&billed.facts, &billed.made_up, &billed.bills, &billed.left);
            assert_eq!(faults, [] as [String; 0], "{name} {seed}");
            // One waybill to a car, one number to a waybill.
            let cars: BTreeSet<_> = billed.bills.iter().map(|bill| bill.car).collect();
            let numbers: BTreeSet<_> = billed.bills.iter().map(|bill| bill.no).collect();
            assert_eq!(
                (cars.len(), numbers.len()),
                (billed.bills.len(), billed.bills.len())
            );
            assert!(billed.routing_cost[1] <= billed.routing_cost[0]);
            for made in &billed.made_up {
                assert_eq!(made.hauls.len() + 1, made.works.len());
                for haul in &made.hauls {
                    if let Some(most) = haul.allowed.length {
                        assert!(haul.cars == 0 || haul.length.meters() <= most.meters() + 1e-6);
                    }
                }
            }
        }
    }
}

#[test]
fn the_same_books_give_the_same_bills() {
    let railroad = road("example");
    let books = opening(&railroad, 3);
    assert_eq!(billed(&railroad, &books, 1), billed(&railroad, &books, 1));
}

/// Every freight car of the books is billed, or something says why it is not.
#[test]
fn no_car_is_without_a_plan_or_a_reason() {
    let railroad = road("example");
    for seed in 0..3 {
        let books = opening(&railroad, seed);
        let billed = billed(&railroad, &books, seed);
        for book in books.cars() {
            let car = railroad.roster.car(book.car);
            let freight = car.kind.is_some_and(|kind| kind.value.carries_freight());
            if !freight || !matches!(book.at, Whereabouts::Track { .. }) {
                continue;
            }
            let told = billed.left.iter().any(|left| left.car == book.car);
            let goes = billed
                .bill_of(book.car)
                .is_some_and(|bill| !bill.legs.is_empty())
                || billed.yard_moves.iter().any(|moved| moved.car == book.car);
            assert!(told || goes, "{} has neither", car.name.value);
        }
    }
}

/// Rush loads first: as long as a train has one of lower priority in it that could have waited with less
/// loss, none of the first priority is left for want of room in that train on the same stretch and alone on
/// its way. The plan is not greedy, so this is asked of the trains' sum: the first priority loses less.
#[test]
fn the_first_priority_is_left_least() {
    let railroad = road("example");
    let (mut first, mut others) = ([0, 0], [0, 0]);
    for seed in 0..6 {
        let books = opening(&railroad, seed);
        let billed = billed(&railroad, &books, seed);
        for bill in billed
            .bills
            .iter()
            .filter(|bill| bill.state == CarLoad::Loaded)
        {
            let full = billed
                .left
                .iter()
                .any(|left| left.car == bill.car && matches!(left.why, WhyLeft::Full { .. }));
            let count = if bill.priority == 1 {
                &mut first
            } else {
                &mut others
            };
            count[0] += 1;
            count[1] += usize::from(full);
        }
    }
    assert!(first[0] > 30 && others[0] > 100);
    assert!(
        first[1] * others[0] < others[1] * first[0],
        "{first:?} {others:?}"
    );
}

/// Car service rules, order of preference of the old code: foreign cars loaded to or via the home road
/// before home cars off the home line. (The wording of the numbered list is from memory.) Of two empties of
/// one kind at one place an order for a load off our rails never takes our own while a foreign one that
/// would go toward home by it is idle.
#[test]
fn foreign_cars_are_loaded_homeward_before_our_own() {
    let railroad = road("example");
    let shop = railroad::shop(&railroad);
    let mut toward = 0;
    for seed in 0..6 {
        let books = opening(&railroad, seed);
        let billed = billed(&railroad, &books, seed);
        let idle: Vec<_> = billed
            .left
            .iter()
            .filter(|left| left.why == WhyLeft::Waiting)
            .map(|left| (left.car, left.station))
            .collect();
        for (bill, why) in billed.bills.iter().zip(&billed.why) {
            match why {
                Why::Ordered(Homeward::Toward) => toward += 1,
                Why::Ordered(Homeward::OwnLeaving) => {
                    let out = railroad.traffic.flow(bill.flow.unwrap()).place.clone();
                    let Some(traffic::Place::Via { via, .. }) = out else {
                        continue;
                    };
                    let by = railroad.way.find_station(&via.value);
                    let homes = planning::supply::homes(&railroad);
                    let kind = railroad.roster.car(bill.car).kind.map(|kind| kind.value);
                    for (other, at) in &idle {
                        let car = railroad.roster.car(*other);
                        let same = *at == bill.from.station
                            && car.kind.map(|kind| kind.value) == kind
                            && car.pool.is_none();
                        let home = homes.get(&car.marks.value).copied();
                        assert!(
                            !(same
                                && car.is_foreign(&shop)
                                && !car.marks.value.ends_with('X')
                                && home.is_some()
                                && home == by),
                            "{} was sent and {} is idle",
                            railroad.roster.car(bill.car).name.value,
                            car.name.value
                        );
                    }
                }
                _ => {}
            }
        }
    }
    assert!(toward > 0, "none was loaded homeward in six sessions");
}

#[test]
fn dangerous_cars_ride_in_the_middle() {
    let railroad = road("example");
    let (mut seen, mut at_an_end) = (0, 0);
    for seed in 0..10 {
        let books = opening(&railroad, seed);
        let billed = billed(&railroad, &books, seed);
        let dangerous = |car| {
            billed
                .bill_of(car)
                .is_some_and(|bill| bill.restrictions.contains(&Restriction::Hazard))
        };
        for made in &billed.made_up {
            let consist = made.consist_after(0);
            let bad = consist.iter().filter(|moved| dangerous(moved.car)).count();
            seen += bad;
            // Where all that is set out at one place leaves a choice, neither end is dangerous.
            let one_place = made.works.len() == 2 && consist.len() >= bad + 2;
            if one_place {
                at_an_end += [consist.first(), consist.last()]
                    .into_iter()
                    .flatten()
                    .filter(|moved| dangerous(moved.car))
                    .count();
            }
        }
    }
    assert!(seen > 10);
    assert_eq!(at_an_end, 0);
}

#[test]
fn a_short_order_says_what_became_of_all_cars() {
    let railroad = road("example");
    let mut books = opening(&railroad, 0);
    let (flow, _) = railroad
        .traffic
        .flow_ids()
        .find(|(_, flow)| {
            flow.does.is_some_and(|does| does.value == Does::Ships)
                && flow
                    .car_kind
                    .is_some_and(|kind| kind.value == CarKind::Stock)
        })
        .expect("somebody ships livestock");
    books.orders.clear();
    books
        .orders
        .push(CarOrder::new(flow, CarKind::Stock, 30, 0));
    let billed = billed(&railroad, &books, 0);
    let order = &billed.orders[0];
    let short = order.short.as_ref().expect("there are seven stock cars");
    assert_eq!(order.filled.len() as u32 + short.lacking, 30);
    let why = short.why;
    assert_eq!(why.of_kind, 7);
    assert_eq!(
        why.busy
            + why.away
            + why.unfit
            + why.others
            + why.barred
            + why.too_far
            + order.filled.len() as u32,
        7,
        "{short:?}"
    );
    assert!(short.words.contains("of 7 stock cars"), "{}", short.words);
    assert!(!short.mend.is_empty());
}

/// Where a train leaves a car: where it is billed, or on some track of the yard.
fn put_down(railroad: &Railroad, books: &Books, station: StationId, length: f64) -> TrackRef {
    let page = railroad.way.station(station);
    page.tracks()
        .filter(|(_, track)| match page.kind {
            StationKind::Staging => track.usage == TrackUse::Staging,
            _ => track.usage.holds_cars() && track.spots.is_empty(),
        })
        .map(|(track, _)| TrackRef { station, track })
        .find(|&track| books.room(track).inches() >= length)
        .expect("some track has room")
}

/// Plays the trains as made up until a time of the session.
fn play(railroad: &Railroad, books: &mut Books, billed: &Billed, until: RailTime) {
    books.bills.clone_from(&billed.bills);
    books.orders.clone_from(&billed.orders);
    for bill in &billed.bills {
        books.bill(bill.car, Some(bill.no));
    }
    for moved in &billed.yard_moves {
        let at = match moved.spot {
            Some(spot) => books.place_for_spot(moved.to, spot),
            None => books.standing(moved.to).len(),
        };
        books
            .apply(&Movement {
                car: moved.car,
                when: Moment::midnight(0),
                what: What::Shift {
                    track: moved.to,
                    spot: moved.spot,
                    at,
                },
            })
            .unwrap_or_else(|refused| panic!("{refused}"));
    }
    let mut events = vec![];
    for (number, made) in billed.made_up.iter().enumerate() {
        let train = billed.facts.trains[made.train.index()].as_ref().unwrap();
        for (at, call) in train.calls.iter().enumerate() {
            // Cars are taken before others are left, so that there is room for them.
            events.push((call.arrive, 0, number, at));
            events.push((call.arrive, 1, number, at));
        }
    }
    events.sort();
    for (time, what, number, at) in events {
        if time > until {
            break;
        }
        let made = &billed.made_up[number];
        let symbol = railroad.service.train(made.train).symbol.value.clone();
        let when = Moment { day: 0, time };
        let work = &made.works[at];
        if what == 0 {
            for up in &work.pick_up {
                books
                    .apply(&Movement {
                        car: up.car,
                        when,
                        what: What::PickUp {
                            train: symbol.clone(),
                        },
                    })
                    .unwrap_or_else(|refused| panic!("{symbol}: {refused}"));
            }
            continue;
        }
        for out in &work.set_out {
            let length = books.ground().cars[out.car.index()].length.inches();
            let spotted = out.spot.is_some().then(|| TrackRef {
                station: work.station,
                track: out.track.unwrap(),
            });
            let track = spotted.unwrap_or_else(|| put_down(railroad, books, work.station, length));
            let at = match out.spot {
                Some(spot) => books.place_for_spot(track, spot),
                None => books.standing(track).len(),
            };
            books
                .apply(&Movement {
                    car: out.car,
                    when,
                    what: What::SetOut {
                        track,
                        spot: out.spot,
                        at,
                    },
                })
                .unwrap_or_else(|refused| panic!("{symbol}: {refused}"));
        }
    }
}

#[test]
fn the_middle_of_a_session_is_billed_anew() {
    let railroad = road("example");
    for (seed, hour) in [(0, 7), (1, 9), (2, 11), (3, 13), (4, 16)] {
        let mut books = opening(&railroad, seed);
        let morning = billed(&railroad, &books, seed);
        let now = RailTime::from_hm(hour, 0);
        play(&railroad, &mut books, &morning, now);
        let aboard: Vec<_> = books
            .cars()
            .iter()
            .filter_map(|book| match &book.at {
                Whereabouts::Train { train, .. } => Some((book.car, train.clone())),
                _ => None,
            })
            .collect();
        let options = Options {
            now: Some(now),
            ..Options::default()
        };
        let again = bill(&railroad, &books, &options)
            .unwrap_or_else(|none| panic!("{seed} at {hour}: {none}"));
        // No train that has left takes anything more.
        for made in &again.made_up {
            let train = again.facts.trains[made.train.index()].as_ref().unwrap();
            for (call, work) in train.calls.iter().zip(&made.works) {
                for up in &work.pick_up {
                    let in_it = aboard
                        .iter()
                        .any(|(car, symbol)| *car == up.car && *symbol == train.symbol);
                    assert!(call.leave >= now || in_it, "{} at {hour}", train.symbol);
                }
            }
        }
        // Every car that is in a train is set out by it, and keeps its waybill; but for one that is just
        // being shifted within a station, which the bill does not yet finish.
        let shifted = |car| {
            let bill = again.bill_of(car).unwrap();
            matches!(&books.car(car).at, Whereabouts::Train { from, .. } if *from == bill.to.station)
        };
        for (car, symbol) in aboard.iter().filter(|(car, _)| !shifted(*car)) {
            let made = again
                .made_up
                .iter()
                .find(|made| railroad.service.train(made.train).symbol.value == *symbol)
                .unwrap();
            assert!(
                made.works
                    .iter()
                    .any(|work| work.set_out.iter().any(|out| out.car == *car)),
                "{} stays in {symbol}: {:?} {:?} {:?}",
                railroad.roster.car(*car).name.value,
                again.bill_of(*car),
                again.left.iter().find(|left| left.car == *car),
                books.car(*car)
            );
            let [before, after] = [&morning, &again].map(|of| of.bill_of(*car).unwrap().no);
            assert_eq!(before, after);
        }
        assert!(hour > 15 || !aboard.is_empty());
    }
}

/// What the crews have to do, given to the switching engine: all that is set out and picked up, no more, and
/// it can be done.
#[test]
fn the_work_of_a_stop_can_be_switched() {
    let railroad = road("example");
    let books = opening(&railroad, 0);
    let billed = billed(&railroad, &books, 0);
    let (mut cars, mut stops, mut planned) = (0, 0, 0);
    for visit in visits(&railroad) {
        let Some((visit, facts)) = work_at(&railroad, &books, &billed, visit.train, visit.station)
        else {
            continue;
        };
        let made = billed.train(visit.train).unwrap();
        let work_here = made.work_at(visit.station).unwrap();
        assert_eq!(facts.inbound.len(), work_here.set_out.len());
        cars += facts.to_do();
        stops += 1;
        let assumptions = Assumptions::new(
            &railroad,
            facts.train_length() + Actual::from_inches(2.0),
            Some(visit.enter),
        );
        let town = compile(&railroad, visit.station, &assumptions);
        let compiled = work(&town, &visit, &facts).expect("trains come by open line");
        if facts.to_do() == 0 {
            continue;
        }
        let options = switching::Options {
            node_budget: 60_000,
            rates: model_rates(railroad.identity.scale.scale, &Pace::default()),
            ..switching::Options::default()
        };
        let answer = solve(&compiled, &options, &|| false).expect("the town holds together");
        assert!(
            !matches!(answer.answer, Answer::Impossible(_)),
            "{} at {}",
            railroad.service.train(visit.train).symbol.value,
            railroad.way.station(visit.station).name.value
        );
        planned += usize::from(matches!(answer.answer, Answer::Solved(_)));
    }
    assert!(
        cars > 20 && stops > 10 && planned > 5,
        "{cars} {stops} {planned}"
    );
}

/// A railroad half written is billed as far as it goes.
#[test]
fn whatever_is_missing_there_is_an_answer() {
    let mut roads = vec![];
    for name in ["learning", "smallest"] {
        let whole = Folder::built_in(name).expect("it is built in");
        let paths: Vec<String> = whole.iter().map(|(path, _)| path.to_owned()).collect();
        for path in paths {
            let mut folder = whole.clone();
            folder.remove(&path);
            roads.push((format!("{name} without {path}"), folder));
        }
    }
    for path in ["shippers.csv", "trains.toml", "cars.csv", "engines.csv"] {
        let mut folder = Folder::built_in("example").expect("it is built in");
        folder.remove(path);
        roads.push((format!("example without {path}"), folder));
    }
    roads.push(("nothing".to_owned(), Folder::default()));
    for (name, folder) in roads {
        let railroad = load(&folder).railroad;
        let books = opening(&railroad, 0);
        let none = bill(&railroad, &books, &Options::default()).err();
        assert_eq!(none, None, "{name}");
    }
}
