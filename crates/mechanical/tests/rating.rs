//! Ratings against a simulation that shares no code with them: car by car, each lying on the pieces of the line it covers,
//! pushed by Newton's second law.

use mechanical::rating::{
    Block, Engine, GradeProfile, Limit, Piece, Slope, hardest, rate, reaches,
};
use model::units::{Actual, Grade, Weight};
use proptest::prelude::*;

/// What a curve adds: this over the radius in meters.
const CURVE: f64 = 0.0085;

/// A line as the simulation sees it: (begins, ends, grade, curve share), level beyond its ends.
struct Track(Vec<(f64, f64, f64, f64)>);

impl Track {
    fn new(pieces: &[Piece]) -> Self {
        let mut begins = 0.0;
        Self(
            pieces
                .iter()
                .map(|piece| {
                    let ends = begins + piece.length.meters();
                    let row = (
                        begins,
                        ends,
                        piece.grade.ratio(),
                        piece.radius.map_or(0.0, |r| CURVE / r.meters()),
                    );
                    begins = ends;
                    row
                })
                .collect(),
        )
    }

    /// Force against a car of `weight` from `rear` to `front`.
    fn resists(&self, front: f64, rear: f64, weight: f64, rolling: f64) -> f64 {
        let mut force = rolling * weight;
        for &(begins, ends, grade, curve) in &self.0 {
            let covered = (front.min(ends) - rear.max(begins)).max(0.0);
            force += weight * covered / (front - rear) * (grade + curve);
        }
        force
    }
}

/// A train: pull, then (length, weight, rolling) of each vehicle from the front.
struct Train {
    pull: f64,
    vehicles: Vec<(f64, f64, f64)>,
}

impl Train {
    fn new(engine: &Engine, car: &Block, cars: u32) -> Self {
        let plain = |block: &Block| (block.length.meters(), block.weight.kg(), block.rolling);
        let mut vehicles = vec![plain(&engine.block)];
        vehicles.extend((0..cars).map(|_| plain(car)));
        Self {
            pull: engine.pull.kg(),
            vehicles,
        }
    }

    fn net(&self, track: &Track, front: f64) -> f64 {
        let mut at = front;
        let mut against = 0.0;
        for &(length, weight, rolling) in &self.vehicles {
            against += track.resists(at, at - length, weight, rolling);
            at -= length;
        }
        self.pull - against
    }

    /// Whether it gets away from a stand: a tenth of a second of motion, a thousandth at a time.
    fn starts(&self, track: &Track, front: f64) -> bool {
        let mass: f64 = self.vehicles.iter().map(|vehicle| vehicle.1).sum();
        let (mut at, mut speed) = (front, 0.0_f64);
        // What the arithmetic itself loses must not hold a train.
        let trifle = 1e-8 * self.pull;
        for _ in 0..5 {
            let net = self.net(track, at) + trifle;
            if net < 0.0 && speed <= 0.0 {
                return false;
            }
            speed += net / mass * 9.81 * 0.001;
            at += speed * 0.001;
        }
        at >= front
    }

    /// Whether it runs from one placing to another without coming to a stand.
    fn runs(&self, track: &Track, from: f64, to: f64) -> bool {
        let mass: f64 = self.vehicles.iter().map(|vehicle| vehicle.1).sum();
        let steps = 500;
        let step = (to - from) / f64::from(steps);
        let mut square = 0.0_f64;
        for at in 0..steps {
            let middle = from + step * (f64::from(at) + 0.5);
            square += 2.0 * 9.81 * step * (self.net(track, middle) / mass + 1e-7);
            if square < 0.0 {
                return false;
            }
        }
        true
    }
}

fn pieces() -> impl Strategy<Value = Vec<Piece>> {
    let piece = (
        0.05_f64..3.0,
        -0.03_f64..0.03,
        prop::option::of(0.4_f64..2.0),
    )
        .prop_map(|(length, grade, radius)| Piece {
            length: Actual::from_meters(length),
            grade: Grade::from_ratio(grade),
            radius: radius.map(Actual::from_meters),
        });
    prop::collection::vec(piece, 1..12)
}

fn block(
    length: std::ops::Range<f64>,
    weight: std::ops::Range<f64>,
) -> impl Strategy<Value = Block> {
    (length, weight, 0.005_f64..0.04).prop_map(|(length, weight, rolling)| Block {
        length: Actual::from_meters(length),
        weight: Weight::from_kg(weight),
        rolling,
    })
}

fn engine() -> impl Strategy<Value = Engine> {
    (block(0.1..0.5, 0.2..0.9), 0.02_f64..0.3).prop_map(|(block, pull)| Engine {
        block,
        pull: Weight::from_kg(pull),
    })
}

