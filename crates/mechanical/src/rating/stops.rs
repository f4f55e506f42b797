//! Where a train stands or runs that has not the pull for it.

use model::units::{Actual, Weight};

use super::{
    Slope,
    rate::{Block, demand, exceeds, placings},
};

/// A reach of placings at which a train resists with more than its engines pull.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Where the front of the train is at its beginning.
    pub from: Actual,
    /// Where the front of the train is at its end.
    pub to: Actual,
    /// The front of the train at the hardest placing.
    pub front: Actual,
    /// How much pull is wanting there.
    pub short: Weight,
    /// The height in meters of the model that the whole train must climb by its speed to pass.
    lift: f64,
}

/// All reaches of placings, the front of the train going from `from` to `to`, at which `blocks` resist with more than
/// `pull`. With the resistance of starting, these are the places where the train must not stop; with that of moving, those
/// where it stalls unless its speed carries it over.
pub fn reaches(
    slope: &Slope,
    blocks: &[Block],
    pull: Weight,
    from: Actual,
    to: Actual,
) -> Vec<Reach> {
    let weight: Weight = blocks.iter().map(|block| block.weight).sum();
    let mut fronts = Vec::new();
    placings(
        slope,
        blocks,
        from.meters(),
        to.meters().max(from.meters()),
        |front| fronts.push(front),
    );
    fronts.sort_by(f64::total_cmp);
    fronts.dedup();
    let short_at = |front: f64| (demand(slope, blocks, front) - pull).kg();
    let mut all: Vec<Reach> = Vec::new();
    let mut open: Option<Reach> = None;
    let mut before: Option<(f64, f64)> = None;
    for front in fronts {
        let short = short_at(front);
        let over = exceeds(pull + Weight::from_kg(short), pull);
        // Between neighbouring placings the shortage changes along a straight line.
        let crossing = |(x, y): (f64, f64)| {
            if (short - y).abs() > 0.0 {
                x + (front - x) * y / (y - short)
            } else {
                front
            }
        };
        let add = |reach: &mut Reach, a: (f64, f64), b: (f64, f64)| {
            if weight > Weight::ZERO {
                reach.lift += 0.5 * (a.1.max(0.0) + b.1.max(0.0)) * (b.0 - a.0) / weight.kg();
            }
        };
        match (&mut open, before) {
            (Some(reach), Some(last)) if over => add(reach, last, (front, short)),
            (Some(reach), Some(last)) => {
                let end = crossing(last).clamp(last.0, front);
                add(reach, last, (end, 0.0));
                reach.to = Actual::from_meters(end);
                all.push(*reach);
                open = None;
            }
            (None, last) if over => {
                let begin = last.map_or(front, |last| crossing(last).clamp(last.0, front));
                let mut reach = Reach {
                    from: Actual::from_meters(begin),
                    to: Actual::from_meters(front),
                    front: Actual::from_meters(front),
                    short: Weight::ZERO,
                    lift: 0.0,
                };
                add(&mut reach, (begin, 0.0), (front, short));
                open = Some(reach);
            }
            _ => {}
        }
        if let Some(reach) = &mut open {
            reach.to = Actual::from_meters(front);
            if Weight::from_kg(short) > reach.short {
                reach.short = Weight::from_kg(short);
                reach.front = Actual::from_meters(front);
            }
        }
        before = Some((front, short));
    }
    all.extend(open);
    all
}

/// What it takes to pass a reach by speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Momentum {
    /// The height the whole train must climb by its speed.
    pub lift: Actual,
}

/// What it takes to pass a reach by speed: the work that is wanting over it, spread over the whole train's weight. Full
/// size, this height is a speed ([`velocity_head`](crate::resistance::velocity_head)); on the model it never is one, since a
/// scale 20 mph lifts an HO train by a fiftieth of an inch.
pub fn momentum(reach: &Reach) -> Momentum {
    Momentum {
        lift: Actual::from_meters(reach.lift),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rating::{GradeProfile, Piece};
    use model::units::Grade;

    fn hump() -> Slope {
        let piece = |feet: f64, percent: f64| Piece {
            length: Actual::from_feet(feet),
            grade: Grade::from_percent(percent),
            radius: None,
        };
        Slope::new(
            &GradeProfile {
                pieces: vec![piece(20.0, 0.0), piece(2.0, 3.0), piece(20.0, 0.0)],
                places: Vec::new(),
            },
            |_| 0.0,
        )
    }

    #[test]
    fn a_short_hump_is_found_with_its_ends_and_its_work() {
        // A train of 4 ft and 100 oz on a hump of 2 ft: at most half of it is on 3 %, 1.5 % of the whole.
        let train = [Block {
            length: Actual::from_feet(4.0),
            weight: Weight::from_ounces(100.0),
            rolling: 0.01,
        }];
        let all = reaches(
            &hump(),
            &train,
            Weight::from_ounces(2.0),
            Actual::from_feet(10.0),
            Actual::from_feet(40.0),
        );
        assert_eq!(all.len(), 1);
        let reach = all[0];
        // 1 % is left for the grade: a third of the train on the hump, from 21⅓ to 24⅔ ft of its front.
        assert!(
            (reach.from.feet() - (20.0 + 4.0 / 3.0)).abs() < 1e-9,
            "{}",
            reach.from.feet()
        );
        assert!(
            (reach.to.feet() - (26.0 - 4.0 / 3.0)).abs() < 1e-9,
            "{}",
            reach.to.feet()
        );
        assert!((reach.short.ounces() - 0.5).abs() < 1e-9);
        // The shortage rises over 2/3 ft to half a percent, stays for 2 ft and falls over 2/3 ft: 0.005 × 2⅔ ft.
        assert!((momentum(&reach).lift.feet() - 0.005 * 8.0 / 3.0).abs() < 1e-9);
        let strong = reaches(
            &hump(),
            &train,
            Weight::from_ounces(2.5),
            Actual::from_feet(10.0),
            Actual::from_feet(40.0),
        );
        assert_eq!(strong, []);
    }
}
