//! The works that take a while.

use std::sync::atomic::{AtomicU64, Ordering};

use engineering::ids::StationId;
use model::time::RailSpan;
use planning::{
    capacity::{self, candidates},
    day::minutes,
    robust,
    town::{Came, Pace, Sessions, case, model_rates, quantile, visits},
};
use railroad::Railroad;
use switching::{Objective, Options};
use web::services::{Progress, Report, Sorry, Study, StudyWork};

use super::{BUDGET, sorry};

/// The works offered.
pub fn studies() -> Vec<(Study, StudyWork)> {
    vec![
        (
            Study {
                name: "season",
                title: "A season of sessions",
                about: "Session after session played: what fills up, what runs short, what breaks, and when.",
                asks: &[
                    ("sessions", "sessions", 50),
                    ("runs", "runs", 3),
                    ("seed", "seed", 1),
                ],
            },
            season,
        ),
        (
            Study {
                name: "capacity",
                title: "What the line will carry",
                about: "The day solved again with each siding longer, a second track, more staging.",
                asks: &[("seed", "seed", 1), ("rounds", "rounds", 4)],
            },
            line,
        ),
        (
            Study {
                name: "punctuality",
                title: "Days on which not all goes well",
                about: "The day's plan run by crews of varying pace, with cars on the ground and trains late out of staging.",
                asks: &[("days", "days", 1000), ("seed", "seed", 1)],
            },
            punctuality,
        ),
        (
            Study {
                name: "towns",
                title: "What the towns take",
                about: "Every town switched over many sessions: moves, minutes, what cannot be done.",
                asks: &[("sessions", "sessions", 20)],
            },
            towns,
        ),
    ]
}

fn season(railroad: &Railroad, numbers: &[u64], progress: &Progress) -> Result<Report, Sorry> {
    let [sessions, runs, seed] = numbers else {
        return Err(sorry("Sessions, runs and a seed are needed"));
    };
    let options = planning::season::Options {
        sessions: (*sessions).clamp(1, 2000) as u32,
        runs: (*runs).clamp(1, 100) as u32,
        seed: *seed,
        threads: 1,
        ..Default::default()
    };
    // A season cannot be broken off and gives nothing before all its runs are played: whoever stops it
    // need not wait, but the run under way is played to its end.
    let (send, answers) = std::sync::mpsc::channel();
    let (told, done) = std::sync::mpsc::channel();
    let (road, how) = (railroad.clone(), options.clone());
    std::thread::spawn(move || {
        let told = std::sync::Mutex::new(told);
        let tell = |runs: usize| {
            if let Ok(told) = told.lock() {
                let _ = told.send(runs);
            }
        };
        let _ = send.send(planning::season::season(&road, &how, &tell).report);
    });
    let report = loop {
        for runs in done.try_iter() {
            progress.done(runs as f64 / f64::from(options.runs));
        }
        match answers.recv_timeout(std::time::Duration::from_millis(100)) {
            Ok(report) => break report,
            Err(std::sync::mpsc::RecvTimeoutError::Timeout) if !progress.stopped() => {}
            Err(std::sync::mpsc::RecvTimeoutError::Timeout) => {
                return Err(sorry("It was stopped before all its runs were played"));
            }
            Err(std::sync::mpsc::RecvTimeoutError::Disconnected) => {
                return Err(sorry("The season broke off"));
            }
        }
    };
    Ok(told_season(&report))
}

