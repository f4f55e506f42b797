//! `sawby dispatch`: the dispatching engine on a problem of its own, without a railroad.

use std::{
    fmt::Write as _,
    fs,
    io::Write as _,
    path::{Path, PathBuf},
    process::ExitCode,
    sync::{
        Arc,
        atomic::{AtomicBool, Ordering},
    },
    time::{Duration, Instant},
};

use dispatching::{
    Cost, Plan, Problem, check,
    json::{read_plan, read_problem, write_plan},
    reasons::explain,
    single_track::{Compiled, read_line},
    solver::{Options, Outcome as Found, Status, solve},
    whatif::{self, Case, Effect, Sensitivity},
};
use serde_json::{Value, json};

use crate::outcome::{Failure, Outcome, WELL, WRONG, say};

/// What may stand after `dispatch`.
#[derive(Debug, clap::Args)]
pub struct DispatchArgs {
    /// The problem: DISPLIB 2025 JSON, or a single-track line in `stl/1`.
    #[arg(value_name = "INSTANCE.json")]
    instance: PathBuf,
    /// Stop after this many seconds with the best plan so far.
    #[arg(long, default_value_t = 60.0, value_parser = positive)]
    seconds: f64,
    /// Stop after this many rounds of work: the same answer on any machine.
    #[arg(long)]
    rounds: Option<u64>,
    /// Seed of all chance.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Engines that may work at the same time; with `--rounds` the answer does not depend on it.
    #[arg(long, default_value_t = 2)]
    threads: usize,
    /// Write the plan here, in the form of the instance.
    #[arg(long, value_name = "FILE")]
    solution: Option<PathBuf>,
    /// Judge this plan, in the form of the instance, instead of looking for one.
    #[arg(long, value_name = "FILE", conflicts_with_all = ["solution", "rounds", "seed", "threads"])]
    judge: Option<PathBuf>,
    /// Say why each train waits.
    #[arg(long)]
    why: bool,
    /// Say what each resource is worth: the cost if trains no longer exclude each other from it, and if
    /// none may use it. Solves the problem anew for each.
    #[arg(long, conflicts_with = "judge")]
    worth: bool,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

fn positive(text: &str) -> Result<f64, String> {
    match text.parse::<f64>() {
        Ok(seconds) if seconds.is_finite() && (0.0..=1e9).contains(&seconds) => Ok(seconds),
        _ => Err("expected a number of seconds".to_owned()),
    }
}

/// A problem, and the line it was compiled from if it was.
enum Instance {
    General(Problem),
    Line(Box<Compiled>),
}

impl Instance {
    fn problem(&self) -> &Problem {
        match self {
            Self::General(problem) => problem,
            Self::Line(line) => &line.problem,
        }
    }
}

pub(super) fn run(args: &DispatchArgs) -> Outcome {
    let text = read(&args.instance)?;
    let instance = match parse(&text) {
        Ok(instance) => instance,
        Err(faults) => return Ok(refuse(&args.instance, &faults, "nothing was planned")),
    };
    if let Some(path) = &args.judge {
        return judge(args, &instance, path);
    }
    let begin = Instant::now();
    let interrupted = interruptible();
    let found = search(args, instance.problem(), begin, &interrupted);
    let seconds = begin.elapsed().as_secs_f64();
    if let (Some(path), Some(plan)) = (&args.solution, &found.plan) {
        let text = match &instance {
            Instance::General(_) => write_plan(plan),
            Instance::Line(line) => line.solution(plan, Some(found.bound.total())),
        };
        fs::write(path, text).map_err(|e| Failure::file(path, &e))?;
    }
    let waits = waits(args, instance.problem(), found.plan.as_ref());
    let worth = found.plan.as_ref().filter(|_| args.worth).and_then(|plan| {
        let options = whatif::Options {
            seed: args.seed,
            rounds: args.rounds.unwrap_or(ROUNDS_FOR_EACH),
            threads: args.threads,
        };
        let stop = || interrupted.load(Ordering::Relaxed);
        whatif::sensitivity(instance.problem(), Some(plan), &options, &stop)
    });
    if args.json {
        let worth = worth.map(|worth| worth_json(instance.problem(), &worth));
        let mut found = to_json(&found, seconds, &waits);
        found["worth"] = worth.into();
        say(&format!("{found:#}\n"));
    } else {
        for wait in &waits {
            say(&format!("{wait}\n"));
        }
        if let Some(worth) = &worth {
            say(&worth_words(instance.problem(), worth));
        }
        say(&format!("{}\n", sentence(instance.problem(), &found)));
    }
    Ok(ExitCode::from(if found.plan.is_some() {
        WELL
    } else {
        WRONG
    }))
}

fn read(path: &Path) -> Result<String, Failure> {
    fs::read_to_string(path).map_err(|e| Failure::file(path, &e))
}

fn parse(text: &str) -> Result<Instance, Vec<String>> {
    let is_line = serde_json::from_str::<Value>(text)
        .is_ok_and(|v| v.get("format").is_some_and(|f| f == "stl/1"));
    if is_line {
        match read_line(text) {
            Ok(line) => Ok(Instance::Line(Box::new(line.compile()))),
            Err(faults) => Err(words(&faults)),
        }
    } else {
        read_problem(text)
            .map(Instance::General)
            .map_err(|faults| words(&faults))
    }
}

fn words(faults: &[impl ToString]) -> Vec<String> {
    faults.iter().map(ToString::to_string).collect()
}

/// Prints what is wrong with a file.
fn refuse(path: &Path, faults: &[String], so: &str) -> ExitCode {
    let mut report = String::new();
    for fault in faults {
        let _ = writeln!(
            report,
            "\u{1b}[1;31merror\u{1b}[0m: {}: {fault}",
            path.display()
        );
    }
    let count = match faults.len() {
        1 => "1 error".to_owned(),
        n => format!("{n} errors"),
    };
    let _ = writeln!(report, "{}: {count}, {so}", path.display());
    let _ = anstream::stderr().write_all(report.as_bytes());
    ExitCode::from(WRONG)
}

/// Set by the first interrupt, which stops the work and keeps the best plan so far; the second ends the
/// program. Where interrupts cannot be caught, they end it as ever.
fn interruptible() -> Arc<AtomicBool> {
    let interrupted = Arc::new(AtomicBool::new(false));
    let flag = interrupted.clone();
    let _ = ctrlc::set_handler(move || {
        if flag.swap(true, Ordering::Relaxed) {
            std::process::exit(130);
        }
    });
    interrupted
}

/// Looks for a plan, telling of every better one on the way.
fn search(
    args: &DispatchArgs,
    problem: &Problem,
    begin: Instant,
    interrupted: &AtomicBool,
) -> Found {
    let limit = Duration::from_secs_f64(args.seconds);
    let stop = || interrupted.load(Ordering::Relaxed) || begin.elapsed() >= limit;
    let options = Options {
        seed: args.seed,
        rounds: args.rounds,
        threads: args.threads,
        ..Options::default()
    };
    let mut told: Option<(Option<Cost>, Cost)> = None;
    solve(problem, &options, &stop, &mut |progress| {
        let now = (
            progress.incumbent.map(|(_, cost)| cost.clone()),
            progress.bound.clone(),
        );
        if told.as_ref() == Some(&now) {
            return;
        }
        let found = now
            .0
            .as_ref()
            .map_or_else(|| "no plan yet".to_owned(), cost_words);
        let line = format!(
            "{:8.2} s  {found}, none can cost less than {}\n",
            begin.elapsed().as_secs_f64(),
            cost_words(&now.1)
        );
        let _ = anstream::stderr().write_all(line.as_bytes());
        told = Some(now);
    })
}

/// "1009", or "12, then 1009" where the objective has ranks.
fn cost_words(cost: &Cost) -> String {
    let ranks: Vec<String> = cost.0.iter().map(ToString::to_string).collect();
    if ranks.is_empty() {
        "0".to_owned()
    } else {
        ranks.join(", then ")
    }
}

fn sentence(problem: &Problem, found: &Found) -> String {
    match (&found.status, &found.cost) {
        (Status::Infeasible(why), _) => {
            let trains: Vec<String> = why
                .trains
                .iter()
                .map(|&t| train_words(problem, t))
                .collect();
            let resources: Vec<String> = why
                .resources
                .iter()
                .map(|&r| format!("`{}`", problem.resources[r]))
                .collect();
            let mut words = "there is no plan: proven".to_owned();
            if !trains.is_empty() {
                let _ = write!(words, "; {} cannot all be run", trains.join(", "));
            }
            if !resources.is_empty() {
                let _ = write!(words, " over {}", resources.join(", "));
            }
            words
        }
        (_, None) => "no plan was found; whether there is one is not known".to_owned(),
        (Status::Optimal, Some(cost)) => format!("cost {}: the best there is", cost_words(cost)),
        (_, Some(cost)) => format!(
            "cost {}; none can cost less than {}; gap {}",
            cost_words(cost),
            cost_words(&found.bound),
            gap(cost, &found.bound).map_or_else(|| "unknown".to_owned(), |g| format!("{g:.1} %"))
        ),
    }
}

fn train_words(problem: &Problem, train: usize) -> String {
    match problem.trains.get(train) {
        Some(t) if !t.name.is_empty() => format!("train `{}`", t.name),
        _ => format!("train {train}"),
    }
}

/// The share of the cost that is not proven necessary, in percent, of the first rank in which cost and
/// bound differ.
fn gap(cost: &Cost, bound: &Cost) -> Option<f64> {
    let ranks = 0..u8::try_from(cost.0.len()).unwrap_or(u8::MAX);
    let rank = ranks.into_iter().find(|&r| cost.rank(r) != bound.rank(r));
    rank.map_or(Some(0.0), |r| {
        (cost.rank(r) > 0)
            .then(|| 100.0 * (cost.rank(r) - bound.rank(r)) as f64 / cost.rank(r) as f64)
    })
}

fn waits(args: &DispatchArgs, problem: &Problem, plan: Option<&Plan>) -> Vec<String> {
    plan.filter(|_| args.why)
        .and_then(|plan| explain(problem, plan).ok())
        .map_or_else(Vec::new, |waits| {
            waits.iter().map(ToString::to_string).collect()
        })
}

/// Rounds of work for each resource, where the command line does not say.
const ROUNDS_FOR_EACH: u64 = 2;

fn effect_words(problem: &Problem, effect: &Effect) -> String {
    match effect {
        Effect::Cost { cost, proven: true } => format!("cost {}, the least", cost_words(cost)),
        Effect::Cost { cost, .. } => format!("cost {}", cost_words(cost)),
        Effect::NoPath { trains } => {
            let trains: Vec<String> = trains.iter().map(|&t| train_words(problem, t)).collect();
            format!("no way left for {}", trains.join(", "))
        }
        Effect::Impossible => "no plan: proven".to_owned(),
        Effect::Unknown => "no plan found".to_owned(),
    }
}

fn worth_words(problem: &Problem, worth: &Sensitivity) -> String {
    let mut words = String::new();
    for (title, cases) in [
        ("with room for any number on", &worth.freed),
        ("without", &worth.forbidden),
    ] {
        for case in cases {
            let name = &problem.resources[case.change.resource()];
            let _ = writeln!(
                words,
                "{title} `{name}`: {}",
                effect_words(problem, &case.effect)
            );
        }
    }
    let _ = writeln!(words, "as it is: cost {}", cost_words(&worth.base));
    words
}

fn worth_json(problem: &Problem, worth: &Sensitivity) -> Value {
    let cases = |cases: &[Case]| -> Vec<Value> {
        cases
            .iter()
            .map(|case| {
                let cost = match &case.effect {
                    Effect::Cost { cost, .. } => Some(&cost.0),
                    _ => None,
                };
                json!({
                    "resource": problem.resources[case.change.resource()],
                    "cost": cost,
                    "effect": effect_words(problem, &case.effect),
                })
            })
            .collect()
    };
    json!({
        "base": worth.base.0,
        "freed": cases(&worth.freed),
        "forbidden": cases(&worth.forbidden),
    })
}

fn to_json(found: &Found, seconds: f64, waits: &[String]) -> Value {
    let status = match &found.status {
        Status::Optimal => "best",
        Status::Feasible => "plan",
        Status::Infeasible(_) => "impossible",
        Status::Unknown => "unknown",
    };
    let events = |plan: &Plan| -> Vec<Value> {
        plan.events
            .iter()
            .map(|e| json!({"time": e.time, "train": e.train, "operation": e.operation}))
            .collect()
    };
    json!({
        "status": status,
        "cost": found.cost.as_ref().map(|c| &c.0),
        "bound": found.bound.0,
        "gap_percent": found.cost.as_ref().and_then(|c| gap(c, &found.bound)),
        "seconds": seconds,
        "plan": found.plan.as_ref().map(|p| {
            json!({"objective_value": p.objective_value, "events": events(p)})
        }),
        "waits": waits,
    })
}

fn judge(args: &DispatchArgs, instance: &Instance, path: &Path) -> Outcome {
    let problem = instance.problem();
    let text = read(path)?;
    let plan = match instance {
        Instance::General(_) => read_plan(&text).map_err(|faults| words(&faults)),
        Instance::Line(line) => line.read_solution(&text).map_err(|faults| words(&faults)),
    };
    let plan = match plan {
        Ok(plan) => plan,
        Err(faults) => return Ok(refuse(path, &faults, "nothing was judged")),
    };
    match check::check(problem, &plan) {
        Ok(cost) => {
            let waits = waits(args, problem, Some(&plan));
            if args.json {
                say(&format!(
                    "{:#}\n",
                    json!({"cost": cost.0, "violations": [], "waits": waits})
                ));
            } else {
                for wait in waits {
                    say(&format!("{wait}\n"));
                }
                say(&format!(
                    "the plan obeys every rule; cost {}\n",
                    cost_words(&cost)
                ));
            }
            Ok(ExitCode::from(WELL))
        }
        Err(violations) => {
            let violations = words(&violations);
            if args.json {
                say(&format!(
                    "{:#}\n",
                    json!({"cost": null, "violations": violations})
                ));
                return Ok(ExitCode::from(WRONG));
            }
            Ok(refuse(path, &violations, "the plan breaks the rules"))
        }
    }
}
