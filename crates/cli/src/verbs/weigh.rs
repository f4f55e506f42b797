//! `sawby weigh`: cars against the recommended practice, the sum of a train, and how many cars a track holds.

use std::{collections::BTreeMap, fmt::Write as _, process::ExitCode};

use engineering::ids::TrackRef;
use mechanical::{
    Car,
    weight::{TrackRoom, Unit, recommended, room, sum, weigh},
};
use model::units::{Actual, Weight, WeightStyle};
use railroad::{Railroad, identity::UnitsStyle};
use serde_json::{Value, json};

use super::rating::{columns, pick, round};
use crate::{
    args::Which,
    outcome::{Failure, Outcome, load, say},
};

/// What may stand after `weigh`.
#[derive(Debug, clap::Args)]
pub struct WeighArgs {
    #[command(flatten)]
    which: Which,
    /// These cars and engines as a train, instead of every car: `SMR 101`, `12`. Can be given again.
    #[arg(long, value_name = "CAR or ENGINE")]
    train: Vec<String>,
    /// How many of which cars this track holds: `Station / track`. Can be given again.
    #[arg(long, value_name = "TRACK")]
    track: Vec<String>,
    /// Slack to leave for each car on a track.
    #[arg(long, value_name = "LENGTH", default_value = "0 in")]
    slack: String,
    /// How far a car may be from its weight, in percent.
    #[arg(long, value_name = "PERCENT", default_value_t = 10.0)]
    within: f64,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &WeighArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let (text, value) = if !args.train.is_empty() {
        train(railroad, &args.train)?
    } else if !args.track.is_empty() {
        tracks(railroad, &args.track, &args.slack)?
    } else {
        cars(railroad, args.within)?
    };
    if args.json {
        say(&format!("{value:#}\n"));
    } else {
        say(&text);
    }
    Ok(ExitCode::SUCCESS)
}

/// A weight of the model as the owner likes it.
fn show(railroad: &Railroad, weight: Weight) -> String {
    match railroad.identity.units {
        UnitsStyle::Metric => weight.show(WeightStyle::Grams { decimals: 0 }).to_string(),
        _ => weight.show(WeightStyle::Ounces { decimals: 1 }).to_string(),
    }
}

fn cars(railroad: &Railroad, within: f64) -> Result<(String, Value), Failure> {
    let scale = &railroad.identity.scale;
    let row = recommended(scale).ok_or_else(|| {
        Failure::misunderstood(format!("RP-20.1 has no weight for {}", scale.name))
            .help("`--train` and `--track` work in every scale")
    })?;
    let mut text = format!(
        "{}: cars against NMRA RP-20.1, {} oz and {} oz more for each inch of body{}.\n\n",
        railroad.identity.name,
        row.initial_oz,
        row.per_inch_oz,
        if row.read { "" } else { " (from memory)" },
    );
    let mut rows = vec![["car", "should weigh", "weighs", "", ""].map(str::to_owned)];
    let mut values = Vec::new();
    let [mut good, mut off, mut unknown] = [0; 3];
    for car in &railroad.roster.cars {
        let weighed = car
            .length
            .and_then(|length| weigh(scale, length.value, car.weight.map(|weight| weight.value)));
        let over = weighed.and_then(|weighed| weighed.over());
        let right = weighed.and_then(|weighed| weighed.within(within / 100.0));
        match right {
            Some(true) => good += 1,
            Some(false) => off += 1,
            None => unknown += 1,
        }
        if let (Some(weighed), Some(over), Some(false)) = (weighed, over, right) {
            rows.push([
                car.name.value.clone(),
                show(railroad, weighed.target),
                weighed
                    .weight
                    .map_or_else(String::new, |weight| show(railroad, weight)),
                format!(
                    "{} {}",
                    show(railroad, over.abs()),
                    if over > Weight::ZERO { "over" } else { "under" }
                ),
                format!("{:+.0} %", 100.0 * (over / weighed.target)),
            ]);
        }
        values.push(json!({
            "car": car.name.value,
            "target_oz": weighed.map(|weighed| round(weighed.target.ounces())),
            "weight_oz": car.weight.map(|weight| round(weight.value.ounces())),
            "over_oz": over.map(|over| round(over.ounces())),
            "within": right,
        }));
    }
    if rows.len() > 1 {
        text.push_str(&columns(&rows));
        text.push('\n');
    }
    let _ = writeln!(
        text,
        "{good} within {within} %, {off} not, {unknown} not weighed."
    );
    Ok((
        text,
        json!({
            "scale": row.scale, "initial_oz": row.initial_oz, "per_inch_oz": row.per_inch_oz, "cars": values,
        }),
    ))
}

