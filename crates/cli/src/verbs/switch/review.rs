//! `sawby switch --review`: towns over many sessions, and which change of track saves most.

use std::{
    fmt::Write as _,
    io::{IsTerminal as _, Write as _},
    process::ExitCode,
    sync::atomic::{AtomicBool, Ordering},
    time::{Duration, Instant},
};

use engineering::ids::StationId;
use planning::town::{Came, Case, Reviewed, Saving, Sessions, case, end_name, quantile, savings};
use railroad::Railroad;
use serde_json::{Value, json};
use switching::Options;

use super::{moment, train_name};
use crate::outcome::{Failure, Outcome, say};

pub(super) struct Review<'a> {
    pub(super) railroad: &'a Railroad,
    pub(super) options: &'a Options,
    /// Of each train.
    pub(super) sessions: u64,
    /// Whether to try changes of track.
    pub(super) changes: bool,
    pub(super) stop: &'a AtomicBool,
}

/// One train's sessions with the seconds that each took to plan.
struct Timed {
    reviewed: Reviewed,
    planning: Vec<f64>,
}

/// Tells how far the work is, once it takes over a second.
struct Progress {
    begin: Instant,
    last: Option<Instant>,
    terminal: bool,
}

impl Progress {
    fn new() -> Self {
        Self {
            begin: Instant::now(),
            last: None,
            terminal: std::io::stderr().is_terminal(),
        }
    }

    fn tell(&mut self, what: impl FnOnce() -> String) {
        let now = Instant::now();
        let every = if self.terminal {
            Duration::from_millis(300)
        } else {
            Duration::from_secs(10)
        };
        let due = self.last.is_none_or(|last| now - last > every);
        if now - self.begin < Duration::from_secs(1) || !due {
            return;
        }
        self.last = Some(now);
        let end = if self.terminal { "\x1b[K\r" } else { "\n" };
        let _ = write!(std::io::stderr(), "{}{end}", what());
    }

    fn done(&self) {
        if self.terminal && self.last.is_some() {
            let _ = write!(std::io::stderr(), "\x1b[K");
        }
    }
}

