//! `sawby day`: the whole operating day, planned and explained.

use std::{fmt::Write as _, fs, path::PathBuf, process::ExitCode};

use model::time::RailSpan;
use planning::day::{self, Day, NoDay, Options, minutes, time, track_at};
use railroad::Railroad;
use serde_json::{Value, json};
use transportation::day::{Call, Holds, TrainPlan};

use crate::{
    args::Which,
    outcome::{Failure, Outcome, WELL, WRONG, load, say},
};

/// What may stand after `day`.
#[derive(Debug, clap::Args)]
pub struct DayArgs {
    #[command(flatten)]
    which: Which,
    /// Seed of all chance.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// How long to search, in rounds of the solver.
    #[arg(long, default_value_t = Options::default().rounds)]
    rounds: u64,
    /// Threads; the answer does not depend on them.
    #[arg(long, default_value_t = 1)]
    threads: usize,
    /// Let trains leave stations on the way before their written times.
    #[arg(long)]
    ahead_of_time: bool,
    /// Write what crews and dispatcher need into this folder.
    #[arg(short, long, value_name = "FOLDER")]
    output: Option<PathBuf>,
    /// Write the dispatching problem, for other solvers, into this file.
    #[arg(long, value_name = "FILE")]
    export: Option<PathBuf>,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

impl DayArgs {
    fn options(&self) -> Options {
        Options {
            seed: self.seed,
            rounds: self.rounds,
            threads: self.threads,
            keeps_leaving: !self.ahead_of_time,
            ..Options::default()
        }
    }
}

pub(super) fn run(args: &DayArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let planned = match plan(railroad, &args.options()) {
        Ok(planned) => planned,
        Err(no_day) => {
            say(&format!("{no_day}\n"));
            return Ok(ExitCode::from(WRONG));
        }
    };
    if let Some(path) = &args.export {
        let text = dispatching::json::write_problem(&planned.problem);
        fs::write(path, text).map_err(|error| Failure::file(path, &error))?;
    }
    if args.json {
        say(&format!("{:#}\n", as_json(railroad, &planned)));
    } else {
        say(&summary(railroad, &planned));
    }
    Ok(ExitCode::from(WELL))
}

/// Plans the day of a railroad.
pub(super) fn plan(railroad: &Railroad, options: &Options) -> Result<Day, NoDay> {
    let made = Vec::new();
    day::day(railroad, options, &made, &|| false, &mut |_| {})
}

/// The day in a page of text.
pub(super) fn summary(railroad: &Railroad, planned: &Day) -> String {
    let mut out = String::new();
    let plan = &planned.plan;
    let waits: usize = plan.trains.iter().map(|train| train.waits.len()).sum();
    let meets: usize = plan
        .trains
        .iter()
        .flat_map(|train| &train.calls)
        .map(|call| call.meets.len())
        .sum::<usize>()
        / 2;
    let _ = writeln!(
        out,
        "{} trains, {meets} meets and passes, {waits} waits; {}.",
        plan.trains.len(),
        plan.method
    );
    for loss in &plan.losses {
        let proven = match (loss.is_proven(), loss.at_least) {
            (true, _) => "no plan does better".to_owned(),
            (false, Some(least)) if least > RailSpan::ZERO => {
                format!("no plan below {}", minutes(least))
            }
            _ => "not proven".to_owned(),
        };
        let _ = writeln!(
            out,
            "  class {}: {} late altogether ({proven})",
            loss.class,
            minutes(loss.lost)
        );
    }
    for train in &plan.trains {
        let _ = writeln!(out, "\n{}", heading(railroad, train));
        for call in &train.calls {
            if let Some(line) = call_line(railroad, planned, call) {
                let _ = writeln!(out, "  {line}");
            }
        }
        for wait in &train.waits {
            let place = &railroad.way.station(wait.station).name.value;
            let _ = writeln!(
                out,
                "  waits {} {} {place}: {}",
                minutes(wait.length()),
                if wait.outside { "outside" } else { "at" },
                wait.chain.first().map_or("", String::as_str)
            );
        }
    }
    out
}

fn heading(railroad: &Railroad, train: &TrainPlan) -> String {
    let name = train
        .train
        .and_then(|id| railroad.service.train(id).name.clone())
        .map_or_else(String::new, |name| format!(", {name}"));
    let late = match train.late() {
        Some(late) if late >= RailSpan::from_seconds(30) => format!(", {} late", minutes(late)),
        Some(_) => ", on time".to_owned(),
        None => String::new(),
    };
    format!(
        "{}{name}: class {}, {}{late}",
        train.symbol, train.class, train.direction
    )
}

fn call_line(railroad: &Railroad, planned: &Day, call: &Call) -> Option<String> {
    if !call.stops && call.meets.is_empty() {
        return None;
    }
    let page = railroad.way.station(call.station);
    let mut line = format!("{:<16}", page.name.value);
    let arrive = time(railroad, call.arrive);
    let leave = time(railroad, call.leave);
    let _ = write!(line, "{arrive:>9} {leave:>9}");
    if let Some(track) = call.track {
        let _ = write!(line, "  {}", track_at(railroad, call.station, track));
    }
    for meet in &call.meets {
        let other = &planned.plan.trains[meet.other.0].symbol;
        let holds = match meet.holds {
            Holds::Clear => String::new(),
            holds => format!(" ({holds})"),
        };
        let _ = write!(line, "; {} {other}{holds}", meet.kind);
    }
    Some(line)
}

/// The day as JSON.
pub(super) fn as_json(railroad: &Railroad, planned: &Day) -> Value {
    let station = |id| railroad.way.station(id).name.value.as_str();
    let trains: Vec<Value> = planned
        .plan
        .trains
        .iter()
        .map(|train| {
            let calls: Vec<Value> = train
                .calls
                .iter()
                .map(|call| {
                    json!({
                        "station": station(call.station),
                        "track": call.track.map(|track| railroad.way.station(call.station).track(track).name.value.as_str()),
                        "arrive_seconds": call.arrive.seconds(),
                        "leave_seconds": call.leave.seconds(),
                        "due_arrive_seconds": call.due_arrive.map(|time| time.seconds()),
                        "due_leave_seconds": call.due_leave.map(|time| time.seconds()),
                        "stops": call.stops,
                        "work_seconds": call.work.map(|span| span.seconds()),
                        "meets": call.meets.iter().map(|meet| json!({
                            "train": planned.plan.trains[meet.other.0].symbol,
                            "kind": meet.kind.word(),
                            "this_train": meet.holds.word(),
                        })).collect::<Vec<_>>(),
                    })
                })
                .collect();
            let waits: Vec<Value> = train
                .waits
                .iter()
                .map(|wait| {
                    json!({
                        "station": station(wait.station),
                        "outside": wait.outside,
                        "from_seconds": wait.from.seconds(),
                        "until_seconds": wait.until.seconds(),
                        "for": wait.for_whom.iter().map(|other| planned.plan.trains[other.0].symbol.as_str()).collect::<Vec<_>>(),
                        "at": wait.at_what,
                        "why": wait.chain,
                        "costs_time": wait.costs,
                    })
                })
                .collect();
            json!({
                "train": train.symbol,
                "class": train.class,
                "direction": train.direction,
                "extra": train.extra,
                "late_seconds": train.late().map(|late| late.seconds()),
                "calls": calls,
                "waits": waits,
            })
        })
        .collect();
    json!({
        "method": planned.plan.method.word(),
        "seed": planned.plan.seed,
        "proven": planned.proven,
        "classes": planned.plan.losses.iter().map(|loss| json!({
            "class": loss.class,
            "late_seconds": loss.lost.seconds(),
            "at_least_seconds": loss.at_least.map(|span| span.seconds()),
        })).collect::<Vec<_>>(),
        "trains": trains,
    })
}
