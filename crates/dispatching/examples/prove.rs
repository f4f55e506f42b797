//! Works on one instance with the proving engine alone and prints how bound and plan move.
//! `cargo run --release -p dispatching --example prove -- FILE [seconds] [incumbent value] [units of work]`

#![allow(clippy::print_stdout, reason = "an example that prints")]

use std::sync::Arc;
use std::time::{Duration, Instant};

use dispatching::engine::{Engine, Known};
use dispatching::exact::Exact;
use dispatching::{Cost, Plan, check, json, single_track};

fn main() {
    let mut args = std::env::args().skip(1);
    let path = args.next().expect("a file");
    let seconds: f64 = args.next().map_or(10.0, |s| s.parse().expect("seconds"));
    let value: Option<i64> = args.next().map(|s| s.parse().expect("a value"));
    let text = std::fs::read_to_string(&path).expect("a readable file");
    let problem = if text.contains("\"stl/1\"") {
        single_track::read_line(&text)
            .expect("a line")
            .compile()
            .problem
    } else {
        json::read_problem(&text).expect("an instance")
    };
    let start = Instant::now();
    let mut engine = Exact::new(&problem);
    let mut known = Known::default();
    if let Some(v) = value {
        known.incumbent = Some((Arc::new(Plan::default()), Cost(vec![v])));
    }
    let most: u64 = args.next().map_or(u64::MAX, |s| s.parse().expect("work"));
    let end = start + Duration::from_secs_f64(seconds);
    let mut shown = 0.0;
    loop {
        let found = engine.round(2_000_000, &known, &|| Instant::now() > end);
        let at = start.elapsed().as_secs_f64();
        let mut tell = found.exhausted || Instant::now() > end || at > shown + seconds / 20.0;
        if let Some(plan) = found.plan {
            let cost = check::check(&problem, &plan).expect("a plan that passes the judge");
            assert_eq!(cost.total(), plan.objective_value);
            if known.incumbent.as_ref().is_none_or(|i| cost < i.1) {
                tell = true;
                known.incumbent = Some((Arc::new(plan), cost));
            }
        }
        if let Some(b) = found.bound {
            known.bound = known.bound.max(b);
        }
        if tell {
            shown = at;
            let [conflicts, decisions, cores, work] = engine.counts();
            println!(
                "{at:8.2} s  bound {:?}  best {:?}  conflicts {conflicts} decisions {decisions} cores {cores} work {work}",
                known.bound.0,
                known.incumbent.as_ref().map(|i| i.1.total()),
            );
        }
        if found.infeasible.is_some() {
            println!("infeasible {:?}", found.infeasible);
        }
        if found.exhausted || Instant::now() > end || engine.counts()[3] > most {
            println!(
                "{} {}",
                if found.exhausted { "CLOSED" } else { "open" },
                path
            );
            return;
        }
    }
}
