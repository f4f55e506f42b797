//! Where two center lines come nearest to one another.

use super::Path;

/// Where two paths come nearest.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Closest {
    /// Distance along each of them, metres.
    pub at: [f64; 2],
    /// How far apart they are there, metres.
    pub apart: f64,
}

/// Where two paths come nearest. The first is looked along in steps of at most `step` metres, against
/// the nearest point of the second, and the best step refined to 1e-12 m; a narrower approach that
/// comes and goes within one step may be missed, so `step` should be well under the radii.
pub fn closest(one: &Path, other: &Path, step: f64) -> Option<Closest> {
    let apart = |s: f64| {
        let point = one.at(s)?.point();
        other.nearest(point)
    };
    let places = one.places(step);
    let mut best: Option<(usize, f64)> = None;
    for (index, (_, place)) in places.iter().enumerate() {
        let (_, distance) = other.nearest(place.point())?;
        if best.is_none_or(|(_, least)| distance < least) {
            best = Some((index, distance));
        }
    }
    let (index, _) = best?;
    let [mut a, mut b] = [
        places[index.saturating_sub(1)].0,
        places[(index + 1).min(places.len() - 1)].0,
    ];
    // Golden section: sure, and the function costs little.
    let ratio = 0.5 * (5f64.sqrt() - 1.0);
    let distance = |s: f64| apart(s).map_or(f64::INFINITY, |(_, distance)| distance);
    let (mut c, mut d) = (b - ratio * (b - a), a + ratio * (b - a));
    let (mut fc, mut fd) = (distance(c), distance(d));
    while b - a > 1e-9 {
        if fc < fd {
            (b, d, fd) = (d, c, fc);
            c = b - ratio * (b - a);
            fc = distance(c);
        } else {
            (a, c, fc) = (c, d, fd);
            d = a + ratio * (b - a);
            fd = distance(d);
        }
    }
    // The ends of the bracket count too: the least may lie at an end of the path.
    [0.5 * (a + b), places[index].0]
        .into_iter()
        .filter_map(|s| apart(s).map(|(t, apart)| Closest { at: [s, t], apart }))
        .min_by(|x, y| x.apart.total_cmp(&y.apart))
}