fn told_season(report: &planning::season::Report) -> Report {
    let estimate = |found: &planning::season::Estimate| {
        if found.half.is_finite() {
            format!("{:.1} \u{b1} {:.1}", found.mean, found.half)
        } else {
            format!("{:.1}", found.mean)
        }
    };
    let percent = |part: f64| format!("{:.0} %", part * 100.0);
    let heads = |heads: &[&str]| heads.iter().map(|head| (*head).to_owned()).collect();
    let mut words = vec![
        format!(
            "{} sessions in {} runs: {} cars moved a session, {} loads delivered; {} orders wait on the \
             mean, {} loads for a spot, {} cars stand idle.",
            report.sessions,
            report.runs,
            estimate(&report.moved),
            estimate(&report.delivered),
            estimate(&report.waiting),
            estimate(&report.held),
            estimate(&report.idle),
        ),
        "After \u{b1} stands half the 95 per cent confidence interval over the runs.".to_owned(),
    ];
    for broken in report.broken.iter().take(12) {
        words.push(format!(
            "From session {} on (in {} of {} runs): {}.",
            broken.session, broken.runs, report.runs, broken.words
        ));
    }
    Report {
        words,
        charts: vec![(
            "How full the places are where cars are kept, nineteen of twenty sessions below".into(),
            "%".into(),
            report
                .stations
                .iter()
                .map(|station| (station.name.clone(), station.share.p95 * 100.0))
                .collect(),
        )],
        tables: vec![
            (
                "Trains".into(),
                heads(&[
                    "Train",
                    "Runs a week",
                    "Cars a run",
                    "Room",
                    "Left behind for want of it",
                    "Minutes over its stops",
                ]),
                report
                    .trains
                    .iter()
                    .map(|train| {
                        vec![
                            train.name.clone(),
                            format!("{:.1}", train.runs),
                            estimate(&train.cars),
                            format!("{:.0}", train.room),
                            estimate(&train.full),
                            estimate(&train.over),
                        ]
                    })
                    .collect(),
            ),
            (
                "Cars by kind".into(),
                heads(&[
                    "Kind",
                    "In service",
                    "Idle",
                    "Fewest idle",
                    "Orders without a car",
                ]),
                report
                    .kinds
                    .iter()
                    .map(|kind| {
                        vec![
                            kind.kind.word().to_owned(),
                            kind.cars.to_string(),
                            estimate(&kind.idle),
                            kind.least_idle.to_string(),
                            estimate(&kind.short),
                        ]
                    })
                    .collect(),
            ),
            (
                "Loads".into(),
                heads(&[
                    "Who",
                    "What",
                    "Way",
                    "Offered a week",
                    "Delivered",
                    "Days late",
                    "Oldest over a week",
                ]),
                report
                    .lanes
                    .iter()
                    .map(|lane| {
                        vec![
                            lane.who.clone(),
                            lane.commodity.clone(),
                            lane.way.clone(),
                            format!("{:.1}", lane.offered),
                            format!("{:.1}", lane.delivered),
                            estimate(&lane.late),
                            percent(lane.starved),
                        ]
                    })
                    .collect(),
            ),
        ],
    }
}

/// Days by chance. Stopped, it tells of the days that were run.
fn punctuality(railroad: &Railroad, numbers: &[u64], progress: &Progress) -> Result<Report, Sorry> {
    let [days, seed] = numbers else {
        return Err(sorry("A number of days and a seed are needed"));
    };
    let planned = planning::day::day(
        railroad,
        &planning::day::Options::default(),
        &[],
        &|| progress.stopped(),
        &mut |_| {},
    )
    .map_err(|no_day| sorry(no_day.to_string()))?;
    let options = robust::Options {
        days: (*days).clamp(1, 200_000) as u32,
        seed: *seed,
        ..Default::default()
    };
    let chances = robust::Chances::at_clock(railroad.identity.clock);
    // A day asks twice whether to go on, and more often only while a new plan is made.
    let asked = AtomicU64::new(0);
    let stop = || {
        let asked = asked.fetch_add(1, Ordering::Relaxed);
        progress.done((asked as f64 / 2.0 / f64::from(options.days)).min(0.99));
        progress.stopped()
    };
    let days = robust::run(
        &robust::of_day::worked(railroad, &planned),
        &chances,
        &options,
        &stop,
    );
    if days.days == 0 {
        return Err(sorry("It was stopped before the first day was run"));
    }
    Ok(told_days(&days, &chances, &options))
}

