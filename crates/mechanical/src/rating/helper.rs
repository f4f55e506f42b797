//! Hills: where a train wants help, which helper serves, and what to do without one.

use model::units::{Actual, Weight};

use super::{
    GradeProfile, Slope, Stretch,
    rate::{Block, Engine, Hardest, demands, exceeds, hardest},
};

/// A run of stretches over which an engine cannot take a train alone.
#[derive(Debug, Clone, PartialEq)]
pub struct Hill {
    /// The place a helper goes on: index in the profile.
    pub on: usize,
    /// The place it is cut off.
    pub off: usize,
    /// Where the front of the train is when it leaves the first.
    pub from: Actual,
    /// Where the front of the train is when it stands in the second.
    pub to: Actual,
    /// How many of the rating cars the engine takes over it alone.
    pub alone: u32,
    /// The hardest placing of the whole train.
    pub hardest: Hardest,
    /// The least helper that serves, if any does.
    pub help: Option<Help>,
    /// What to do without one.
    pub doubling: Option<Doubling>,
}

/// A helper that serves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Help {
    /// Its index among those offered.
    pub helper: usize,
    /// What the train with the helper behind it resists with at its hardest placing.
    pub demand: Weight,
    /// What both engines pull.
    pub pull: Weight,
}

/// Taking a train up in parts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Doubling {
    /// In how many parts: two is doubling the hill, three tripling it.
    pub parts: u32,
    /// The most cars in a part.
    pub cars: u32,
}

/// The hills of a line for an engine with so many rating cars. `helpers` are tried from the weakest up, behind the train,
/// over the whole hill from where the train leaves one place until it stands in another.
pub fn hills(
    profile: &GradeProfile,
    slope: &Slope,
    engine: &Engine,
    car: &Block,
    cars: u32,
    helpers: &[Engine],
) -> Vec<Hill> {
    let stretches = profile.stretches();
    let alone: Vec<u32> = demands(
        slope,
        &engine.block,
        car,
        cars,
        &stretches,
        [engine.pull; 2],
    )
    .iter()
    .map(|demands| demands.rating(engine.pull).cars)
    .collect();
    let mut weakest_first: Vec<usize> = (0..helpers.len()).collect();
    weakest_first.sort_by(|&a, &b| helpers[a].pull.total_cmp(&helpers[b].pull).then(a.cmp(&b)));
    let mut found = Vec::new();
    let mut at = 0;
    while at < stretches.len() {
        if alone[at] >= cars {
            at += 1;
            continue;
        }
        let run = stretches[at..]
            .iter()
            .zip(&alone[at..])
            .take_while(|(_, alone)| **alone < cars)
            .count();
        found.push(hill(
            &stretches[at..at + run],
            &alone[at..at + run],
            slope,
            engine,
            car,
            cars,
            helpers,
            &weakest_first,
        ));
        at += run;
    }
    found
}

#[allow(clippy::too_many_arguments)]
fn hill(
    run: &[Stretch],
    alone: &[u32],
    slope: &Slope,
    engine: &Engine,
    car: &Block,
    cars: u32,
    helpers: &[Engine],
    weakest_first: &[usize],
) -> Hill {
    let (first, last) = (run[0], run[run.len() - 1]);
    let (from, to) = (first.from, last.to);
    let alone = alone.iter().copied().min().unwrap_or(0);
    let train = [engine.block, car.times(cars)];
    let help = weakest_first.iter().copied().find_map(|helper| {
        let pushed = [train[0], train[1], helpers[helper].block];
        let demand = hardest(slope, &pushed, from, to).demand;
        let pull = engine.pull + helpers[helper].pull;
        (!exceeds(demand, pull)).then_some(Help {
            helper,
            demand,
            pull,
        })
    });
    Hill {
        on: first.leaves,
        off: last.reaches,
        from,
        to,
        alone,
        hardest: hardest(slope, &train, from, to),
        help,
        doubling: (alone > 0).then(|| {
            let parts = cars.div_ceil(alone);
            Doubling {
                parts,
                cars: cars.div_ceil(parts),
            }
        }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rating::{Piece, Place, rate};
    use model::units::Grade;

    fn line() -> GradeProfile {
        let piece = |feet: f64, percent: f64| Piece {
            length: Actual::from_feet(feet),
            grade: Grade::from_percent(percent),
            radius: None,
        };
        let place = |name: &str, from: f64, to: f64| Place {
            name: name.into(),
            from: Actual::from_feet(from),
            to: Actual::from_feet(to),
        };
        GradeProfile {
            pieces: vec![
                piece(10.0, 0.0),
                piece(10.0, 0.5),
                piece(10.0, 0.0),
                piece(20.0, 2.0),
                piece(10.0, 0.0),
                piece(20.0, -2.0),
                piece(10.0, 0.0),
            ],
            places: vec![
                place("Foot", 0.0, 10.0),
                place("Bench", 20.0, 30.0),
                place("Summit", 50.0, 60.0),
                place("Far", 80.0, 90.0),
            ],
        }
    }

    fn ounces(weight: f64, length: f64, rolling: f64) -> Block {
        Block {
            length: Actual::from_inches(length),
            weight: Weight::from_ounces(weight),
            rolling,
        }
    }

    #[test]
    fn a_helper_goes_on_below_the_hill_and_off_at_its_top() {
        let profile = line();
        let slope = Slope::new(&profile, |_| 0.0);
        let engine = Engine {
            block: ounces(16.0, 10.0, 0.0),
            pull: Weight::from_ounces(3.0),
        };
        let car = ounces(4.0, 6.0, 0.02);
        let helper = |pull: f64| Engine {
            block: ounces(14.0, 9.0, 0.0),
            pull: Weight::from_ounces(pull),
        };
        // Alone: (3 − 0.32) / 0.16 = 16.75 cars up 2 %; the train of 18 wants more, but not on half a percent.
        let found = hills(
            &profile,
            &slope,
            &engine,
            &car,
            18,
            &[helper(9.0), helper(2.0), helper(0.2)],
        );
        assert_eq!(found.len(), 1);
        let hill = &found[0];
        assert_eq!((hill.on, hill.off, hill.alone), (1, 2, 16));
        assert_eq!(hill.help.map(|help| help.helper), Some(1));
        assert_eq!(hill.doubling, Some(Doubling { parts: 2, cars: 9 }));
        assert_eq!(hills(&profile, &slope, &engine, &car, 16, &[]), []);
        assert_eq!(
            hills(&profile, &slope, &engine, &car, 18, &[])[0].help,
            None
        );
    }

    #[test]
    fn a_line_met_from_its_other_end_has_its_hill_there() {
        let profile = line().reversed();
        let slope = Slope::new(&profile, |_| 0.0);
        let engine = Engine {
            block: ounces(16.0, 10.0, 0.0),
            pull: Weight::from_ounces(3.0),
        };
        let found = hills(&profile, &slope, &engine, &ounces(4.0, 6.0, 0.02), 18, &[]);
        let names: Vec<_> = found
            .iter()
            .map(|h| (&*profile.places[h.on].name, &*profile.places[h.off].name))
            .collect();
        assert_eq!(names, [("Far", "Summit")]);
        let up = rate(
            &slope,
            &engine,
            &ounces(4.0, 6.0, 0.02),
            60,
            Actual::from_feet(10.0),
            Actual::from_feet(40.0),
        );
        assert_eq!(up.cars, 16);
    }
}
