//! Railroads and days by seed, small enough to play a thousand of them.
#![allow(dead_code, reason = "each test uses its part")]

use std::sync::Arc;

use engineering::station::{StationKind, TrackUse};
use model::time::{RailSpan, RailTime};
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;
use session::{
    Opening, OrderText, RealMillis,
    opening::{
        BillSheet, CallSheet, CarPlace, CarSheet, DistrictSheet, JobSheet, PersonSheet,
        PlannedOrder, StationSheet, TrackSheet, TrainSheet, WorkSheet,
    },
};
use transportation::Method;

pub const NAMES: [&str; 8] = [
    "West Staging",
    "Alder",
    "Birch",
    "Cedar Yard",
    "Dogwood",
    "Elm",
    "Fir",
    "East Staging",
];

pub const METHODS: [Method; 5] = [
    Method::TimetableAndTrainOrder,
    Method::VerbalAuthority,
    Method::TrackWarrant,
    Method::Signals,
    Method::Sequence,
];

/// A single-track line with a stretch of double track, a drawbridge, staging at its ends, and a day's
/// trains both ways, some of which work the towns between.
pub fn day(seed: u64, method: Method) -> Opening {
    let mut dice = Pcg64::seed_from_u64(seed ^ 0x5e55_1011);
    let count = dice.random_range(4..=NAMES.len());
    let mut names: Vec<&str> = NAMES[..count - 1].to_vec();
    names.push(NAMES[NAMES.len() - 1]);
    let stations: Vec<StationSheet> = names
        .iter()
        .enumerate()
        .map(|(at, name)| station(name, at == 0 || at + 1 == count))
        .collect();
    let districts: Vec<DistrictSheet> = (0..count - 1)
        .map(|at| DistrictSheet {
            ends: [at, at + 1],
            tracks: if at == 1 && count > 5 { 2 } else { 1 },
            blocks: if dice.random_bool(0.3) { 2 } else { 1 },
            superior_up: true,
            bridges: if at == 0 {
                vec!["Reed draw".into()]
            } else {
                vec![]
            },
        })
        .collect();
    let begins = RailTime::from_hm(6, 0);
    let runs = dice.random_range(4..=9_usize);
    let mut trains = Vec::new();
    let mut cars = Vec::new();
    let mut bills = Vec::new();
    let mut jobs = Vec::new();
    let mut orders = Vec::new();
    for number in 0..runs {
        let up = number % 2 == 0;
        let extra = dice.random_bool(0.2);
        let class = (!extra).then(|| dice.random_range(1..=4_u8));
        let symbol = if extra {
            format!("{}", 2000 + number)
        } else {
            format!("{}", number + 1)
        };
        let leave = begins + RailSpan::from_minutes(dice.random_range(0..240));
        let way: Vec<usize> = if up {
            (0..count).collect()
        } else {
            (0..count).rev().collect()
        };
        let mut time = leave;
        let mut calls: Vec<CallSheet> = Vec::new();
        for (at, &station) in way.iter().enumerate() {
            let next = way.get(at + 1).map(|&to| station.min(to));
            let stops = at == 0 || next.is_none() || dice.random_bool(0.5);
            let stand = if stops && at > 0 {
                RailSpan::from_minutes(dice.random_range(2..12))
            } else {
                RailSpan::ZERO
            };
            let track = if at == 0 {
                format!("{}", 1 + number % 4)
            } else if next.is_none() {
                format!("{}", 1 + (number + 2) % 4)
            } else {
                "main".to_owned()
            };
            calls.push(CallSheet {
                station,
                track: Some(track),
                next,
                arrive: time,
                leave: time + stand,
                due_arrive: (!extra && stops).then_some(time),
                due_leave: (!extra && stops).then_some(time + stand),
                stops,
                meets: vec![],
                work_seconds: None,
                work: vec![],
            });
            time = time + stand + RailSpan::from_minutes(dice.random_range(8..25));
        }
        for car in 0..dice.random_range(0..6_usize) {
            let name = format!("SLV {}", 1000 + number * 10 + car);
            let track = calls[0].track.clone().unwrap();
            let to = dice.random_range(1..calls.len());
            let end = to + 1 == calls.len();
            calls[0].work.push(WorkSheet {
                car: name.clone(),
                pick_up: true,
                track: Some(track.clone()),
                spot: None,
                block: String::new(),
            });
            if !end {
                calls[to].work.push(WorkSheet {
                    car: name.clone(),
                    pick_up: false,
                    track: Some("spur".into()),
                    spot: (car < 2).then_some(car),
                    block: String::new(),
                });
            }
            bills.push(BillSheet {
                no: bills.len() as u32 + 1,
                car: name.clone(),
                from: names[way[0]].into(),
                to: names[way[to]].into(),
                to_station: way[to],
                to_tracks: vec![],
                commodity: Some("plums".into()),
                loaded: true,
                trains: vec![symbol.clone()],
                route: String::new(),
            });
            let standing = cars
                .iter()
                .filter(|one: &&CarSheet| {
                    matches!(&one.at, CarPlace::Track { station, track: on, .. }
                        if *station == names[way[0]] && *on == track)
                })
                .count();
            cars.push(CarSheet {
                name,
                kind: "boxcar".into(),
                length: 0.15,
                at: CarPlace::Track {
                    station: names[way[0]].into(),
                    track,
                    spot: None,
                    place: standing,
                },
                load: Some("plums".into()),
                bad_order: false,
            });
        }
        // A car that waits on the way.
        if count > 4 {
            let at = dice.random_range(1..calls.len() - 1);
            let name = format!("SLV {}", 5000 + number);
            let place = names[way[at]];
            let standing = cars
                .iter()
                .filter(|one: &&CarSheet| {
                    matches!(&one.at, CarPlace::Track { station, track, .. }
                        if station == place && track == "house")
                })
                .count();
            calls[at].work.push(WorkSheet {
                car: name.clone(),
                pick_up: true,
                track: Some("house".into()),
                spot: None,
                block: String::new(),
            });
            cars.push(CarSheet {
                name,
                kind: "gondola".into(),
                length: 0.15,
                at: CarPlace::Track {
                    station: place.into(),
                    track: "house".into(),
                    spot: None,
                    place: standing,
                },
                load: None,
                bad_order: false,
            });
        }
        let job = format!("Job {}", number / 2);
        if number % 2 == 0 {
            jobs.push(JobSheet {
                name: job.clone(),
                trains: vec![],
                people: 1,
                roles: vec!["engineer".into()],
                on_duty: None,
                at: None,
            });
        }
        if extra {
            orders.push(PlannedOrder {
                text: OrderText::Extra {
                    train: symbol.clone(),
                    from: names[way[0]].into(),
                    to: names[way[count - 1]].into(),
                },
                to: vec![],
                complete: leave - RailSpan::from_minutes(10),
            });
        }
        trains.push(TrainSheet {
            engines: vec![format!("{}", 400 + number)],
            symbol,
            name: None,
            class,
            kind: "local".into(),
            direction: if up { "east" } else { "west" }.into(),
            job: Some(job),
            calls,
        });
    }
    Opening {
        railroad: "Slate Valley".into(),
        name: format!("day {seed}"),
        date: Some("1952-09-12".into()),
        day: 0,
        method,
        begins,
        ratio: [6, 1],
        twenty_four: true,
        extras_by_direction: false,
        hours_of_service: 16 * 3600,
        stations,
        districts,
        trains,
        not_today: vec![],
        cars,
        bills,
        orders,
        jobs,
        people: vec![PersonSheet {
            name: "Ada".into(),
            qualified: vec![],
        }],
    }
}

