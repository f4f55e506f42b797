//! How many cars a track holds.

use model::units::Actual;

/// How many cars of one length a track holds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TrackRoom {
    /// So many.
    pub cars: usize,
    /// What is left over.
    pub left: Actual,
}

/// How many cars of one length a track of a usable length holds beside what stands on it, with so much slack for each car:
/// the play of its couplers and what a crew needs to stop.
pub fn room(usable: Actual, taken: Actual, car: Actual, slack: Actual) -> TrackRoom {
    let free = (usable - taken).max(Actual::ZERO);
    let each = car + slack.max(Actual::ZERO);
    if each <= Actual::ZERO {
        return TrackRoom {
            cars: 0,
            left: free,
        };
    }
    // A tape measure is not read to a billionth: 6 cars of 6 in fit on 3 ft.
    let cars = (free / each + 1e-9).floor();
    TrackRoom {
        cars: cars as usize,
        left: (free - each * cars).max(Actual::ZERO),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn inches(value: f64) -> Actual {
        Actual::from_inches(value)
    }

    #[test]
    fn cars_on_a_siding() {
        let plain = room(
            Actual::from_feet(3.0),
            Actual::ZERO,
            inches(6.0),
            Actual::ZERO,
        );
        assert_eq!((plain.cars, plain.left.inches().round()), (6, 0.0));
        let slack = room(
            Actual::from_feet(3.0),
            Actual::ZERO,
            inches(6.0),
            inches(0.125),
        );
        assert_eq!(slack.cars, 5);
        assert!((slack.left.inches() - 5.375).abs() < 1e-9);
        let beside = room(
            Actual::from_feet(3.0),
            inches(10.0),
            inches(6.0),
            Actual::ZERO,
        );
        assert_eq!(beside.cars, 4);
        assert_eq!(
            room(inches(5.0), inches(9.0), inches(6.0), Actual::ZERO).cars,
            0
        );
    }
}
