//! `sawby` without a verb: the main job on the example railroad.

use std::{path::Path, process::ExitCode};

use drawing::track_chart::facts;
use model::{Severity, diagnostic::Look};

use planning::day::{Options, Worked};
use railroad::Railroad;

use super::{
    chart, check,
    day::{self, Session},
};
use crate::{
    args::Which,
    outcome::{Failure, Outcome, WELL, WRONG, load, say},
};

pub(super) fn run() -> Outcome {
    let loaded = load(&Which {
        folder: ".".into(),
        example: true,
    })?;
    let railroad = &loaded.railroad;
    let (way, roster) = (&railroad.way, &railroad.roster);
    let facts: Vec<_> = way.lines().map(|(line, _)| facts(railroad, line)).collect();
    let track: f64 = facts.iter().map(|facts| facts.length.feet()).sum();
    let tracks: usize = way
        .stations
        .iter()
        .map(|station| station.tracks.len())
        .sum();
    let switches: usize = way
        .stations
        .iter()
        .map(|station| station.switches.len())
        .sum();
    say(&format!(
        "{}, {}: {} lines with {track:.0} ft of main track, {} stations with {tracks} tracks and \
         {switches} switches, {} cars, {} engines, {} trains.\n\n",
        railroad.identity.name,
        railroad.identity.scale.name,
        way.lines.len(),
        way.stations.len(),
        roster.cars.len(),
        roster.engines.len(),
        railroad.service.trains.len(),
    ));
    say(&loaded.report(Look::Coloured));
    say(&format!("{}\n\n", check::summary(&loaded)));
    let out = Path::new("out");
    for file in chart::write_whole(&facts, railroad.identity.units, out)? {
        say(&format!("track chart written: {}\n", file.display()));
    }
    let well = the_day(railroad, out)?;
    say(
        "\n`sawby serve --example` opens the railroad's office in a browser; `sawby help` lists what else there is; `sawby new FOLDER` starts a railroad of your own.\n",
    );
    let wrong = loaded.count(Severity::Error) > 0 || !well;
    Ok(ExitCode::from(if wrong { WRONG } else { WELL }))
}

/// Plans the day and writes what it takes to run it; whether there is a plan.
fn the_day(railroad: &Railroad, out: &Path) -> Result<bool, Failure> {
    let session = match Session::plan(railroad, &Options::default()) {
        Ok(session) => session,
        Err(no_day) => {
            say(&format!("{no_day}\n"));
            return Ok(false);
        }
    };
    if let Some(billed) = &session.billed {
        let cars: usize = billed
            .made_up
            .iter()
            .map(transportation::MadeUp::cars)
            .sum();
        let seconds: f64 = session.worked.iter().filter_map(Worked::seconds).sum();
        say(&format!(
            "{} waybills; {cars} cars in {} trains within their tonnage; {} stops switched, {:.0} real \
             minutes of work.\n",
            billed.bills.len(),
            billed.made_up.len(),
            session.worked.len(),
            seconds / 60.0,
        ));
    }
    say(&day::summary(railroad, &session.planned));
    say("\n");
    say(&day::too_short(railroad, &session));
    say("\n");
    for (path, what) in day::write_all(railroad, &session, out)? {
        say(&format!("{}: {what}\n", path.display()));
    }
    Ok(true)
}
