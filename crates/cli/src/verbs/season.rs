//! `sawby season`: many sessions played before a car is moved.

mod json;
mod words;

use std::{
    fs,
    io::{IsTerminal as _, Write as _},
    path::PathBuf,
    process::ExitCode,
};

use drawing::season::{Kind, Place, occupancy, supply};
use model::units::Actual;
use planning::season::{Advice, Options, Season, advice, balance, season};
use railroad::Railroad;

use crate::{
    args::Which,
    outcome::{Failure, Outcome, load, say},
};

/// What may stand after `season`.
#[derive(Debug, clap::Args)]
pub struct SeasonArgs {
    #[command(flatten)]
    which: Which,
    /// How many sessions to play, one after another.
    #[arg(long, value_name = "NUMBER", default_value_t = 200, value_parser = clap::value_parser!(u32).range(1..=100_000))]
    sessions: u32,
    /// How many times, each with other dice: the intervals rest on these.
    #[arg(long, value_name = "NUMBER", default_value_t = 5, value_parser = clap::value_parser!(u32).range(1..=1000))]
    runs: u32,
    /// The dice. The same number gives the same answer.
    #[arg(long, value_name = "NUMBER", default_value_t = 1)]
    seed: u64,
    /// On how many threads; the answer is the same on any number.
    #[arg(long, value_name = "NUMBER")]
    threads: Option<usize>,
    /// Let the months go by with the sessions; else every session is of the railroad's own month.
    #[arg(long)]
    calendar: bool,
    /// Put charts into this folder: how full yards and staging are, and what the cars do.
    #[arg(long, value_name = "FOLDER")]
    charts: Option<PathBuf>,
    /// Try changes that the counts suggest, each on the same dice, and give those that help.
    #[arg(long)]
    advice: bool,
    /// Everything: every track, shipper and train, not only what is worth a look.
    #[arg(long)]
    all: bool,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &SeasonArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    if railroad.traffic.flows.is_empty() {
        return Err(Failure::misunderstood("nobody ships or receives anything")
            .help("write shippers.csv: `sawby check` says what belongs in it"));
    }
    if railroad.roster.cars.is_empty() {
        return Err(Failure::misunderstood("there are no cars")
            .help("write cars.csv, or bring one in with `sawby import cars`"));
    }
    let threads = args
        .threads
        .unwrap_or_else(|| std::thread::available_parallelism().map_or(1, usize::from));
    let options = Options {
        sessions: args.sessions,
        runs: args.runs,
        seed: args.seed,
        threads,
        calendar_moves: args.calendar,
        ..Options::default()
    };
    let terminal = std::io::stderr().is_terminal();
    let season = season(railroad, &options, &|done| {
        if terminal {
            let _ = write!(std::io::stderr(), "\rrun {done} of {}", args.runs);
        }
    });
    if terminal {
        let _ = write!(std::io::stderr(), "\r\x1b[K");
    }
    let advice: Option<Vec<Advice>> = args.advice.then(|| {
        let found = advice(railroad, &options, &season, &mut |at, count| {
            if terminal {
                let _ = write!(std::io::stderr(), "\rchange {at} of {count}");
            }
        });
        if terminal {
            let _ = write!(std::io::stderr(), "\r\x1b[K");
        }
        found
    });
    let balance = balance(railroad, &options);
    if args.json {
        let value = json::report(&season, balance.as_ref(), advice.as_deref());
        say(&format!("{value:#}\n"));
    } else {
        say(&words::report(railroad, &season, args.all));
        if !args.all {
            say("`--all` lists every track and load.\n");
        }
        match &balance {
            Ok(balance) => say(&words::balance(balance, args.all)),
            Err(why) => say(&format!("\nIn expectation: not reckoned. {why}.\n")),
        }
        if let Some(advice) = &advice {
            say(&words::advice(advice));
        }
    }
    if let Some(folder) = &args.charts {
        for path in charts(railroad, &season, folder)? {
            if !args.json {
                say(&format!("{}\n", path.display()));
            }
        }
    }
    Ok(ExitCode::SUCCESS)
}

fn charts(
    railroad: &Railroad,
    season: &Season,
    folder: &std::path::Path,
) -> Result<Vec<PathBuf>, Failure> {
    fs::create_dir_all(folder).map_err(|error| Failure::file(folder, &error))?;
    drawn(railroad, season)
        .into_iter()
        .map(|(name, svg)| {
            let path = folder.join(name);
            fs::write(&path, svg).map_err(|error| Failure::file(&path, &error))?;
            Ok(path)
        })
        .collect()
}

/// A season of so many sessions and runs as it goes on paper.
pub(super) fn paper(railroad: &Railroad) -> Option<paper::forms::season::Season> {
    if railroad.traffic.flows.is_empty() || railroad.roster.cars.is_empty() {
        return None;
    }
    let options = Options {
        threads: std::thread::available_parallelism().map_or(1, usize::from),
        ..Options::default()
    };
    let season = season(railroad, &options, &|_| {});
    Some(paper::forms::season::Season {
        report: words::report(railroad, &season, false),
        charts: drawn(railroad, &season)
            .into_iter()
            .map(|(_, svg)| svg)
            .collect(),
    })
}

/// The charts: file name and SVG.
fn drawn(railroad: &Railroad, season: &Season) -> Vec<(String, String)> {
    let report = &season.report;
    let about = format!(
        "{} runs of {} sessions; each session at its fullest",
        report.runs, report.sessions
    );
    let places: Vec<Place> = report
        .stations
        .iter()
        .filter(|station| station.share.max > 0.0)
        .map(|station| Place {
            name: station.name.clone(),
            room: format!(
                "{} of track for cars",
                railroad
                    .identity
                    .units
                    .show(Actual::from_inches(station.inches))
            ),
            sessions: station
                .by_session
                .iter()
                .map(|share| [share.median, share.p95, share.max])
                .collect(),
        })
        .collect();
    let title = format!(
        "{}: how full its yards and staging are",
        railroad.identity.name
    );
    let sheets = occupancy(&title, &about, &places);
    let mut files: Vec<(String, String)> = sheets
        .into_iter()
        .enumerate()
        .map(|(at, svg)| match at {
            0 => ("season-tracks.svg".to_owned(), svg),
            _ => (format!("season-tracks-{}.svg", at + 1), svg),
        })
        .collect();
    let kinds: Vec<Kind> = report
        .kinds
        .iter()
        .filter(|kind| kind.cars > 0 || kind.short.mean > 0.0)
        .map(|kind| Kind {
            name: kind.kind.to_string(),
            cars: kind.cars as f64,
            idle: kind.idle.mean,
            short: kind.short.mean,
        })
        .collect();
    let title = format!("{}: what its cars do", railroad.identity.name);
    let about = format!(
        "{} runs of {} sessions; cars of each kind on the mean of a session's end",
        report.runs, report.sessions
    );
    files.push(("season-cars.svg".to_owned(), supply(&title, &about, &kinds)));
    files
}
