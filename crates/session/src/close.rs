//! Close-out: what is not accounted for, how staging is made ready for the next session, and the figures.
//!
//! The books themselves are [`State::books`], carried to the folder by `railroad::books::edits`.

use std::collections::{BTreeMap, BTreeSet};

use engineering::station::StationKind;
use model::time::RailSpan;
use serde::Serialize;

use crate::{
    command::Cause,
    opening::{CarPlace, TrainSheet},
    state::{
        State,
        sheet::{At, Outcome, TrainNow},
    },
};

/// Something that is not as billed, or not known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Discrepancy {
    /// The car.
    pub car: String,
    /// What sort.
    pub kind: DiscrepancyKind,
    /// In a sentence, with what to do.
    pub sentence: String,
}

/// What sort of discrepancy.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum DiscrepancyKind {
    /// It is nowhere: it was on the railroad, and was not found.
    Missing,
    /// It is still in a train.
    InTrain,
    /// It is bad ordered.
    BadOrder,
    /// It was to come somewhere this session, and has not.
    Undelivered,
}

/// The cars to be walked through before the session is closed: those nowhere first.
pub fn discrepancies(state: &State) -> Vec<Discrepancy> {
    let mut all = Vec::new();
    for car in &state.opening.cars {
        let place = state.car_place(&car.name);
        let mut note = |kind, sentence| {
            all.push(Discrepancy {
                car: car.name.clone(),
                kind,
                sentence,
            });
        };
        match &place {
            Some(CarPlace::Aside) if car.at != CarPlace::Aside => note(
                DiscrepancyKind::Missing,
                format!("{} was not found: walk the tracks until it is", car.name),
            ),
            Some(CarPlace::Train { train, .. }) => note(
                DiscrepancyKind::InTrain,
                format!("{} is in {}: tie it up", car.name, state.title(train)),
            ),
            _ => {}
        }
        if let Some(why) = state.sheet.bad_orders.get(&car.name) {
            note(
                DiscrepancyKind::BadOrder,
                format!("{} is bad ordered: {why}", car.name),
            );
        }
    }
    for bill in state
        .opening
        .bills
        .iter()
        .filter(|bill| !bill.trains.is_empty())
    {
        let to = &state.opening.stations[bill.to_station].name;
        let there = match state.car_place(&bill.car) {
            Some(CarPlace::Track { station, .. }) => station == *to,
            Some(CarPlace::Off { via, .. }) => via == *to,
            _ => false,
        };
        if there {
            continue;
        }
        let last = bill.trains.last().and_then(|train| state.train(train));
        // Only those whose trains of this session would have brought them there.
        let ends = last.is_some_and(|train| {
            train
                .calls
                .iter()
                .any(|call| call.plan.station == bill.to_station)
        });
        if ends {
            let why = state
                .sheet
                .remarks
                .iter()
                .rev()
                .find(|one| one.car == bill.car);
            let why = why.map_or_else(String::new, |why| format!(": {}", why.sentence));
            all.push(Discrepancy {
                car: bill.car.clone(),
                kind: DiscrepancyKind::Undelivered,
                sentence: format!("{} did not come to {to}{why}", bill.car),
            });
        }
    }
    all.sort_by(|a, b| (a.kind, &a.car).cmp(&(b.kind, &b.car)));
    all
}

/// What the work of hands takes in real minutes. Common practice, no source: an owner who has timed it says
/// otherwise.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ByHand {
    /// To move a train from one staging track to another.
    pub move_train: f64,
    /// To turn a train: its engine at the other end, its caboose at the other.
    pub turn_train: f64,
    /// To take an engine off and put another on.
    pub engine: f64,
    /// To lift one car off, or put one on.
    pub car: f64,
}

impl Default for ByHand {
    fn default() -> Self {
        Self {
            move_train: 3.0,
            turn_train: 4.0,
            engine: 2.0,
            car: 0.5,
        }
    }
}

/// One thing to be done by hand in staging before the next session.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Step {
    /// Its number, from 1: they are done in this order.
    pub number: usize,
    /// The staging.
    pub station: String,
    /// What, in a sentence.
    pub sentence: String,
    /// Real minutes, by [`ByHand`].
    pub minutes: f64,
}

/// A train that stands in staging, by where it came in.
struct Standing<'a> {
    train: &'a TrainNow,
    track: Option<String>,
    /// The district by which it came.
    came_by: Option<usize>,
}

