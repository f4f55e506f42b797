//! Center lines in the plane: tangents, arcs and clothoids, and chains of them.
//!
//! Lengths are metres on the model, angles radians counted to the left (counter-clockwise, with *y* up
//! the drawing), curvatures 1/m and positive to the left. One [`Piece`] is all three: its curvature
//! runs evenly from one value to another, and is zero, constant or neither. A [`Path`] is a chain of
//! pieces. Everything is evaluated in closed form or by a series that is summed to the last bit, never
//! by steps, so that a chain of hundreds of pieces still closes.

mod bezier;
mod closest;
mod clothoid;
mod easement;
mod path;
mod piece;
mod simple;
#[cfg(test)]
mod tests;

pub use bezier::{append_to_bezier, to_bezier};
pub use closest::{Closest, closest};
pub use clothoid::travel;
pub use easement::Easement;
pub use kurbo::{Point, Vec2};
pub use path::{Jump, Path};
pub use piece::{Piece, PieceKind};
pub use simple::{SimpleCurve, mid_ordinate, radius_of_mid_ordinate};

/// A point of a center line: where, which way, and how sharply it turns there.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Place {
    /// To the right on the drawing, metres.
    pub x: f64,
    /// Up the drawing, metres.
    pub y: f64,
    /// Direction of travel, radians to the left of the x axis. Not reduced: after a full turn to the
    /// left it is 2π more.
    pub heading: f64,
    /// 1/radius, 1/m, positive to the left.
    pub curvature: f64,
}

impl Place {
    /// On straight track.
    pub fn new(x: f64, y: f64, heading: f64) -> Self {
        Self {
            x,
            y,
            heading,
            curvature: 0.0,
        }
    }

    /// Where it is.
    pub fn point(&self) -> Point {
        Point::new(self.x, self.y)
    }

    /// The unit vector of travel.
    pub fn ahead(&self) -> Vec2 {
        Vec2::new(self.heading.cos(), self.heading.sin())
    }

    /// The unit vector to the left of travel.
    pub fn left(&self) -> Vec2 {
        Vec2::new(-self.heading.sin(), self.heading.cos())
    }

    /// The place beside it, `left` metres to the left (to the right if negative), on the parallel
    /// curve. `None` where the parallel has no direction: at the center of curvature or beyond it.
    pub fn beside(&self, left: f64) -> Option<Self> {
        let stretch = 1.0 - self.curvature * left;
        let at = self.point() + self.left() * left;
        (stretch > 0.0).then(|| Self {
            x: at.x,
            y: at.y,
            heading: self.heading,
            curvature: self.curvature / stretch,
        })
    }

    /// The same point, traveled the other way.
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self {
            x: self.x,
            y: self.y,
            heading: self.heading + std::f64::consts::PI,
            curvature: -self.curvature,
        }
    }
}

/// An angle reduced to more than −π and at most π.
pub fn wrapped(angle: f64) -> f64 {
    use std::f64::consts::{PI, TAU};
    let turns = (angle / TAU).round();
    let reduced = angle - turns * TAU;
    if reduced <= -PI {
        reduced + TAU
    } else {
        reduced
    }
}