fn station(name: &str, staging: bool) -> StationSheet {
    let track = |name: &str, usage: TrackUse, room: f64, spots: usize, holds_cars| TrackSheet {
        name: name.into(),
        usage,
        room,
        spots: (1..=spots).map(|spot| format!("door {spot}")).collect(),
        holds_cars,
    };
    let tracks = if staging {
        (1..=4)
            .map(|at| track(&at.to_string(), TrackUse::Staging, 2.4, 0, true))
            .collect()
    } else {
        vec![
            track("main", TrackUse::Main, 3.0, 0, false),
            track("siding", TrackUse::Siding, 2.4, 0, true),
            track("spur", TrackUse::Spur, 0.7, 2, true),
            track("house", TrackUse::House, 1.2, 0, true),
        ]
    };
    StationSheet {
        name: name.into(),
        kind: if staging {
            StationKind::Staging
        } else {
            StationKind::Station
        },
        office: Some([0, 86_399]),
        tracks,
    }
}

/// A watch that a test sets.
#[derive(Clone, Default)]
pub struct Watch(Arc<std::sync::atomic::AtomicI64>);

impl Watch {
    pub fn set(&self, now: RealMillis) {
        self.0.store(now, std::sync::atomic::Ordering::SeqCst);
    }

    pub fn now(&self) -> RealMillis {
        self.0.load(std::sync::atomic::Ordering::SeqCst)
    }

    pub fn watch(&self) -> Arc<dyn Fn() -> RealMillis + Send + Sync> {
        let this = self.clone();
        Arc::new(move || this.now())
    }
}
