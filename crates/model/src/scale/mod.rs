//! Scales and gauges: the proportion of a model, the track it runs on, and the published tables of both.

mod table;

use std::fmt;

use crate::units::read::{Fault, Reader, nearest};
use crate::units::{Actual, ActualSpeed, Angle, Prototype, ReadError, Speed};

pub use table::{Confidence, Listed, Source, listed};

/// The proportion of a model: how many times larger the prototype is.
///
/// This is the only way between [`Actual`] and [`Prototype`] lengths, and between [`ActualSpeed`] and [`Speed`].
///
/// ```
/// use model::scale::Scale;
/// use model::units::{Actual, Prototype};
///
/// let ho = Scale::new(87.1).unwrap();
/// let mile = ho.to_actual(Prototype::from_miles(1.0));
/// assert!(mile.is_near(Actual::from_feet(60.62), Actual::from_feet(0.001)));
/// ```
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd)]
pub struct Scale(f64);

impl Scale {
    /// The largest and smallest proportions taken seriously: full size, and a railroad the size of a coin.
    const LIMITS: (f64, f64) = (1.0, 10_000.0);

    /// A scale of 1:`ratio`. `None` unless the ratio is from 1 to 10,000.
    #[must_use]
    pub fn new(ratio: f64) -> Option<Self> {
        (Self::LIMITS.0..=Self::LIMITS.1)
            .contains(&ratio)
            .then_some(Self(ratio))
    }

    /// How many times larger the prototype is: 87.1 for 1:87.1.
    #[must_use]
    pub const fn ratio(self) -> f64 {
        self.0
    }

    /// Model size of a prototype length.
    #[must_use]
    pub fn to_actual(self, length: Prototype) -> Actual {
        Actual::from_meters(length.meters() / self.0)
    }

    /// What a length on the model stands for.
    #[must_use]
    pub fn to_prototype(self, length: Actual) -> Prototype {
        Prototype::from_meters(length.meters() * self.0)
    }

    /// How fast a model moves that runs at a scale speed. A fast clock has no part in this.
    #[must_use]
    pub fn to_actual_speed(self, speed: Speed) -> ActualSpeed {
        ActualSpeed::from_meters_per_second(speed.meters_per_second() / self.0)
    }

    /// The scale speed of a moving model.
    #[must_use]
    pub fn to_scale_speed(self, speed: ActualSpeed) -> Speed {
        Speed::from_meters_per_second(speed.meters_per_second() * self.0)
    }

    /// Angle that something of prototype size `size` fills, seen from `eye` away and squarely: 2·atan(P / 2·s·d).
    #[must_use]
    pub fn apparent_angle(self, size: Prototype, eye: Actual) -> Angle {
        Angle::from_radians(2.0 * (size.meters() / (2.0 * self.to_prototype(eye).meters())).atan())
    }

    /// Reads a proportion: `1:87.1`, `1/48`, or model size to the foot: `3.5 mm/ft`, `1/4 in/ft`.
    ///
    /// # Errors
    /// A [`ReadError`] for anything else, or a ratio outside 1 to 10,000.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        let mut reader = Reader::start(text, PROPORTION)?;
        let scale = Self::read(&mut reader)?;
        reader.finish("nothing more")?;
        Ok(scale)
    }

    fn read(reader: &mut Reader<'_>) -> Result<Self, ReadError> {
        let start = reader.pos();
        let number = reader
            .number()?
            .ok_or_else(|| reader.unexpected(PROPORTION))?;
        let after_number = reader.pos();
        reader.skip_space();
        let (ratio, end) = if reader.eat(":") {
            reader.skip_space();
            let ratio = reader
                .number()?
                .ok_or_else(|| reader.unexpected("a ratio such as 87.1"))?;
            (ratio.value / number.value, reader.pos())
        } else if reader.word_if(|w| w == "mm/ft") {
            (304.8 / number.value, reader.pos())
        } else if reader.word_if(|w| w == "in/ft") {
            (12.0 / number.value, reader.pos())
        } else if number.value < 1.0 {
            // `1/48`
            (1.0 / number.value, after_number)
        } else {
            return Err(reader.unexpected("`:` and the ratio, or mm/ft, or in/ft"));
        };
        Self::new(ratio).ok_or_else(|| {
            let found = reader.slice(start..end).to_owned();
            ReadError::new(
                start..end,
                Fault::OutOfRange {
                    found,
                    expected: "a ratio from 1:1 to 1:10000".to_owned(),
                },
            )
        })
    }
}

