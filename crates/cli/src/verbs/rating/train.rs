//! `sawby rating --train`: what one train may take over its way.

use std::{fmt::Write as _, process::ExitCode};

use mechanical::tonnage::{Governs, Missing, RatedFor};
use railroad::{
    Railroad,
    rating::{Taken, TrainLimits, place_words, train_limits},
};
use serde_json::{Value, json};

use super::{columns, pick, round, weight};
use crate::outcome::{Failure, Outcome, say};

pub(super) fn run(railroad: &Railroad, symbol: &str, cars: Option<u32>, json: bool) -> Outcome {
    let trains = &railroad.service.trains;
    let symbols: Vec<&str> = trains
        .iter()
        .map(|train| train.symbol.value.as_str())
        .collect();
    let at = pick("train", symbol, &symbols)?;
    let id = railroad.service.find_train(symbols[at]);
    let limits = id
        .and_then(|id| train_limits(railroad, id, cars))
        .ok_or_else(|| {
            Failure::misunderstood(format!(
                "train {symbol} has no way from its first to its last station"
            ))
            .help("`sawby check` says why")
        })?;
    if json {
        say(&format!("{:#}\n", to_json(railroad, symbols[at], &limits)));
    } else {
        say(&text(railroad, symbols[at], &limits));
    }
    Ok(ExitCode::SUCCESS)
}

fn text(railroad: &Railroad, symbol: &str, limits: &TrainLimits) -> String {
    let mut text = String::new();
    let room = limits
        .room
        .map_or_else(String::new, |room| format!("; it has room for {room}"));
    let _ = writeln!(
        text,
        "Train {symbol}, asked about with {} rating cars{room}.\n",
        limits.asked
    );
    let both = |taken: &Result<Taken, Missing>, leg: usize, at: usize| match taken {
        Ok(taken) => format!(
            "{} / {}",
            taken.stretches[leg][at][0], taken.stretches[leg][at][1]
        ),
        Err(_) => "?".to_owned(),
    };
    let mut rows =
        vec![["", "model: start / move", "full size: start / move", ""].map(str::to_owned)];
    for (at, leg) in limits.legs.iter().enumerate() {
        for (step, stretch) in leg.stretches.iter().enumerate() {
            rows.push([
                format!(
                    "{} to {}",
                    leg.profile.places[stretch.leaves].name,
                    leg.profile.places[stretch.reaches].name
                ),
                both(&limits.model, at, step),
                both(&limits.full_size, at, step),
                if leg.helped[step] {
                    "helper on".to_owned()
                } else {
                    String::new()
                },
            ]);
        }
    }
    text.push_str(&columns(&rows));
    for (governs, taken) in [
        (Governs::Model, &limits.model),
        (Governs::FullSize, &limits.full_size),
    ] {
        let name = match governs {
            Governs::Model => "Model",
            Governs::FullSize => "Full size",
        };
        let governing = if governs == limits.governs {
            " (governs)"
        } else {
            ""
        };
        let taken = match taken {
            Ok(taken) => taken,
            Err(missing) => {
                let _ = writeln!(text, "\n{name}{governing}: not rated, {missing}.");
                continue;
            }
        };
        let _ = writeln!(
            text,
            "\n{name}{governing}: {} cars, {}, start wherever they are stopped; {} cars, {}, keep moving.",
            taken.starting,
            weight(railroad, governs, taken.weight[0]),
            taken.moving,
            weight(railroad, governs, taken.weight[1]),
        );
        if let Some((leg, hardest)) = taken.limit[usize::from(limits.rated_for == RatedFor::Moving)]
        {
            let _ = writeln!(
                text,
                "  The hardest placing: front {}, on {:.2} % under the whole train, curves counted.",
                place_words(railroad, &limits.legs[leg].profile, hardest.front),
                100.0 * hardest.mean,
            );
        }
        for (reaches, what) in [(&taken.no_stop, "must not stop"), (&taken.stalls, "stalls")] {
            for (leg, reach) in reaches {
                let profile = &limits.legs[*leg].profile;
                let _ = writeln!(
                    text,
                    "  With {} cars it {what} with its front from {} to {}.",
                    limits.asked,
                    place_words(railroad, profile, reach.from),
                    place_words(railroad, profile, reach.to),
                );
            }
        }
        if taken.no_stop.is_empty() && taken.stalls.is_empty() {
            let _ = writeln!(
                text,
                "  With {} cars it starts at every placing of its way.",
                limits.asked
            );
        }
    }
    text
}

fn to_json(railroad: &Railroad, symbol: &str, limits: &TrainLimits) -> Value {
    let taken = |governs: Governs, taken: &Result<Taken, Missing>| match taken {
        Err(missing) => json!({ "not_rated": missing.to_string() }),
        Ok(taken) => {
            let reaches = |reaches: &[(usize, mechanical::rating::Reach)]| {
                reaches
                    .iter()
                    .map(|(leg, reach)| {
                        let profile = &limits.legs[*leg].profile;
                        json!({
                            "leg": leg,
                            "from_m": round(reach.from.meters()),
                            "to_m": round(reach.to.meters()),
                            "from": place_words(railroad, profile, reach.from),
                            "to": place_words(railroad, profile, reach.to),
                        })
                    })
                    .collect::<Vec<_>>()
            };
            let unit = |state: usize| match governs {
                Governs::Model => round(taken.weight[state].ounces()),
                Governs::FullSize => round(taken.weight[state].short_tons()),
            };
            json!({
                "starting": taken.starting,
                "moving": taken.moving,
                "unit": if governs == Governs::Model { "ounces" } else { "tons" },
                "weight_starting": unit(0),
                "weight_moving": unit(1),
                "stretches": taken.stretches,
                "no_stop": reaches(&taken.no_stop),
                "stalls": reaches(&taken.stalls),
            })
        }
    };
    json!({
        "train": symbol,
        "asked": limits.asked,
        "room": limits.room,
        "governs": limits.governs.word(),
        "rated_for": limits.rated_for.word(),
        "legs": limits.legs.iter().map(|leg| json!({
            "line": railroad.way.line(leg.line).name.value,
            "stretches": leg.stretches.iter().zip(&leg.helped).map(|(stretch, helped)| json!({
                "from": leg.profile.places[stretch.leaves].name,
                "to": leg.profile.places[stretch.reaches].name,
                "helper": helped,
            })).collect::<Vec<_>>(),
        })).collect::<Vec<_>>(),
        "model": taken(Governs::Model, &limits.model),
        "full_size": taken(Governs::FullSize, &limits.full_size),
    })
}