fn train(railroad: &Railroad, names: &[String]) -> Result<(String, Value), Failure> {
    let roster = &railroad.roster;
    let known: Vec<&str> = roster
        .cars
        .iter()
        .map(|car| car.name.value.as_str())
        .chain(
            roster
                .engines
                .iter()
                .map(|engine| engine.number.value.as_str()),
        )
        .collect();
    let mut units = Vec::new();
    for name in names
        .iter()
        .flat_map(|names| names.split(','))
        .map(str::trim)
    {
        let at = pick("car or engine", name, &known)?;
        units.push(match roster.cars.get(at) {
            Some(car) => Unit {
                length: car.length.map(|l| l.value),
                weight: car.weight.map(|w| w.value),
            },
            None => {
                let engine = &roster.engines[at - roster.cars.len()];
                Unit {
                    length: engine.length.map(|l| l.value),
                    weight: engine.weight.map(|w| w.value),
                }
            }
        });
    }
    let total = sum(units);
    let mut text = format!(
        "{} cars and engines: {} long, {}.\n",
        total.units,
        railroad.identity.units.show(total.length),
        show(railroad, total.weight),
    );
    for (count, what) in [(total.unmeasured, "measured"), (total.unweighed, "weighed")] {
        if count > 0 {
            let _ = writeln!(text, "{count} not {what}, and not in the sum.");
        }
    }
    Ok((
        text,
        json!({
            "units": total.units,
            "inches": round(total.length.inches()),
            "ounces": round(total.weight.ounces()),
            "unmeasured": total.unmeasured,
            "unweighed": total.unweighed,
        }),
    ))
}

fn tracks(railroad: &Railroad, names: &[String], slack: &str) -> Result<(String, Value), Failure> {
    let slack = Actual::parse_in(slack, railroad.identity.scale.scale)
        .map_err(|error| Failure::misunderstood(format!("--slack {slack}: {error}")))?;
    let all: Vec<(String, TrackRef)> = railroad
        .way
        .stations()
        .flat_map(|(station, page)| {
            page.tracks()
                .map(move |(track, _)| TrackRef { station, track })
        })
        .map(|track| (railroad.way.track_name(track), track))
        .collect();
    let known: Vec<&str> = all.iter().map(|(name, _)| name.as_str()).collect();
    // Cars of a kind differ by eighths of an inch: the longest of each length to the nearest quarter stands for them.
    let mut sizes: BTreeMap<(i64, &str), (Actual, usize)> = BTreeMap::new();
    let in_service = |car: &&Car| car.state == mechanical::CarState::InService;
    for car in railroad.roster.cars.iter().filter(in_service) {
        let (Some(length), Some(kind)) = (car.length, car.kind) else {
            continue;
        };
        let size = sizes
            .entry((
                (length.value.inches() * 4.0).round() as i64,
                kind.value.word(),
            ))
            .or_insert((Actual::ZERO, 0));
        size.0 = size.0.max(length.value);
        size.1 += 1;
    }
    let units = railroad.identity.units;
    let mut text = String::new();
    let mut values = Vec::new();
    for name in names {
        let at = pick("track", name, &known)?;
        let usable = railroad.network.usable(&railroad.way, all[at].1).length;
        let _ = writeln!(text, "{}: {} usable", known[at], units.show(usable));
        let mut rows =
            vec![["holds", "of", "length", "left over", "on the roster"].map(str::to_owned)];
        let mut held = Vec::new();
        for ((_, kind), (length, count)) in &sizes {
            let TrackRoom { cars, left } = room(usable, Actual::ZERO, *length, slack);
            rows.push([
                cars.to_string(),
                (*kind).to_owned(),
                units.show(*length),
                units.show(left),
                count.to_string(),
            ]);
            held.push(json!({
                "kind": kind, "inches": round(length.inches()), "cars": cars, "left_inches": round(left.inches()),
            }));
        }
        text.push_str(&columns(&rows));
        values.push(
            json!({ "track": known[at], "usable_inches": round(usable.inches()), "holds": held }),
        );
    }
    Ok((text, Value::Array(values)))
}
