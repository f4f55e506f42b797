//! How long a new plan takes after a disturbance, at the size of a club.

use std::error::Error;
use std::time::Instant;

use dispatching::check::check;
use dispatching::replan::{Closure, Extra, Options, Situation, replan};
use dispatching::single_track::read_line;
use dispatching::{Plan, Problem};
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

use crate::run::{Effort, gap, percentile, timed};

/// The kinds of disturbance.
const KINDS: [&str; 4] = [
    "late train",
    "closed track",
    "cancelled train",
    "extra train",
];

#[derive(Default)]
struct Tally {
    milliseconds: Vec<f64>,
    without_plan: usize,
    limits_lifted: usize,
    old_order_possible: usize,
    cheaper_than_old_order: usize,
    same_as_old_order: usize,
    rerouted: usize,
    overtaken: usize,
    /// Sums of the objective with the new plan and solved afresh, where that was done, and how often the new
    /// plan is dearer by more than a fiftieth.
    compared: usize,
    new: i64,
    afresh: i64,
    dearer: usize,
}

pub(crate) fn run(
    effort: Effort,
    disturbances: u64,
    rounds: u64,
    base_rounds: u64,
    afresh: Option<u64>,
) -> Result<(), Box<dyn Error>> {
    let folder = crate::shared()?.join("meets/instances");
    let names = ["clublite_1", "clublite_2", "club_1", "club_2"];
    let mut plans: Vec<(Problem, Plan)> = Vec::new();
    for name in names {
        let text = std::fs::read_to_string(folder.join(format!("{name}.json")))?;
        let problem = read_line(&text)
            .map_err(|f| format!("{f:?}"))?
            .compile()
            .problem;
        let plan = timed(&problem, effort, f64::from(600), Some(base_rounds), None)
            .outcome
            .plan;
        plans.push((
            problem,
            plan.ok_or(format!("no plan for {name} in {base_rounds} rounds"))?,
        ));
    }
    let mut rng = Pcg64Mcg::seed_from_u64(effort.seed);
    let mut tallies: [Tally; 4] = Default::default();
    let mut done = 0;
    while done < disturbances {
        let (problem, plan) = &plans[rng.random_range(0..plans.len())];
        let kind = rng.random_range(0..KINDS.len());
        let Some(situation) = disturb(&mut rng, problem, plan, kind) else {
            continue;
        };
        let options = Options {
            seed: effort.seed,
            rounds: Some(rounds),
            threads: effort.threads,
            change_cost: None,
        };
        let begin = Instant::now();
        let Ok(new) = replan(problem, plan, &situation, &options, &|| false, &mut |_| {}) else {
            continue; // A closure under a train: not a situation that can be.
        };
        let took = begin.elapsed().as_secs_f64() * 1000.0;
        done += 1;
        let tally = &mut tallies[kind];
        tally.milliseconds.push(took);
        let old_order = new.revised.warm_start.as_ref();
        let old_cost =
            old_order.map(|p| check(&new.revised.problem, p).map_err(|v| format!("{v:?}")));
        let old_cost = old_cost.transpose()?;
        tally.old_order_possible += usize::from(old_cost.is_some());
        tally.limits_lifted += usize::from(!new.revised.lifted.is_empty());
        let Some(new_plan) = &new.outcome.plan else {
            tally.without_plan += 1;
            continue;
        };
        let cost = check(&new.revised.problem, new_plan).map_err(|v| format!("{v:?}"))?;
        if let Some(old_cost) = old_cost {
            tally.cheaper_than_old_order += usize::from(cost.rank(0) < old_cost.rank(0));
            tally.same_as_old_order += usize::from(cost.rank(0) == old_cost.rank(0));
        }
        if let Some(rounds) = afresh {
            let limit = f64::from(3600);
            let solved = timed(&new.revised.problem, effort, limit, Some(rounds), None).outcome;
            if let Some(solved) = solved.cost {
                // What is past costs the same in both.
                let (ours, theirs) = (cost.rank(0), solved.rank(0));
                let past = new.revised.past.rank(0);
                tally.compared += 1;
                tally.new += ours + past;
                tally.afresh += theirs + past;
                tally.dearer += usize::from(50 * (ours - theirs) > theirs + past);
            }
        }
        tally.rerouted += new.changes.rerouted.len();
        tally.overtaken += new.changes.overtaken.len();
    }
    println!(
        "{disturbances} disturbances of plans for {}, {rounds} round(s) each, {} thread(s), seed {}; {}\n",
        names.join(", "),
        effort.threads,
        effort.seed,
        crate::run::machine()
    );
    println!(
        "| disturbance | cases | p50 ms | p99 ms | slowest ms | no plan | latest starts lifted | old order still possible | new plan cheaper | as cheap | trains rerouted a case | changes of order a case | compared | dearer than afresh by over 2 % | all against afresh |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|---|---|---|---|---|");
    let mut all = Vec::new();
    for (kind, tally) in KINDS.iter().zip(&mut tallies) {
        all.extend_from_slice(&tally.milliseconds);
        row(kind, tally);
    }
    all.sort_by(f64::total_cmp);
    println!(
        "\nAll: p50 {:.0} ms, p99 {:.0} ms, slowest {:.0} ms",
        percentile(&all, 0.5),
        percentile(&all, 0.99),
        percentile(&all, 1.0)
    );
    Ok(())
}

