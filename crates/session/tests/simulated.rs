//! Whole sessions by seed, with mishaps, under every operating method. What must never be is looked for
//! after every event by code that shares nothing with the state machine but its data.

#![allow(
    clippy::print_stdout,
    reason = "says what was shown, and what this machine cannot show"
)]

mod common;

use std::{
    collections::{BTreeMap, BTreeSet},
    sync::Arc,
};

use model::time::{RailSpan, RailTime};
use session::{
    Event, Opening, OrderText, State, Who,
    command::Command,
    opening::CarPlace,
    rehearse::Crews,
    state::sheet::{At, TrainNow},
};
use traffic::books::Whereabouts;
use transportation::Method;

/// What a session came to.
struct Played {
    state: State,
    events: Vec<Event>,
    refused: usize,
    all_in: bool,
}

fn play(opening: Opening, seed: u64, mishaps: bool) -> Played {
    let opening = Arc::new(opening);
    let mut now = 1_000_000_i64;
    let mut state = State::new(Arc::clone(&opening), now);
    let mut crews = Crews::new(seed, mishaps);
    let (mut events, mut refused) = (Vec::new(), 0);
    let ends = opening.begins + RailSpan::from_minutes(20 * 60);
    let mut last = RailTime::from_seconds(i64::MIN);
    let mut auditor = Auditor::default();
    loop {
        let rail = state.rail(now);
        assert!(
            rail >= last,
            "the clock went back from {last:?} to {rail:?}"
        );
        last = rail;
        if rail > ends || (Crews::all_in(&state) && state.sheet.closed.is_none()) {
            break;
        }
        let Some(said) = crews.next(&state, rail) else {
            let ahead = crews.wakes(rail) - rail;
            now += state.sheet.clock.real_millis(ahead).max(1000);
            continue;
        };
        let mut who = said.who.clone();
        if who != Who::office() {
            who.role = state.role_of(&who.device);
        }
        // Deciding is repeatable: the same question has the same answer.
        let decided = state.decide(&said.command, &who, Some(state.revision()), now);
        match decided {
            Ok(new) => {
                for event in new {
                    assert_eq!(event.revision, state.revision() + 1);
                    assert!(event.rail >= last, "an event before the clock");
                    last = event.rail;
                    state.apply(&event);
                    auditor.look(&state, &event);
                    events.push(event);
                }
                crews.hear(&said, rail, Ok(&state));
            }
            Err(no) => {
                refused += 1;
                assert!(!no.found.is_empty() && no.now == state.revision());
                crews.hear(&said, rail, Err(&no));
            }
        }
        if events.len() % 97 == 50 {
            // A restart in the middle: what is written down is taken up as it was.
            let saved = serde_json::to_string(&state.save()).unwrap();
            let again = State::restore(Arc::clone(&opening), serde_json::from_str(&saved).unwrap());
            same(&again, &state);
            state = again;
        }
    }
    Played {
        all_in: Crews::all_in(&state),
        state,
        events,
        refused,
    }
}

/// Two states are the same; if not, the first place where they differ is told.
fn same(one: &State, other: &State) {
    if one.save() != other.save() {
        let [a, b] = [one, other].map(|state| serde_json::to_value(state.save()).unwrap());
        let mut path = String::new();
        differ(&a, &b, &mut path);
    }
}

fn differ(a: &serde_json::Value, b: &serde_json::Value, path: &mut String) {
    use serde_json::Value;
    let length = path.len();
    match (a, b) {
        (Value::Object(x), Value::Object(y)) if x.len() == y.len() => {
            for (key, value) in x {
                path.push_str(&format!(".{key}"));
                differ(value, y.get(key).unwrap_or(&Value::Null), path);
                path.truncate(length);
            }
        }
        (Value::Array(x), Value::Array(y)) if x.len() == y.len() => {
            for (at, (value, other)) in x.iter().zip(y).enumerate() {
                path.push_str(&format!("[{at}]"));
                differ(value, other, path);
                path.truncate(length);
            }
        }
        _ => assert_eq!(a, b, "the states differ at {path}"),
    }
}

#[derive(Default)]
struct Auditor {
    revision: u64,
}

impl Auditor {
    /// What must never be.
    fn look(&mut self, state: &State, event: &Event) {
        assert_eq!(state.revision(), self.revision + 1);
        self.revision = state.revision();
        let context = || {
            format!(
                "after line {} ({})",
                event.revision,
                state.sentence(&event.what)
            )
        };
        tracks(state, &context);
        cars(state, &context);
        authorities(state, &context);
    }
}

