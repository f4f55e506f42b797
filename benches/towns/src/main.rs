//! Every town that trains work on the example and the learning road, so many typical sessions of each
//! train: time to plan and proven gaps. Every plan is replayed by the judge.
//!
//! `cargo run --release -p towns-bench [SESSIONS [BUDGET [TOWN]]]`
//!
//! Times are of the processor, where the system tells them (Linux), so that a busy machine does not
//! lengthen them; else by the clock.
#![allow(clippy::print_stdout, clippy::print_stderr)]

use std::{fs, process::ExitCode, sync::OnceLock, time::Instant};

use planning::town::{Came, Pace, Sessions, case, model_rates, quantile, visits};
use switching::{Answer, Options};

fn main() -> ExitCode {
    let mut numbers = std::env::args().skip(1).map(|arg| arg.parse::<u64>());
    let sessions = numbers.next().and_then(Result::ok).unwrap_or(100);
    let budget = numbers.next().and_then(Result::ok).unwrap_or(150_000);
    let only = std::env::args().nth(3);
    println!(
        "{sessions} sessions of each train, at most {budget} arrangements each; one thread.\n"
    );
    println!(
        "| Town | Train | Cars, median | p95 | Planned | Proven | Mean gap | Widest | Moves, median | p95 | Plan ms, median | p95 | worst |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|---|---|---|");
    let mut all = Column::default();
    let mut refused = 0;
    for name in ["example", "learning"] {
        let folder = railroad::Folder::built_in(name).unwrap_or_default();
        let railroad = railroad::load(&folder).railroad;
        let options = Options {
            node_budget: budget,
            rates: model_rates(railroad.identity.scale.scale, &Pace::default()),
            ..Options::default()
        };
        let mut stations: Vec<_> = visits(&railroad)
            .iter()
            .map(|visit| visit.station)
            .collect();
        stations.dedup();
        stations.retain(|id| {
            only.as_ref()
                .is_none_or(|only| railroad.way.station(*id).name.value == *only)
        });
        for station in stations {
            let town = Sessions::new(&railroad, station);
            for (at, visit) in town.visits.iter().enumerate() {
                let mut column = Column::default();
                for seed in 0..sessions {
                    let begin = processor_ms();
                    let (case, planned) = match case(&town, at, seed, None, &options, &|| false) {
                        Ok(done) => done,
                        Err(wrong) => {
                            eprintln!("{wrong}");
                            return ExitCode::FAILURE;
                        }
                    };
                    let took = processor_ms() - begin;
                    if let Some(planned) = planned {
                        if let Answer::Solved(solved) = &planned.answer
                            && let Err(why) = switching::replay(
                                &planned.asked.town.town,
                                &planned.asked.work,
                                &solved.plan,
                            )
                        {
                            eprintln!("refused, session {seed}: {why}");
                            refused += 1;
                        }
                        column.cars.push(case.to_do as f64);
                        column.note(case.came, took, case.left.len());
                    }
                }
                println!(
                    "| {} | {} {}",
                    railroad.way.station(station).name.value,
                    railroad.service.train(visit.train).symbol.value,
                    column.row()
                );
                all.join(column);
            }
        }
    }
    println!("| All | {}", all.row());
    println!(
        "\n{} sessions with work; {} without a plan within the budget, {} proven impossible; {} cars set aside as impossible from that side; {refused} plans refused by the judge.",
        all.times.len(),
        all.unfound,
        all.impossible,
        all.left
    );
    if refused > 0 {
        ExitCode::FAILURE
    } else {
        ExitCode::SUCCESS
    }
}

/// Milliseconds that this thread has run.
fn processor_ms() -> f64 {
    static BEGIN: OnceLock<Instant> = OnceLock::new();
    let ran = fs::read_to_string("/proc/thread-self/schedstat")
        .ok()
        .and_then(|text| text.split_whitespace().next()?.parse::<f64>().ok());
    match ran {
        Some(nanoseconds) => nanoseconds / 1e6,
        None => BEGIN.get_or_init(Instant::now).elapsed().as_secs_f64() * 1000.0,
    }
}

#[derive(Default)]
struct Column {
    cars: Vec<f64>,
    times: Vec<f64>,
    moves: Vec<f64>,
    gaps: Vec<f64>,
    proven: usize,
    unfound: usize,
    impossible: usize,
    left: usize,
}

impl Column {
    fn note(&mut self, came: Came, took: f64, left: usize) {
        self.times.push(took);
        self.left += left;
        match came {
            Came::Plan {
                moves,
                cost,
                bound,
                proven,
                ..
            } => {
                self.moves.push(moves as f64);
                self.gaps
                    .push(f64::from(cost - bound) / f64::from(cost.max(1)));
                self.proven += usize::from(proven);
            }
            Came::NotFound => self.unfound += 1,
            Came::Impossible => self.impossible += 1,
            Came::Nothing => {}
        }
    }

    fn join(&mut self, other: Self) {
        self.cars.extend(other.cars);
        self.times.extend(other.times);
        self.moves.extend(other.moves);
        self.gaps.extend(other.gaps);
        self.proven += other.proven;
        self.unfound += other.unfound;
        self.impossible += other.impossible;
        self.left += other.left;
    }

    fn row(&self) -> String {
        if self.times.is_empty() {
            return "| nothing to do | | | | | | | | | | |".to_owned();
        }
        let sorted = |list: &[f64]| {
            let mut list = list.to_vec();
            list.sort_by(f64::total_cmp);
            list
        };
        let (times, moves, gaps) = (sorted(&self.times), sorted(&self.moves), sorted(&self.gaps));
        let cars = sorted(&self.cars);
        let at = |list: &[f64], part| quantile(list, part).unwrap_or(f64::NAN);
        let mean = gaps.iter().sum::<f64>() / gaps.len().max(1) as f64;
        format!(
            "| {:.0} | {:.0} | {} of {} | {} | {:.1} % | {:.0} % | {:.0} | {:.0} | {:.0} | {:.0} | {:.0} |",
            at(&cars, 0.5),
            at(&cars, 0.95),
            moves.len(),
            times.len(),
            self.proven,
            100.0 * mean,
            100.0 * at(&gaps, 1.0),
            at(&moves, 0.5),
            at(&moves, 0.95),
            at(&times, 0.5),
            at(&times, 0.95),
            at(&times, 1.0),
        )
    }
}