impl Review<'_> {
    pub(super) fn run(&self, stations: &[StationId], as_json: bool) -> Outcome {
        let mut progress = Progress::new();
        let mut values = vec![];
        let mut planning: Vec<f64> = vec![];
        if !as_json && stations.len() > 1 {
            say(&format!(
                "{}: {} towns, {} typical sessions of each train.\n",
                self.railroad.identity.name,
                stations.len(),
                self.sessions
            ));
        }
        for &station in stations {
            if self.stop.load(Ordering::Relaxed) {
                break;
            }
            let sessions = Sessions::new(self.railroad, station);
            let trains = self.trains(&sessions, &mut progress)?;
            planning.extend(trains.iter().flat_map(|train| &train.planning));
            let savings = if self.changes {
                self.savings(&sessions, &trains, &mut progress)?
            } else {
                vec![]
            };
            progress.done();
            if as_json {
                values.push(self.to_json(station, &trains, &savings));
            } else {
                say(&self.text(station, &trains, &savings));
            }
        }
        if as_json {
            say(&format!("{:#}\n", Value::Array(values)));
        } else if stations.len() > 1 {
            say(&format!("\nAll towns: {}.\n", planning_words(&planning)));
        }
        Ok(ExitCode::SUCCESS)
    }

    fn name(&self, station: StationId) -> &str {
        &self.railroad.way.station(station).name.value
    }

    fn trains(
        &self,
        sessions: &Sessions<'_>,
        progress: &mut Progress,
    ) -> Result<Vec<Timed>, Failure> {
        let name = self.name(sessions.station);
        let mut out = vec![];
        for (at, &visit) in sessions.visits.iter().enumerate() {
            let mut timed = Timed {
                reviewed: Reviewed {
                    visit,
                    cases: vec![],
                },
                planning: vec![],
            };
            for seed in 0..self.sessions {
                if self.stop.load(Ordering::Relaxed) {
                    break;
                }
                progress.tell(|| format!("{name}: session {} of {}", seed + 1, self.sessions));
                let begin = Instant::now();
                let (case, planned) = self.case(sessions, at, seed)?;
                if planned {
                    timed.planning.push(begin.elapsed().as_secs_f64());
                }
                timed.reviewed.cases.push(case);
            }
            out.push(timed);
        }
        Ok(out)
    }

    fn case(&self, sessions: &Sessions<'_>, at: usize, seed: u64) -> Result<(Case, bool), Failure> {
        let stop = || self.stop.load(Ordering::Relaxed);
        case(sessions, at, seed, None, self.options, &stop)
            .map(|(case, planned)| (case, planned.is_some()))
            .map_err(|wrong| self.failed(sessions.station, &wrong))
    }

    fn failed(&self, station: StationId, wrong: &str) -> Failure {
        Failure::misunderstood(format!(
            "{} cannot be worked as it stands",
            self.name(station)
        ))
        .help(wrong)
    }

    fn savings(
        &self,
        sessions: &Sessions<'_>,
        trains: &[Timed],
        progress: &mut Progress,
    ) -> Result<Vec<Saving>, Failure> {
        let name = self.name(sessions.station);
        let reviewed: Vec<Reviewed> = trains.iter().map(|train| train.reviewed.clone()).collect();
        let stop = || self.stop.load(Ordering::Relaxed);
        savings(
            self.railroad,
            sessions,
            &reviewed,
            self.options,
            &stop,
            &mut |at, of| progress.tell(|| format!("{name}: change of track {at} of {of}")),
        )
        .map_err(|wrong| self.failed(sessions.station, &wrong))
    }

    fn text(&self, station: StationId, trains: &[Timed], savings: &[Saving]) -> String {
        let mut text = format!("\n{}\n", self.name(station));
        if trains.is_empty() {
            text.push_str("  No train works here.\n");
        }
        for train in trains {
            let visit = &train.reviewed.visit;
            let cases = &train.reviewed.cases;
            let _ = writeln!(
                text,
                "  {} from the {}: {} sessions.",
                train_name(self.railroad, visit),
                end_name(self.railroad, station, visit.enter),
                cases.len(),
            );
            let _ = writeln!(text, "    {}.", self.spread(cases));
            for line in troubles(cases) {
                let _ = writeln!(text, "    {line}.");
            }
            let _ = writeln!(text, "    {}.", planning_words(&train.planning));
        }
        if self.changes {
            if savings.is_empty() {
                text.push_str("  No single change of track that was tried saves anything.\n");
            } else {
                text.push_str("  What one change of track would save, on the same sessions:\n");
            }
            for saving in savings {
                let _ = writeln!(text, "    {}: {}.", saving.change.words, saved(saving));
            }
        }
        text
    }

    fn spread(&self, cases: &[Case]) -> String {
        let figures = Figures::of(cases);
        let nothing = figures.nothing;
        let Some([moves, seconds]) = figures.spread else {
            return format!("No plans; nothing to do in {nothing}");
        };
        let worst = figures.worst.map_or_else(String::new, |(seed, moves)| {
            format!(", most {moves} (`--session {seed}`)")
        });
        let clock = self.railroad.identity.clock;
        let real = |s: f64| format!("{:.0}", s / 60.0);
        let rail = |s: f64| format!("{:.0}", s * clock / 60.0);
        format!(
            "Moves: half take no more than {:.0}, 95 % no more than {:.0}{worst}. \
             Minutes: {}, {}, most {} ({}, {}, {} by the railroad's clock). \
             Fewest proven in {} of {}{}",
            moves[0],
            moves[1],
            real(seconds[0]),
            real(seconds[1]),
            real(seconds[2]),
            rail(seconds[0]),
            rail(seconds[1]),
            rail(seconds[2]),
            figures.proven,
            figures.plans,
            match figures.gap {
                Some(gap) => format!("; in the others at most {:.0} % too many", 100.0 * gap),
                None => String::new(),
            } + &match nothing {
                0 => String::new(),
                _ => format!("; nothing to do in {nothing}"),
            },
        )
    }

    fn to_json(&self, station: StationId, trains: &[Timed], savings: &[Saving]) -> Value {
        json!({
            "station": self.name(station),
            "trains": trains.iter().map(|train| self.train_json(station, train)).collect::<Vec<_>>(),
            "changes": savings.iter().map(|saving| json!({
                "change": saving.change.words,
                "minutes_saved_a_session": saving.seconds / 60.0,
                "moves_saved_a_session": saving.moves,
                "more_cars_worked_in_100_sessions": saving.cars,
                "sessions": saving.sessions,
            })).collect::<Vec<_>>(),
        })
    }

    fn train_json(&self, station: StationId, train: &Timed) -> Value {
        let visit = &train.reviewed.visit;
        let mut times = train.planning.clone();
        times.sort_by(f64::total_cmp);
        json!({
            "train": self.railroad.service.train(visit.train).symbol.value,
            "from": end_name(self.railroad, station, visit.enter),
            "planning_seconds_median": quantile(&times, 0.5),
            "planning_seconds_p95": quantile(&times, 0.95),
            "sessions": train.reviewed.cases.iter().map(|case| {
                let (moves, seconds, bound, proven) = match case.came {
                    Came::Plan { moves, seconds, bound, proven, .. } => (
                        json!(moves), json!(seconds), json!(bound), json!(proven),
                    ),
                    _ => (Value::Null, Value::Null, Value::Null, Value::Null),
                };
                json!({
                    "session": case.seed,
                    "cars_to_work": case.to_do,
                    "came": match case.came {
                        Came::Plan { .. } => "plan",
                        Came::Impossible => "impossible",
                        Came::NotFound => "not found",
                        Came::Nothing => "nothing to do",
                    },
                    "moves": moves,
                    "seconds": seconds,
                    "bound": bound,
                    "proven": proven,
                    "not_worked": case.left,
                })
            }).collect::<Vec<_>>(),
        })
    }
}

