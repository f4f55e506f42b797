//! `sawby orders`: the paper by which the day's trains are authorised.

use std::{fmt::Write as _, process::ExitCode};

use model::time::{RailSpan, TimeStyle};
use planning::{
    day::Options,
    orders::{
        self, Paper,
        territory::{as_printed, of_day, with_late},
    },
};
use railroad::Railroad;
use serde_json::{Value, json};
use transportation::{
    Method, TrainId,
    authority::{self, Limits, Step},
    order::{
        Order, RunNo, Territory, To, clearance_sheet,
        judge::{Fault, Finding},
        order_sheet,
    },
    rights::Book,
};

use crate::{
    args::Which,
    outcome::{Failure, Outcome, WELL, WRONG, load, say},
};

/// What may stand after `orders`.
#[derive(Debug, clap::Args)]
pub struct OrdersArgs {
    #[command(flatten)]
    which: Which,
    /// Only what this train gets.
    #[arg(long, value_name = "TRAIN")]
    train: Option<String>,
    /// A train that is late today, and by how much: `--late "2 by 90 min"`. The timetable stays as printed.
    #[arg(long, value_name = "TRAIN by TIME")]
    late: Vec<String>,
    /// By this operating method instead of the one in operating.toml.
    #[arg(long, value_name = "METHOD")]
    method: Option<String>,
    /// Meets that one order may carry.
    #[arg(long, default_value_t = orders::Options::default().most_in_one)]
    most: usize,
    /// Let trains leave before their times where the plan wants it, as extras may.
    #[arg(long)]
    ahead_of_time: bool,
    /// Seed of all chance.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// How long to search for the plan, in rounds of the solver.
    #[arg(long, default_value_t = Options::default().rounds)]
    rounds: u64,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

/// The times of a railroad as its owner prints them.
pub(super) fn style(railroad: &Railroad) -> TimeStyle {
    railroad.identity.clock_face.style()
}

/// A railroad's own book of rules.
pub(super) fn book(railroad: &Railroad) -> Book {
    let operating = &railroad.service.operating;
    Book {
        clear_opposing: operating.clear,
        clear_by_extra: operating.clear,
        clear_following: operating.clear,
        extras_by_direction: operating.extras_by_direction,
        ..Book::default()
    }
}

pub(super) fn run(args: &OrdersArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let method = match &args.method {
        None => railroad.service.operating.method,
        Some(word) => Method::from_word(word).ok_or_else(|| {
            let words: Vec<&str> = Method::ALL.iter().map(|method| method.word()).collect();
            Failure::misunderstood(format!("there is no operating method `{word}`"))
                .help(format!("one of: {}", words.join(", ")))
        })?,
    };
    let options = Options {
        seed: args.seed,
        rounds: args.rounds,
        keeps_leaving: !args.ahead_of_time,
        ..Options::default()
    };
    let late = late(railroad, &args.late)?;
    let today = with_late(railroad, &late);
    let planned = match super::day::plan(&today, &options) {
        Ok(planned) => planned,
        Err(no_day) => {
            say(&format!("{no_day}\n"));
            return Ok(ExitCode::from(WRONG));
        }
    };
    let mut territory = of_day(railroad, &planned);
    as_printed(&mut territory, &planned, &late);
    let only = match &args.train {
        None => None,
        Some(name) => Some(territory.find_run(name).ok_or_else(|| {
            let names: Vec<&str> = territory.runs.iter().map(|run| run.name.as_str()).collect();
            Failure::misunderstood(format!("no train {name} runs today"))
                .help(format!("trains today: {}", names.join(", ")))
        })?),
    };
    let (text, value, right) = papers(railroad, &territory, method, args.most, only);
    say(&if args.json {
        format!("{value:#}\n")
    } else {
        text
    });
    Ok(ExitCode::from(if right { WELL } else { WRONG }))
}

/// The trains that are late today.
fn late(railroad: &Railroad, texts: &[String]) -> Result<Vec<(TrainId, RailSpan)>, Failure> {
    texts
        .iter()
        .map(|text| {
            let (name, span) = text.split_once(" by ").ok_or_else(|| {
                Failure::misunderstood(format!("--late {text}: no train and time in it"))
                    .help("a train and a length of time: `--late \"2 by 90 min\"`")
            })?;
            let train = railroad.service.find_train(name.trim()).ok_or_else(|| {
                let names = railroad
                    .service
                    .trains
                    .iter()
                    .map(|train| train.symbol.value.as_str());
                let failure = Failure::misunderstood(format!("--late {text}: no train {name}"));
                match model::diagnostic::nearest(name, names) {
                    Some(near) => failure.help(format!("did you mean {near}?")),
                    None => failure,
                }
            })?;
            let span = RailSpan::parse(span).map_err(|error| {
                Failure::misunderstood(format!("--late {text}: {error}"))
                    .help("a train and a length of time: `--late \"2 by 90 min\"`")
            })?;
            Ok((train, span))
        })
        .collect()
}

/// The papers of a day by one method: as text, as JSON, and whether the judge finds them right.
pub(super) fn papers(
    railroad: &Railroad,
    territory: &Territory,
    method: Method,
    most: usize,
    only: Option<RunNo>,
) -> (String, Value, bool) {
    let style = style(railroad);
    match method {
        Method::TimetableAndTrainOrder => {
            let options = orders::Options {
                book: book(railroad),
                most_in_one: most,
                ..orders::Options::default()
            };
            let paper = orders::orders(territory, &options, style);
            (
                packet(railroad, territory, &paper, only, style),
                paper_json(territory, &paper, only, style),
                paper.findings.is_empty(),
            )
        }
        Method::Sequence => {
            let list = orders::authority::steps(territory);
            let found = authority::judge::steps(territory, &list);
            (
                list_text(railroad, territory, &list, &found, only),
                list_json(territory, &list, &found, only),
                found.is_empty(),
            )
        }
        method => {
            let given = orders::authority::limits(territory, method);
            let found = authority::judge::limits(territory, &given, style);
            (
                limits_text(railroad, territory, &given, &found, only, method, style),
                limits_json(territory, &given, &found, only, method, style),
                found.is_empty(),
            )
        }
    }
}

fn gets(order: &Order, only: Option<RunNo>) -> bool {
    only.is_none_or(|run| order.copies.iter().any(|copy| copy.to == To::Train(run)))
}

/// Orders and clearances as they are handed out.
fn packet(
    railroad: &Railroad,
    territory: &Territory,
    paper: &Paper,
    only: Option<RunNo>,
    style: TimeStyle,
) -> String {
    let mut text = format!("{}\n", railroad.identity.name);
    if let Some(date) = railroad.identity.date {
        let _ = writeln!(text, "{}", date.value);
    }
    let fewest = if paper.is_fewest() {
        "no choice needs fewer".to_owned()
    } else {
        format!("at least {} are needed", paper.at_least)
    };
    let _ = writeln!(
        text,
        "{} orders ({fewest}) for {} places where the timetable alone does not do.\n",
        paper.orders.len(),
        paper.needs
    );
    for order in paper.orders.iter().filter(|order| gets(order, only)) {
        text.push_str(&order_sheet(territory, order, style));
        text.push('\n');
    }
    text.push_str("CLEARANCES\n");
    for clearance in &paper.clearances {
        if only.is_none_or(|run| run == clearance.train) {
            text.push_str(&clearance_sheet(territory, clearance, style));
        }
    }
    for sentence in &paper.undelivered {
        let _ = writeln!(text, "\nNot in time: {sentence}.");
    }
    text.push_str(&verdict(
        &paper.findings,
        "the orders and the timetable, replayed under the rules, let no two trains onto the same track",
    ));
    text
}

fn verdict(findings: &[Finding], well: &str) -> String {
    if findings.is_empty() {
        return format!("\nJudged: {well}.\n");
    }
    let mut text = format!("\nNOT TO BE HANDED OUT: {} faults.\n", findings.len());
    for finding in findings {
        let _ = writeln!(text, "  {}", finding.sentence);
    }
    text
}

fn limits_text(
    railroad: &Railroad,
    territory: &Territory,
    given: &[Limits],
    found: &[Finding],
    only: Option<RunNo>,
    method: Method,
    style: TimeStyle,
) -> String {
    let mut text = format!(
        "{}\n{} authorities by {method}\n\n",
        railroad.identity.name,
        given.len()
    );
    for limits in given {
        if only.is_none_or(|run| run == limits.train) {
            let _ = writeln!(
                text,
                "  {:>3}  {}",
                limits.number,
                limits.sentence(territory, style)
            );
        }
    }
    text.push_str(&verdict(
        found,
        "no two trains hold the same track at the same time",
    ));
    text
}

fn list_text(
    railroad: &Railroad,
    territory: &Territory,
    list: &[Step],
    found: &[Finding],
    only: Option<RunNo>,
) -> String {
    let mut text = format!(
        "{}\n{} moves, one after another, no clock\n\n",
        railroad.identity.name,
        list.len()
    );
    for step in list {
        if only.is_none_or(|run| run == step.train) {
            let _ = writeln!(text, "  {:>3}  {}", step.number, step.sentence(territory));
        }
    }
    text.push_str(&verdict(
        found,
        "at any pace of the crews no two trains are on the same track",
    ));
    text
}

fn findings_json(found: &[Finding]) -> Value {
    found
        .iter()
        .map(|finding| {
            json!({
                "fault": match finding.fault {
                    Fault::BothAuthorized => "both authorized",
                    Fault::NoAuthority => "no authority",
                    Fault::NotDelivered => "not delivered",
                    Fault::TooLate => "too late",
                    Fault::BeforeTime => "before time",
                    Fault::DeadSchedule => "dead schedule",
                    Fault::TooClose => "too close",
                    Fault::Garbled => "garbled",
                },
                "order": finding.order,
                "says": finding.sentence,
            })
        })
        .collect()
}

fn paper_json(
    territory: &Territory,
    paper: &Paper,
    only: Option<RunNo>,
    style: TimeStyle,
) -> Value {
    let place = |no| territory.place(no).name.as_str();
    let orders: Vec<Value> = paper
        .orders
        .iter()
        .filter(|order| gets(order, only))
        .map(|order| {
            json!({
                "number": order.number,
                "letter": order.body.form().word(),
                "complete_seconds": order.complete.seconds(),
                "says": order.body.sentence(territory, style),
                "copies": order.copies.iter().map(|copy| json!({
                    "train": match copy.to {
                        To::Train(run) => Some(territory.run(run).name.as_str()),
                        To::Operator => None,
                    },
                    "at": place(copy.at),
                    "last": place(copy.last),
                    "form": if copy.signed { 31 } else { 19 },
                })).collect::<Vec<_>>(),
            })
        })
        .collect();
    let clearances: Vec<Value> = paper
        .clearances
        .iter()
        .filter(|clearance| only.is_none_or(|run| run == clearance.train))
        .map(|clearance| {
            json!({
                "train": territory.run(clearance.train).name,
                "at": place(clearance.at),
                "seconds": clearance.time.seconds(),
                "orders": clearance.orders,
            })
        })
        .collect();
    json!({
        "method": Method::TimetableAndTrainOrder.word(),
        "orders": orders,
        "clearances": clearances,
        "needs": paper.needs,
        "at_least": paper.at_least,
        "not_in_time": paper.undelivered,
        "faults": findings_json(&paper.findings),
    })
}

fn limits_json(
    territory: &Territory,
    given: &[Limits],
    found: &[Finding],
    only: Option<RunNo>,
    method: Method,
    style: TimeStyle,
) -> Value {
    let place = |run: RunNo, at: usize| {
        territory
            .place(territory.run(run).visits[at].place)
            .name
            .as_str()
    };
    let authorities: Vec<Value> = given
        .iter()
        .filter(|limits| only.is_none_or(|run| run == limits.train))
        .map(|limits| {
            json!({
                "number": limits.number,
                "train": territory.run(limits.train).name,
                "from": place(limits.train, limits.from),
                "to": place(limits.train, limits.to),
                "given_seconds": limits.given.seconds(),
                "after": limits.after.iter().map(|(train, at)| json!({
                    "train": territory.run(*train).name,
                    "at": territory.place(*at).name,
                })).collect::<Vec<_>>(),
                "clear": limits.clear.iter().map(|(at, time)| json!({
                    "at": place(limits.train, *at),
                    "seconds": time.seconds(),
                })).collect::<Vec<_>>(),
                "says": limits.sentence(territory, style),
            })
        })
        .collect();
    json!({
        "method": method.word(),
        "authorities": authorities,
        "faults": findings_json(found),
    })
}

fn list_json(
    territory: &Territory,
    list: &[Step],
    found: &[Finding],
    only: Option<RunNo>,
) -> Value {
    let steps: Vec<Value> = list
        .iter()
        .filter(|step| only.is_none_or(|run| run == step.train))
        .map(|step| {
            let run = territory.run(step.train);
            let place = |at: usize| territory.place(run.visits[at].place).name.as_str();
            json!({
                "number": step.number,
                "train": run.name,
                "from": place(step.from),
                "to": place(step.to),
                "after": step.after,
                "says": step.sentence(territory),
            })
        })
        .collect();
    json!({
        "method": Method::Sequence.word(),
        "moves": steps,
        "faults": findings_json(found),
    })
}

/// A span in minutes, for tables.
pub(super) fn minutes(span: RailSpan) -> String {
    format!("{:.1} min", span.minutes())
}
