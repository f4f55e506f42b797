//! `sawby close`: a session closed, and the folder made ready for the next.

use std::{fmt::Write as _, process::ExitCode};

use mechanical::CarId;
use planning::{
    bill::{NoBill, Options, bill, opening},
    close::{Closed, close},
};
use railroad::{Railroad, books::edits, edit::Desk};
use serde_json::json;
use traffic::books::{Refused, Whereabouts};

use super::rating::pick;
use crate::{
    args::Which,
    outcome::{Failure, Outcome, WRONG, load, say},
};

/// What may stand after `close`.
#[derive(Debug, clap::Args)]
pub struct CloseArgs {
    #[command(flatten)]
    which: Which,
    /// A car that was found elsewhere: `CVBE 101 = Wendry / elevator`, or `= off` if it is not on the
    /// railroad. Can be given again.
    #[arg(long, value_name = "CAR = TRACK")]
    found: Vec<String>,
    /// The dice of the session's bill: the same as for `sawby bill`.
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    seed: u64,
    /// Write where every car stands into cars.csv, and the session's moves into waybills.csv.
    #[arg(long, conflicts_with = "example")]
    write: bool,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &CloseArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let found = args
        .found
        .iter()
        .map(|text| read(railroad, text))
        .collect::<Result<Vec<_>, _>>()?;
    let books = opening(railroad, args.seed);
    let options = Options {
        seed: args.seed,
        ..Options::default()
    };
    let billed = bill(railroad, &books, &options).map_err(|NoBill::Refused(faults)| {
        Failure::misunderstood(format!("no plan can be shown: {}", faults.join("; ")))
    })?;
    let closed = close(railroad, &books, &billed, &found).map_err(|error| refused(&error))?;
    let day = railroad.identity.date.map(|date| date.value);
    let edits = edits(railroad, &closed.books, &closed.settled, day);
    if args.json {
        say(&format!("{:#}\n", value(railroad, &closed)));
    } else {
        say(&words(railroad, &closed));
    }
    if args.write {
        let mut desk = Desk::open(&args.which.folder)?;
        for edit in &edits {
            let proposal = desk
                .propose(edit)
                .map_err(|refusal| Failure::misunderstood(refusal.to_string()))?;
            desk.make(proposal)
                .map_err(|error| Failure::misunderstood(error.to_string()))?;
        }
        if !args.json {
            say(
                "cars.csv and waybills.csv are written: the folder is ready for the next session.\n",
            );
        }
    } else if !args.json {
        say("Nothing is written yet; `--write` does it.\n");
    }
    Ok(if closed.amiss.is_empty() {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(WRONG)
    })
}

fn refused(refused: &Refused) -> Failure {
    Failure::misunderstood(refused.to_string()).help(
        "if the books have other cars there that are elsewhere, say with `--found` where those are",
    )
}

/// `CVBE 101 = Wendry / elevator`.
fn read(railroad: &Railroad, text: &str) -> Result<(CarId, Whereabouts), Failure> {
    let Some((car, place)) = text.split_once('=') else {
        return Err(Failure::misunderstood(format!("--found {text}: no `=`"))
            .help("write the car, `=` and the track: `CVBE 101 = Wendry / elevator`"));
    };
    let names: Vec<&str> = railroad
        .roster
        .cars
        .iter()
        .map(|car| car.name.value.as_str())
        .collect();
    let at = pick("car", car.trim(), &names)?;
    let car = CarId(at as u32);
    if matches!(place.trim(), "off" | "away") {
        return Ok((car, Whereabouts::Aside));
    }
    let tracks: Vec<_> = railroad
        .way
        .stations()
        .flat_map(|(station, page)| {
            page.tracks()
                .map(move |(track, _)| engineering::ids::TrackRef { station, track })
        })
        .map(|track| (railroad.way.track_name(track), track))
        .collect();
    let names: Vec<&str> = tracks.iter().map(|(name, _)| name.as_str()).collect();
    let at = pick("track", place.trim(), &names)?;
    let there = Whereabouts::Track {
        track: tracks[at].1,
        spot: None,
        at: usize::MAX,
    };
    Ok((car, there))
}

fn words(railroad: &Railroad, closed: &Closed) -> String {
    let delivered = closed.settled.iter().filter(|one| one.delivered).count();
    let mut text = format!(
        "{}: the session is closed. {} cars moved by waybill, {delivered} of them came to where they go.\n",
        railroad.identity.name,
        closed.settled.len(),
    );
    let name = |car: CarId| &railroad.roster.car(car).name.value;
    if !closed.handed_over.is_empty() {
        text.push_str("\nHanded over to other roads; lift them off:\n");
        for &car in &closed.handed_over {
            let _ = writeln!(text, "  {}, {}", name(car), closed.books.words(car));
        }
    }
    if !closed.came.is_empty() {
        text.push_str("\nCame from other roads; put them on:\n");
        for &(car, track) in &closed.came {
            let _ = writeln!(
                text,
                "  {} on {}",
                name(car),
                railroad.way.track_name(track)
            );
        }
    }
    if !closed.amiss.is_empty() {
        text.push_str("\nNot as billed; say with `--found` where each stands:\n");
        for one in &closed.amiss {
            let _ = writeln!(text, "  {one}");
        }
    }
    text.push('\n');
    text
}

fn value(railroad: &Railroad, closed: &Closed) -> serde_json::Value {
    let name = |car: CarId| &railroad.roster.car(car).name.value;
    json!({
        "moves": closed.settled.iter().map(|one| json!({
            "car": name(one.car), "from": one.from, "to": one.to, "commodity": one.commodity,
            "train": one.train, "delivered": one.delivered,
        })).collect::<Vec<_>>(),
        "cars": closed.books.cars().iter().map(|book| json!({
            "car": name(book.car), "where": closed.books.words(book.car),
        })).collect::<Vec<_>>(),
        "handed_over": closed.handed_over.iter().map(|car| name(*car)).collect::<Vec<_>>(),
        "came": closed.came.iter().map(|(car, track)| json!({
            "car": name(*car), "track": railroad.way.track_name(*track),
        })).collect::<Vec<_>>(),
        "amiss": closed.amiss,
    })
}
