//! `sawby chart`: the track chart of each line.

use std::{
    fs,
    path::{Path, PathBuf},
    process::ExitCode,
};

use drawing::track_chart::{self, Facts, Paper};
use engineering::ids::LineId;
use model::{diagnostic::nearest, units::Actual};
use railroad::{Loaded, identity::UnitsStyle};
use serde_json::{Value, json};

use crate::{
    args::Which,
    outcome::{Failure, Outcome, load, say},
};

/// What may stand after `chart`.
#[derive(Debug, clap::Args)]
pub struct ChartArgs {
    #[command(flatten)]
    which: Which,
    /// Only this line; all lines if left out.
    #[arg(long, value_name = "LINE")]
    line: Option<String>,
    /// Where to write: a file for one drawing as wide as the paper, or a folder for pages. Standard
    /// output if left out.
    #[arg(short, long, value_name = "FILE or FOLDER")]
    output: Option<PathBuf>,
    /// Write the pages of this paper, lying on its side, into the folder named by -o.
    #[arg(long, value_enum, value_name = "PAPER", requires = "output")]
    paper: Option<PaperArg>,
    /// Print the chart's facts as JSON instead.
    #[arg(long)]
    json: bool,
}

/// Paper sizes.
#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum PaperArg {
    /// 11 by 8.5 inches.
    Letter,
    /// 297 by 210 mm.
    A4,
}

pub(super) fn run(args: &ChartArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let lines = lines(&loaded, args.line.as_deref())?;
    let units = loaded.railroad.identity.units;
    let facts: Vec<Facts> = lines
        .iter()
        .map(|&line| track_chart::facts(&loaded.railroad, line))
        .collect();
    if args.json {
        let all: Vec<Value> = facts.iter().map(|facts| to_json(facts, units)).collect();
        let text = format!("{:#}\n", Value::Array(all));
        match &args.output {
            Some(path) => write(path, &text)?,
            None => say(&text),
        }
    } else if let Some(paper) = args.paper {
        let paper = match paper {
            PaperArg::Letter => Paper::Letter,
            PaperArg::A4 => Paper::A4,
        };
        let folder = args.output.as_deref().unwrap_or(Path::new("."));
        fs::create_dir_all(folder).map_err(|error| Failure::file(folder, &error))?;
        for facts in &facts {
            for (at, page) in track_chart::pages(facts, units, paper).iter().enumerate() {
                let file = folder.join(format!("{}-{}.svg", file_name(&facts.line), at + 1));
                write(&file, page)?;
                say(&format!("{}\n", file.display()));
            }
        }
    } else {
        let [first, others @ ..] = facts.as_slice() else {
            return Ok(ExitCode::SUCCESS);
        };
        match &args.output {
            None if others.is_empty() => say(&track_chart::whole(first, units, Paper::Letter)),
            None => {
                return Err(Failure::misunderstood("there are several lines")
                    .help("name one with --line, or a folder with -o for a drawing of each"));
            }
            Some(path) => {
                for file in write_whole(&facts, units, path)? {
                    say(&format!("{}\n", file.display()));
                }
            }
        }
    }
    Ok(ExitCode::SUCCESS)
}

/// Writes one drawing for each line: to the file itself if there is one line, else beside it with the
/// line's name added.
pub(super) fn write_whole(
    facts: &[Facts],
    units: UnitsStyle,
    path: &Path,
) -> Result<Vec<PathBuf>, Failure> {
    let mut written = Vec::new();
    for facts in facts {
        let file = if path.extension().is_none() {
            path.join(format!("{}.svg", file_name(&facts.line)))
        } else if written.is_empty() {
            path.to_owned()
        } else {
            let stem = path
                .file_stem()
                .map(|stem| stem.to_string_lossy().into_owned());
            let stem = stem.unwrap_or_default();
            path.with_file_name(format!("{stem}-{}.svg", file_name(&facts.line)))
        };
        if let Some(parent) = file.parent() {
            fs::create_dir_all(parent).map_err(|error| Failure::file(parent, &error))?;
        }
        write(&file, &track_chart::whole(facts, units, Paper::Letter))?;
        written.push(file);
    }
    Ok(written)
}

fn write(path: &Path, text: &str) -> Result<(), Failure> {
    fs::write(path, text).map_err(|error| Failure::file(path, &error))
}

/// A line's name as that of a file.
pub(super) fn file_name(line: &str) -> String {
    let plain: String = line
        .to_lowercase()
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { '-' })
        .collect();
    plain.trim_matches('-').to_owned()
}

