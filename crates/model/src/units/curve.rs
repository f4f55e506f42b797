//! Curves: radius and degree of curve.

use std::fmt;

use super::angle::{ANGLE, Angle, AngleStyle};
use super::length::{Actual, LENGTH, LengthText, Prototype};
use super::read::{Fault, Quantity, ReadError, Reader};
use crate::scale::Scale;

/// What a degree of curve is measured over.
///
/// On the radii of models the two differ by more than a degree, so a degree of curve without its definition is refused.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CurveDefinition {
    /// The angle that a chord of 100 ft spans: R = 50 ft / sin(D/2). American railroad practice.
    Chord,
    /// The angle that an arc of 100 ft spans: R = 18000 ft / πD.
    Arc,
}

/// The sharpness of a prototype curve, as an angle over 100 ft.
///
/// ```
/// use model::units::{CurveDefinition, DegreeOfCurve, Prototype};
///
/// let curve = DegreeOfCurve::parse("6° chord")?;
/// assert!(curve.radius().is_near(Prototype::from_feet(955.366), Prototype::from_feet(0.001)));
///
/// let back = DegreeOfCurve::of_radius(curve.radius(), CurveDefinition::Chord).unwrap();
/// assert_eq!(back.to_string(), "6°00' chord");
/// # Ok::<(), model::units::ReadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DegreeOfCurve {
    angle: Angle,
    definition: CurveDefinition,
}

/// Half the chord and the whole arc that the definitions are for.
const HALF_CHORD: Prototype = Prototype::from_feet(50.0);
const ARC: Prototype = Prototype::from_feet(100.0);
/// The sharpest curve: a chord of 100 ft is the diameter of a circle at 180°.
const SHARPEST: f64 = 180.0;
const EXPECTED: &str = "a radius such as 24 in, or a degree of curve such as 12° chord";

impl DegreeOfCurve {
    /// A degree of curve. `None` unless it is over 0° and, by the chord, at most 180°.
    #[must_use]
    pub fn new(angle: Angle, definition: CurveDefinition) -> Option<Self> {
        let most = match definition {
            CurveDefinition::Chord => SHARPEST,
            CurveDefinition::Arc => f64::INFINITY,
        };
        // The rounding of radians must not refuse 180° itself.
        let degrees = angle.degrees();
        (degrees > 0.0 && degrees <= most * (1.0 + 1e-15)).then_some(Self { angle, definition })
    }

    /// The degree of a curve of this radius. `None` for no radius, or by the chord for one under 50 ft.
    #[must_use]
    pub fn of_radius(radius: Prototype, definition: CurveDefinition) -> Option<Self> {
        if radius <= Prototype::ZERO {
            return None;
        }
        let angle = match definition {
            CurveDefinition::Chord => 2.0 * (HALF_CHORD / radius).asin(),
            CurveDefinition::Arc => ARC / radius,
        };
        // The arc sine of more than 1 is not a number and fails here.
        Self::new(Angle::from_radians(angle), definition)
    }

    /// The angle.
    #[must_use]
    pub const fn angle(self) -> Angle {
        self.angle
    }

    /// What the angle is measured over.
    #[must_use]
    pub const fn definition(self) -> CurveDefinition {
        self.definition
    }

    /// The radius of the prototype's center line.
    #[must_use]
    pub fn radius(self) -> Prototype {
        match self.definition {
            CurveDefinition::Chord => HALF_CHORD / (self.angle / 2.0).sin(),
            CurveDefinition::Arc => ARC / self.angle.radians(),
        }
    }

