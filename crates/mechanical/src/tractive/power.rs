//! Engines rated by horsepower.

use model::units::{Speed, Weight};

/// Share of a diesel-electric's rated horsepower that arrives at the rail: common practice, no source.
const AT_THE_RAIL: f64 = 0.82;

/// Tractive effort at a speed: 375 lb mph to the horsepower, 82 % of which arrive at the rail. Without limit near a stand,
/// where the weight on drivers sets one.
pub fn from_horsepower(horsepower: f64, speed: Speed) -> Weight {
    Weight::from_pounds(375.0 * AT_THE_RAIL * horsepower / speed.mph().max(0.1))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// One horsepower is 33,000 ft lb a minute: at 1 mph, 88 ft a minute, 375 lb.
    #[test]
    fn a_horsepower() {
        let at_rail = from_horsepower(1.0 / AT_THE_RAIL, Speed::from_mph(1.0)).pounds();
        assert!((at_rail - 33_000.0 / 88.0).abs() < 1e-9);
        let slow = from_horsepower(1500.0, Speed::from_mph(10.0));
        let fast = from_horsepower(1500.0, Speed::from_mph(20.0));
        assert!((slow / fast - 2.0).abs() < 1e-12);
    }
}