/// No two trains on a piece of track that exclude each other.
fn tracks(state: &State, context: &dyn Fn() -> String) {
    let mut on: BTreeMap<usize, Vec<(String, usize)>> = BTreeMap::new();
    for train in &state.sheet.trains {
        if let At::Line { call } = train.at {
            let from = &train.calls[call].plan;
            let district = from.next.expect("a train on the line is on a district");
            on.entry(district)
                .or_default()
                .push((train.symbol().to_owned(), from.station));
        }
    }
    for (district, trains) in on {
        let sheet = &state.opening.districts[district];
        for end in sheet.ends {
            let same: Vec<&str> = trains
                .iter()
                .filter(|(_, from)| *from == end)
                .map(|(symbol, _)| symbol.as_str())
                .collect();
            assert!(
                same.len() <= sheet.blocks as usize,
                "{same:?} follow each other into {} block(s) of district {district} {}",
                sheet.blocks,
                context()
            );
            assert!(
                sheet.tracks == 2 || same.len() == trains.len() || same.is_empty(),
                "{trains:?} oppose each other on single track {district} {}",
                context()
            );
        }
    }
}

/// Every car is in exactly one place, and the trains' lists say the same as the books.
fn cars(state: &State, context: &dyn Fn() -> String) {
    let mut places: Vec<Vec<String>> = vec![Vec::new(); state.opening.cars.len()];
    for station in &state.opening.stations {
        for track in &station.tracks {
            let cars = state.standing(&station.name, &track.name);
            let mut long = 0.0;
            for car in cars {
                let at = state.opening.find_car(car).unwrap();
                long += state.opening.cars[at].length;
                places[at].push(format!("{} / {}", station.name, track.name));
            }
            assert!(
                long <= track.room + 0.001,
                "{} / {} is overfull {}",
                station.name,
                track.name,
                context()
            );
        }
    }
    let mut aboard = BTreeSet::new();
    for train in &state.sheet.trains {
        for car in &train.consist {
            let at = state.opening.find_car(car).unwrap();
            assert!(aboard.insert(at), "{car} is in two trains {}", context());
            places[at].push(format!("train {}", train.symbol()));
        }
    }
    for (at, found) in places.iter().enumerate() {
        let name = &state.opening.cars[at].name;
        let expected = match &state.books.cars()[at].at {
            Whereabouts::Off { .. } | Whereabouts::Aside => 0,
            Whereabouts::Train { train, .. } => {
                assert_eq!(*found, [format!("train {train}")], "{name} {}", context());
                1
            }
            Whereabouts::Track { .. } => 1,
        };
        assert_eq!(
            found.len(),
            expected,
            "{name} is at {found:?} {}",
            context()
        );
    }
}

/// No two authorities over one single track, unless one train has been reported past it, or the later one
/// waits for the other's arrival. And no train on the line without one, where one is needed.
fn authorities(state: &State, context: &dyn Fn() -> String) {
    let by_authority = matches!(
        state.opening.method,
        Method::VerbalAuthority | Method::TrackWarrant | Method::Signals
    );
    if !by_authority {
        return;
    }
    let station = |train: &TrainNow, call: usize| {
        state.opening.stations[train.calls[call].plan.station]
            .name
            .as_str()
    };
    // District by district: who may be there from now on.
    let mut may: BTreeMap<usize, BTreeSet<(String, usize)>> = BTreeMap::new();
    for order in state.sheet.orders.iter().filter(|order| !order.over) {
        let OrderText::Authority {
            train,
            from,
            to,
            after,
        } = &order.text
        else {
            continue;
        };
        assert!(after.is_empty(), "the rehearsal gives none that wait");
        let train = state.train(train).unwrap();
        if !train.active() {
            continue;
        }
        let calls = 0..train.calls.len();
        let from = calls
            .clone()
            .find(|&call| station(train, call) == from)
            .unwrap();
        let to = calls
            .clone()
            .find(|&call| station(train, call) == to)
            .unwrap();
        for call in from..to {
            let past = train.calls[call + 1..]
                .iter()
                .any(|later| later.arrived.is_some());
            if !past {
                let district = train.calls[call].plan.next.unwrap();
                may.entry(district)
                    .or_default()
                    .insert((train.symbol().to_owned(), train.calls[call].plan.station));
            }
        }
    }
    for (district, trains) in &may {
        let sheet = &state.opening.districts[*district];
        for (a, from_a) in trains {
            for (b, from_b) in trains {
                let opposing = from_a != from_b && sheet.tracks == 1;
                let following = from_a == from_b && sheet.blocks <= 1;
                assert!(
                    a == b || !(opposing || following),
                    "{a} and {b} are both authorised onto district {district} {}",
                    context()
                );
            }
        }
    }
    for train in &state.sheet.trains {
        if let At::Line { call } = train.at {
            let district = train.calls[call].plan.next.unwrap();
            assert!(
                may.get(&district)
                    .is_some_and(|all| all.iter().any(|(one, _)| one == train.symbol())),
                "{} is on the line without authority {}",
                train.symbol(),
                context()
            );
        }
    }
}

/// The events alone, read from their JSON, lead to the same state.
fn replayed(opening: &Opening, played: &Played) {
    let mut state = State::new(Arc::new(opening.clone()), 1_000_000);
    for event in &played.events {
        let text = serde_json::to_string(event).unwrap();
        state.apply(&serde_json::from_str(&text).unwrap());
    }
    same(&state, &played.state);
}

