//! `sawby plan`: the plan of the rooms.

use std::{fs, path::PathBuf, process::ExitCode};

use drawing::plan::{Part, draw, facts};

use crate::{
    args::Which,
    outcome::{Failure, Outcome, load, say},
};

/// What may stand after `plan`.
#[derive(Debug, clap::Args)]
pub struct PlanArgs {
    #[command(flatten)]
    which: Which,
    /// Only the tracks of this station.
    #[arg(long, value_name = "STATION", conflicts_with = "line")]
    station: Option<String>,
    /// Only this line and its stations.
    #[arg(long, value_name = "LINE")]
    line: Option<String>,
    /// Where to write the SVG. Standard output if left out.
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
}

pub(super) fn run(args: &PlanArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let way = &loaded.railroad.way;
    let part = if let Some(name) = &args.station {
        let names: Vec<&str> = way
            .stations()
            .map(|(_, one)| one.name.value.as_str())
            .collect();
        let at = super::rating::pick("station", name, &names)?;
        way.find_station(names[at]).map_or(Part::All, Part::Station)
    } else if let Some(name) = &args.line {
        let names: Vec<&str> = way
            .lines()
            .map(|(_, one)| one.name.value.as_str())
            .collect();
        let at = super::rating::pick("line", name, &names)?;
        way.find_line(names[at]).map_or(Part::All, Part::Line)
    } else {
        Part::All
    };
    let facts = facts(&loaded.railroad, part);
    if facts.tracks.is_empty() {
        return Err(
            Failure::misunderstood(format!("nothing of {} has a place yet", facts.title))
                .help("describe its center lines under `alignments/`"),
        );
    }
    let svg = draw(&facts, loaded.railroad.identity.units);
    match &args.output {
        Some(path) => {
            fs::write(path, svg).map_err(|error| Failure::file(path, &error))?;
            say(&format!("{}\n", path.display()));
        }
        None => say(&svg),
    }
    Ok(ExitCode::SUCCESS)
}