    /// Reads `12° chord`, `12 deg arc`, `4°30' chord`.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault; a degree of curve that does not say chord or arc is one.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        let mut reader = Reader::start(text, "a degree of curve such as 12° chord")?;
        let curve = Self::read(&mut reader)?;
        reader.finish("nothing more")?;
        Ok(curve)
    }

    fn read(reader: &mut Reader<'_>) -> Result<Self, ReadError> {
        const DEGREES: Quantity = Quantity {
            name: "degree of curve",
            expected: "a degree of curve such as 12° chord",
            usual: ["deg chord", "deg arc"],
            ..ANGLE
        };
        let amount = DEGREES.read(reader)?;
        let written = reader.slice(amount.at.clone()).to_owned();
        reader.skip_space();
        let definition = if reader.word_if(|w| w == "chord") {
            CurveDefinition::Chord
        } else if reader.word_if(|w| w == "arc") {
            CurveDefinition::Arc
        } else if reader.at_end() {
            let fault = Fault::Ambiguous {
                found: written.clone(),
                readings: "over a chord of 100 ft or over an arc of 100 ft".to_owned(),
            };
            return Err(ReadError::new(amount.at, fault).hint(format!(
                "write {written} chord (railroad practice) or {written} arc"
            )));
        } else {
            return Err(reader.unexpected("chord or arc"));
        };
        Self::new(Angle::from_radians(amount.value), definition).ok_or_else(|| {
            let expected = format!("over 0° and at most {SHARPEST}°");
            ReadError::new(
                amount.at,
                Fault::OutOfRange {
                    found: written,
                    expected,
                },
            )
        })
    }
}

impl fmt::Display for DegreeOfCurve {
    /// `4°30' chord`, to the nearest minute.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let definition = match self.definition {
            CurveDefinition::Chord => "chord",
            CurveDefinition::Arc => "arc",
        };
        write!(f, "{} {definition}", self.angle.show(AngleStyle::Minutes))
    }
}

/// The sharpness of a curve as written: a radius of the model or the prototype, or a degree of curve.
///
/// ```
/// use model::scale::Scale;
/// use model::units::{Actual, CurveText};
///
/// let ho = Scale::new(87.1).unwrap();
/// assert_eq!(CurveText::parse("24 in")?.actual_radius(ho), Actual::from_inches(24.0));
/// let sharp = CurveText::parse("12° chord")?.actual_radius(ho);
/// assert!(sharp.is_near(Actual::from_inches(65.902), Actual::from_inches(0.001)));
/// # Ok::<(), model::units::ReadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum CurveText {
    /// A radius: `24 in`, `955 scale ft`.
    Radius(LengthText),
    /// A degree of curve: `12° chord`.
    Degree(DegreeOfCurve),
}

