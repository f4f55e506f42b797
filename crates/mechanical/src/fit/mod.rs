//! Whether a piece of equipment fits where it is sent: turntables, wyes, curves, tunnels and its neighbors.
//!
//! Plain numbers in, a verdict out; where they come from is asked in `railroad`.

mod overhang;

pub use overhang::{Overhang, overhang, track_centers};

use model::{
    scale::Scale,
    units::{Actual, Prototype},
};

use crate::{Car, Engine};

/// Whether something fits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fit {
    /// It does, with so much to spare.
    Fits(Actual),
    /// It does not: so much is wanting.
    Short(Actual),
    /// What the records say does not tell.
    Unknown,
}

impl Fit {
    /// Of what there is and what it takes.
    pub fn of(there: Option<Actual>, takes: Option<Actual>) -> Self {
        match (there, takes) {
            // A tape measure is not read to a hundredth of a millimeter.
            (Some(there), Some(takes)) if there + Actual::from_mm(0.01) >= takes => {
                Self::Fits((there - takes).max(Actual::ZERO))
            }
            (Some(there), Some(takes)) => Self::Short(takes - there),
            _ => Self::Unknown,
        }
    }

    /// Whether it is known not to fit.
    pub const fn fails(self) -> bool {
        matches!(self, Self::Short(_))
    }
}

/// A piece of equipment, as far as it takes up room. Sizes are those of the model.
#[derive(Debug, Clone, PartialEq)]
pub struct Body {
    /// Its name: `SMR 101`, `engine 12`.
    pub name: String,
    /// Over the pulling faces.
    pub length: Option<Actual>,
    /// Sharpest curve it runs on.
    pub radius: Option<Actual>,
    /// Whether that is only the rule of three times the length over the pulling faces (common practice, no source).
    pub radius_by_rule: bool,
    /// Extreme height above the rail.
    pub height: Option<Actual>,
    /// Extreme width: of a car that gives none, 10 ft 4 in full size (common practice, no source).
    pub width: Actual,
    /// Length of the body.
    pub body: Option<Actual>,
    /// Between truck centers: of a car that gives none, 0.7 of its body (common practice, no source).
    pub truck_centers: Option<Actual>,
}

/// How many times its length a car's curve should be, so that its couplers and trucks can follow: common practice, no source.
pub const RADIUS_TO_LENGTH: f64 = 3.0;

fn usual_width(scale: Scale) -> Actual {
    scale.to_actual(Prototype::from_inches(124.0))
}

impl Body {
    /// A car.
    pub fn car(car: &Car, scale: Scale) -> Self {
        let model =
            |size: Option<model::Spanned<Prototype>>| size.map(|size| scale.to_actual(size.value));
        let length = car.length.map(|length| length.value);
        let body = model(car.outside_length)
            .or_else(|| length.map(|length| crate::weight::body_length(length, scale)));
        Self {
            name: car.name.value.clone(),
            length,
            radius: length.map(|length| length * RADIUS_TO_LENGTH),
            radius_by_rule: true,
            height: model(car.height),
            width: model(car.width).unwrap_or_else(|| usual_width(scale)),
            truck_centers: model(car.truck_centers).or(body.map(|body| body * 0.7)),
            body,
        }
    }

    /// An engine. Its overhang is not reckoned: its frame is not that of a car.
    pub fn engine(engine: &Engine, scale: Scale) -> Self {
        let model =
            |size: Option<model::Spanned<Prototype>>| size.map(|size| scale.to_actual(size.value));
        Self {
            name: format!("engine {}", engine.number.value),
            length: engine.length.map(|length| length.value),
            radius: engine.minimum_radius.map(|radius| radius.value),
            radius_by_rule: false,
            height: model(engine.height),
            width: model(engine.width).unwrap_or_else(|| usual_width(scale)),
            body: None,
            truck_centers: None,
        }
    }

    /// On a turntable: wheels and couplers both on it, which is what lets it turn beside others.
    pub fn on_turntable(&self, length: Option<Actual>) -> Fit {
        Fit::of(length, self.length)
    }

    /// Behind the switch on the tail of a wye.
    pub fn on_tail(&self, usable: Option<Actual>) -> Fit {
        Fit::of(usable, self.length)
    }

    /// Around a curve.
    pub fn around(&self, radius: Option<Actual>) -> Fit {
        Fit::of(radius, self.radius)
    }

    /// Under something.
    pub fn under(&self, clear: Option<Actual>) -> Fit {
        Fit::of(clear, self.height)
    }

    /// How far its sides swing on a curve; `None` for an engine, or a body that does not fit the curve at all.
    pub fn swing(&self, radius: Actual) -> Option<Overhang> {
        overhang(self.body?, self.truck_centers?, self.width, radius)
    }

    /// Between the sides of something as wide, about a track in its middle, straight or curved.
    pub fn between(&self, clear: Option<Actual>, radius: Option<Actual>) -> Fit {
        let swing = radius
            .and_then(|radius| self.swing(radius))
            .map_or(Actual::ZERO, |swing| swing.inside.max(swing.outside));
        Fit::of(clear, Some(self.width + swing * 2.0))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn inches(value: f64) -> Actual {
        Actual::from_inches(value)
    }

    #[test]
    fn what_is_wanting_is_said() {
        assert_eq!(
            Fit::of(Some(inches(10.0)), Some(inches(10.0))),
            Fit::Fits(Actual::ZERO)
        );
        assert!(
            matches!(Fit::of(Some(inches(9.0)), Some(inches(10.0))), Fit::Short(by) if (by.inches() - 1.0).abs() < 1e-9)
        );
        assert_eq!(Fit::of(None, Some(inches(10.0))), Fit::Unknown);
    }
}