fn told_days(
    days: &robust::Outcome,
    chances: &robust::Chances,
    options: &robust::Options,
) -> Report {
    let span = |seconds: i64| minutes(RailSpan::from_seconds(seconds));
    let of = |seconds: f64| span(seconds.round() as i64);
    let percent = |part: f64| format!("{:.1} %", part * 100.0);
    let heads = |heads: &[&str]| heads.iter().map(|head| (*head).to_owned()).collect();
    let classes = days.classes.iter().map(|class| {
        vec![
            class.class.to_string(),
            class.trains.to_string(),
            percent(class.on_time),
            of(class.mean_late),
            span(class.nine_in_ten),
            of(class.mean_wait),
        ]
    });
    let trains = days.trains.iter().map(|train| {
        vec![
            train.name.clone(),
            train.on_time.map_or_else(String::new, percent),
            of(train.mean_late),
            of(train.mean_wait),
        ]
    });
    let slack = days.slack.iter().take(12).map(|slack| {
        let place = match &slack.to {
            Some(to) => format!("{} to {to}", slack.from),
            None => slack.from.clone(),
        };
        vec![slack.train.clone(), place, format!("{:.2}", slack.saves)]
    });
    Report {
        words: vec![
            format!(
                "{} days were run; on {} of them the dispatcher made a new plan. On time is up to {} late.",
                days.days,
                days.replanned,
                span(options.tolerance)
            ),
            format!(
                "Two thirds of the crews within {:.0} % of the usual pace, something on the ground on {:.1} of a thousand \
                 stretches for about {}, {:.0} of a hundred trains out of staging late by about {}: common practice, \
                 no source.",
                chances.pace * 100.0,
                chances.derailment * 1000.0,
                span(chances.rerailing),
                chances.late_out * 100.0,
                span(chances.late_by)
            ),
        ],
        tables: vec![
            (
                "By class".into(),
                heads(&[
                    "Class",
                    "Trains",
                    "On time",
                    "Mean late",
                    "Nine in ten under",
                    "Waits beyond the plan",
                ]),
                classes.collect(),
            ),
            (
                "By train".into(),
                heads(&["Train", "On time", "Mean late", "Waits beyond the plan"]),
                trains.collect(),
            ),
            (
                "Minutes of lateness that a minute to spare would save".into(),
                heads(&["Train", "Where", "Saves"]),
                slack.collect(),
            ),
        ],
        charts: vec![(
            "Where trains wait for each other beyond the plan".into(),
            "min a day".into(),
            days.chokes
                .iter()
                .take(12)
                .map(|choke| (choke.what.clone(), choke.mean_wait / 60.0))
                .collect(),
        )],
    }
}

fn line(railroad: &Railroad, numbers: &[u64], progress: &Progress) -> Result<Report, Sorry> {
    let [seed, rounds] = numbers else {
        return Err(sorry("A seed and a number of rounds are needed"));
    };
    let options = capacity::Options {
        seed: *seed,
        rounds: (*rounds).clamp(1, 1000),
        ..Default::default()
    };
    let all = candidates(railroad, options.longer);
    let stop = || progress.stopped();
    let told = |done: usize, of: usize| progress.done(done as f64 / of.max(1) as f64);
    let found = capacity::capacity(railroad, &[], &all, false, &options, &stop, &told)
        .map_err(|no_day| sorry(no_day.to_string()))?;
    if found.worth.is_empty() && !found.untried.is_empty() {
        return Err(sorry("It was stopped before the first answer"));
    }
    let worth = &found.worth;
    let waits: Vec<String> = found
        .waits
        .iter()
        .map(|(class, span)| format!("class {class}: {}", minutes(*span)))
        .collect();
    let loads = found
        .loads
        .iter()
        .take(12)
        .map(|load| (load.what.clone(), load.taken * 100.0))
        .collect();
    let gains = |saved: &[(i64, RailSpan)]| -> String {
        let each: Vec<String> = saved
            .iter()
            .filter(|(_, saved)| *saved != RailSpan::ZERO)
            .map(|(class, saved)| {
                let way = if *saved > RailSpan::ZERO {
                    "less"
                } else {
                    "more"
                };
                format!("class {class} waits {} {way}", minutes(saved.abs()))
            })
            .collect();
        if each.is_empty() {
            "nothing".into()
        } else {
            each.join("; ")
        }
    };
    let rows = worth
        .iter()
        .map(|worth| {
            vec![
                worth.improvement.words(railroad),
                gains(&worth.saved),
                if worth.proven { "proven" } else { "not proven" }.into(),
            ]
        })
        .collect();
    Ok(Report {
        words: vec![
            format!(
                "As the line is, trains wait for each other: {}{}.",
                waits.join(", "),
                if found.proven {
                    " (no plan waits less, proven)"
                } else {
                    ""
                }
            ),
            format!("{} of {} improvements were tried.", worth.len(), all.len()),
        ],
        charts: vec![(
            "How much of the day the fullest tracks are taken".into(),
            "%".into(),
            loads,
        )],
        tables: vec![(
            "What each improvement is worth".into(),
            ["Improvement", "Saves", "No better plan with it"]
                .map(str::to_owned)
                .to_vec(),
            rows,
        )],
    })
}