impl CurveText {
    /// Reads a radius or a degree of curve, with or without `R`, `radius` or `r =` before a radius.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault; a radius of zero or less is one.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        let mut reader = Reader::start(text, EXPECTED)?;
        let named = reader.word_if(|w| w == "r" || w == "radius");
        if named {
            reader.skip_space();
            reader.eat("=");
            reader.skip_space();
        }
        // What follows the number tells a degree from a radius.
        let mut ahead = reader.clone();
        ahead.sign();
        let number = ahead.number()?;
        ahead.skip_space();
        let degree =
            ahead.eat("\u{b0}") || ahead.eat("\u{ba}") || ahead.word_if(|w| w.starts_with("deg"));
        if degree && !named {
            let curve = DegreeOfCurve::read(&mut reader)?;
            reader.finish("nothing more")?;
            return Ok(Self::Degree(curve));
        }
        if number.is_none()
            && !named
            && !reader
                .clone()
                .word_if(|w| w == "scale" || w == "actual" || w == "real")
        {
            return Err(reader.unexpected(EXPECTED));
        }
        let amount = LENGTH.read(&mut reader)?;
        reader.skip_space();
        reader.word_if(|w| w == "radius");
        reader.finish("nothing more")?;
        if amount.value <= 0.0 {
            let found = text[amount.at.clone()].to_owned();
            let fault = Fault::OutOfRange {
                found,
                expected: "a radius over 0".to_owned(),
            };
            return Err(ReadError::new(amount.at, fault));
        }
        Ok(Self::Radius(LengthText::from_amount(&amount)))
    }

    /// The radius on the model; a radius without a mark is one already.
    #[must_use]
    pub fn actual_radius(self, scale: Scale) -> Actual {
        match self {
            Self::Radius(length) => length.to_actual(scale),
            Self::Degree(curve) => scale.to_actual(curve.radius()),
        }
    }

    /// The radius of the prototype; a radius without a mark is one already.
    #[must_use]
    pub fn prototype_radius(self, scale: Scale) -> Prototype {
        match self {
            Self::Radius(length) => length.to_prototype(scale),
            Self::Degree(curve) => curve.radius(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::CurveDefinition::{Arc, Chord};
    use super::*;
    use crate::scale::look_up;
    use proptest::prelude::*;

    fn radius_ft(degrees: f64, definition: CurveDefinition) -> f64 {
        DegreeOfCurve::new(Angle::from_degrees(degrees), definition)
            .unwrap()
            .radius()
            .feet()
    }

    /// R = 50/sin(D/2) and R = 18000/πD, reckoned apart from this code; in model inches by the chord for HO, N and O.
    #[test]
    fn radii() {
        let scales = ["HO", "N", "O"].map(|name| look_up(name).unwrap().scale());
        for (degrees, chord, arc, model) in [
            (1.0, 5729.651, 5729.578, [789.389, 429.724, 1432.413]),
            (2.0, 2864.934, 2864.789, [394.710, 214.870, 716.234]),
            (3.0, 1910.078, 1909.859, [263.156, 143.256, 477.519]),
            (4.0, 1432.685, 1432.394, [197.385, 107.451, 358.171]),
            (5.0, 1146.279, 1145.916, [157.926, 85.971, 286.570]),
            (6.0, 955.366, 954.930, [131.623, 71.652, 238.842]),
            (8.0, 716.779, 716.197, [98.753, 53.758, 179.195]),
            (10.0, 573.686, 572.958, [79.038, 43.026, 143.421]),
            (12.0, 478.339, 477.465, [65.902, 35.875, 119.585]),
            (15.0, 383.065, 381.972, [52.776, 28.730, 95.766]),
            (20.0, 287.939, 286.479, [39.670, 21.595, 71.985]),
            (24.0, 240.487, 238.732, [33.132, 18.037, 60.122]),
            (30.0, 193.185, 190.986, [26.616, 14.489, 48.296]),
        ] {
            assert!(
                (radius_ft(degrees, Chord) - chord).abs() < 0.001,
                "{degrees}"
            );
            assert!((radius_ft(degrees, Arc) - arc).abs() < 0.001, "{degrees}");
            let prototype = Prototype::from_feet(radius_ft(degrees, Chord));
            for (scale, inches) in scales.iter().zip(model) {
                assert!(
                    (scale.to_actual(prototype).inches() - inches).abs() < 0.001,
                    "{degrees}"
                );
            }
        }
    }

    /// G. L. Vose, Handbook of Railroad Construction: radii by the chord.
    #[test]
    fn vose_table() {
        for (degrees, feet, last_place) in [
            (1.0, 5730.0, 1.0),
            (2.0, 2865.0, 1.0),
            (3.0, 1910.0, 1.0),
            (4.0, 1433.0, 1.0),
            (5.0, 1146.0, 1.0),
            (6.0, 955.4, 0.1),
            (8.0, 716.8, 0.1),
            (10.0, 573.7, 0.1),
        ] {
            assert!(
                (radius_ft(degrees, Chord) - feet).abs() <= last_place / 2.0,
                "{degrees}"
            );
        }
    }

    /// NMRA S-8, track centers: the prototype radii in its heading, and its O and S rows, which it rounds from those.
    #[test]
    fn nmra_track_centers_heading() {
        let (o, s) = (look_up("O").unwrap().scale(), look_up("S").unwrap().scale());
        for (degrees, feet, o_inches, s_inches) in [
            (5.0, 1146.0, 287.0, 215.0),
            (10.0, 574.0, 144.0, 108.0),
            (15.0, 383.0, 96.0, 72.0),
            (20.0, 288.0, 72.0, 54.0),
            (25.0, 231.0, 58.0, 43.0),
            (30.0, 193.0, 48.0, 36.0),
            (35.0, 166.0, 41.5, 31.0),
            (40.0, 146.0, 36.5, 27.0),
            (45.0, 131.0, 33.0, 25.0),
        ] {
            assert!((radius_ft(degrees, Chord) - feet).abs() <= 0.5, "{degrees}");
            let printed = Prototype::from_feet(feet);
            assert!(
                (o.to_actual(printed).inches() - o_inches).abs() <= 0.5 + 1e-9,
                "{degrees}"
            );
            assert!(
                (s.to_actual(printed).inches() - s_inches).abs() <= 0.5 + 1e-9,
                "{degrees}"
            );
        }
    }

    /// Model radii to degrees, by the same two formulas turned about.
    #[test]
    fn degrees_of_model_radii() {
        for (name, inches, chord, arc) in [
            ("HO", 18.0, 45.002, 43.854),
            ("HO", 24.0, 33.360, 32.891),
            ("HO", 30.0, 26.550, 26.313),
            ("HO", 36.0, 22.063, 21.927),
            ("N", 11.0, 39.865, 39.065),
            ("N", 15.0, 28.955, 28.648),
            ("S", 42.0, 25.796, 25.578),
            ("O", 48.0, 30.190, 29.842),
        ] {
            let radius = look_up(name)
                .unwrap()
                .scale()
                .to_prototype(Actual::from_inches(inches));
            let degrees = |definition| {
                DegreeOfCurve::of_radius(radius, definition)
                    .unwrap()
                    .angle()
                    .degrees()
            };
            assert!((degrees(Chord) - chord).abs() < 0.001, "{name} {inches}");
            assert!((degrees(Arc) - arc).abs() < 0.001, "{name} {inches}");
        }
    }

    #[test]
    fn limits() {
        assert!(DegreeOfCurve::of_radius(Prototype::from_feet(49.9), Chord).is_none());
        assert!(DegreeOfCurve::of_radius(Prototype::from_feet(50.0), Chord).is_some());
        assert!(DegreeOfCurve::of_radius(Prototype::from_feet(10.0), Arc).is_some());
        assert!(DegreeOfCurve::of_radius(Prototype::ZERO, Arc).is_none());
        assert!(DegreeOfCurve::new(Angle::from_degrees(180.0), Chord).is_some());
        assert!(DegreeOfCurve::new(Angle::ZERO, Chord).is_none());
    }

    #[test]
    fn spellings() {
        let ho = Scale::new(87.1).unwrap();
        for (text, inches) in [
            ("24 in", 24.0),
            ("R 24\"", 24.0),
            ("R=24\"", 24.0),
            ("24 in radius", 24.0),
            ("2'", 24.0),
            ("609.6 mm", 24.0),
            ("174.2 scale ft", 24.0),
            ("12° chord", 65.902),
            ("12 deg chord", 65.902),
            ("12°00' chord", 65.902),
            ("12 degrees arc", 477.465 * 12.0 / 87.1),
        ] {
            let curve = CurveText::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"));
            assert!(
                (curve.actual_radius(ho).inches() - inches).abs() < 0.001,
                "{text}"
            );
        }
        let real = CurveText::parse("574 ft").unwrap().prototype_radius(ho);
        assert!((real.feet() - 574.0).abs() < 1e-9);
    }

    #[test]
    fn faults() {
        let message = |text: &str| CurveText::parse(text).unwrap_err().to_string();
        assert_eq!(
            message("12°"),
            "`12°` can be read two ways: over a chord of 100 ft or over an arc of 100 ft \
             (write 12° chord (railroad practice) or 12° arc)"
        );
        assert_eq!(
            message("24"),
            "24 of what? Expected a unit of length (write 24 ft or 24 in)"
        );
        assert_eq!(
            message("0 in"),
            "`0 in` is out of range: expected a radius over 0"
        );
        assert_eq!(
            message("200° chord"),
            "`200°` is out of range: expected over 0° and at most 180°"
        );
        assert_eq!(message("12° cord"), "found `cord`, expected chord or arc");
        assert_eq!(
            message("tight"),
            "found `tight`, expected a radius such as 24 in, or a degree of curve such as 12° chord"
        );
    }

    proptest! {
        #[test]
        fn radius_and_degree_are_inverse(feet in 50.0..20_000.0f64, chord in any::<bool>()) {
            let definition = if chord { Chord } else { Arc };
            let radius = Prototype::from_feet(feet);
            let back = DegreeOfCurve::of_radius(radius, definition).unwrap().radius();
            prop_assert!((back.feet() / feet - 1.0).abs() < 1e-12);
        }

        #[test]
        fn print_then_parse(minutes in 1..6000u32, chord in any::<bool>()) {
            let definition = if chord { Chord } else { Arc };
            let curve = DegreeOfCurve::new(Angle::from_degrees(f64::from(minutes) / 60.0), definition).unwrap();
            let back = DegreeOfCurve::parse(&curve.to_string()).unwrap();
            prop_assert!((back.angle().degrees() * 60.0 - f64::from(minutes)).abs() < 1e-9);
            prop_assert_eq!(back.to_string(), curve.to_string());
        }
    }
}
