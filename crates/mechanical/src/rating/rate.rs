//! How many cars an engine may take.

use model::units::{Actual, Weight};

use super::{Slope, Stretch};

/// A uniform part of a train: an engine, a car, or a row of cars alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Block {
    /// Its length, over the pulling faces.
    pub length: Actual,
    /// Its weight.
    pub weight: Weight,
    /// What it resists with on level straight track, as a share of its weight: while moving or when starting, whichever is
    /// asked about.
    pub rolling: f64,
}

impl Block {
    /// So many of them, coupled.
    #[must_use]
    pub fn times(&self, count: u32) -> Self {
        let count = f64::from(count);
        Self {
            length: self.length * count,
            weight: self.weight * count,
            rolling: self.rolling,
        }
    }
}

/// An engine and what it pulls, either when it starts or at the speed it is rated for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Engine {
    /// Itself, tender included.
    pub block: Block,
    /// What it pulls, its own resistance not yet taken off (a force given as a weight).
    pub pull: Weight,
}

/// The hardest placing of a train.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hardest {
    /// Where the front of the train is, from the beginning of the line.
    pub front: Actual,
    /// What the train resists with there.
    pub demand: Weight,
    /// The mean grade under the whole train there, curves counted, as a share.
    pub mean: f64,
}

/// What the train of `blocks`, front to rear, resists with when its front is at `front` meters.
pub fn demand(slope: &Slope, blocks: &[Block], front: f64) -> Weight {
    let mut total = Weight::ZERO;
    let mut at = front;
    let mut high = slope.height(front);
    for block in blocks {
        let length = block.length.meters();
        let low = slope.height(at - length);
        let grade = if length > 0.0 {
            (high - low) / length
        } else {
            0.0
        };
        total += block.weight * (block.rolling + grade);
        at -= length;
        high = low;
    }
    total
}

/// Visits every placing of a train that may be the hardest while its front goes from `from` to `to`, in meters: those where
/// an end of a block lies on a break of grade, and the first and last.
pub(super) fn placings(
    slope: &Slope,
    blocks: &[Block],
    from: f64,
    to: f64,
    mut visit: impl FnMut(f64),
) {
    visit(from);
    let mut offset = 0.0;
    for at in 0..=blocks.len() {
        let first = slope
            .breaks()
            .partition_point(|&point| point + offset < from);
        for &point in &slope.breaks()[first..] {
            let front = point + offset;
            if front > to {
                break;
            }
            visit(front);
        }
        offset += blocks.get(at).map_or(0.0, |block| block.length.meters());
    }
    visit(to);
}

/// The hardest placing of a train while its front goes from `from` to `to`. Of two as hard, the earlier.
pub fn hardest(slope: &Slope, blocks: &[Block], from: Actual, to: Actual) -> Hardest {
    let (from, to) = (from.meters(), to.meters().max(from.meters()));
    let mut front = from;
    let mut most = Weight::from_kg(f64::NEG_INFINITY);
    placings(slope, blocks, from, to, |at| {
        let found = demand(slope, blocks, at);
        if found > most || (found == most && at < front) {
            (most, front) = (found, at);
        }
    });
    let length: f64 = blocks.iter().map(|block| block.length.meters()).sum();
    Hardest {
        front: Actual::from_meters(front),
        demand: most,
        mean: slope.mean(front, front - length),
    }
}

/// What keeps a rating from being higher.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Limit {
    /// One car more could not be moved at this placing of the train that has it.
    Grade(Hardest),
    /// The line takes no longer train.
    Length,
}

/// What an engine may take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Rating {
    /// So many rating cars, and any fewer.
    pub cars: u32,
    /// What keeps it from being one more.
    pub limit: Limit,
    /// Whether the engine moves at least itself.
    pub moves_itself: bool,
}

/// For each number of cars, the hardest placing of such a train on a stretch; so that one reckoning serves every season.
#[derive(Debug, Clone, PartialEq)]
pub struct Demands {
    /// The number of cars of the first; any fewer stay under every pull asked about.
    first: u32,
    /// By number of cars.
    by_cars: Vec<Hardest>,
}

impl Demands {
    /// What an engine that pulls so much may take.
    pub fn rating(&self, pull: Weight) -> Rating {
        // A train's first failure counts, and not its last success: on a line that goes down before it goes up, more cars
        // on the downgrade could push, but nobody would tell a crew to take 12 or 20 cars and not 15.
        let over = self
            .by_cars
            .iter()
            .position(|hardest| exceeds(hardest.demand, pull));
        match over {
            None => Rating {
                cars: self.first + self.by_cars.len() as u32 - 1,
                limit: Limit::Length,
                moves_itself: true,
            },
            Some(at) => Rating {
                cars: (self.first + at as u32).saturating_sub(1),
                limit: Limit::Grade(self.by_cars[at]),
                moves_itself: self.first + at as u32 > 0,
            },
        }
    }
}

