//! Small random problems against exhaustive enumeration.

use std::error::Error;
use std::time::Instant;

use dispatching::solver::Status;

use crate::common::enumerate::{Outcome, best_by_orders};
use crate::common::random;
use crate::run::{Effort, percentile, timed};

pub(crate) fn run(effort: Effort, problems: u64, rounds: u64) -> Result<(), Box<dyn Error>> {
    let begin = Instant::now();
    let (mut best, mut dearer, mut missed, mut wrong) = (0, 0, 0, 0);
    let (mut proven, mut impossible, mut proven_impossible, mut too_large) = (0, 0, 0, 0);
    let mut times = Vec::new();
    for seed in effort.seed..effort.seed + problems {
        let problem = random::problem(seed);
        let expected = best_by_orders(&problem, 20_000);
        let run = timed(&problem, effort, 60.0, Some(rounds), None);
        times.push(run.seconds);
        let status = &run.outcome.status;
        match (expected, &run.outcome.cost) {
            (Outcome::TooMuch, _) => too_large += 1,
            (Outcome::Best(cost, _), found) => {
                let claims_otherwise = run.outcome.bound > cost
                    || matches!(status, Status::Infeasible(_))
                    || (*status == Status::Optimal && found.as_ref() != Some(&cost));
                wrong += u64::from(claims_otherwise);
                proven += u64::from(*status == Status::Optimal);
                match found {
                    Some(found) if *found == cost => best += 1,
                    Some(found) if *found < cost => wrong += 1,
                    Some(_) => dearer += 1,
                    None => missed += 1,
                }
            }
            (Outcome::Impossible, Some(_)) => wrong += 1,
            (Outcome::Impossible, None) => {
                impossible += 1;
                proven_impossible += u64::from(matches!(status, Status::Infeasible(_)));
            }
        }
    }
    times.sort_by(f64::total_cmp);
    println!(
        "| problems | best plan found | dearer | missed | proven best | impossible | proven so | too large to enumerate | wrong claims | median ms | slowest ms | all s |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|---|---|");
    println!(
        "| {problems} | {best} | {dearer} | {missed} | {proven} | {impossible} | {proven_impossible} | {too_large} | {wrong} | {:.2} | {:.1} | {:.1} |",
        1000.0 * percentile(&times, 0.5),
        1000.0 * percentile(&times, 1.0),
        begin.elapsed().as_secs_f64(),
    );
    if wrong > 0 {
        Err("the solver is wrong somewhere".into())
    } else {
        Ok(())
    }
}
