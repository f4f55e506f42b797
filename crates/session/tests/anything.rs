//! Whatever is said, by whomever, whenever: it is carried out or refused with a sentence, and what must hold
//! holds. Commands are drawn by dice, half of them with names that are there, half with any text.

mod common;

use std::{collections::BTreeMap, sync::Arc};

use model::time::RailTime;
use proptest::prelude::*;
use rand::SeedableRng as _;
use rand_pcg::Pcg64;
use session::{
    Cause, Command, NewPlan, Opening, OrderText, Role, State, TrackPlace, Who, command::Done,
    opening::CarPlace, rehearse::Crews, state::sheet::At,
};

struct Said<'a> {
    dice: Pcg64,
    opening: &'a Opening,
    text: &'a str,
}

impl Said<'_> {
    fn pick(&mut self, names: &[&str]) -> String {
        if names.is_empty() || self.dice.random_bool(0.1) {
            return self.text.to_owned();
        }
        names[self.dice.random_range(0..names.len())].to_owned()
    }

    fn train(&mut self) -> String {
        let names: Vec<&str> = self
            .opening
            .trains
            .iter()
            .map(|one| one.symbol.as_str())
            .collect();
        self.pick(&names)
    }

    fn station(&mut self) -> String {
        let names: Vec<&str> = self
            .opening
            .stations
            .iter()
            .map(|one| one.name.as_str())
            .collect();
        self.pick(&names)
    }

    fn track(&mut self) -> String {
        self.pick(&["main", "siding", "spur", "house", "1", "2", "3", "4"])
    }

    fn car(&mut self) -> String {
        let names: Vec<&str> = self
            .opening
            .cars
            .iter()
            .map(|one| one.name.as_str())
            .collect();
        self.pick(&names)
    }

    fn number(&mut self) -> u32 {
        self.dice.random_range(0..12)
    }

    fn spot(&mut self) -> Option<usize> {
        let spot = self.number() as usize;
        self.dice.random_bool(0.3).then_some(spot)
    }

    fn place(&mut self) -> TrackPlace {
        if self.dice.random_bool(0.5) {
            TrackPlace::Station {
                station: self.station(),
                track: self.track(),
            }
        } else {
            TrackPlace::Line {
                from: self.station(),
                to: self.station(),
            }
        }
    }

    fn order(&mut self) -> OrderText {
        match self.dice.random_range(0..10) {
            0 => OrderText::Meet {
                train: self.train(),
                others: vec![
                    (self.train(), self.station()),
                    (self.train(), self.station()),
                ],
            },
            1 => OrderText::Ahead {
                first: self.train(),
                seconds: vec![(self.train(), self.station(), self.station())],
            },
            2 => OrderText::RightOver {
                first: self.train(),
                over: self.train(),
                from: self.station(),
                to: self.station(),
            },
            3 => OrderText::RunLate {
                train: self.train(),
                minutes: self.number() * 300_000_000,
                from: self.station(),
                to: self.station(),
            },
            4 => OrderText::Wait {
                train: self.train(),
                at: vec![(self.station(), i64::from(self.number()) * 7000)],
            },
            5 => OrderText::Extra {
                train: self.train(),
                from: self.station(),
                to: self.station(),
            },
            6 => OrderText::Hold {
                train: self.train(),
                station: self.station(),
            },
            7 => OrderText::AnnulSchedule {
                train: self.train(),
            },
            8 => OrderText::AnnulOrder {
                number: self.number(),
            },
            _ => OrderText::Authority {
                train: self.train(),
                from: self.station(),
                to: self.station(),
                after: vec![],
            },
        }
    }

    fn command(&mut self, state: &State) -> Command {
        let why = self.text.to_owned();
        match self.dice.random_range(0..34) {
            0 => Command::StopClock { why },
            1 => Command::SetRatio {
                railroad: self.number(),
                real: self.number(),
            },
            2 => Command::JumpClock {
                to: RailTime::from_seconds(i64::from(self.number()) * 9000),
            },
            3 => Command::OnDuty {
                person: self.pick(&["Ada", "Bea"]),
                job: Some(self.pick(&["Job 0", "Job 1"])),
            },
            4 => Command::OffDuty {
                person: self.pick(&["Ada", "Bea"]),
            },
            5 => Command::CallTrain {
                train: self.train(),
            },
            6 => Command::Arrived {
                train: self.train(),
                station: self.station(),
                track: Some(self.track()),
            },
            7 => Command::Departed {
                train: self.train(),
                station: self.station(),
            },
            8 => Command::Passed {
                train: self.train(),
                station: self.station(),
            },
            9 => Command::ClearOfMain {
                train: self.train(),
                station: self.station(),
            },
            10 => Command::TieUp {
                train: self.train(),
                track: Some(self.track()),
            },
            11..=13 => Command::Work {
                train: self.train(),
                car: self.car(),
                done: match self.dice.random_range(0..4) {
                    0 => Done::PickedUp,
                    1 => Done::SetOut {
                        track: self.track(),
                        spot: self.spot(),
                    },
                    2 => Done::Left { why },
                    _ => Done::BadOrdered { why },
                },
            },
            14 => Command::Shift {
                car: self.car(),
                track: self.track(),
                spot: self.spot(),
            },
            15 => Command::BadOrder {
                car: self.car(),
                why,
            },
            16 => Command::Repaired { car: self.car() },
            17 => Command::AddWork {
                train: self.train(),
                station: self.station(),
                car: self.car(),
                pick_up: self.dice.random_bool(0.5),
                track: None,
                spot: self.spot(),
            },
            18 => Command::DropWork {
                train: self.train(),
                station: self.station(),
                car: self.car(),
                why,
            },
            19 => Command::IssueOrder {
                text: self.order(),
                to: vec![],
            },
            20 => Command::RepeatOrder {
                number: self.number(),
                train: self.train(),
            },
            21 => Command::CompleteOrder {
                number: self.number(),
                train: self.train(),
            },
            22 => Command::GiveBack {
                number: self.number(),
            },
            23 => Command::CreateExtra {
                symbol: format!("X{}", self.number()),
                engines: vec![format!("{}", 400 + self.number())],
                way: vec![self.station(), self.station()],
                leave: RailTime::from_hm(12, 0),
                job: None,
            },
            24 => Command::AnnulTrain {
                train: self.train(),
                why,
            },
            25 => Command::Combine {
                train: self.train(),
                into: self.train(),
            },
            26 => Command::ChangeEngines {
                train: self.train(),
                engines: vec![why],
                why: String::new(),
            },
            27 => Command::TakeTrackOut {
                place: self.place(),
                why,
            },
            28 => Command::PutTrackBack {
                place: self.place(),
            },
            29 => Command::Drawbridge {
                name: self.pick(&["Reed draw"]),
                open: self.dice.random_bool(0.5),
            },
            30 => Command::Delay {
                train: self.train(),
                cause: Cause::Other,
                minutes: u32::MAX,
                text: why,
            },
            31 => {
                let train = self.train();
                let calls = state.train(&train).map_or_else(Vec::new, |now| {
                    now.calls.iter().map(|one| one.plan.clone()).collect()
                });
                Command::TakePlan {
                    plan: NewPlan {
                        made_at: u64::from(self.number()),
                        trains: vec![(train, calls)],
                        changes: vec![why],
                    },
                }
            }
            32 => Command::Undo {
                revision: state.revision().saturating_sub(u64::from(self.number())),
            },
            _ => Command::Found {
                car: self.car(),
                place: match self.dice.random_range(0..3) {
                    0 => CarPlace::Track {
                        station: self.station(),
                        track: self.track(),
                        spot: self.spot(),
                        place: self.number() as usize,
                    },
                    1 => CarPlace::Train {
                        train: self.train(),
                        from: self.station(),
                    },
                    _ => CarPlace::Aside,
                },
            },
        }
    }
}