/// Whether a demand is over a pull by more than the arithmetic's own error.
pub fn exceeds(demand: Weight, pull: Weight) -> bool {
    demand.kg() > pull.kg() + 1e-9 * pull.kg().abs().max(demand.kg().abs())
}

/// The demands of an engine with up to `most_cars` cars on each of some stretches, for pulls from `least` to `most`.
pub fn demands(
    slope: &Slope,
    engine: &Block,
    car: &Block,
    most_cars: u32,
    stretches: &[Stretch],
    [least, most]: [Weight; 2],
) -> Vec<Demands> {
    let longest = engine.length + car.length * f64::from(most_cars);
    stretches
        .iter()
        .map(|stretch| {
            // Were the whole train on the steepest grade it touches, it would take so many cars; it takes no fewer.
            let steepest = slope.steepest((stretch.from - longest).meters(), stretch.to.meters());
            let left = least - engine.weight * (engine.rolling + steepest);
            let each = car.weight * (car.rolling + steepest);
            let sure = if each > Weight::ZERO {
                (left / each).floor() - 1.0
            } else {
                0.0
            };
            let first = sure.clamp(0.0, f64::from(most_cars)) as u32;
            let mut by_cars = Vec::new();
            for cars in first..=most_cars {
                let row = [*engine, car.times(cars)];
                let blocks = if cars == 0 { &row[..1] } else { &row[..] };
                let found = hardest(slope, blocks, stretch.from, stretch.to);
                by_cars.push(found);
                if exceeds(found.demand, most) {
                    break;
                }
            }
            Demands { first, by_cars }
        })
        .collect()
}

/// What an engine may take over one stretch.
pub fn rate(
    slope: &Slope,
    engine: &Engine,
    car: &Block,
    most_cars: u32,
    from: Actual,
    to: Actual,
) -> Rating {
    let stretch = Stretch {
        leaves: 0,
        reaches: 0,
        from,
        to,
    };
    demands(
        slope,
        &engine.block,
        car,
        most_cars,
        &[stretch],
        [engine.pull; 2],
    )[0]
    .rating(engine.pull)
}