impl fmt::Display for Scale {
    /// `1:87.1`
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "1:{}", self.0)
    }
}

const PROPORTION: &str = "a proportion such as 1:87.1 or 3.5 mm/ft";

/// What a railroad is built to: a scale, the gauge of its track and the prototype gauge that this stands for.
///
/// ```
/// use model::scale::ScaleAndGauge;
///
/// let narrow = ScaleAndGauge::parse("HOn3")?;
/// assert_eq!(narrow.scale.ratio(), 87.1);
/// assert_eq!(narrow.gauge.mm(), 10.5);
///
/// let own = ScaleAndGauge::parse("1:24 45 mm")?;
/// assert_eq!(own.represented_gauge().inches().round(), 43.0);
///
/// let error = ScaleAndGauge::parse("HOn33").unwrap_err();
/// assert_eq!(error.hint.as_deref(), Some("did you mean HOn3?"));
/// # Ok::<(), model::units::ReadError>(())
/// ```
#[derive(Debug, Clone, PartialEq)]
pub struct ScaleAndGauge {
    /// Its name, such as "HOn3".
    pub name: String,
    /// The proportion.
    pub scale: Scale,
    /// Between the rails of the model.
    pub gauge: Actual,
    /// Gauge of the prototype modeled, where the name settles it. The gauge of the model times the ratio is rarely quite this.
    pub prototype_gauge: Option<Prototype>,
}

impl ScaleAndGauge {
    /// One of the railroad's own.
    #[must_use]
    pub fn custom(name: impl Into<String>, scale: Scale, gauge: Actual) -> Self {
        Self {
            name: name.into(),
            scale,
            gauge,
            prototype_gauge: None,
        }
    }

    /// The gauge that the model's track stands for exactly: 5 ft for 1¼ in at 1:48.
    #[must_use]
    pub fn represented_gauge(&self) -> Prototype {
        self.scale.to_prototype(self.gauge)
    }

    /// Reads a name from the tables (`HOn3`) or a proportion and a gauge of one's own (`1:24 45 mm`).
    ///
    /// # Errors
    /// A [`ReadError`], which for an unknown name suggests the nearest known one.
    pub fn parse(text: &str) -> Result<Self, ReadError> {
        let mut reader = Reader::start(text, "a scale such as HO or 1:24 45 mm")?;
        if !reader.peek().is_some_and(|c| c.is_ascii_digit()) || look_up(text).is_ok() {
            return look_up(text).map(Listed::to_scale_and_gauge);
        }
        let scale = Scale::read(&mut reader)?;
        reader.skip_space();
        reader.eat(",");
        reader.skip_space();
        reader.word_if(|w| w == "gauge" || w == "gage");
        reader.skip_space();
        if reader.at_end() {
            return Err(reader.unexpected("the gauge of the track").hint(format!(
                "write {scale} and the distance between the rails, as in {scale} 16.5 mm"
            )));
        }
        let before = reader.pos();
        let gauge = Actual::parse(reader.rest()).map_err(|mut error| {
            error.at = error.at.start + before..error.at.end + before;
            error
        })?;
        if gauge.mm() < 1.0 || gauge.meters() > 2.0 {
            return Err(ReadError::new(
                before..text.len(),
                Fault::OutOfRange {
                    found: reader.rest().trim_end().to_owned(),
                    expected: "a gauge from 1 mm to 2 m".to_owned(),
                },
            ));
        }
        Ok(Self::custom(text.trim(), scale, gauge))
    }
}