fn towns(railroad: &Railroad, numbers: &[u64], progress: &Progress) -> Result<Report, Sorry> {
    let sessions_asked = numbers.first().copied().unwrap_or(20).clamp(1, 1000);
    let options = Options {
        objective: Objective::Moves,
        node_budget: BUDGET,
        rates: model_rates(railroad.identity.scale.scale, &Pace::default()),
    };
    let mut stations: Vec<StationId> = visits(railroad).iter().map(|visit| visit.station).collect();
    stations.dedup();
    let stop = || progress.stopped();
    let mut rows = Vec::new();
    let mut bars = Vec::new();
    let mut done = 0;
    for (at, station) in stations.iter().enumerate() {
        let sessions = Sessions::new(railroad, *station);
        let name = &railroad.way.station(*station).name.value;
        for (visit, one) in sessions.visits.iter().enumerate() {
            let symbol = &railroad.service.train(one.train).symbol.value;
            let (mut moves, mut real, mut left, mut failed) = (Vec::new(), Vec::new(), 0, 0);
            for seed in 1..=sessions_asked {
                if progress.stopped() {
                    break;
                }
                let (case, _) =
                    case(&sessions, visit, seed, None, &options, &stop).map_err(sorry)?;
                left += case.left.len();
                match case.came {
                    Came::Plan {
                        moves: count,
                        seconds,
                        ..
                    } => {
                        moves.push(count as f64);
                        real.push(seconds / 60.0);
                    }
                    Came::Impossible | Came::NotFound => failed += 1,
                    Came::Nothing => {}
                }
                done += 1;
            }
            moves.sort_by(f64::total_cmp);
            real.sort_by(f64::total_cmp);
            let cell = |values: &[f64], part: f64| {
                quantile(values, part).map_or(String::new(), |value| format!("{value:.0}"))
            };
            rows.push(vec![
                format!("{name}, train {symbol}"),
                moves.len().to_string(),
                cell(&moves, 0.5),
                cell(&moves, 0.9),
                cell(&real, 0.5),
                cell(&real, 0.9),
                left.to_string(),
                failed.to_string(),
            ]);
            if let Some(middle) = quantile(&real, 0.5) {
                bars.push((format!("{name}, {symbol}"), middle));
            }
        }
        progress.done((at + 1) as f64 / stations.len() as f64);
        if progress.stopped() {
            break;
        }
    }
    let heads = [
        "Town and train",
        "Sessions with work",
        "Moves, half under",
        "9 in 10 under",
        "Minutes on the wall, half under",
        "9 in 10 under",
        "Cars left",
        "Without a plan",
    ];
    Ok(Report {
        words: vec![format!("{done} sessions were planned.")],
        charts: vec![(
            "Minutes on the wall, half the sessions under".into(),
            "min".into(),
            bars,
        )],
        tables: vec![(
            "Town by town".into(),
            heads.map(str::to_owned).to_vec(),
            rows,
        )],
    })
}
