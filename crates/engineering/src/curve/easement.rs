//! The clothoid between a tangent and an arc.
//!
//! A.R.E.A. spiral: curvature grows evenly from nothing at the tangent to that of the arc, so that
//! θ = L/2R. The symbols are those of A.R.E.A. curve tables: *X* and *Y* of the spiral's end, *o* (here
//! `shift`) by which the arc moves in from the tangent, *Z* (here `set_back`) from the beginning of the
//! spiral to abreast of the arc's center, *Ts* from there to the intersection of the tangents.

use super::travel;

/// A spiral of a length into an arc of a radius.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Easement {
    /// Radius of the arc, metres.
    pub radius: f64,
    /// Length of the spiral, metres.
    pub length: f64,
}

impl Easement {
    /// Angle turned within it, radians: θ = L/2R.
    pub fn angle(&self) -> f64 {
        0.5 * self.length / self.radius
    }

    /// Its end seen from its beginning: along the tangent (*X*), and aside (*Y*).
    pub fn end(&self) -> (f64, f64) {
        let end = travel(
            0.0,
            1.0 / (self.radius * self.length).max(f64::MIN_POSITIVE),
            self.length,
        );
        if self.length > 0.0 {
            (end.x, end.y)
        } else {
            (0.0, 0.0)
        }
    }

    /// How far the arc is moved in: *o* = Y − R(1 − cos θ), about L²/24R.
    pub fn shift(&self) -> f64 {
        self.end().1 - self.radius * (1.0 - self.angle().cos())
    }

    /// How far the spiral begins before the arc's center is abreast: *Z* = X − R·sin θ, about L/2.
    pub fn set_back(&self) -> f64 {
        self.end().0 - self.radius * self.angle().sin()
    }

    /// From the beginning of the spiral to the intersection of tangents that part by `angle`, an equal
    /// spiral at each end: *Ts* = (R + o)·tan ½I + Z.
    pub fn tangent_distance(&self, angle: f64) -> f64 {
        (self.radius + self.shift()) * (0.5 * angle).tan() + self.set_back()
    }

    /// From the intersection of the tangents to the middle of the curve:
    /// *Es* = (R + o)·exsec ½I + o.
    pub fn external(&self, angle: f64) -> f64 {
        (self.radius + self.shift()) * (1.0 / (0.5 * angle).cos() - 1.0) + self.shift()
    }

    /// The spiral whose arc is moved in by `shift`: begun from L = √(24·R·o), then to the last bits.
    /// `None` if no spiral of less than a quarter turn moves it so far.
    pub fn of_shift(radius: f64, shift: f64) -> Option<Self> {
        if shift < 0.0 || radius <= 0.0 {
            return None;
        }
        let mut length = (24.0 * radius * shift).sqrt();
        for _ in 0..60 {
            let easement = Self { radius, length };
            // d(shift)/dL is about L/12R.
            let slope = length / (12.0 * radius);
            if slope == 0.0 {
                break;
            }
            let step = (easement.shift() - shift) / slope;
            length -= step;
            if step.abs() < 1e-14 {
                break;
            }
        }
        (length.is_finite() && length < std::f64::consts::PI * radius)
            .then_some(Self { radius, length })
    }
}
