//! The minimum-cost flow against a general solver of linear programs that is not ours (`microlp`), and its
//! prices before the judge.

use microlp::{ComparisonOp, OptimizationDirection, Problem};
use planning::supply::flow::{Network, NoFlow};
use rand::{RngExt as _, SeedableRng as _};
use rand_pcg::Pcg64;
use traffic::supply::{Carries, certify};

/// Cars for orders, orders for cars: sources, a middle, sinks, arcs of all costs and capacities, some of
/// them twice and some backward. Not every one has a flow.
fn random(seed: u64) -> Network {
    let mut dice = Pcg64::seed_from_u64(seed);
    let nodes = dice.random_range(4..40_usize);
    let mut network = Network::default();
    for _ in 0..nodes {
        network.node(0);
    }
    for _ in 0..dice.random_range(1..=nodes * 2) {
        let (from, to) = (dice.random_range(0..nodes), dice.random_range(0..nodes));
        let amount = dice.random_range(0..6_i64);
        network.supply[from] += amount;
        network.supply[to] -= amount;
    }
    let many = dice.random_range(1..=8_usize);
    for _ in 0..nodes * many {
        let (from, to) = (dice.random_range(0..nodes), dice.random_range(0..nodes));
        if from != to {
            let capacity = dice.random_range(0..20_i64);
            network.arc(from, to, capacity, dice.random_range(0..100_i64));
        }
    }
    network
}

/// The cost by the general solver, if there is a flow.
fn general(network: &Network) -> Option<f64> {
    let mut problem = Problem::new(OptimizationDirection::Minimize);
    let variables: Vec<_> = network
        .arcs
        .iter()
        .map(|arc| problem.add_var(arc.cost as f64, (0.0, arc.capacity as f64)))
        .collect();
    for (node, &supply) in network.supply.iter().enumerate() {
        let mut row = vec![];
        for (arc, &variable) in network.arcs.iter().zip(&variables) {
            if arc.from == node {
                row.push((variable, 1.0));
            }
            if arc.to == node {
                row.push((variable, -1.0));
            }
        }
        problem.add_constraint(row.as_slice(), ComparisonOp::Eq, supply as f64);
    }
    let outcome = problem.solve().ok()?;
    assert!(outcome.is_optimal(), "the general solver stopped early");
    outcome.solution().map(microlp::Solution::objective)
}

#[test]
fn two_hundred_flows_cost_what_a_general_solver_says() {
    let (mut flows, mut none) = (0, 0);
    for seed in 0..200 {
        let network = random(seed);
        match (network.cheapest(), general(&network)) {
            (Ok(flow), Some(cost)) => {
                assert!(
                    (flow.cost as f64 - cost).abs() < 1e-6 * cost.max(1.0),
                    "{seed}: {} and {cost}",
                    flow.cost
                );
                let arcs: Vec<Carries> = network
                    .arcs
                    .iter()
                    .zip(&flow.flow)
                    .map(|(arc, &flow)| Carries {
                        from: arc.from,
                        to: arc.to,
                        capacity: arc.capacity,
                        cost: arc.cost,
                        flow,
                    })
                    .collect();
                assert_eq!(
                    certify(&network.supply, &arcs, &flow.price),
                    Ok(flow.cost),
                    "{seed}"
                );
                flows += 1;
            }
            (Err(NoFlow::NoWay(_)), None) => none += 1,
            (ours, theirs) => panic!("{seed}: {ours:?} and {theirs:?}"),
        }
    }
    // Both kinds were met.
    assert!(flows > 60 && none > 20, "{flows} flows, {none} without");
}