/// What must hold in every state.
fn holds(state: &State) {
    let mut on: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for train in &state.sheet.trains {
        if let At::Line { call } = train.at {
            let plan = &train.calls[call].plan;
            on.entry(plan.next.unwrap()).or_default().push(plan.station);
        }
    }
    for (district, from) in on {
        let sheet = &state.opening.districts[district];
        let low = from.iter().filter(|end| **end == sheet.ends[0]).count();
        let high = from.len() - low;
        assert!(sheet.tracks == 2 || low == 0 || high == 0);
        assert!(low.max(high) <= sheet.blocks as usize);
    }
    let mut seen = vec![0; state.opening.cars.len()];
    let standing = state.opening.stations.iter().flat_map(|station| {
        station
            .tracks
            .iter()
            .flat_map(|track| state.standing(&station.name, &track.name))
    });
    let riding = state
        .sheet
        .trains
        .iter()
        .flat_map(|train| train.consist.iter().map(String::as_str));
    for car in standing.chain(riding) {
        seen[state.opening.find_car(car).unwrap()] += 1;
    }
    for (at, seen) in seen.into_iter().enumerate() {
        let name = &state.opening.cars[at].name;
        let somewhere = matches!(
            state.car_place(name),
            Some(CarPlace::Track { .. } | CarPlace::Train { .. })
        );
        assert_eq!(
            seen,
            i32::from(somewhere),
            "{name}: {:?}",
            state.car_place(name)
        );
    }
}