/// Finds a scale by name or alias in the tables.
///
/// Case counts only where two names differ in nothing else. `HO` (letter O) is the 1:87.1 of NMRA, `H0` (digit) the 1:87 of NEM.
///
/// # Errors
/// A [`ReadError`] that suggests the nearest name.
pub fn look_up(name: &str) -> Result<&'static Listed, ReadError> {
    let start = name.len() - name.trim_start().len();
    let wanted = name.trim();
    let names = |l: &'static Listed| std::iter::once(l.name).chain(l.aliases.iter().copied());
    let exact = listed().iter().find(|l| names(l).any(|n| n == wanted));
    exact
        .or_else(|| {
            listed()
                .iter()
                .find(|l| names(l).any(|n| n.eq_ignore_ascii_case(wanted)))
        })
        .ok_or_else(|| {
            let error = ReadError::new(
                start..start + wanted.len(),
                Fault::Unexpected {
                    found: format!("`{wanted}`"),
                    expected: "the name of a scale".to_owned(),
                },
            );
            match nearest(wanted, listed().iter().flat_map(names)) {
                Some(near) => error.hint(format!("did you mean {near}?")),
                None => error.hint("or give a proportion and a gauge, as in 1:24 45 mm"),
            }
        })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn scale(name: &str) -> Scale {
        look_up(name).unwrap().scale()
    }

    /// 60 mph is 88 ft/s or 1056 in/s, exactly; divided by the ratio. NEM 010 and NMRA S-3.2 (Feb 2010) for the ratios.
    #[test]
    fn scale_speed_at_sixty() {
        for (name, inches, mm, seconds_for_ten_feet_at_thirty) in [
            ("Z", 4.8, 121.92, 50.0),
            ("N", 6.6, 167.64, 36.364),
            ("TT", 8.8, 223.52, 27.273),
            ("HO", 12.124, 307.95, 19.795),
            ("S", 16.5, 419.1, 14.545),
            ("O", 22.0, 558.8, 10.909),
        ] {
            let speed = scale(name).to_actual_speed(Speed::from_mph(60.0));
            let near = |a: f64, b: f64| (a / b - 1.0).abs() < 0.0005;
            assert!(near(speed.inches_per_second(), inches), "{name}");
            assert!(near(speed.mm_per_second(), mm), "{name}");
            let half = scale(name).to_actual_speed(Speed::from_mph(30.0));
            let seconds = half.seconds_over(Actual::from_feet(10.0));
            assert!(near(seconds, seconds_for_ten_feet_at_thirty), "{name}");
        }
    }

    /// A scale mile is 5280 ft over the ratio.
    #[test]
    fn scale_miles_and_feet() {
        for (name, mile_ft, foot_in) in [
            ("Z", 24.0, 0.0545),
            ("N", 33.0, 0.075),
            ("TT", 44.0, 0.1),
            ("HO", 60.620, 0.1378),
            ("OO", 69.291, 0.1575),
            ("S", 82.5, 0.1875),
            ("O", 110.0, 0.25),
            ("O 1:45", 117.333, 0.2667),
            ("O 1:43.5", 121.379, 0.2759),
            ("1", 165.0, 0.375),
            ("Fn3", 260.099, 0.5911),
        ] {
            let s = scale(name);
            let mile = s.to_actual(Prototype::from_miles(1.0)).feet();
            let foot = s.to_actual(Prototype::from_feet(1.0)).inches();
            assert!((mile - mile_ft).abs() < 0.0006, "{name}: {mile}");
            assert!((foot - foot_in).abs() < 0.00006, "{name}: {foot}");
            // In every scale a scale mile takes a minute at sixty.
            let minute = s
                .to_actual_speed(Speed::from_mph(60.0))
                .seconds_over(s.to_actual(Prototype::from_miles(1.0)));
            assert!((minute - 60.0).abs() < 1e-9);
        }
    }

    /// Apparent size, by 2·atan(P / 2·s·d).
    #[test]
    fn apparent_size() {
        let (ho, n) = (scale("HO"), scale("N"));
        let looks = |s: Scale, eye: Actual| s.to_prototype(eye).feet();
        assert!((looks(ho, Actual::from_inches(36.0)) - 261.3).abs() < 0.05);
        assert!((looks(n, Actual::from_feet(6.0)) - 960.0).abs() < 1e-6);
        let car = Prototype::from_feet(40.0);
        let eye = Actual::from_inches(24.0);
        assert!((ho.apparent_angle(car, eye).degrees() - 13.099).abs() < 0.0006);
        assert!((n.apparent_angle(car, eye).degrees() - 7.153).abs() < 0.0006);
        // An N object seen from here looks as large as an HO object at 36 in.
        let same = Actual::from_inches(36.0) * (ho.ratio() / n.ratio());
        assert!((same.inches() - 19.598).abs() < 0.0006);
    }

    #[test]
    fn proportions() {
        for (text, ratio) in [
            ("1:87.1", 87.1),
            ("1 : 87", 87.0),
            ("1/48", 48.0),
            ("3.5 mm/ft", 304.8 / 3.5),
            ("4mm/ft", 76.2),
            ("1/4 in/ft", 48.0),
            ("1:43,5", 43.5),
        ] {
            assert!(
                (Scale::parse(text).unwrap().ratio() - ratio).abs() < 1e-9,
                "{text}"
            );
        }
        for text in ["", "87", "1:", "1:0.5", "1:0", "0:5", "1:87 x", "HO"] {
            assert!(Scale::parse(text).is_err(), "{text}");
        }
        assert_eq!(Scale::parse("1:87.1").unwrap().to_string(), "1:87.1");
        assert!(Scale::new(f64::NAN).is_none() && Scale::new(0.0).is_none());
    }

    #[test]
    fn names() {
        assert_eq!(look_up("HO").unwrap().ratio, 87.1);
        assert_eq!(look_up("H0").unwrap().ratio, 87.0);
        assert_eq!(look_up(" ho ").unwrap().ratio, 87.1);
        assert_eq!(look_up("on30").unwrap().gauge_mm, 16.5);
        let hint = |text: &str| look_up(text).unwrap_err().hint.unwrap();
        assert_eq!(hint("HOn33"), "did you mean HOn3?");
        assert_eq!(hint("Proto-48"), "did you mean Proto:48?");
        assert_eq!(
            hint("gigantic"),
            "or give a proportion and a gauge, as in 1:24 45 mm"
        );
    }

    #[test]
    fn own_scale() {
        let own = ScaleAndGauge::parse("1:24 45 mm").unwrap();
        assert_eq!((own.scale.ratio(), own.name.as_str()), (24.0, "1:24 45 mm"));
        assert!((own.represented_gauge().inches() - 42.52).abs() < 0.005);
        assert_eq!(
            ScaleAndGauge::parse("1:24, gauge 45 mm").unwrap().gauge,
            own.gauge
        );
        assert_eq!(ScaleAndGauge::parse("1").unwrap().scale.ratio(), 32.0);
        let error = ScaleAndGauge::parse("1:24 45").unwrap_err();
        assert_eq!(
            (error.at, error.hint.as_deref()),
            (5..7, Some("write 45 ft or 45 in"))
        );
        let error = ScaleAndGauge::parse("1:24").unwrap_err();
        assert!(error.hint.unwrap().contains("1:24 16.5 mm"));
        assert!(ScaleAndGauge::parse("1:24 45 m").is_err());
    }

    proptest! {
        #[test]
        fn there_and_back(ratio in 1.0..10_000.0f64, meters in -1e4..1e4f64) {
            let scale = Scale::new(ratio).unwrap();
            let length = Prototype::from_meters(meters);
            let back = scale.to_prototype(scale.to_actual(length));
            prop_assert!(back.is_near(length, Prototype::from_meters(meters.abs() * 1e-12 + 1e-15)));
            prop_assert_eq!(Scale::parse(&scale.to_string()).unwrap(), scale);
        }
    }
}
