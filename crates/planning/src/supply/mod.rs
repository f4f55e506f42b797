//! Empty cars for orders: the best car for each, exactly.
//!
//! Every empty goes somewhere: to an order, to a yard that will want it, home, or it stays. Each of these
//! has a price, and one minimum-cost flow decides for all cars at once.

pub mod flow;
mod homes;

pub use homes::homes;

use traffic::supply::{Carries, certify};

use flow::{Network, NoFlow};

/// Where cars may go.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Sink {
    /// At most so many; all that there are if none.
    pub most: Option<u32>,
    /// What it is worth to send one there.
    pub worth: i64,
}

/// A choice to be made.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Question {
    /// How many cars.
    pub cars: usize,
    /// Where they may go.
    pub sinks: Vec<Sink>,
    /// Car, sink and what it costs. A car that may go nowhere has no answer.
    pub ways: Vec<(usize, usize, i64)>,
}

/// The best choice.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Choice {
    /// For each car its sink.
    pub sink: Vec<Option<usize>>,
    /// What it costs, less what it is worth: no choice costs less, proven by prices that the judge has
    /// checked.
    pub cost: i128,
}

/// Chooses.
///
/// # Errors
/// If some car may go nowhere, or the judge does not accept the proof.
pub fn choose(question: &Question) -> Result<Choice, String> {
    let mut network = Network::default();
    let cars: Vec<usize> = (0..question.cars).map(|_| network.node(1)).collect();
    let sinks: Vec<usize> = question.sinks.iter().map(|_| network.node(0)).collect();
    let end = network.node(-(question.cars as i64));
    for &(car, sink, cost) in &question.ways {
        network.arc(cars[car], sinks[sink], 1, cost);
    }
    for (sink, &node) in question.sinks.iter().zip(&sinks) {
        let most = sink.most.map_or(question.cars as i64, i64::from);
        network.arc(node, end, most, -sink.worth);
    }
    let flow = network.cheapest().map_err(|none| match none {
        NoFlow::NoWay(cars) => format!("{cars} empty cars have nowhere to go"),
        other => other.to_string(),
    })?;
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
    let cost = certify(&network.supply, &arcs, &flow.price)?;
    let mut sink = vec![None; question.cars];
    for (&(car, to, _), &flows) in question.ways.iter().zip(&flow.flow) {
        if flows > 0 {
            sink[car] = Some(to);
        }
    }
    Ok(Choice { sink, cost })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two cars, one order, and a yard that will want one some day: the nearer car is ordered, the other
    /// stays.
    #[test]
    fn the_order_is_served_before_the_yard() {
        let sink = |most, worth| Sink { most, worth };
        let question = Question {
            cars: 2,
            sinks: vec![sink(Some(1), 400), sink(Some(1), 50), sink(None, 0)],
            ways: vec![
                (0, 0, 10),
                (0, 1, 5),
                (0, 2, 0),
                (1, 0, 90),
                (1, 1, 60),
                (1, 2, 0),
            ],
        };
        let choice = choose(&question).unwrap();
        assert_eq!(choice.sink, [Some(0), Some(2)]);
        assert_eq!(choice.cost, 10 - 400);
        let none = Question {
            cars: 1,
            ..Question::default()
        };
        assert_eq!(
            choose(&none).unwrap_err(),
            "1 empty cars have nowhere to go"
        );
    }
}