/// The weight of cars an engine may take over a stretch, as long as they are as heavy for their length as the rating car:
/// the rated number of cars and part of one more.
pub fn rated_weight(
    slope: &Slope,
    engine: &Engine,
    car: &Block,
    rating: &Rating,
    from: Actual,
    to: Actual,
) -> Weight {
    if rating.cars == 0 || rating.limit == Limit::Length {
        return car.weight * f64::from(rating.cars);
    }
    // Cars as long as those rated but a little heavier: the share more that the hardest placing still allows.
    let cars = car.times(rating.cars);
    let blocks = [engine.block, cars];
    let mut share = f64::INFINITY;
    placings(
        slope,
        &blocks,
        from.meters(),
        to.meters().max(from.meters()),
        |front| {
            let own = demand(slope, &blocks[..1], front);
            let behind = demand(slope, &blocks, front) - own;
            if behind > Weight::ZERO {
                share = share.min((engine.pull - own) / behind);
            }
        },
    );
    let least = f64::from(rating.cars);
    car.weight * (least * share).clamp(least, least + 1.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rating::{GradeProfile, Piece};
    use model::units::Grade;

    fn even(percent: f64) -> Slope {
        let piece = Piece {
            length: Actual::from_feet(500.0),
            grade: Grade::from_percent(percent),
            radius: None,
        };
        Slope::new(
            &GradeProfile {
                pieces: vec![piece],
                places: Vec::new(),
            },
            |_| 0.0,
        )
    }

    fn tons(weight: f64, length: f64, lb_per_ton: f64) -> Block {
        Block {
            length: Actual::from_inches(length),
            weight: Weight::from_short_tons(weight),
            rolling: lb_per_ton / 2000.0,
        }
    }

    fn on_even(percent: f64, engine: &Engine, car: &Block) -> Rating {
        // Long enough for the whole train to stand on the grade.
        rate(
            &even(percent),
            engine,
            car,
            200,
            Actual::from_feet(250.0),
            Actual::from_feet(300.0),
        )
    }

    /// A light Mikado of 54,724 lb and 238.7 tons with its tender, level resistance 5 lb per ton: trailing tons and whole
    /// cars of 50 tons, reckoned apart from this code.
    #[test]
    fn tonnage_on_even_grades() {
        let engine = Engine {
            block: tons(238.7, 10.0, 5.0),
            pull: Weight::from_pounds(54_724.0),
        };
        let car = tons(50.0, 6.0, 5.0);
        // On a curve of 0.8 lb per ton and degree, 4° are 0.16 % and 6° are 0.24 %.
        for (percent, trailing, cars) in [
            (0.5, 3409.57, 68),
            (1.0, 1950.26, 39),
            (1.16, 1701.87, 34),
            (1.74, 1136.27, 22),
            (2.2, 878.12, 17),
        ] {
            let rating = on_even(percent, &engine, &car);
            assert_eq!(rating.cars, cars, "{percent} %");
            let weight = rated_weight(
                &even(percent),
                &engine,
                &car,
                &rating,
                Actual::from_feet(250.0),
                Actual::from_feet(300.0),
            );
            assert!(
                (weight.short_tons() - trailing).abs() < 0.02,
                "{percent} %: {}",
                weight.short_tons()
            );
        }
    }

    /// Army TR0603, gross trailing load of a diesel switcher: 120 tons, 36,000 lb, 20 lb a ton for itself, weather factor
    /// 0.80, rolling 7, grade 30, curve 8 lb a ton: 33,600 × 0.8 / 45 = 597.33, raised to 598 short tons in print.
    #[test]
    fn the_army_example() {
        // The example takes the engine's own resistance off once, before the weather, and not again on the grade.
        let pull = (36_000.0 - 20.0 * 120.0) * 0.8;
        let engine = Engine {
            block: tons(0.0, 10.0, 0.0),
            pull: Weight::from_pounds(pull),
        };
        let car = tons(10.0, 1.0, 7.0);
        let rating = on_even(1.9, &engine, &car);
        let weight = rated_weight(
            &even(1.9),
            &engine,
            &car,
            &rating,
            Actual::from_feet(250.0),
            Actual::from_feet(300.0),
        );
        assert!(
            (weight.short_tons() - 597.333).abs() < 0.01,
            "{}",
            weight.short_tons()
        );
        assert_eq!(weight.short_tons().ceil(), 598.0);
    }

    /// Rating by pounds a rating ton, from W. L. Webb, The Economics of Railroad Construction: 28,200 lb at
    /// 22.6 lb per rating ton on 1 % take 1248 tons gross.
    #[test]
    fn webbs_example() {
        let engine = Engine {
            block: tons(0.0, 10.0, 0.0),
            pull: Weight::from_pounds(28_200.0),
        };
        let car = tons(20.0, 2.0, 2.6);
        let rating = on_even(1.0, &engine, &car);
        let weight = rated_weight(
            &even(1.0),
            &engine,
            &car,
            &rating,
            Actual::from_feet(250.0),
            Actual::from_feet(300.0),
        );
        assert!(
            (weight.short_tons() - 1247.79).abs() < 0.01,
            "{}",
            weight.short_tons()
        );
    }

    /// A model: an engine of 16 oz that pulls 22 % of it, cars of 4 oz that roll at 2 %: 20 cars up 2 %, 44 on the level.
    /// Common practice for the shares, no source; the numbers reckoned apart from this code.
    #[test]
    fn a_model_train() {
        let ounces = |weight, length, rolling| Block {
            length: Actual::from_inches(length),
            weight: Weight::from_ounces(weight),
            rolling,
        };
        let engine = Engine {
            block: ounces(16.0, 10.0, 0.0),
            pull: Weight::from_ounces(3.52),
        };
        let car = ounces(4.0, 6.0, 0.02);
        assert_eq!(on_even(2.0, &engine, &car).cars, 20);
        assert_eq!(on_even(0.0, &engine, &car).cars, 44);
    }

    #[test]
    fn an_engine_too_weak_for_itself_is_told_from_one_that_takes_no_car() {
        let engine = |pull| Engine {
            block: tons(100.0, 10.0, 5.0),
            pull: Weight::from_pounds(pull),
        };
        let car = tons(50.0, 6.0, 5.0);
        let weak = on_even(2.0, &engine(4400.0), &car);
        assert_eq!((weak.cars, weak.moves_itself), (0, false));
        let light = on_even(2.0, &engine(4600.0), &car);
        assert_eq!((light.cars, light.moves_itself), (0, true));
    }
}
