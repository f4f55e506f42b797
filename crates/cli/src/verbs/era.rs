//! `sawby era`: which cars and engines are right for the date, and why others are not.

use std::{fmt::Write as _, process::ExitCode};

use mechanical::{
    Context,
    era::{Allowed, Confidence, Judged, RULES, Standing, judge_car, judge_engine, moving},
};
use model::date::Date;
use railroad::{Railroad, shop};
use serde_json::{Value, json};

use crate::{
    args::Which,
    outcome::{Failure, Outcome, WELL, WRONG, load, say},
};

/// What may stand after `era`.
#[derive(Debug, clap::Args)]
pub struct EraArgs {
    #[command(flatten)]
    which: Which,
    /// As if this were the modelled day, and what would have to change.
    #[arg(long, value_name = "DATE")]
    on: Option<String>,
    /// List the rules and where each was read, instead.
    #[arg(long)]
    rules: bool,
    /// Name also what is right.
    #[arg(long)]
    all: bool,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &EraArgs) -> Outcome {
    if args.rules {
        say(&if args.json {
            format!("{:#}\n", rules_json())
        } else {
            rules()
        });
        return Ok(ExitCode::SUCCESS);
    }
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let context = shop(railroad);
    let now = context.allowed().ok_or_else(|| {
        Failure::misunderstood("railroad.toml gives no `date` that can be read")
            .help("`sawby check` says what is wrong")
    })?;
    let then = match &args.on {
        None => None,
        Some(text) => {
            let day = Date::parse(text).map_err(|error| {
                let failure = Failure::misunderstood(format!("--on {text}: {error}"));
                match error.hint {
                    Some(hint) => failure.help(hint),
                    None => failure,
                }
            })?;
            Some(now.on(day))
        }
    };
    let allowed = then.unwrap_or(now);
    let judged = judge(railroad, &context, &allowed);
    let wrong = judged
        .iter()
        .filter(|(_, judged)| judged.standing() == Standing::Wrong)
        .count();
    let changes = then.map(|then| moving(&railroad.roster, &context, &now, &then));
    if args.json {
        say(&format!(
            "{:#}\n",
            to_json(&allowed, &judged, changes.as_ref())
        ));
    } else {
        let mut text = report(railroad, &allowed, &judged, args.all);
        if let Some((changes, freed)) = &changes {
            let _ = writeln!(text, "\nTo move from {} to {}:", now.day, allowed.day);
            for change in changes {
                let _ = writeln!(
                    text,
                    "  {}: {} ({})",
                    change.mend,
                    change.names.len(),
                    change.names.join(", ")
                );
            }
            if changes.is_empty() {
                text.push_str("  nothing has to change\n");
            }
            if !freed.is_empty() {
                let _ = writeln!(
                    text,
                    "  right then and not now: {} ({})",
                    freed.len(),
                    freed.join(", ")
                );
            }
        }
        say(&text);
    }
    Ok(ExitCode::from(if wrong > 0 { WRONG } else { WELL }))
}

/// All cars and engines that stand on the railroad, by name.
fn judge(railroad: &Railroad, context: &Context, allowed: &Allowed) -> Vec<(String, Judged)> {
    let roster = &railroad.roster;
    let cars = roster
        .cars
        .iter()
        .filter(|car| car.state.on_the_railroad())
        .map(|car| {
            (
                car.name.value.clone(),
                judge_car(car, car.is_foreign(context), allowed),
            )
        });
    let engines = roster
        .engines
        .iter()
        .filter(|engine| engine.state.on_the_railroad())
        .map(|engine| {
            (
                format!("engine {}", engine.number.value),
                judge_engine(engine, allowed),
            )
        });
    engines.chain(cars).collect()
}

fn report(
    railroad: &Railroad,
    allowed: &Allowed,
    judged: &[(String, Judged)],
    all: bool,
) -> String {
    let count = |standing| {
        judged
            .iter()
            .filter(|(_, judged)| judged.standing() == standing)
            .count()
    };
    let mut text = format!(
        "{} on {}, equipment from {} to {}: {} right, {} not, {} not known.\n",
        railroad.identity.name,
        allowed.day,
        allowed.earliest,
        allowed.latest,
        count(Standing::Right),
        count(Standing::Wrong),
        count(Standing::Unknown),
    );
    for (name, judged) in judged {
        match judged.findings.as_slice() {
            [] if all => {
                let _ = writeln!(text, "  {name}: right{}", span(judged));
            }
            findings => {
                for finding in findings {
                    let _ = writeln!(text, "  {name} {}; {}", finding.sentence, finding.mend);
                }
            }
        }
    }
    text
}

fn span(judged: &Judged) -> String {
    match (judged.from, judged.until) {
        (Some(from), Some(until)) => format!(" from {from} to {until}"),
        (Some(from), None) => format!(" from {from} on"),
        (None, Some(until)) => format!(" until {until}"),
        (None, None) => String::new(),
    }
}

fn rules() -> String {
    let mut text = String::new();
    for rule in RULES {
        let day = |(year, month, day): (i16, u8, u8)| format!("{year}-{month:02}-{day:02}");
        let _ = write!(
            text,
            "{}  {}\n            Source: {}.",
            day(rule.from),
            rule.sentence,
            rule.source.words()
        );
        if let Some((other, whose)) = rule.or_from {
            let _ = write!(text, " {} by {whose}.", day(other));
        }
        text.push('\n');
    }
    text
}

fn rules_json() -> Value {
    RULES
        .iter()
        .map(|rule| {
            json!({
                "from": rule.first_day().map(|day| day.to_string()),
                "or_from": rule.or_from.and_then(|((year, month, day), _)| Date::new(year, month, day)).map(|day| day.to_string()),
                "rule": rule.sentence,
                "source": rule.source.words(),
                "confidence": match rule.confidence() {
                    Confidence::Read => "read",
                    Confidence::Disputed => "disputed",
                    Confidence::Unconfirmed => "unconfirmed",
                },
            })
        })
        .collect()
}

fn to_json(
    allowed: &Allowed,
    judged: &[(String, Judged)],
    changes: Option<&(Vec<mechanical::era::Change>, Vec<String>)>,
) -> Value {
    let equipment: Vec<Value> = judged
        .iter()
        .map(|(name, judged)| {
            json!({
                "name": name,
                "standing": match judged.standing() {
                    Standing::Right => "right",
                    Standing::Unknown => "not known",
                    Standing::Wrong => "not right",
                },
                "right_from": judged.from.map(|day| day.to_string()),
                "right_until": judged.until.map(|day| day.to_string()),
                "findings": judged.findings.iter().map(|finding| json!({
                    "says": finding.sentence, "mend": finding.mend,
                })).collect::<Vec<_>>(),
            })
        })
        .collect();
    json!({
        "day": allowed.day.to_string(),
        "equipment_from": allowed.earliest.to_string(),
        "equipment_to": allowed.latest.to_string(),
        "equipment": equipment,
        "to_move": changes.map(|(changes, freed)| json!({
            "changes": changes.iter().map(|change| json!({ "mend": change.mend, "names": change.names })).collect::<Vec<_>>(),
            "right_then": freed,
        })),
    })
}
