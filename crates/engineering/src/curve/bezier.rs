//! Center lines and their parallels as Béziers, for drawing.

use std::ops::Range;

use kurbo::{BezPath, CurveFitSample, ParamCurveFit, PathEl, Point, Vec2, fit_to_bezpath};

use super::{Path, Piece, PieceKind};

/// A piece moved aside, as the fitting wants to see it: by a parameter from 0 to 1.
struct Beside<'a> {
    piece: &'a Piece,
    left: f64,
}

impl ParamCurveFit for Beside<'_> {
    fn sample_pt_tangent(&self, t: f64, _sign: f64) -> CurveFitSample {
        let (p, tangent) = self.sample_pt_deriv(t);
        CurveFitSample { p, tangent }
    }

    fn sample_pt_deriv(&self, t: f64) -> (Point, Vec2) {
        let place = self.piece.at(t * self.piece.length);
        let stretch = 1.0 - place.curvature * self.left;
        (
            place.point() + place.left() * self.left,
            place.ahead() * (stretch * self.piece.length),
        )
    }

    fn break_cusp(&self, _range: Range<f64>) -> Option<f64> {
        None
    }
}

/// Adds a piece, moved `left` metres to the left, to a Bézier path that stands where it begins; the
/// path is begun if it is empty. It is within `accuracy` metres of the true curve.
pub fn append_to_bezier(path: &mut BezPath, piece: &Piece, left: f64, accuracy: f64) {
    let beside = Beside { piece, left };
    if path.is_empty() {
        path.move_to(beside.sample_pt_deriv(0.0).0);
    }
    let end = beside.sample_pt_deriv(1.0).0;
    if piece.kind() == PieceKind::Tangent {
        path.line_to(end);
        return;
    }
    for element in fit_to_bezpath(&beside, accuracy).elements() {
        if !matches!(element, PathEl::MoveTo(_)) {
            path.push(*element);
        }
    }
}

/// A path, moved `left` metres to the left, as Béziers within `accuracy` metres of the true curve.
pub fn to_bezier(path: &Path, left: f64, accuracy: f64) -> BezPath {
    let mut drawn = BezPath::new();
    for piece in path.pieces() {
        append_to_bezier(&mut drawn, piece, left, accuracy);
    }
    drawn
}
