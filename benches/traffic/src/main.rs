//! `cargo run --release -p traffic-bench`: how long it takes to bill the next session of the example railroad,
//! and of that railroad many times over; and the minimum-cost flow beside a general solver.
//!
//! Times are of the processor, user and system, best of several: other work on the machine does not count.
#![allow(clippy::print_stdout, reason = "a benchmark prints its figures")]

mod copies;

use std::hint::black_box;

use planning::{
    bill::{Options, bill, opening},
    supply::flow::Network,
};
use railroad::{Folder, load};
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;

fn main() {
    let most: usize = std::env::args()
        .nth(1)
        .and_then(|most| most.parse().ok())
        .unwrap_or(10);
    println!(
        "| railroad | cars | trains | waybills | moved | read, ms | open, ms | bill, ms | gap | memory, MB |"
    );
    println!("|---|---|---|---|---|---|---|---|---|---|");
    measure("example", &Folder::built_in("example").unwrap_or_default());
    for count in [2, 5, 10] {
        if count <= most {
            measure(
                &format!("{count} times the example"),
                &copies::copies(count),
            );
        }
    }
    flows();
}

/// Processor time of this process, seconds.
fn processor() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let fields: Vec<&str> = stat
        .rsplit(')')
        .next()
        .unwrap_or_default()
        .split_whitespace()
        .collect();
    let ticks = |at: usize| {
        fields
            .get(at)
            .and_then(|text| text.parse::<f64>().ok())
            .unwrap_or(0.0)
    };
    // User and system time are the 14th and 15th fields; the first two stand before the parenthesis. A tick is a
    // hundredth of a second.
    (ticks(11) + ticks(12)) / 100.0
}

/// Milliseconds of the processor that some work takes: repeated until there is enough to measure.
fn milliseconds(mut work: impl FnMut()) -> f64 {
    let mut count = 1;
    loop {
        let start = processor();
        for _ in 0..count {
            work();
        }
        let spent = processor() - start;
        if spent >= 0.5 || count >= 4096 {
            return 1000.0 * spent / f64::from(count);
        }
        count *= 2;
    }
}

/// Most memory this process has held, megabytes.
fn memory() -> f64 {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    status
        .lines()
        .find_map(|line| line.strip_prefix("VmHWM:"))
        .and_then(|rest| rest.split_whitespace().next()?.parse::<f64>().ok())
        .map_or(0.0, |kilobytes| kilobytes / 1024.0)
}

fn measure(name: &str, folder: &Folder) {
    let read = milliseconds(|| {
        black_box(load(folder));
    });
    let railroad = load(folder).railroad;
    let open = milliseconds(|| {
        black_box(opening(&railroad, 0));
    });
    let books = opening(&railroad, 0);
    let options = Options::default();
    let billed = match bill(&railroad, &books, &options) {
        Ok(billed) => billed,
        Err(none) => {
            println!("{name}: {none}");
            return;
        }
    };
    let time = milliseconds(|| {
        black_box(bill(&railroad, &books, &options).is_ok());
    });
    let moved = billed
        .bills
        .iter()
        .filter(|bill| bill.legs.iter().any(|leg| leg.day == 0))
        .count();
    let [cost, bound] = billed.routing_cost;
    println!(
        "| {name} | {} | {} | {} | {moved} | {read:.1} | {open:.1} | {time:.0} | {:.1} % | {:.0} |",
        railroad.roster.cars.len(),
        billed.made_up.len(),
        billed.bills.len(),
        100.0 * (cost - bound) as f64 / bound.max(1) as f64,
        memory(),
    );
}

/// Cars for orders at random, twenty ways for each car.
fn orders(cars: usize) -> Network {
    let mut dice = Pcg64::seed_from_u64(cars as u64);
    let mut network = Network::default();
    let from: Vec<usize> = (0..cars).map(|_| network.node(1)).collect();
    let to: Vec<usize> = (0..cars / 3).map(|_| network.node(0)).collect();
    let end = network.node(-(cars as i64));
    for &car in &from {
        for _ in 0..20 {
            let order = to[dice.random_range(0..to.len())];
            network.arc(car, order, 1, dice.random_range(1..400));
        }
        // It may stay.
        network.arc(car, end, 1, 500);
    }
    for &order in &to {
        network.arc(order, end, 3, -300);
    }
    network
}

fn general(network: &Network) -> f64 {
    let mut problem = microlp::Problem::new(microlp::OptimizationDirection::Minimize);
    let variables: Vec<_> = network
        .arcs
        .iter()
        .map(|arc| problem.add_var(arc.cost as f64, (0.0, arc.capacity as f64)))
        .collect();
    let mut rows: Vec<Vec<(microlp::Variable, f64)>> = vec![vec![]; network.supply.len()];
    for (arc, &variable) in network.arcs.iter().zip(&variables) {
        rows[arc.from].push((variable, 1.0));
        rows[arc.to].push((variable, -1.0));
    }
    for (row, &supply) in rows.iter().zip(&network.supply) {
        problem.add_constraint(row.as_slice(), microlp::ComparisonOp::Eq, supply as f64);
    }
    problem
        .solve()
        .ok()
        .and_then(|outcome| outcome.solution().map(microlp::Solution::objective))
        .unwrap_or(f64::NAN)
}

fn flows() {
    println!("\n| cars | arcs | network simplex, ms | general solver, ms | cost | the same |");
    println!("|---|---|---|---|---|---|");
    for cars in [100, 300, 1000, 3000, 10_000] {
        let network = orders(cars);
        let ours = milliseconds(|| {
            black_box(network.cheapest().is_ok());
        });
        let cost = network.cheapest().map(|flow| flow.cost).unwrap_or_default();
        // Beyond this the general solver takes minutes.
        let theirs = (cars <= 1000).then(|| {
            let start = processor();
            let cost = general(&network);
            (1000.0 * (processor() - start), cost)
        });
        let (time, same) = theirs.map_or(("not run".to_owned(), "-"), |(time, other)| {
            let same = (other - cost as f64).abs() < 1e-6 * other.abs().max(1.0);
            (format!("{time:.0}"), if same { "yes" } else { "no" })
        });
        println!(
            "| {cars} | {} | {ours:.2} | {time} | {cost} | {same} |",
            network.arcs.len()
        );
    }
}
