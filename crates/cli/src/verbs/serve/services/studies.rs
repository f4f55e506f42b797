//! The works that take a while.

use engineering::ids::StationId;
use model::time::RailSpan;
use planning::{
    capacity::{self, candidates},
    day::minutes,
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
                name: "capacity",
                title: "What the line will carry",
                about: "The day solved again with each siding longer, a second track, more staging.",
                asks: &[("seed", "seed", 1), ("rounds", "rounds", 4)],
            },
            line,
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

/// How many improvements are tried on one solving of the day as it is.
const AT_ONCE: usize = 4;

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
    let mut first = None;
    let mut worth = Vec::new();
    // Some at a time, so that the work can be watched and stopped with what it has.
    for (at, some) in all.chunks(AT_ONCE).enumerate() {
        if progress.stopped() {
            break;
        }
        let found = capacity::capacity(railroad, &[], some, false, &options, &stop);
        match (found, &first) {
            (Ok(mut found), _) => {
                worth.append(&mut found.worth);
                first.get_or_insert(found);
            }
            (Err(no_day), None) => return Err(sorry(no_day.to_string())),
            (Err(_), Some(_)) => break,
        }
        progress.done(((at + 1) * AT_ONCE) as f64 / all.len().max(1) as f64);
    }
    let Some(found) = first else {
        return Err(sorry("It was stopped before the first answer"));
    };
    worth.sort_by_key(|worth| {
        worth
            .saved
            .iter()
            .map(|(_, saved)| -saved.seconds())
            .collect::<Vec<_>>()
    });
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
