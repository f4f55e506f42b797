//! Grades: rise over run.

use std::fmt;

use super::length::{Actual, Prototype};
use super::read::{Fault, ReadError, Reader, decimal};

/// The slope of the track: rise over horizontal run, positive uphill. It is the same on the model as on the prototype.
///
/// # Reading
/// `2%`, `-1.5 percent`, `1 in 40`, `1:40`, `25‰`, `25 per mille`, `26.4 ft per mile`, `level`.
///
/// ```
/// use model::units::{Grade, GradeStyle};
///
/// let hill = Grade::parse("1 in 40")?;
/// assert_eq!(hill, Grade::parse("2.5%")?);
/// assert_eq!(hill.show(GradeStyle::FeetPerMile { decimals: 0 }).to_string(), "132 ft per mile");
/// # Ok::<(), model::units::ReadError>(())
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)]
pub struct Grade(f64);

const EXPECTED: &str = "a grade such as 2%, 1 in 50 or 20‰";
const FEET_IN_MILE: f64 = 5280.0;

impl Grade {
    /// No slope.
    pub const LEVEL: Self = Self(0.0);

    /// From rise over run, a plain number.
    #[must_use]
    pub const fn from_ratio(ratio: f64) -> Self {
        Self(ratio)
    }

    /// From percent.
    #[must_use]
    pub const fn from_percent(percent: f64) -> Self {
        Self(percent / 100.0)
    }

    /// The grade that rises so much in so much of the model. `None` for no run.
    #[must_use]
    pub fn of_actual(rise: Actual, run: Actual) -> Option<Self> {
        (run != Actual::ZERO).then(|| Self(rise / run))
    }

    /// The grade that rises so much in so much of the prototype. `None` for no run.
    #[must_use]
    pub fn of_prototype(rise: Prototype, run: Prototype) -> Option<Self> {
        (run != Prototype::ZERO).then(|| Self(rise / run))
    }

    /// Rise over run.
    #[must_use]
    pub const fn ratio(self) -> f64 {
        self.0
    }

    /// In percent.
    #[must_use]
    pub const fn percent(self) -> f64 {
        self.0 * 100.0
    }

    /// In thousandths.
    #[must_use]
    pub const fn per_mille(self) -> f64 {
        self.0 * 1000.0
    }

    /// In feet of rise to the mile.
    #[must_use]
    pub const fn feet_per_mile(self) -> f64 {
        self.0 * FEET_IN_MILE
    }

    /// The same grade in the other direction.
    #[must_use]
    pub const fn reversed(self) -> Self {
        Self(-self.0)
    }

