//! Orders on random days of growing size; and the example's orders, crews, thousand days and
//! improvements.
//!
//! `cargo run --release -p orders-bench [DAYS]`
//!
//! Times are of the processor, where the system tells them (Linux), so that a busy machine does not
//! lengthen them; else by the clock.
#![allow(clippy::print_stdout, clippy::print_stderr)]

use std::{fs, process::ExitCode, sync::OnceLock, time::Instant};

use model::time::{RailSpan, RailTime, TimeStyle};
use planning::{
    capacity,
    crews::{Goal, duties, jobs::Turn, people},
    day, orders,
    robust::{self, Chances, of_day::worked},
};
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;
use transportation::{
    crew_call::{Duty, Hand, Seat, Terms, judge},
    order::{District, DistrictNo, Place, PlaceNo, Run, Territory, Visit},
    person::Role,
    rights::ScheduleTime,
};

fn main() -> ExitCode {
    let days = std::env::args()
        .nth(1)
        .and_then(|days| days.parse().ok())
        .unwrap_or(1000);
    println!("## Orders of random days\n");
    println!("| Stations | Trains | Needs | Orders | At least | Faults | ms |");
    println!("|---|---|---|---|---|---|---|");
    for (stations, trains) in [(8, 12), (14, 24), (30, 60), (60, 120), (130, 240)] {
        let territory = random_day(stations, trains, 1);
        let begin = processor_ms();
        let paper = orders::orders(
            &territory,
            &orders::Options::default(),
            TimeStyle::TwentyFour,
        );
        println!(
            "| {stations} | {trains} | {} | {} | {} | {} | {:.1} |",
            paper.needs,
            paper.orders.len(),
            paper.at_least,
            paper.findings.len(),
            processor_ms() - begin
        );
    }
    crews_of_any_size();
    example(days)
}

fn crews_of_any_size() {
    println!("\n## People for jobs\n");
    println!(
        "| Jobs | Seats | People | Goal | Empty | At least | People used | At least | Longest | At least | Faults | ms |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|---|---|");
    for (count, people) in [(6, 12), (13, 26), (20, 40), (40, 60)] {
        let mut dice = Pcg64::seed_from_u64(count);
        let roles = [Role::Engineer, Role::Conductor, Role::Brakeman];
        let all: Vec<Duty> = (0..count)
            .map(|number| {
                let begins = dice.random_range(0..600);
                Duty {
                    name: format!("Job {number}"),
                    trains: Vec::new(),
                    begins: RailTime::from_seconds(begins * 60),
                    ends: RailTime::from_seconds((begins + dice.random_range(120..420)) * 60),
                    at: String::new(),
                    seats: roles[..2]
                        .iter()
                        .map(|role| Seat { roles: vec![*role] })
                        .collect(),
                }
            })
            .collect();
        let hands: Vec<Hand> = (0..people)
            .map(|number| Hand {
                name: format!("Hand {number}"),
                qualified: roles
                    .into_iter()
                    .filter(|_| dice.random_bool(0.6))
                    .chain([Role::Operator])
                    .collect(),
                comes: None,
                leaves: None,
            })
            .collect();
        let terms = Terms {
            rest: RailSpan::from_minutes(20),
            hours: Some(RailSpan::from_minutes(16 * 60)),
        };
        for (goal, words) in [(Goal::Fewest, "fewest"), (Goal::Fairest, "fairest")] {
            let begin = processor_ms();
            let board = people::fill(&all, &hands, &terms, goal, 300_000);
            let took = processor_ms() - begin;
            let faults = judge::judge(&all, &hands, &terms, &board.assigned, &[]);
            println!(
                "| {count} | {} | {people} | {words} | {} | {} | {} | {} | {} | {} | {} | {took:.1} |",
                2 * count,
                board.empty.len(),
                board.empty_at_least,
                board.people,
                board.people_at_least,
                board.longest,
                board.longest_at_least,
                faults.len(),
            );
        }
    }
}

