//! The public instances against the best known values.

use std::error::Error;

use dispatching::json::read_problem;
use dispatching::solver::Status;

use crate::run::{Effort, gap, machine, seconds, timed, value};

pub(crate) fn run(effort: Effort, limit: f64, only: &[String]) -> Result<(), Box<dyn Error>> {
    let folder = crate::shared()?.join("displib");
    let known = std::fs::read_to_string(folder.join("best-known.csv"))?;
    println!(
        "{limit} s an instance, {} thread(s), seed {}; {}\n",
        effort.threads,
        effort.seed,
        machine()
    );
    println!(
        "| instance | trains | operations | ours | proven bound | best known | gap to best known | first plan s | within 1 % of best known s | end s | processor s |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|---|");
    let mut gaps = Vec::new();
    let (mut solved, mut equal, mut better, mut proven, mut near) = (0, 0, 0, 0, 0);
    for line in known.lines().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let &[name, trains, operations, _, best, ..] = fields.as_slice() else {
            continue;
        };
        if !only.is_empty() && !only.iter().any(|o| name.contains(o.as_str())) {
            continue;
        }
        let best: i64 = best.parse()?;
        let text = std::fs::read_to_string(folder.join(format!("instances/{name}.json")))?;
        let problem = read_problem(&text).map_err(|f| format!("{name}: {f:?}"))?;
        let run = timed(&problem, effort, limit, None, None);
        let ours = run.objective();
        println!(
            "| {name} | {trains} | {operations} | {} | {} | {best} | {} | {} | {} | {:.1} | {} |",
            value(ours),
            run.outcome.bound.total(),
            gap(ours, best),
            seconds(run.first()),
            seconds(run.within_one_percent(best)),
            run.seconds,
            seconds(run.processor),
        );
        if let Some(ours) = ours {
            solved += 1;
            equal += usize::from(ours == best);
            better += usize::from(ours < best);
            near += usize::from(ours as f64 <= best as f64 * 1.01);
            proven += usize::from(run.outcome.status == Status::Optimal);
            gaps.push((ours - best) as f64 / (best as f64).max(1.0));
        }
    }
    gaps.sort_by(f64::total_cmp);
    println!(
        "\nPlans for {solved}; {better} better than best known, {equal} equal, {near} within 1 %, \
         {proven} proven best; median gap {:.2} %, ninth decile {:.2} %",
        100.0 * crate::run::percentile(&gaps, 0.5),
        100.0 * crate::run::percentile(&gaps, 0.9),
    );
    Ok(())
}