    /// A total order, for sorting.
    #[must_use]
    pub fn total_cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }

    /// Reads a grade; see the type for the spellings.
    ///
    /// # Errors
    /// A [`ReadError`] with the place of the fault; a bare number and a grade over 100 % are faults too.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        let mut reader = Reader::start(text, EXPECTED)?;
        let start = reader.pos();
        if reader.word_if(|w| w == "level") {
            reader.finish("nothing more")?;
            return Ok(Self::LEVEL);
        }
        let minus = reader.sign();
        let number = reader
            .number()?
            .ok_or_else(|| reader.unexpected(EXPECTED))?;
        let written = reader.slice(number.at.clone());
        reader.skip_space();
        let ratio = if reader.eat("%") {
            number.value / 100.0
        } else if reader.eat("\u{2030}") {
            number.value / 1000.0
        } else if reader.eat(":") {
            number.value / run(&mut reader)?
        } else {
            let before = reader.clone();
            let (word, at) = reader.word();
            match word.to_lowercase().as_str() {
                "" if reader.at_end() => {
                    let fault = Fault::MissingUnit {
                        number: written.to_owned(),
                        quantity: "grade",
                    };
                    return Err(ReadError::new(number.at, fault)
                        .hint(format!("write {written}% or 1 in {written}")));
                }
                "percent" | "pct" => number.value / 100.0,
                "in" => number.value / run(&mut reader)?,
                "ft/mi" | "ft/mile" | "feet/mile" => number.value / FEET_IN_MILE,
                "ft" | "feet" | "foot" => {
                    reader.skip_space();
                    if !reader.word_if(|w| w == "per" || w == "to") {
                        return Err(reader.unexpected("per mile"));
                    }
                    reader.skip_space();
                    reader.word_if(|w| w == "the");
                    reader.skip_space();
                    if !reader.word_if(|w| w == "mile" || w == "mi") {
                        return Err(reader.unexpected("mile"));
                    }
                    number.value / FEET_IN_MILE
                }
                "per" => {
                    reader.skip_space();
                    if reader.word_if(|w| w == "mille" || w == "mil" || w == "thousand") {
                        number.value / 1000.0
                    } else if reader.word_if(|w| w == "cent" || w == "hundred") {
                        number.value / 100.0
                    } else {
                        return Err(reader.unexpected("cent or mille"));
                    }
                }
                "" => return Err(before.unexpected("%, ‰, `in` or `ft per mile`")),
                _ => {
                    let fault = Fault::UnknownUnit {
                        found: word.to_owned(),
                        quantity: "grade",
                    };
                    return Err(ReadError::new(at, fault)
                        .hint(format!("write {written}% or 1 in {written}")));
                }
            }
        };
        let end = reader.pos();
        reader.finish("nothing more")?;
        if ratio > 1.0 {
            let found = reader.slice(start..end).to_owned();
            let fault = Fault::OutOfRange {
                found,
                expected: "at most 100%".to_owned(),
            };
            return Err(ReadError::new(start..end, fault));
        }
        Ok(Self(if minus { -ratio } else { ratio }))
    }

    /// For printing in `style`.
    #[must_use]
    pub const fn show(self, style: GradeStyle) -> ShownGrade {
        ShownGrade { grade: self, style }
    }
}

/// The run of `1 in 40`.
fn run(reader: &mut Reader<'_>) -> Result<f64, ReadError> {
    reader.skip_space();
    let number = reader
        .number()?
        .ok_or_else(|| reader.unexpected("the run, as in 1 in 40"))?;
    if number.value == 0.0 {
        let found = reader.slice(number.at.clone()).to_owned();
        let fault = Fault::OutOfRange {
            found,
            expected: "a run over 0".to_owned(),
        };
        return Err(ReadError::new(number.at, fault));
    }
    Ok(number.value)
}

/// How to print a [`Grade`].
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GradeStyle {
    /// `2.0%`.
    Percent {
        /// Digits after the point.
        decimals: u8,
    },
    /// `1 in 40`, or `level`.
    OneIn {
        /// Digits after the point of the run.
        decimals: u8,
    },
    /// `25‰`.
    PerMille {
        /// Digits after the point.
        decimals: u8,
    },
    /// `132 ft per mile`.
    FeetPerMile {
        /// Digits after the point.
        decimals: u8,
    },
}

/// A grade with the style to print it in; made by [`Grade::show`].
#[derive(Debug, Clone, Copy)]
pub struct ShownGrade {
    grade: Grade,
    style: GradeStyle,
}

