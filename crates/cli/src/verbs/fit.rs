//! `sawby fit`: where each piece of equipment may go, and where not.

use std::{collections::BTreeMap, fmt::Write as _, process::ExitCode};

use mechanical::fit::{Body, Fit};
use model::units::Actual;
use railroad::{
    Railroad,
    fit::{Asks, Spot, bodies, lines_for, spots},
};
use serde_json::{Value, json};

use super::rating::{columns, pick, round};
use crate::{
    args::Which,
    outcome::{Outcome, load, say},
};

/// What may stand after `fit`.
#[derive(Debug, clap::Args)]
pub struct FitArgs {
    #[command(flatten)]
    which: Which,
    /// Every place, for this car or engine: `SMR 101`, `12`.
    #[arg(long, value_name = "CAR or ENGINE")]
    of: Option<String>,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &FitArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let (spots, mut bodies) = (spots(railroad), bodies(railroad));
    if let Some(name) = &args.of {
        // An engine goes by its number here as everywhere.
        let names: Vec<&str> = bodies
            .iter()
            .map(|body| body.name.strip_prefix("engine ").unwrap_or(&body.name))
            .collect();
        let at = pick("car or engine on the railroad", name, &names)?;
        bodies = vec![bodies.swap_remove(at)];
    }
    if args.json {
        say(&format!("{:#}\n", to_json(railroad, &spots, &bodies)));
    } else if args.of.is_some() {
        say(&one(railroad, &spots, &bodies[0]));
    } else {
        say(&all(railroad, &spots, &bodies));
    }
    Ok(ExitCode::SUCCESS)
}

/// What a spot has, as the owner likes lengths.
fn has(railroad: &Railroad, spot: &Spot) -> String {
    spot.has
        .map_or_else(|| "not recorded".to_owned(), |has| show(railroad, has))
}

fn show(railroad: &Railroad, length: Actual) -> String {
    railroad.identity.units.show(length)
}

fn line_names(railroad: &Railroad, spots: &[Spot], body: &Body) -> Vec<String> {
    lines_for(railroad, spots, body)
        .into_iter()
        .map(|line| railroad.way.line(line).name.value.clone())
        .collect()
}

fn one(railroad: &Railroad, spots: &[Spot], body: &Body) -> String {
    let lines = line_names(railroad, spots, body);
    let mut text = format!(
        "{} may run on: {}.\n\n",
        body.name,
        if lines.is_empty() {
            "no line".to_owned()
        } else {
            lines.join(", ")
        }
    );
    let mut rows = vec![["place", "asks", "has", ""].map(str::to_owned)];
    for spot in spots {
        let verdict = match spot.takes(body) {
            Fit::Fits(spare) => format!("fits, {} to spare", show(railroad, spare)),
            Fit::Short(by) if spot.asks == Asks::Curve && body.radius_by_rule => {
                format!("tight: {} under three times its length", show(railroad, by))
            }
            Fit::Short(by) => format!("does not fit, by {}", show(railroad, by)),
            Fit::Unknown => "not known".to_owned(),
        };
        rows.push([
            spot.place.clone(),
            spot.asks.word().to_owned(),
            has(railroad, spot),
            verdict,
        ]);
    }
    text.push_str(&columns(&rows));
    text
}

fn all(railroad: &Railroad, spots: &[Spot], bodies: &[Body]) -> String {
    let mut text = format!(
        "{}: what does not fit, place by place.\n",
        railroad.identity.name
    );
    let mut fine = 0;
    for spot in spots {
        // Those that want as much are named together.
        let mut wanting: BTreeMap<(i64, bool), Vec<&str>> = BTreeMap::new();
        let mut unknown = 0;
        for body in bodies {
            match spot.takes(body) {
                Fit::Short(by) => {
                    let by_rule = spot.asks == Asks::Curve && body.radius_by_rule;
                    wanting
                        .entry(((by.mm() * 10.0).round() as i64, by_rule))
                        .or_default()
                        .push(&body.name);
                }
                Fit::Unknown if matches!(spot.asks, Asks::Height | Asks::Width) => unknown += 1,
                Fit::Unknown | Fit::Fits(_) => {}
            }
        }
        // A turntable or a tail is for engines: that a coach does not fit is nothing to report.
        if matches!(spot.asks, Asks::Turntable | Asks::Tail) {
            wanting
                .values_mut()
                .for_each(|names| names.retain(|name| name.starts_with("engine ")));
            wanting.retain(|_, names| !names.is_empty());
        }
        if wanting.is_empty() && unknown == 0 {
            fine += 1;
            continue;
        }
        let _ = writeln!(
            text,
            "\n  {}: {} {}",
            spot.place,
            spot.asks.word(),
            has(railroad, spot)
        );
        for ((tenths, by_rule), names) in wanting.iter().rev() {
            let by = show(railroad, Actual::from_mm(*tenths as f64 / 10.0));
            let what = if *by_rule {
                format!("{by} under three times the length of")
            } else {
                format!("{by} short for")
            };
            let _ = writeln!(text, "    {what} {}", some(names));
        }
        if unknown > 0 {
            let _ = writeln!(text, "    not known of {unknown}: no height on the record");
        }
    }
    let _ = writeln!(
        text,
        "\n{fine} of {} places take everything that comes there.",
        spots.len()
    );
    text
}

/// The first few names, and how many more.
fn some(names: &[&str]) -> String {
    const MOST: usize = 8;
    match names.len() {
        0..=MOST => names.join(", "),
        more => format!("{} and {} more", names[..MOST].join(", "), more - MOST),
    }
}

fn to_json(railroad: &Railroad, spots: &[Spot], bodies: &[Body]) -> Value {
    let equipment: Vec<Value> = bodies
        .iter()
        .map(|body| {
            let failing: Vec<Value> = spots
                .iter()
                .filter_map(|spot| match spot.takes(body) {
                    Fit::Short(by) => Some(json!({
                        "place": spot.place, "asks": spot.asks.word(), "short_inches": round(by.inches()),
                        "by_rule": spot.asks == Asks::Curve && body.radius_by_rule,
                    })),
                    _ => None,
                })
                .collect();
            json!({ "name": body.name, "lines": line_names(railroad, spots, body), "does_not_fit": failing })
        })
        .collect();
    json!({
        "railroad": railroad.identity.name,
        "places": spots.iter().map(|spot| json!({
            "place": spot.place, "asks": spot.asks.word(), "has_inches": spot.has.map(|has| round(has.inches())),
        })).collect::<Vec<_>>(),
        "equipment": equipment,
    })
}