/// How staging is made ready: the trains of the next day (as this one's) that begin there are made of those
/// that ended there. Trains are matched so that engines and tracks change least, the likest first; a track
/// is cleared before another train is put on it.
pub fn restaging(state: &State, by_hand: &ByHand) -> Vec<Step> {
    let mut steps = Vec::new();
    let staging = state
        .opening
        .stations
        .iter()
        .enumerate()
        .filter(|(_, station)| station.kind == StationKind::Staging);
    for (number, station) in staging {
        let standing = standing(state, number);
        let wanted: Vec<&TrainSheet> = state
            .opening
            .trains
            .iter()
            .filter(|train| {
                train
                    .calls
                    .first()
                    .is_some_and(|call| call.station == number)
            })
            .collect();
        let matched = matched(&standing, &wanted);
        let mut say = |sentence: String, minutes: f64| {
            steps.push(Step {
                number: 0,
                station: station.name.clone(),
                sentence,
                minutes,
            });
        };
        for car in bad_orders_at(state, &station.name) {
            say(
                format!("take {} off, bad ordered: {}", car.0, car.1),
                by_hand.car,
            );
        }
        for (from, to) in moves(&standing, &wanted, &matched) {
            let train = standing[from].train.title();
            match to {
                Move::Aside => say(
                    format!("take {train} off its track, out of the way"),
                    by_hand.move_train,
                ),
                Move::To(track) => {
                    say(format!("move {train} to track {track}"), by_hand.move_train);
                }
            }
        }
        for (at, train) in wanted.iter().enumerate() {
            let Some(from) = matched[at] else {
                say(
                    format!(
                        "make up {} on track {}: no train that ended here is left for it",
                        train.title(),
                        train.calls[0].track.as_deref().unwrap_or("any")
                    ),
                    by_hand.move_train + by_hand.engine,
                );
                continue;
            };
            let old = &standing[from];
            let was = old.train.title();
            if old.came_by.is_some() && old.came_by == train.calls[0].next {
                say(
                    format!(
                        "turn {was}: it goes out as {} the way it came",
                        train.title()
                    ),
                    by_hand.turn_train,
                );
            }
            if old.train.sheet.engines != train.engines && !train.engines.is_empty() {
                say(
                    format!(
                        "give {was} the engines of {}: {} off, {} on",
                        train.title(),
                        words(&old.train.sheet.engines),
                        words(&train.engines)
                    ),
                    by_hand.engine * old.train.sheet.engines.len().max(train.engines.len()) as f64,
                );
            }
            let gone = rebuilt(state, old);
            if !gone.is_empty() {
                say(
                    format!(
                        "rebuild {was} for {}: {} to be taken off, done with",
                        train.title(),
                        gone.join(", ")
                    ),
                    by_hand.car * gone.len() as f64,
                );
            }
        }
    }
    for (at, step) in steps.iter_mut().enumerate() {
        step.number = at + 1;
    }
    steps
}

fn words(engines: &[String]) -> String {
    if engines.is_empty() {
        "its engine".to_owned()
    } else {
        engines.join(" and ")
    }
}

/// The trains that ended at a station, by the order of the sheet.
fn standing(state: &State, station: usize) -> Vec<Standing<'_>> {
    state
        .sheet
        .trains
        .iter()
        .filter(|train| matches!(train.at, At::Ended | At::Station { .. }))
        .filter_map(|train| {
            let call = train.call();
            let here = train.calls.get(call)?;
            (here.plan.station == station && call > 0).then(|| Standing {
                train,
                track: here.track.clone().or_else(|| here.plan.track.clone()),
                came_by: train.calls[call - 1].plan.next,
            })
        })
        .collect()
}