fn saved(saving: &Saving) -> String {
    let mut parts = vec![];
    if saving.seconds.abs() >= 1.0 {
        parts.push(format!(
            "{} {} and {:.1} moves a session",
            moment(saving.seconds.abs()),
            if saving.seconds > 0.0 { "less" } else { "more" },
            saving.moves
        ));
    }
    if saving.cars.abs() >= 0.5 {
        parts.push(format!(
            "{:.0} {} cars worked in a hundred sessions",
            saving.cars.abs(),
            if saving.cars > 0.0 { "more" } else { "fewer" }
        ));
    }
    parts.join(", ")
}

/// What cases come to.
struct Figures {
    /// Half, 95 %, the most: of moves and of seconds.
    spread: Option<[[f64; 3]; 2]>,
    /// The session of the most moves.
    worst: Option<(u64, usize)>,
    plans: usize,
    proven: usize,
    /// The widest gap of those not proven.
    gap: Option<f64>,
    nothing: usize,
}

impl Figures {
    fn of(cases: &[Case]) -> Self {
        let mut lists = [vec![], vec![]];
        let mut figures = Self {
            spread: None,
            worst: None,
            plans: 0,
            proven: 0,
            gap: None,
            nothing: 0,
        };
        for case in cases {
            match case.came {
                Came::Plan {
                    moves,
                    seconds,
                    cost,
                    bound,
                    proven,
                } => {
                    lists[0].push(moves as f64);
                    lists[1].push(seconds);
                    figures.plans += 1;
                    figures.proven += usize::from(proven);
                    if !proven {
                        let gap = f64::from(cost - bound) / f64::from(cost.max(1));
                        figures.gap = Some(figures.gap.unwrap_or(0.0).max(gap));
                    }
                    if figures.worst.is_none_or(|(_, most)| moves > most) {
                        figures.worst = Some((case.seed, moves));
                    }
                }
                Came::Nothing => figures.nothing += 1,
                Came::Impossible | Came::NotFound => {}
            }
        }
        let of = |list: &mut Vec<f64>| {
            list.sort_by(f64::total_cmp);
            Some([quantile(list, 0.5)?, quantile(list, 0.95)?, *list.last()?])
        };
        let [moves, seconds] = &mut lists;
        if let (Some(moves), Some(seconds)) = (of(moves), of(seconds)) {
            figures.spread = Some([moves, seconds]);
        }
        figures
    }
}

/// What could not be worked, the commonest first.
fn troubles(cases: &[Case]) -> Vec<String> {
    let mut out = vec![];
    let impossible = cases
        .iter()
        .filter(|case| case.came == Came::Impossible)
        .count();
    if impossible > 0 {
        out.push(format!("{impossible} sessions could not be worked at all"));
    }
    let unfound = cases
        .iter()
        .filter(|case| case.came == Came::NotFound)
        .count();
    if unfound > 0 {
        out.push(format!("for {unfound} no plan was found within the budget"));
    }
    let sessions = cases.iter().filter(|case| !case.left.is_empty()).count();
    let cars: usize = cases.iter().map(|case| case.left.len()).sum();
    if sessions > 0 {
        out.push(format!(
            "In {sessions} sessions {cars} cars in all could not be worked from this side"
        ));
        if let Some(first) = cases.iter().find_map(|case| case.left.first()) {
            out.push(format!("for instance: {first}"));
        }
    }
    out
}

fn planning_words(seconds: &[f64]) -> String {
    let mut sorted = seconds.to_vec();
    sorted.sort_by(f64::total_cmp);
    match (quantile(&sorted, 0.5), quantile(&sorted, 0.95)) {
        (Some(half), Some(most)) => format!(
            "Planning took {:.0} ms for half of them, {:.0} ms at the 95th percentile",
            1000.0 * half,
            1000.0 * most
        ),
        _ => "Nothing was planned".to_owned(),
    }
}