fn cases() -> u32 {
    if std::env::var_os("SAWBY_SLOW").is_some() {
        4000
    } else {
        150
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: cases(), failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn anything_may_be_said_at_any_time(seed in any::<u64>(), text in "\\PC{0,12}") {
        let method = common::METHODS[(seed % 5) as usize];
        let opening = Arc::new(common::day(seed % 1000, method));
        let mut now = 0_i64;
        let mut state = State::new(Arc::clone(&opening), now);
        let mut crews = Crews::new(seed, true);
        let mut said = Said { dice: Pcg64::seed_from_u64(seed), opening: &opening, text: &text };
        let mut events = Vec::new();
        for _ in 0..250 {
            let rail = state.rail(now);
            let (who, command, crew) = match crews.next(&state, rail).filter(|_| said.dice.random_bool(0.6)) {
                Some(one) => {
                    let mut who = one.who.clone();
                    if who != Who::office() {
                        who.role = state.role_of(&who.device);
                    }
                    (who, one.command.clone(), Some(one))
                }
                None => {
                    now += 20_000;
                    let role = Role::ALL[said.dice.random_range(0..5)];
                    let who = Who { name: "Ada".into(), device: "ada".into(), role };
                    (who, said.command(&state), None)
                }
            };
            let seen = said.dice.random_bool(0.5).then(|| state.revision().saturating_sub(3));
            match state.decide(&command, &who, seen, now) {
                Ok(new) => {
                    prop_assert!(!new.is_empty());
                    for event in new {
                        prop_assert!(event.rail >= state.sheet.clock.shown);
                        state.apply(&event);
                        holds(&state);
                        events.push(event);
                    }
                    if let Some(one) = crew {
                        crews.hear(&one, rail, Ok(&state));
                    }
                }
                Err(no) => {
                    prop_assert!(!no.to_string().trim().is_empty());
                    if let Some(one) = crew {
                        crews.hear(&one, rail, Err(&no));
                    }
                }
            }
        }
        let mut again = State::new(opening.clone(), 0);
        for event in &events {
            let line = serde_json::to_string(event).unwrap();
            again.apply(&serde_json::from_str(&line).unwrap());
        }
        prop_assert!(again.save() == state.save(), "replayed, it is another state");
    }
}