/// For each train wanted the one that stands there and is likest, the likest pairs first.
fn matched(standing: &[Standing<'_>], wanted: &[&TrainSheet]) -> Vec<Option<usize>> {
    let mut pairs: Vec<(u32, usize, usize)> = Vec::new();
    for (at, train) in wanted.iter().enumerate() {
        for (from, old) in standing.iter().enumerate() {
            let unlike = [
                (old.train.sheet.engines != train.engines, 4),
                (old.train.sheet.kind != train.kind, 3),
                (old.track != train.calls[0].track, 2),
                (old.came_by == train.calls[0].next, 1),
            ];
            let cost = unlike
                .iter()
                .filter(|(off, _)| *off)
                .map(|(_, cost)| cost)
                .sum();
            pairs.push((cost, at, from));
        }
    }
    pairs.sort_unstable();
    let mut matched = vec![None; wanted.len()];
    let mut used = BTreeSet::new();
    for (_, at, from) in pairs {
        if matched[at].is_none() && used.insert(from) {
            matched[at] = Some(from);
        }
    }
    matched
}

#[derive(Debug, PartialEq, Eq)]
enum Move {
    Aside,
    To(String),
}

/// The moves between tracks in an order in which no train is put where another stands: one that goes to a
/// free track first; where they go round in a circle one is taken off for the time being.
fn moves(
    standing: &[Standing<'_>],
    wanted: &[&TrainSheet],
    matched: &[Option<usize>],
) -> Vec<(usize, Move)> {
    let mut on: BTreeMap<usize, String> = standing
        .iter()
        .enumerate()
        .filter_map(|(at, old)| Some((at, old.track.clone()?)))
        .collect();
    let mut to_do: Vec<(usize, String)> = matched
        .iter()
        .zip(wanted)
        .filter_map(|(from, train)| {
            let (from, track) = ((*from)?, train.calls[0].track.clone()?);
            (on.get(&from) != Some(&track)).then_some((from, track))
        })
        .collect();
    // Trains that are to stand one behind another on a track are in nobody's way there.
    let stays = |other: usize, track: &str| {
        matched.iter().zip(wanted).any(|(from, train)| {
            *from == Some(other) && train.calls[0].track.as_deref() == Some(track)
        })
    };
    let mut found = Vec::new();
    while !to_do.is_empty() {
        let free = to_do.iter().position(|(from, track)| {
            !on.iter()
                .any(|(other, at)| other != from && at == track && !stays(*other, track))
        });
        match free {
            Some(next) => {
                let (from, track) = to_do.remove(next);
                on.insert(from, track.clone());
                found.push((from, Move::To(track)));
            }
            None => {
                // Whoever stands in the way of the first is taken off; if it is wanted it comes back later.
                let track = to_do[0].1.clone();
                let blocker = on
                    .iter()
                    .find(|(other, at)| **at == track && !stays(**other, &track))
                    .map(|(other, _)| *other);
                let Some(blocker) = blocker else { break };
                on.remove(&blocker);
                found.push((blocker, Move::Aside));
            }
        }
    }
    found
}

fn bad_orders_at<'a>(state: &'a State, station: &str) -> Vec<(&'a str, &'a str)> {
    state
        .sheet
        .bad_orders
        .iter()
        .filter(|(car, _)| {
            matches!(state.car_place(car), Some(CarPlace::Track { station: at, .. }) if at == station)
        })
        .map(|(car, why)| (car.as_str(), why.as_str()))
        .collect()
}

/// Cars on a train's track whose waybills ended here: they have left the railroad as far as it is modelled.
fn rebuilt(state: &State, old: &Standing<'_>) -> Vec<String> {
    let Some(track) = &old.track else {
        return Vec::new();
    };
    let station = old.train.calls[old.train.call()].plan.station;
    let name = &state.opening.stations[station].name;
    state
        .standing(name, track)
        .into_iter()
        .filter(|car| {
            state.opening.bills.iter().any(|bill| {
                bill.car == *car
                    && bill.to_station == station
                    && bill
                        .trains
                        .last()
                        .is_some_and(|last| last == old.train.symbol())
            })
        })
        .map(str::to_owned)
        .collect()
}

/// The figures of a session.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Figures {
    /// By class; extras last, without one.
    pub classes: Vec<ClassFigures>,
    /// Car movements.
    pub moves: u32,
    /// Pieces of work done, left, dropped.
    pub work: [usize; 3],
    /// Real minutes from the first to the last report of a train.
    pub minutes: f64,
    /// Delays: cause, how often, railroad minutes.
    pub causes: Vec<(Cause, usize, u32)>,
    /// Delays by train: symbol, railroad minutes.
    pub by_train: Vec<(String, u32)>,
    /// Delays by place: station, railroad minutes.
    pub by_place: Vec<(String, u32)>,
    /// Running times observed.
    pub runs: Vec<ObservedRun>,
    /// Switching times observed.
    pub stops: Vec<ObservedStop>,
}

/// How the trains of a class ran.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct ClassFigures {
    /// The class; nothing for extras.
    pub class: Option<u8>,
    /// How many trains.
    pub trains: usize,
    /// How many came to their terminals.
    pub arrived: usize,
    /// How many of them within five railroad minutes of their time: common practice, no source.
    pub on_time: usize,
    /// Railroad minutes late at the terminals, altogether.
    pub late_minutes: i64,
}

