//! Which car fills an order: the rules, and the judge of whoever chose.
//!
//! The rules are those of car service in the time of the paper waybill: of the cars that will do, first
//! foreign cars that the load takes to or toward their home road, last of all home cars that would leave
//! it. They give an order of preference, and were not always kept: surveys of the early 1950s found some
//! two thirds of loadings in accordance. So they are costs here and no prohibitions.

/// Which way an order's load goes, seen from the car that would carry it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Homeward {
    /// A car of our own, and the load stays on our rails.
    OwnAtHome,
    /// A foreign car, and the load goes off by the gateway toward its home road.
    Toward,
    /// A foreign car whose home lies nobody knows where, and the load goes off our rails.
    Unknown,
    /// A private or leased car: it goes where its lessee sends it.
    Private,
    /// A foreign car, and the load stays on our rails.
    Idle,
    /// A car of our own, and the load takes it off our rails.
    OwnLeaving,
    /// A foreign car, and the load takes it away from its home road.
    Away,
}

impl Homeward {
    /// How many miles of empty running one would go to do better by a car: in miles, for comparing with
    /// distance. The order is that of the car service rules; the numbers are common practice, no source.
    pub const fn miles(self) -> i64 {
        match self {
            Self::OwnAtHome | Self::Toward | Self::Private => 0,
            Self::Unknown => 15,
            Self::Idle => 30,
            Self::OwnLeaving => 45,
            Self::Away => 90,
        }
    }

    /// In words, for the crew that asks why this car.
    pub const fn words(self) -> &'static str {
        match self {
            Self::OwnAtHome => "our own car, and the load stays on our rails",
            Self::Toward => "a foreign car loaded toward its home road",
            Self::Unknown => "a foreign car loaded off our rails",
            Self::Private => "a private car, loaded as its lessee wants",
            Self::Idle => "a foreign car used for a load of ours",
            Self::OwnLeaving => "our own car, for want of a foreign one that suits",
            Self::Away => "a foreign car loaded away from its home road, for want of another",
        }
    }
}

/// An arc of a flow, for [`certify`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Carries {
    /// From this node.
    pub from: usize,
    /// To this node.
    pub to: usize,
    /// At most.
    pub capacity: i64,
    /// The cost of a unit.
    pub cost: i64,
    /// What flows.
    pub flow: i64,
}

/// Whether a flow meets every node's supply within the capacities, and whether the prices of the nodes
/// prove that none is cheaper: no arc with room costs less than the difference of prices of its ends,
/// no arc with flow costs more. Gives its cost.
///
/// # Errors
/// What is wrong, in words.
pub fn certify(supply: &[i64], arcs: &[Carries], price: &[i64]) -> Result<i128, String> {
    if price.len() != supply.len() {
        return Err(format!("{} prices for {} nodes", price.len(), supply.len()));
    }
    let mut left = supply.to_vec();
    let mut cost = 0i128;
    // The value of the dual problem: what the supplies are worth at these prices, less what full arcs yield.
    let mut worth: i128 = -supply
        .iter()
        .zip(price)
        .map(|(&gives, &at)| i128::from(gives) * i128::from(at))
        .sum::<i128>();
    for (at, arc) in arcs.iter().enumerate() {
        if arc.flow < 0 || arc.flow > arc.capacity {
            return Err(format!("arc {at} carries {} of {}", arc.flow, arc.capacity));
        }
        left[arc.from] -= arc.flow;
        left[arc.to] += arc.flow;
        cost += i128::from(arc.cost) * i128::from(arc.flow);
        let dear = arc.cost + price[arc.from] - price[arc.to];
        worth += i128::from(dear.min(0)) * i128::from(arc.capacity);
    }
    if let Some(node) = left.iter().position(|&left| left != 0) {
        return Err(format!("node {node} is left with {}", left[node]));
    }
    if worth != cost {
        return Err(format!(
            "the flow costs {cost}, and the prices prove only that none costs less than {worth}"
        ));
    }
    Ok(cost)
}

#[cfg(test)]
mod tests {
    use super::*;

    const fn carries(from: usize, to: usize, capacity: i64, cost: i64, flow: i64) -> Carries {
        Carries {
            from,
            to,
            capacity,
            cost,
            flow,
        }
    }

    #[test]
    fn prices_prove_a_flow_or_they_do_not() {
        let supply = [2, 0, -2];
        let arcs = [
            carries(0, 1, 2, 1, 1),
            carries(1, 2, 1, 1, 1),
            carries(0, 2, 5, 4, 1),
        ];
        // Node 1 is worth between 1 and 3: the way over it is full.
        assert_eq!(certify(&supply, &arcs, &[0, 1, 4]), Ok(6));
        assert!(certify(&supply, &arcs, &[0, 4, 4]).is_err());
        let mut worse = arcs;
        worse[0].flow = 0;
        worse[1].flow = 0;
        worse[2].flow = 2;
        assert_eq!(
            certify(&supply, &worse, &[0, 1, 4]).unwrap_err(),
            "the flow costs 8, and the prices prove only that none costs less than 6"
        );
        worse[2].flow = 1;
        assert_eq!(
            certify(&supply, &worse, &[0, 1, 4]).unwrap_err(),
            "node 0 is left with 1"
        );
        worse[1].flow = 2;
        assert_eq!(
            certify(&supply, &worse, &[0, 1, 4]).unwrap_err(),
            "arc 1 carries 2 of 1"
        );
    }

    /// Car service rules, the old code's order of preference: foreign cars to or via the home road
    /// before foreign cars otherwise, home cars not off the home line when foreign cars suit. The wording
    /// of the numbered list is from memory.
    #[test]
    fn the_order_of_preference_is_that_of_the_car_service_rules() {
        let off_line = [Homeward::Toward, Homeward::OwnLeaving, Homeward::Away];
        assert!(off_line.is_sorted_by_key(|homeward| homeward.miles()));
        assert!(Homeward::OwnAtHome.miles() < Homeward::Idle.miles());
        // Not everyone kept to the rules: each is a cost that distance can outweigh.
        assert!(Homeward::Away.miles() < 1000);
    }
}
