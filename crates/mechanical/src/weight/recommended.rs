//! NMRA Recommended Practice RP-20.1: what a car should weigh for its length.

use model::{
    scale::{Scale, ScaleAndGauge, look_up},
    units::{Actual, Prototype, Weight},
};

/// One row of RP-20.1: an initial weight and so much more for each inch of body.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Listed {
    /// Name of the scale.
    pub scale: &'static str,
    /// Initial weight in ounces.
    pub initial_oz: f64,
    /// Additional weight in ounces for each inch of body.
    pub per_inch_oz: f64,
    /// Whether the row was read in a reprint of the document; else it is from memory.
    pub read: bool,
}

const fn row(scale: &'static str, initial_oz: f64, per_inch_oz: f64) -> Listed {
    Listed {
        scale,
        initial_oz,
        per_inch_oz,
        read: true,
    }
}

/// RP-20.1, as reprinted.
pub const LISTED: [Listed; 9] = [
    row("O", 5.0, 1.0),
    row("On3", 1.5, 0.75),
    row("S", 2.0, 0.5),
    row("Sn3", 1.0, 0.5),
    row("HO", 1.0, 0.5),
    row("HOn3", 0.75, 0.375),
    row("TT", 0.75, 0.375),
    row("N", 0.5, 0.15),
    Listed {
        read: false,
        ..row("Z", 0.36, 0.10)
    },
];

impl Listed {
    /// What a car with a body of this length should weigh.
    pub fn weight(&self, body: Actual) -> Weight {
        Weight::from_ounces(self.initial_oz + self.per_inch_oz * body.inches())
    }
}

/// The row for a railroad's scale. By its name; else the standard-gauge row of the nearest proportion, if one is within 5 %
/// and the railroad's own gauge stands for about standard gauge. Other narrow gauges have no row.
pub fn recommended(scale: &ScaleAndGauge) -> Option<Listed> {
    let by_name = |name: &str| {
        LISTED
            .iter()
            .find(|row| row.scale.eq_ignore_ascii_case(name))
            .copied()
    };
    // An alias of the tables of scales counts as its scale.
    let listed_name = look_up(&scale.name).ok().map(|listed| listed.name);
    if let Some(row) = by_name(&scale.name).or_else(|| listed_name.and_then(by_name)) {
        return Some(row);
    }
    let meters = scale.represented_gauge().meters();
    if !(1.25..1.7).contains(&meters) {
        return None;
    }
    let off = |row: &Listed| {
        look_up(row.scale).map_or(f64::INFINITY, |listed| {
            (listed.ratio / scale.scale.ratio() - 1.0).abs()
        })
    };
    LISTED
        .iter()
        .filter(|row| !row.scale.ends_with("n3"))
        .min_by(|a, b| off(a).total_cmp(&off(b)))
        .filter(|row| off(row) < 0.05)
        .copied()
}

/// Length of a car's body, from that over the pulling faces: the couplers take about 2½ ft full size (common practice, no
/// source).
pub fn body_length(over_pulling_faces: Actual, scale: Scale) -> Actual {
    let couplers = scale.to_actual(Prototype::from_feet(2.5));
    (over_pulling_faces - couplers).max(Actual::ZERO)
}

/// A car on the scale.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Weighed {
    /// What it should weigh.
    pub target: Weight,
    /// What it weighs, if it was weighed.
    pub weight: Option<Weight>,
}

impl Weighed {
    /// How much it is over; negative if it is under.
    pub fn over(&self) -> Option<Weight> {
        self.weight.map(|weight| weight - self.target)
    }

    /// Whether it is within a share of the target: 0.1 for a tenth.
    pub fn within(&self, share: f64) -> Option<bool> {
        self.over().map(|over| over.abs() <= self.target * share)
    }
}

/// A car against RP-20.1, by its length over the pulling faces. `None` if the scale has no row.
pub fn weigh(
    scale: &ScaleAndGauge,
    over_pulling_faces: Actual,
    weight: Option<Weight>,
) -> Option<Weighed> {
    let row = recommended(scale)?;
    Some(Weighed {
        target: row.weight(body_length(over_pulling_faces, scale.scale)),
        weight,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scale(name: &str) -> ScaleAndGauge {
        ScaleAndGauge::parse(name).unwrap()
    }

    /// NMRA RP-20.1, as reprinted; the HO car of 6 in is the one its readers work out in print.
    #[test]
    fn the_table() {
        for (name, inches, ounces, grams) in [
            ("O", 10.5, 15.5, 439.42),
            ("On3", 9.0, 8.25, 233.88),
            ("S", 8.0, 6.0, 170.10),
            ("Sn3", 6.5, 4.25, 120.49),
            ("HO", 6.0, 4.0, 113.40),
            ("HO", 11.7, 6.85, 194.19),
            ("HOn3", 4.5, 2.4375, 69.10),
            ("TT", 4.4, 2.4, 68.04),
            ("N", 3.3, 0.995, 28.21),
        ] {
            let weight = recommended(&scale(name))
                .unwrap()
                .weight(Actual::from_inches(inches));
            assert!(
                (weight.ounces() - ounces).abs() < 1e-9,
                "{name}: {}",
                weight.ounces()
            );
            assert!(
                (weight.grams() - grams).abs() < 0.006,
                "{name}: {}",
                weight.grams()
            );
        }
    }

    #[test]
    fn scales_without_a_row_of_their_own() {
        assert_eq!(recommended(&scale("H0")).map(|row| row.scale), Some("HO"));
        assert_eq!(
            recommended(&scale("1:87 16.5 mm")).map(|row| row.scale),
            Some("HO")
        );
        assert_eq!(recommended(&scale("1:24 45 mm")), None);
        assert!(!recommended(&scale("Z")).unwrap().read);
    }

    #[test]
    fn over_and_under() {
        let car = weigh(
            &scale("HO"),
            Actual::from_inches(6.0),
            Some(Weight::from_ounces(3.0)),
        )
        .unwrap();
        assert!(car.over().unwrap() < Weight::ZERO);
        assert_eq!(car.within(0.1), Some(false));
        // The body of a car 6 in over the couplers is 6 − 30/87.1 in long.
        assert!((car.target.ounces() - (1.0 + 0.5 * (6.0 - 30.0 / 87.1))).abs() < 1e-9);
    }
}