/// A run between two stations, in the form in which running times are set right (`planning::running::Observed`).
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ObservedRun {
    /// The train.
    pub train: String,
    /// Its kind, in the folder's word; empty if not written.
    pub kind: String,
    /// From where.
    pub from: String,
    /// To where.
    pub to: String,
    /// Railroad seconds reckoned.
    pub reckoned: f64,
    /// Railroad seconds it took.
    pub took: f64,
}

/// A stop with work.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ObservedStop {
    /// The train.
    pub train: String,
    /// Where.
    pub station: String,
    /// Cars taken and left.
    pub cars: usize,
    /// Real seconds reckoned, if the plan says.
    pub reckoned: Option<f64>,
    /// Real seconds from arriving to leaving, waiting included.
    pub took: f64,
}

/// What counts as on time.
const ON_TIME: RailSpan = RailSpan::from_minutes(5);

/// The figures of a session, so far or in the end.
pub fn figures(state: &State) -> Figures {
    let mut figures = Figures {
        moves: state.sheet.moves,
        ..Figures::default()
    };
    let mut classes: BTreeMap<(bool, Option<u8>), ClassFigures> = BTreeMap::new();
    let (mut first, mut last) = (i64::MAX, i64::MIN);
    for train in &state.sheet.trains {
        let class = train.sheet.class;
        let sums = classes
            .entry((class.is_none(), class))
            .or_insert(ClassFigures {
                class,
                trains: 0,
                arrived: 0,
                on_time: 0,
                late_minutes: 0,
            });
        sums.trains += 1;
        if let Some(end) = train.calls.last()
            && let Some(arrived) = end.arrived
        {
            let late = arrived - end.plan.due_arrive.unwrap_or(end.plan.arrive);
            sums.arrived += 1;
            sums.on_time += usize::from(late <= ON_TIME);
            sums.late_minutes += late.seconds().max(0) / 60;
        }
        for call in &train.calls {
            for real in [call.real_arrived, call.real_left].into_iter().flatten() {
                first = first.min(real);
                last = last.max(real);
            }
            for work in &call.work {
                match work.outcome {
                    Some(Outcome::Done) => figures.work[0] += 1,
                    Some(Outcome::Left { .. }) => figures.work[1] += 1,
                    Some(Outcome::Dropped { .. }) => figures.work[2] += 1,
                    None => {}
                }
            }
        }
        observe(state, train, &mut figures);
    }
    figures.classes = classes.into_values().collect();
    if first < last {
        figures.minutes = (last - first) as f64 / 60_000.0;
    }
    delays(state, &mut figures);
    figures
}

fn observe(state: &State, train: &TrainNow, figures: &mut Figures) {
    let name = |station: usize| state.opening.stations[station].name.clone();
    for pair in train.calls.windows(2) {
        if let (Some(left), Some(arrived)) = (pair[0].left, pair[1].arrived) {
            figures.runs.push(ObservedRun {
                train: train.sheet.symbol.clone(),
                kind: train.sheet.kind.clone(),
                from: name(pair[0].plan.station),
                to: name(pair[1].plan.station),
                reckoned: (pair[1].plan.arrive - pair[0].plan.leave).seconds() as f64,
                took: (arrived - left).seconds() as f64,
            });
        }
    }
    for call in &train.calls {
        let cars = call
            .work
            .iter()
            .filter(|work| work.outcome == Some(Outcome::Done))
            .count();
        if let (Some(arrived), Some(left), true) = (call.real_arrived, call.real_left, cars > 0) {
            let clock = &state.sheet.clock;
            figures.stops.push(ObservedStop {
                train: train.sheet.symbol.clone(),
                station: name(call.plan.station),
                cars,
                reckoned: call
                    .plan
                    .work_seconds
                    .map(|span| clock.real_millis(RailSpan::from_seconds(span)) as f64 / 1000.0),
                took: (left - arrived) as f64 / 1000.0,
            });
        }
    }
}

fn delays(state: &State, figures: &mut Figures) {
    let mut causes: BTreeMap<Cause, (usize, u32)> = BTreeMap::new();
    let mut trains: BTreeMap<String, u32> = BTreeMap::new();
    let mut places: BTreeMap<String, u32> = BTreeMap::new();
    for delay in &state.sheet.delays {
        let cause = causes.entry(delay.cause).or_default();
        cause.0 += 1;
        cause.1 += delay.minutes;
        *trains.entry(delay.train.clone()).or_default() += delay.minutes;
        if let Some(station) = &delay.station {
            *places.entry(station.clone()).or_default() += delay.minutes;
        }
    }
    let worst_first = |all: BTreeMap<String, u32>| {
        let mut all: Vec<(String, u32)> = all.into_iter().collect();
        all.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
        all
    };
    figures.causes = causes
        .into_iter()
        .map(|(cause, (times, minutes))| (cause, times, minutes))
        .collect();
    figures.by_train = worst_first(trains);
    figures.by_place = worst_first(places);
}