fn slope(pieces: &[Piece]) -> Slope {
    let profile = GradeProfile {
        pieces: pieces.to_vec(),
        places: Vec::new(),
    };
    Slope::new(&profile, |radius| CURVE / radius.meters())
}

/// The front of a train goes from standing before the line to standing wholly past it.
fn whole(pieces: &[Piece]) -> (Actual, Actual) {
    let length: Actual = pieces.iter().map(|piece| piece.length).sum();
    (Actual::ZERO, length + Actual::from_meters(6.0))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 150, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_rated_train_starts_everywhere_and_one_car_more_does_not(
        pieces in pieces(), engine in engine(), car in block(0.08..0.3, 0.05..0.2),
    ) {
        let (slope, track, (from, to)) = (slope(&pieces), Track::new(&pieces), whole(&pieces));
        let rating = rate(&slope, &engine, &car, 40, from, to);
        if rating.moves_itself {
            for cars in 0..=rating.cars {
                let train = Train::new(&engine, &car, cars);
                // The rated train at many placings, shorter ones at fewer.
                let places = if cars == rating.cars { 200 } else { 20 };
                for at in 0..=places {
                    let front = from.meters() + (to - from).meters() * f64::from(at) / f64::from(places);
                    prop_assert!(train.starts(&track, front), "{cars} cars stick at {front}");
                }
            }
            let train = Train::new(&engine, &car, rating.cars);
            prop_assert!(train.runs(&track, from.meters(), to.meters()));
        }
        match rating.limit {
            Limit::Length => prop_assert_eq!(rating.cars, 40),
            Limit::Grade(hardest) => {
                let more = if rating.moves_itself { rating.cars + 1 } else { 0 };
                let train = Train::new(&engine, &car, more);
                // A trifle less pull, so that neither side rests on the last digit.
                let train = Train { pull: train.pull * (1.0 - 2e-8), ..train };
                prop_assert!(!train.starts(&track, hardest.front.meters()));
            }
        }
    }

    #[test]
    fn the_hardest_placing_is_the_hardest(
        pieces in pieces(), engine in engine(), car in block(0.08..0.3, 0.05..0.2), cars in 1_u32..30,
    ) {
        let (slope, track, (from, to)) = (slope(&pieces), Track::new(&pieces), whole(&pieces));
        let found = hardest(&slope, &[engine.block, car.times(cars)], from, to);
        let train = Train::new(&engine, &car, cars);
        let there = train.pull - train.net(&track, found.front.meters());
        prop_assert!((there - found.demand.kg()).abs() < 1e-9);
        for at in 0..=400 {
            let front = from.meters() + (to - from).meters() * f64::from(at) / 400.0;
            prop_assert!(train.pull - train.net(&track, front) <= found.demand.kg() + 1e-9);
        }
    }

    #[test]
    fn more_grade_never_rates_more(
        pieces in pieces(), engine in engine(), car in block(0.08..0.3, 0.05..0.2),
        more in prop::collection::vec(0.0_f64..0.02, 12),
    ) {
        let (from, to) = whole(&pieces);
        let steeper: Vec<Piece> = pieces
            .iter()
            .zip(&more)
            .map(|(piece, more)| Piece { grade: Grade::from_ratio(piece.grade.ratio() + more), ..*piece })
            .collect();
        let before = rate(&slope(&pieces), &engine, &car, 60, from, to);
        let after = rate(&slope(&steeper), &engine, &car, 60, from, to);
        prop_assert!(after.cars <= before.cars && (before.moves_itself || !after.moves_itself));
    }

    #[test]
    fn a_train_starts_outside_the_reaches_and_not_within(
        pieces in pieces(), engine in engine(), car in block(0.08..0.3, 0.05..0.2), cars in 1_u32..30,
    ) {
        let (slope, track, (from, to)) = (slope(&pieces), Track::new(&pieces), whole(&pieces));
        let all = reaches(&slope, &[engine.block, car.times(cars)], engine.pull, from, to);
        let train = Train::new(&engine, &car, cars);
        for at in 0..=500 {
            let front = from.meters() + (to - from).meters() * f64::from(at) / 500.0;
            let net = train.net(&track, front);
            // On the edge of a reach either answer is right.
            if net.abs() < 1e-7 {
                continue;
            }
            let within = all.iter().any(|reach| reach.from.meters() <= front + 1e-9 && front <= reach.to.meters() + 1e-9);
            prop_assert_eq!(within, net < 0.0, "at {}: {}", front, net);
        }
    }
}
