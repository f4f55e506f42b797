//! How far a switch or a crossing keeps trains on one track away from trains on another.
//!
//! A turnout of frog number *N* has the frog angle *F* = 2·atan(1/2N). Its point of frog lies half a
//! gauge from both center lines, so there the center lines are *g*(1 + cos *F*)/2 apart, measured
//! square to the straight track; from there on they part by sin *F* in each unit of the diverging
//! track. Where they are as far apart as the owner's parallel tracks, a train on the one clears a
//! train on the other: that is the clearance point.

use model::units::{Actual, Angle};

/// Frog angle of a frog number: one across in N along the middle.
pub fn frog_angle(number: f64) -> Angle {
    Angle::from_radians(2.0 * (0.5 / number).atan())
}

/// Distance from the points to the point of frog: 2·g·N, that of a turnout which curves all the way
/// (Searles, *Field Engineering*). Leads of split switches are up to a tenth shorter, so that what is
/// computed with this one errs on the side of clearance.
pub fn lead(number: f64, gauge: Actual) -> Actual {
    gauge * (2.0 * number)
}

/// Distance along the diverging track from the point of frog to the clearance point; none where
/// parallel tracks stand closer than the gauge.
pub fn beyond_frog(number: f64, gauge: Actual, centers: Actual) -> Actual {
    let angle = frog_angle(number);
    let parted = gauge * (0.5 * (1.0 + angle.cos()));
    ((centers - parted) / angle.sin()).max(Actual::ZERO)
}

/// Distance along the diverging track from the points to the clearance point, by the longest lead.
pub fn from_points(number: f64, gauge: Actual, centers: Actual) -> Actual {
    lead(number, gauge) + beyond_frog(number, gauge, centers)
}

/// Distance along the straight track from the points to abreast of the clearance point, by the longest
/// lead.
pub fn beyond_points(number: f64, gauge: Actual, centers: Actual) -> Actual {
    lead(number, gauge) + beyond_frog(number, gauge, centers) * frog_angle(number).cos()
}

/// Distance along a track from the middle of a crossing to where the other track is as far away as
/// parallel tracks are.
pub fn beyond_crossing(angle: Angle, centers: Actual) -> Actual {
    centers / angle.sin().max(1e-3)
}

/// How many cars of a length fit. A car that would overhang by less than a thousandth of its length
/// is let in: lengths are rounded when they are written down.
pub fn capacity(usable: Actual, car: Actual) -> u32 {
    if car <= Actual::ZERO || usable <= Actual::ZERO {
        return 0;
    }
    let cars = (usable / car + 1e-3).floor();
    // A track longer than four thousand million cars is not one.
    if cars >= f64::from(u32::MAX) {
        u32::MAX
    } else {
        cars as u32
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Between the frogs of a crossover, along the main, in full-size feet or model inches:
    /// x = (c − g)/tan F − g/sin F, the textbook formula with its worked values.
    #[test]
    fn a_crossover_is_as_long_as_the_textbooks_say() {
        for (number, centers, gauge, expected) in [
            (6.0, 2.0, 0.650, 4.1167),
            (8.0, 13.0, 4.708_333, 28.2604),
            (10.0, 14.0, 4.708_333, 45.4833),
        ] {
            let angle = frog_angle(number);
            // Two setbacks overlap by the spacing itself, and each frog stands half a gauge aside.
            let one =
                beyond_frog(number, Actual::from_feet(gauge), Actual::from_feet(centers)).feet();
            let aside = 0.5 * gauge * (1.0 + angle.cos()) / angle.sin();
            let along = (one - aside) * angle.cos() - gauge * angle.sin();
            assert!((along - expected).abs() < 5e-5, "No. {number}: {along}");
        }
    }

    /// Frog angles as the American Railway Engineering Association prints them.
    #[test]
    fn frog_angles() {
        for (number, degrees, minutes, seconds) in
            [(6.0, 9, 31, 38), (8.0, 7, 9, 10), (10.0, 5, 43, 29)]
        {
            let expected =
                f64::from(degrees) + f64::from(minutes) / 60.0 + f64::from(seconds) / 3600.0;
            assert!((frog_angle(number).degrees() - expected).abs() < 1.0 / 3600.0);
        }
    }

    /// Searles: a No. 8 in standard gauge leads 75.333 ft; a No. 6 in HO (0.650 in) 7.800 in.
    #[test]
    fn leads() {
        assert!((lead(8.0, Actual::from_feet(4.708_333)).feet() - 75.333).abs() < 1e-3);
        assert!((lead(6.0, Actual::from_inches(0.650)).inches() - 7.8).abs() < 1e-9);
    }

    #[test]
    fn cars_fit_to_the_thousandth() {
        let inch = Actual::from_inches;
        assert_eq!(capacity(inch(36.0), inch(6.0)), 6);
        assert_eq!(capacity(inch(35.99), inch(6.0)), 5);
        assert_eq!(capacity(inch(35.999), inch(6.0)), 6);
        assert_eq!(capacity(inch(-1.0), inch(6.0)), 0);
        assert_eq!(capacity(inch(10.0), inch(0.0)), 0);
    }
}