/// The running times observed, for a spreadsheet and for setting running times right: a line for each run.
pub fn observed_csv(figures: &Figures) -> String {
    let mut out = String::from("kind,train,from,to,reckoned_seconds,took_seconds\n");
    let cell = |text: &str| {
        if text.contains([',', '"', '\n']) {
            format!("\"{}\"", text.replace('"', "\"\""))
        } else {
            text.to_owned()
        }
    };
    for run in &figures.runs {
        let cells = [&run.kind, &run.train, &run.from, &run.to].map(|text| cell(text));
        out.push_str(&format!(
            "{},{:.0},{:.0}\n",
            cells.join(","),
            run.reckoned,
            run.took
        ));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::opening::CallSheet;

    fn call(station: usize, track: &str) -> CallSheet {
        let time = model::time::RailTime::MIDNIGHT;
        CallSheet {
            station,
            track: Some(track.into()),
            next: None,
            arrive: time,
            leave: time,
            due_arrive: None,
            due_leave: None,
            stops: true,
            meets: vec![],
            work_seconds: None,
            work: vec![],
        }
    }

    fn train(symbol: &str, track: &str) -> TrainSheet {
        TrainSheet {
            symbol: symbol.into(),
            name: None,
            class: Some(1),
            kind: String::new(),
            direction: String::new(),
            engines: vec![],
            job: None,
            calls: vec![call(0, track)],
        }
    }

    /// Where trains stand by track, moved as the list says; panics if two come to stand on one.
    fn played(tracks: &[&str], wanted: &[&str]) -> (Vec<Move>, Vec<Option<String>>) {
        let now: Vec<TrainNow> = tracks
            .iter()
            .enumerate()
            .map(|(at, track)| TrainNow::new(&train(&at.to_string(), track), false))
            .collect();
        let standing: Vec<Standing<'_>> = now
            .iter()
            .zip(tracks)
            .map(|(train, track)| Standing {
                train,
                track: Some((*track).to_owned()),
                came_by: None,
            })
            .collect();
        let sheets: Vec<TrainSheet> = wanted.iter().map(|track| train("next", track)).collect();
        let sheets: Vec<&TrainSheet> = sheets.iter().collect();
        let matched: Vec<Option<usize>> = (0..wanted.len()).map(Some).collect();
        let mut on: Vec<Option<String>> =
            tracks.iter().map(|track| Some((*track).into())).collect();
        let mut done = Vec::new();
        for (from, what) in moves(&standing, &sheets, &matched) {
            on[from] = match &what {
                Move::Aside => None,
                Move::To(track) => {
                    let taken = on
                        .iter()
                        .zip(wanted.iter().map(Some).chain(std::iter::repeat(None)))
                        .any(|(at, to)| at.as_ref() == Some(track) && to != Some(&track.as_str()));
                    assert!(!taken, "{track} is taken");
                    Some(track.clone())
                }
            };
            done.push(what);
        }
        (done, on)
    }

    #[test]
    fn a_track_is_cleared_before_another_train_is_put_on_it() {
        // The third track is free: the second train goes there first, then the first takes its place.
        let (done, on) = played(&["1", "2"], &["2", "3"]);
        assert_eq!(done, [Move::To("3".into()), Move::To("2".into())]);
        assert_eq!(on, [Some("2".into()), Some("3".into())]);
        // Round in a circle: one is taken off, and put back last.
        let (done, on) = played(&["1", "2"], &["2", "1"]);
        assert_eq!(done.iter().filter(|one| **one == Move::Aside).count(), 1);
        assert_eq!(on, [Some("2".into()), Some("1".into())]);
        // One that nobody wants is in the way.
        let (done, _) = played(&["1", "2"], &["2"]);
        assert_eq!(done, [Move::Aside, Move::To("2".into())]);
        assert_eq!(played(&["1", "2"], &["1", "2"]).0, []);
        // Two that are to stand on one track, one behind the other.
        let (done, _) = played(&["1", "2"], &["1", "1"]);
        assert_eq!(done, [Move::To("1".into())]);
    }
}
