//! `sawby timetable`: the day's times, by line and direction.

use std::{fmt::Write as _, process::ExitCode};

use engineering::ids::{LineId, StationId};
use planning::day::{Options, time};
use railroad::Railroad;
use serde_json::{Value, json};
use transportation::day::{DayPlan, TrainPlan};

use crate::{
    args::Which,
    outcome::{Outcome, WELL, WRONG, load, say},
};

/// What may stand after `timetable`.
#[derive(Debug, clap::Args)]
pub struct TimetableArgs {
    #[command(flatten)]
    which: Which,
    /// Build the times anew from the trains' leaving times: meets fall where they cost least.
    #[arg(long)]
    build: bool,
    /// Seed of all chance.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// How long to search, in rounds of the solver.
    #[arg(long, default_value_t = Options::default().rounds)]
    rounds: u64,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &TimetableArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let options = Options {
        seed: args.seed,
        rounds: args.rounds,
        keeps_leaving: !args.build,
        ..Options::default()
    };
    let planned = match super::day::plan(railroad, &options) {
        Ok(planned) => planned,
        Err(no_day) => {
            say(&format!("{no_day}\n"));
            return Ok(ExitCode::from(WRONG));
        }
    };
    if args.json {
        let pages: Vec<Value> = pages(railroad, &planned.plan)
            .iter()
            .map(|page| as_json(railroad, page))
            .collect();
        say(&format!("{:#}\n", Value::Array(pages)));
    } else {
        say(&text(railroad, &planned.plan));
    }
    Ok(ExitCode::from(WELL))
}

/// The trains of one line in one direction.
struct Page<'a> {
    line: LineId,
    direction: String,
    stations: Vec<StationId>,
    trains: Vec<&'a TrainPlan>,
}

fn pages<'a>(railroad: &Railroad, plan: &'a DayPlan) -> Vec<Page<'a>> {
    let mut pages = Vec::new();
    for (line, page) in railroad.way.lines() {
        for up in [true, false] {
            let mut stations = railroad.way.line_stations(line).to_vec();
            if !up {
                stations.reverse();
            }
            let place = |id| stations.iter().position(|station| *station == id);
            let mut trains: Vec<&TrainPlan> = plan
                .trains
                .iter()
                .filter(|train| {
                    train.calls.windows(2).any(|pair| {
                        match (place(pair[0].station), place(pair[1].station)) {
                            (Some(from), Some(to)) => to == from + 1,
                            _ => false,
                        }
                    })
                })
                .collect();
            trains.sort_by_key(|train| (train.class, train.hours()));
            if !trains.is_empty() {
                pages.push(Page {
                    line,
                    direction: page.directions[usize::from(up)].clone(),
                    stations,
                    trains,
                });
            }
        }
    }
    pages
}

/// The whole timetable in print: a block for each line and direction, eight trains abreast.
pub(super) fn text(railroad: &Railroad, plan: &DayPlan) -> String {
    let mut out = String::new();
    for page in pages(railroad, plan) {
        for trains in page.trains.chunks(8) {
            let _ = writeln!(
                out,
                "{}, {}bound",
                railroad.way.line(page.line).name.value,
                page.direction
            );
            let _ = write!(out, "{:<20}", "");
            for train in trains {
                let _ = write!(out, "{:>11}", train.symbol);
            }
            let _ = write!(out, "\n{:<20}", "class");
            for train in trains {
                let _ = write!(out, "{:>11}", train.class);
            }
            out.push('\n');
            for &station in &page.stations {
                let name = &railroad.way.station(station).name.value;
                let mut arrive = format!("{:<20}", "");
                let mut leave = format!("{name:<20}");
                let mut two = false;
                for train in trains {
                    let at = train.calls.iter().position(|call| call.station == station);
                    let (mut came, mut goes) = (String::new(), String::new());
                    if let Some(at) = at {
                        let call = &train.calls[at];
                        let last = at + 1 == train.calls.len();
                        let mark = if call.meets.is_empty() { "" } else { "*" };
                        if last {
                            goes = format!("a {}{mark}", time(railroad, call.arrive));
                        } else {
                            goes = format!("{}{mark}", time(railroad, call.leave));
                            if at > 0 && call.stops {
                                came = format!("a {}", time(railroad, call.arrive));
                                two = true;
                            }
                        }
                    }
                    let _ = write!(arrive, "{came:>11}");
                    let _ = write!(leave, "{goes:>11}");
                }
                if two {
                    let _ = writeln!(out, "{}", arrive.trim_end());
                }
                let _ = writeln!(out, "{}", leave.trim_end());
            }
            let _ = writeln!(out, "a arrives; * meets or passes another train there\n");
        }
    }
    out
}

fn as_json(railroad: &Railroad, page: &Page<'_>) -> Value {
    let trains: Vec<Value> = page
        .trains
        .iter()
        .map(|train| {
            let calls: Vec<Value> = train
                .calls
                .iter()
                .filter(|call| page.stations.contains(&call.station))
                .map(|call| {
                    json!({
                        "station": railroad.way.station(call.station).name.value,
                        "arrive_seconds": call.arrive.seconds(),
                        "leave_seconds": call.leave.seconds(),
                        "stops": call.stops,
                    })
                })
                .collect();
            json!({ "train": train.symbol, "class": train.class, "calls": calls })
        })
        .collect();
    json!({
        "line": railroad.way.line(page.line).name.value,
        "direction": page.direction,
        "trains": trains,
    })
}