fn row(kind: &str, tally: &mut Tally) {
    tally.milliseconds.sort_by(f64::total_cmp);
    let cases = tally.milliseconds.len();
    println!(
        "| {kind} | {cases} | {:.0} | {:.0} | {:.0} | {} | {} | {} | {} | {} | {:.2} | {:.2} | {} | {} | {} |",
        percentile(&tally.milliseconds, 0.5),
        percentile(&tally.milliseconds, 0.99),
        percentile(&tally.milliseconds, 1.0),
        tally.without_plan,
        tally.limits_lifted,
        tally.old_order_possible,
        tally.cheaper_than_old_order,
        tally.same_as_old_order,
        tally.rerouted as f64 / cases.max(1) as f64,
        tally.overtaken as f64 / cases.max(1) as f64,
        tally.compared,
        tally.dearer,
        gap((tally.compared > 0).then_some(tally.new), tally.afresh),
    );
}

/// A disturbance at a random moment; `None` if the plan offers no hold for it then.
fn disturb(rng: &mut Pcg64Mcg, problem: &Problem, plan: &Plan, kind: usize) -> Option<Situation> {
    let last = plan.events.last()?.time;
    let mut situation = Situation::as_planned(plan, rng.random_range(0..last));
    let now = situation.now;
    // A train that has started nothing but waiting to enter has not entered.
    let holds = |t: usize, o: usize| !problem.trains[t].operations[o].resources.is_empty();
    let entered = |t: usize| {
        let report = situation.reports.iter().find(|r| r.train == t);
        report.is_some_and(|r| r.started.iter().any(|&(o, _)| holds(t, o)))
    };
    let waiting: Vec<usize> = (0..problem.trains.len()).filter(|&t| !entered(t)).collect();
    match kind {
        0 => {
            let running: Vec<usize> = (0..situation.reports.len())
                .filter(|&r| {
                    let report = &situation.reports[r];
                    report.started.last().is_some_and(|&(o, _)| {
                        !problem.trains[report.train].operations[o]
                            .successors
                            .is_empty()
                    })
                })
                .collect();
            let which = *running.get(rng.random_range(0..running.len().max(1)))?;
            situation.reports[which].ends = Some(now + rng.random_range(5..=30));
        }
        1 => {
            let from = now + rng.random_range(0..30);
            situation.closures.push(Closure {
                resource: rng.random_range(0..problem.resources.len()),
                from,
                until: from + rng.random_range(10..=40),
            });
        }
        2 => situation
            .cancelled
            .push(*waiting.get(rng.random_range(0..waiting.len().max(1)))?),
        _ => {
            // Another section of a train that has not entered yet.
            let first = *waiting.get(rng.random_range(0..waiting.len().max(1)))?;
            let mut train = problem.trains[first].clone();
            train.name += " second section";
            let terms = problem
                .objective
                .iter()
                .filter(|t| t.train == first)
                .copied()
                .collect();
            situation.extra.push(Extra { train, terms });
        }
    }
    Some(situation)
}