impl fmt::Display for ShownGrade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let grade = self.grade;
        match self.style {
            GradeStyle::Percent { decimals } => {
                write!(f, "{}%", decimal(grade.percent(), decimals))
            }
            GradeStyle::PerMille { decimals } => {
                write!(f, "{}\u{2030}", decimal(grade.per_mille(), decimals))
            }
            GradeStyle::FeetPerMile { decimals } => {
                write!(
                    f,
                    "{} ft per mile",
                    decimal(grade.feet_per_mile(), decimals)
                )
            }
            // A run longer than this is the level of any floor, and of no use on paper.
            GradeStyle::OneIn { .. } if grade.0.abs() < 1e-6 => f.write_str("level"),
            GradeStyle::OneIn { decimals } => {
                let sign = if grade.0 < 0.0 { "-" } else { "" };
                write!(f, "{sign}1 in {}", decimal(1.0 / grade.0.abs(), decimals))
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn spellings() {
        for (text, percent) in [
            ("2%", 2.0),
            ("2 %", 2.0),
            ("+2.0 percent", 2.0),
            ("2 per cent", 2.0),
            ("-1.5%", -1.5),
            ("−1,5 %", -1.5),
            ("1 in 40", 2.5),
            ("1:40", 2.5),
            ("-1 in 40", -2.5),
            ("25‰", 2.5),
            ("25 per mille", 2.5),
            ("132 ft per mile", 2.5),
            ("132 feet to the mile", 2.5),
            ("132 ft/mi", 2.5),
            ("level", 0.0),
            ("0%", 0.0),
        ] {
            let grade = Grade::parse(text).unwrap_or_else(|e| panic!("{text}: {e}"));
            assert!((grade.percent() - percent).abs() < 1e-12, "{text}");
        }
    }

    /// US Army TM transportation tables: 2 ft in 100 ft is 2 %; half a percent is 26.4 ft to the mile.
    #[test]
    fn published() {
        let two = Grade::of_prototype(Prototype::from_feet(2.0), Prototype::from_feet(100.0));
        assert!((two.unwrap().percent() - 2.0).abs() < 1e-12);
        assert!((Grade::from_percent(0.5).feet_per_mile() - 26.4).abs() < 1e-9);
    }

    #[test]
    fn from_model_lengths() {
        let grade = Grade::of_actual(Actual::from_inches(4.0), Actual::from_inches(200.0)).unwrap();
        assert!((grade.percent() - 2.0).abs() < 1e-12);
        assert!((grade.reversed().per_mille() + 20.0).abs() < 1e-12);
        assert!(Grade::of_actual(Actual::from_inches(4.0), Actual::ZERO).is_none());
    }

    #[test]
    fn faults() {
        let message = |text: &str| Grade::parse(text).unwrap_err().to_string();
        assert_eq!(
            message("2"),
            "2 of what? Expected a unit of grade (write 2% or 1 in 2)"
        );
        assert_eq!(
            message("2 pecent"),
            "`pecent` is not a unit of grade (write 2% or 1 in 2)"
        );
        assert_eq!(
            message("200%"),
            "`200%` is out of range: expected at most 100%"
        );
        assert_eq!(
            message("1 in 0"),
            "`0` is out of range: expected a run over 0"
        );
        assert_eq!(
            message("1 in"),
            "found the end of the text, expected the run, as in 1 in 40"
        );
        assert_eq!(
            message("steep"),
            "found `steep`, expected a grade such as 2%, 1 in 50 or 20‰"
        );
    }

    proptest! {
        #[test]
        fn print_then_parse(percent in -10.0..10.0f64, decimals in 0..5u8, kind in 0..4u8) {
            let style = match kind {
                0 => GradeStyle::Percent { decimals },
                1 => GradeStyle::PerMille { decimals },
                2 => GradeStyle::FeetPerMile { decimals },
                _ => GradeStyle::OneIn { decimals },
            };
            let grade = Grade::from_percent(percent);
            let printed = grade.show(style).to_string();
            let back = Grade::parse(&printed).unwrap();
            let half = 0.500_001 / 10f64.powi(i32::from(decimals));
            let (found, exact) = match kind {
                0 => (back.percent(), percent),
                1 => (back.per_mille(), grade.per_mille()),
                2 => (back.feet_per_mile(), grade.feet_per_mile()),
                _ => (1.0 / back.ratio(), 1.0 / grade.ratio()),
            };
            prop_assert!((found - exact).abs() <= half + exact.abs() * 1e-12 || printed == "level", "{printed}");
            prop_assert_eq!(back.show(style).to_string(), printed);
        }
    }
}