fn sessions() -> u64 {
    if std::env::var_os("SAWBY_SLOW").is_some() {
        1000
    } else {
        50
    }
}

#[test]
fn nothing_that_must_not_be_happens_in_sessions_by_seed() {
    let (mut events, mut refused, mut finished) = (0, 0, 0);
    for seed in 0..sessions() {
        let method = common::METHODS[(seed % 5) as usize];
        let opening = common::day(seed, method);
        let played = play(opening.clone(), seed, true);
        replayed(&opening, &played);
        events += played.events.len();
        refused += played.refused;
        finished += usize::from(played.all_in);
    }
    println!(
        "{} sessions, {events} events, {refused} refusals, {finished} with all trains in",
        sessions()
    );
    // A simulation in which nothing is refused, or nothing gets anywhere, would show little.
    assert!(refused > 100 && events > 2000);
    assert!(
        finished * 2 > sessions() as usize,
        "only {finished} came to their end"
    );
}

#[test]
fn without_mishaps_trains_run_and_cars_are_set_out() {
    for (seed, method) in common::METHODS.into_iter().enumerate() {
        let opening = common::day(seed as u64 + 100, method);
        let mut played = play(opening, 3, false);
        assert!(played.all_in, "{method}: {:?}", where_all(&played.state));
        assert!(played.state.sheet.moves > 0);
        let closing = played
            .state
            .decide(&Command::CloseOut, &Who::office(), None, 900_000_000)
            .unwrap();
        closing.iter().for_each(|event| played.state.apply(event));
        assert!(played.state.sheet.closed.is_some());
        for car in &played.state.opening.cars {
            let place = played.state.car_place(&car.name).unwrap();
            assert!(
                matches!(place, CarPlace::Track { .. }),
                "{}: {place:?}",
                car.name
            );
        }
    }
}

fn where_all(state: &State) -> Vec<(String, At)> {
    state
        .sheet
        .trains
        .iter()
        .map(|train| (train.title(), train.at.clone()))
        .collect()
}

#[test]
fn the_figures_and_the_list_for_staging_follow_from_the_events() {
    use session::{What, close};
    let opening = common::day(12, Method::Sequence);
    let played = play(opening.clone(), 4, false);
    assert!(played.all_in);
    let figures = close::figures(&played.state);
    let count = |which: fn(&What) -> bool| {
        played
            .events
            .iter()
            .filter(|event| which(&event.what))
            .count()
    };
    let moves = count(|what| matches!(what, What::PickedUp { .. } | What::SetOut { .. }));
    assert_eq!(figures.moves as usize, moves);
    let departed = count(|what| matches!(what, What::Departed { .. } | What::Passed { .. }));
    assert_eq!(figures.runs.len(), departed, "every run is observed once");
    assert_eq!(
        figures.work[1],
        count(|what| matches!(what, What::Left { .. }))
    );
    // A run's time is that between its two reports.
    let run = &figures.runs[0];
    let at = |kind: &dyn Fn(&What) -> bool| {
        played
            .events
            .iter()
            .find(|event| kind(&event.what))
            .unwrap()
            .rail
    };
    let left = at(
        &|what| matches!(what, What::Departed { train, station, .. } if *train == run.train && *station == run.from),
    );
    let came = at(&|what| match what {
        What::Arrived { train, station, .. } | What::Passed { train, station, .. } => {
            *train == run.train && *station == run.to
        }
        _ => false,
    });
    assert_eq!(run.took, (came - left).seconds() as f64);
    assert_eq!(
        close::observed_csv(&figures).lines().count(),
        figures.runs.len() + 1
    );
    let classes: usize = figures.classes.iter().map(|class| class.arrived).sum();
    assert_eq!(classes, opening.trains.len());
    // Every train that begins in staging is spoken for: one that ended there, or one made up anew.
    let steps = close::restaging(&played.state, &close::ByHand::default());
    for station in ["West Staging", "East Staging"] {
        let ended = played.state.sheet.trains.iter().filter(|train| {
            opening.stations[train.calls.last().unwrap().plan.station].name == station
        });
        let begin = opening
            .trains
            .iter()
            .filter(|train| opening.stations[train.calls[0].station].name == station);
        let here: Vec<&close::Step> = steps
            .iter()
            .filter(|step| step.station == station)
            .collect();
        let made_up = here
            .iter()
            .filter(|step| step.sentence.starts_with("make up"))
            .count();
        assert_eq!(
            made_up,
            begin.clone().count().saturating_sub(ended.clone().count())
        );
        // On a stub every train goes out the way it came.
        let turned = here
            .iter()
            .filter(|step| step.sentence.starts_with("turn"))
            .count();
        assert_eq!(turned, begin.count() - made_up);
    }
    assert!(
        steps
            .iter()
            .enumerate()
            .all(|(at, step)| step.number == at + 1 && step.minutes > 0.0)
    );
    assert!(
        close::discrepancies(&played.state)
            .iter()
            .all(|one| one.kind >= close::DiscrepancyKind::BadOrder)
    );
}