fn lines(loaded: &Loaded, name: Option<&str>) -> Result<Vec<LineId>, Failure> {
    let way = &loaded.railroad.way;
    let Some(name) = name else {
        return Ok(way.lines().map(|(line, _)| line).collect());
    };
    way.find_line(name).map(|line| vec![line]).ok_or_else(|| {
        let names: Vec<&str> = way
            .lines()
            .map(|(_, line)| line.name.value.as_str())
            .collect();
        let failure = Failure::misunderstood(format!("there is no line `{name}`"));
        match nearest(name, names.iter().copied()) {
            Some(near) => failure.help(format!("did you mean `{near}`?")),
            None => failure.help(format!("the lines are: {}", names.join(", "))),
        }
    })
}

/// Lengths in metres of track on the model, and as the owner likes them.
fn to_json(facts: &Facts, units: UnitsStyle) -> Value {
    let length =
        |length: Actual| json!({ "m": round(length.meters()), "text": units.show(length) });
    let place = |at: Actual| round(at.meters());
    let stations: Vec<Value> = facts
        .stations
        .iter()
        .map(|station| {
            let tracks: Vec<Value> = station
                .tracks
                .iter()
                .map(|track| {
                    json!({
                        "name": track.name,
                        "use": track.usage.word(),
                        "lane": track.lane,
                        "from": place(track.reach[0]),
                        "to": place(track.reach[1]),
                        "length": length(track.length),
                        "usable": length(track.usable),
                        "cars": track.cars,
                        "spots": track.spots,
                        "placed": track.placed,
                    })
                })
                .collect();
            let switches: Vec<Value> = station
                .switches
                .iter()
                .map(|switch| {
                    json!({
                        "name": switch.name,
                        "at": place(switch.at),
                        "lane": switch.lane,
                        "diverges": facts.directions[usize::from(switch.toward_high)],
                        "hand": switch.hand.word(),
                        "number": switch.number,
                        "control": switch.control.word(),
                    })
                })
                .collect();
            json!({
                "name": station.name,
                "kind": station.kind.word(),
                "call": station.call,
                "mile": station.mile,
                "at": place(station.at),
                "length": length(station.length),
                "facilities": station.facilities.iter().map(|f| f.word()).collect::<Vec<_>>(),
                "tracks": tracks,
                "switches": switches,
            })
        })
        .collect();
    json!({
        "railroad": facts.railroad,
        "line": facts.line,
        "directions": facts.directions,
        "length": length(facts.length),
        "car": length(facts.car),
        "mileposts": facts.mileposts.iter().map(|(at, mile)| json!({ "at": place(*at), "mile": mile })).collect::<Vec<_>>(),
        "gaps": facts.gaps.iter().map(|gap| json!({ "at": place(gap.at), "miles": round(gap.length.miles()) })).collect::<Vec<_>>(),
        "stations": stations,
        "open": facts.open.iter().map(|(at, run, tracks, speed)| json!({
            "at": place(*at), "length": length(*run), "tracks": tracks, "mph": speed.map(|s| round(s.mph())),
        })).collect::<Vec<_>>(),
        "elevations": facts.elevations.iter().map(|(at, height)| json!({ "at": place(*at), "height": length(*height) })).collect::<Vec<_>>(),
        "grades": facts.grades.iter().map(|grade| json!({
            "from": place(grade.reach[0]), "to": place(grade.reach[1]), "percent": round(grade.grade.percent()),
        })).collect::<Vec<_>>(),
        "steepest_percent": {
            facts.directions[1].as_str(): facts.ruling[1].map(|grade| round(grade.percent())),
            facts.directions[0].as_str(): facts.ruling[0].map(|grade| round(grade.percent())),
        },
        "curves": facts.curves.iter().map(|curve| json!({
            "from": place(curve.reach[0]), "to": place(curve.reach[1]), "radius": length(curve.radius),
            "degrees": round(curve.degrees), "turn": curve.turn.map(|turn| turn.word()),
        })).collect::<Vec<_>>(),
        "structures": facts.structures.iter().map(|structure| json!({
            "from": place(structure.reach[0]), "to": place(structure.reach[1]),
            "kind": structure.kind.word(), "name": structure.name,
        })).collect::<Vec<_>>(),
        "slow_orders": facts.slow.iter().map(|(from, to, speed, why)| json!({
            "from": place(*from), "to": place(*to), "mph": speed.map(|s| round(s.mph())), "why": why,
        })).collect::<Vec<_>>(),
    })
}

/// To a tenth of a millimetre, or as fine for what else it is used for: more would be noise.
fn round(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}
