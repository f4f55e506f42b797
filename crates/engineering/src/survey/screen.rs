//! Single points that do not go with their neighbors.

use super::median;
use crate::curve::Point;

/// What was kept.
pub(super) struct Screened {
    /// The points that go with one another.
    pub(super) kept: Vec<usize>,
    /// How they scatter, one standard deviation, metres.
    pub(super) scatter: f64,
}

/// Sets points aside one by one, the worst first, until none stands out: each is compared with the
/// parabola of its six nearest neighbors in the row.
pub(super) fn screen(points: &[Point]) -> Screened {
    let mut kept: Vec<usize> = (0..points.len()).collect();
    let most = points.len() / 4;
    loop {
        let row: Vec<Point> = kept.iter().map(|index| points[*index]).collect();
        let off: Vec<f64> = (0..row.len()).map(|at| stands_off(&row, at)).collect();
        let mut sizes = off.clone();
        // A prediction from six neighbors scatters itself: about a quarter more than the points.
        let scatter = 1.4826 * median(&mut sizes) / 1.25;
        let worst = off.iter().enumerate().max_by(|a, b| a.1.total_cmp(b.1));
        let Some((at, size)) = worst else {
            return Screened { kept, scatter };
        };
        if points.len() - kept.len() >= most || *size <= (6.0 * scatter).max(5e-4) {
            return Screened { kept, scatter };
        }
        kept.remove(at);
    }
}

/// How far a point of a row lies from the parabola through its neighbors.
fn stands_off(row: &[Point], at: usize) -> f64 {
    let low = at.saturating_sub(3).min(row.len().saturating_sub(7));
    let high = (low + 7).min(row.len());
    let near: Vec<Point> = (low..high)
        .filter(|other| *other != at)
        .map(|other| row[other])
        .collect();
    let (Some(first), Some(last)) = (near.first(), near.last()) else {
        return 0.0;
    };
    let along = *last - *first;
    if near.len() < 4 || along.hypot() < 1e-9 {
        return 0.0;
    }
    let unit = along / along.hypot();
    let local = |point: Point| {
        let off = point - *first;
        (off.dot(unit) / along.hypot(), unit.cross(off))
    };
    let mut normal = nalgebra::Matrix3::zeros();
    let mut right = nalgebra::Vector3::zeros();
    for point in &near {
        let (x, y) = local(*point);
        let row = nalgebra::Vector3::new(1.0, x, x * x);
        normal += row * row.transpose();
        right += row * y;
    }
    let Some(solved) = normal.lu().solve(&right) else {
        return 0.0;
    };
    let (x, y) = local(row[at]);
    (y - solved.dot(&nalgebra::Vector3::new(1.0, x, x * x))).abs()
}