fn example(days: u32) -> ExitCode {
    println!("\n## The example railroad\n");
    let folder = railroad::Folder::built_in("example").unwrap_or_default();
    let railroad = railroad::load(&folder).railroad;
    let begin = processor_ms();
    let planned = match day::day(
        &railroad,
        &day::Options::default(),
        &[],
        &|| false,
        &mut |_| {},
    ) {
        Ok(planned) => planned,
        Err(no_day) => {
            eprintln!("{no_day}");
            return ExitCode::FAILURE;
        }
    };
    println!("The day: {:.0} ms.", processor_ms() - begin);
    let begin = processor_ms();
    let territory = orders::territory::of_day(&railroad, &planned);
    let paper = orders::orders(&territory, &orders::Options::default(), TimeStyle::AmPm);
    println!(
        "Orders: {} ({} at least), {} faults, {:.1} ms.",
        paper.orders.len(),
        paper.at_least,
        paper.findings.len(),
        processor_ms() - begin
    );
    let begin = processor_ms();
    let trips = duties::trips(&railroad, &planned.plan);
    let turn = Turn {
        between: RailSpan::from_minutes(15),
        longest: Some(RailSpan::from_minutes(16 * 60)),
    };
    for (goal, words) in [(Goal::Fewest, "fewest"), (Goal::Fairest, "fairest")] {
        let (jobs, _) = duties::built(&trips, &turn, goal, RailSpan::from_minutes(20), 300_000);
        println!(
            "Jobs of its {} trains, {words}: {} ({} at least), the longest {} ({} at least), {:.1} ms so far.",
            trips.len(),
            jobs.jobs.len(),
            jobs.at_least,
            jobs.longest,
            jobs.longest_at_least,
            processor_ms() - begin
        );
    }
    let worked = worked(&railroad, &planned);
    for threads in [1, 2] {
        let (begin, clock) = (processor_ms(), Instant::now());
        let options = robust::Options {
            days,
            threads,
            ..robust::Options::default()
        };
        let chances = Chances::at_clock(railroad.identity.clock);
        let outcome = robust::run(&worked, &chances, &options, &|| false);
        let on_time: Vec<String> = outcome
            .classes
            .iter()
            .map(|class| format!("{:.1} %", class.on_time * 100.0))
            .collect();
        println!(
            "{} days on {threads} threads: {:.0} ms of the processor, {:.0} by the clock; a new plan on {}; on time by class {}.",
            outcome.days,
            processor_ms() - begin,
            clock.elapsed().as_secs_f64() * 1000.0,
            outcome.replanned,
            on_time.join(", "),
        );
    }
    let begin = processor_ms();
    let options = capacity::Options::default();
    let candidates = capacity::candidates(&railroad, options.longer);
    let count = candidates.len();
    let study = capacity::capacity(
        &railroad,
        &[],
        &candidates,
        true,
        &options,
        &|| false,
        &|_, _| {},
    );
    match study {
        Ok(found) => {
            println!(
                "{count} improvements and more trains: {:.1} s of the processor.",
                (processor_ms() - begin) / 1000.0
            );
            for worth in found.worth.iter().take(4) {
                let saved: Vec<String> = worth
                    .saved
                    .iter()
                    .map(|(class, saved)| format!("{class}: {:.1} min", saved.minutes()))
                    .collect();
                println!(
                    "  {}: {}",
                    worth.improvement.words(&railroad),
                    saved.join(", ")
                );
            }
        }
        Err(no_day) => eprintln!("{no_day}"),
    }
    ExitCode::SUCCESS
}

/// Trains over a single track, each let through where it is first; sidings hold any number.
fn random_day(stations: usize, trains: u32, seed: u64) -> Territory {
    let mut dice = Pcg64::seed_from_u64(seed);
    let mut territory = Territory {
        places: (0..stations)
            .map(|at| Place {
                name: format!("Station {at}"),
                office: Some([RailTime::MIDNIGHT, RailTime::from_hm(23, 59)]),
                hands_out: true,
            })
            .collect(),
        districts: (0..stations as u32 - 1)
            .map(|low| District {
                ends: [PlaceNo(low), PlaceNo(low + 1)],
                tracks: 1,
                blocks: 1,
                superior_up: true,
            })
            .collect(),
        runs: Vec::new(),
    };
    let mut taken: Vec<Vec<(RailTime, RailTime)>> = vec![Vec::new(); stations - 1];
    for number in 0..trains {
        // Each goes over fourteen stations at most, as on a division.
        let reach = stations.min(14);
        let low = dice.random_range(0..=stations - reach);
        let up = dice.random_bool(0.5);
        let run = RailSpan::from_minutes(dice.random_range(8..20));
        let begins = RailSpan::from_minutes(dice.random_range(0..1000));
        let late = RailSpan::from_minutes(if dice.random_bool(0.3) {
            dice.random_range(0..90)
        } else {
            0
        });
        let mut due = RailTime::MIDNIGHT + begins;
        let mut ready = due + late;
        let mut visits = Vec::new();
        for step in 0..reach {
            let place = if up {
                low + step
            } else {
                low + reach - 1 - step
            };
            let last = step + 1 == reach;
            let arrive = ready;
            let mut leave = ready;
            let next = (!last).then(|| if up { place } else { place - 1 });
            if let Some(district) = next {
                let mut spans = taken[district].clone();
                spans.sort();
                for (from, to) in spans {
                    if leave < to && from < leave + run {
                        leave = to;
                    }
                }
                taken[district].push((leave, leave + run));
            }
            visits.push(Visit {
                place: PlaceNo(place as u32),
                due: Some(ScheduleTime {
                    arrive: due,
                    leave: due,
                }),
                arrive,
                leave,
                next: next.map(|district| DistrictNo(district as u32)),
                stops: leave > arrive,
            });
            due += run;
            ready = leave + run;
        }
        territory.runs.push(Run {
            name: (2 * number + u32::from(!up)).to_string(),
            class: Some(dice.random_range(1..5)),
            visits,
            runs: true,
            works: None,
        });
    }
    territory
}

/// Milliseconds of processor time of this process, or of the clock where the system does not tell.
fn processor_ms() -> f64 {
    static BEGIN: OnceLock<Instant> = OnceLock::new();
    let clock = BEGIN.get_or_init(Instant::now).elapsed().as_secs_f64() * 1000.0;
    let Ok(stat) = fs::read_to_string("/proc/self/stat") else {
        return clock;
    };
    // The name in brackets may hold spaces; user and system time stand twelfth and thirteenth after it,
    // in hundredths of a second.
    let ticks = stat.rsplit_once(')').map(|(_, rest)| {
        rest.split_whitespace()
            .skip(11)
            .take(2)
            .filter_map(|number| number.parse::<f64>().ok())
            .sum::<f64>()
    });
    ticks.map_or(clock, |ticks| ticks * 10.0)
}
