//! Length and weight of a train.

use model::units::{Actual, Weight};

/// One car or engine, as far as known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Unit {
    /// Over the pulling faces.
    pub length: Option<Actual>,
    /// What it weighs.
    pub weight: Option<Weight>,
}

/// The sum of a train.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TrainSum {
    /// How many cars and engines.
    pub units: usize,
    /// Length of those that are measured.
    pub length: Actual,
    /// Weight of those that are weighed.
    pub weight: Weight,
    /// How many were not measured.
    pub unmeasured: usize,
    /// How many were not weighed.
    pub unweighed: usize,
}

/// Length and weight of a train. What is not known is counted, not guessed.
pub fn sum(units: impl IntoIterator<Item = Unit>) -> TrainSum {
    units
        .into_iter()
        .fold(TrainSum::default(), |mut sum, unit| {
            sum.units += 1;
            match unit.length {
                Some(length) => sum.length += length,
                None => sum.unmeasured += 1,
            }
            match unit.weight {
                Some(weight) => sum.weight += weight,
                None => sum.unweighed += 1,
            }
            sum
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_known_is_counted() {
        let car = Unit {
            length: Some(Actual::from_inches(6.0)),
            weight: Some(Weight::from_ounces(4.0)),
        };
        let total = sum([
            car,
            Unit {
                weight: None,
                ..car
            },
            Unit {
                length: None,
                ..car
            },
        ]);
        assert_eq!((total.units, total.unmeasured, total.unweighed), (3, 1, 1));
        assert!(
            (total.length.inches() - 12.0).abs() < 1e-12
                && (total.weight.ounces() - 8.0).abs() < 1e-12
        );
    }
}
