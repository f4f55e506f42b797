//! `sawby` without a verb: the main job on the example railroad.

use std::{path::Path, process::ExitCode};

use drawing::track_chart::facts;
use model::{Severity, diagnostic::Look};

use super::{chart, check};
use crate::{
    args::Which,
    outcome::{Outcome, WELL, WRONG, load, say},
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
    for file in chart::write_whole(&facts, railroad.identity.units, Path::new("out"))? {
        say(&format!("track chart written: {}\n", file.display()));
    }
    say(
        "\n`sawby serve --example` opens the railroad's office in a browser; `sawby help` lists what else there is; `sawby new FOLDER` starts a railroad of your own.\n",
    );
    let wrong = loaded.count(Severity::Error) > 0;
    Ok(ExitCode::from(if wrong { WRONG } else { WELL }))
}
