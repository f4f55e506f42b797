//! Track that is there already, measured point by point, becomes tangents, arcs and easements.
//!
//! First single points that do not go with their neighbors are set aside ([`screen`]). Then the row of
//! points is parted into lines and circles by dynamic programming, what lies between them left to the
//! easements ([`part`]). Last, all elements are fitted together so that the distances of the points from
//! the center line are as small as can be, far points counting less ([`adjust`]); an easement that makes
//! no difference is left out.

mod adjust;
mod grade;
mod part;
mod screen;
#[cfg(test)]
mod tests;

use std::fmt::Write as _;

pub use grade::grade_points;
use model::units::Actual;

use crate::{
    alignment::plan::{Begin, CenterLine, Element, End, Measure, Plan},
    curve::{Path, Piece, Place, Point},
};

/// A measured point.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// Where, metres.
    pub at: Point,
    /// Height of the railhead, metres, if measured.
    pub height: Option<f64>,
}

/// How to fit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Options {
    /// How far a point that was well measured lies from the track: one standard deviation, metres. If
    /// nothing is said it is estimated from how the points scatter.
    pub scatter: Option<f64>,
}

/// An element that was fitted.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Fitted {
    /// Straight, for a length.
    Tangent(f64),
    /// A curve: curvature of its arc (left positive), length of the arc, and of the easements before
    /// and after it.
    Curve {
        /// 1/m.
        curvature: f64,
        /// Metres.
        arc: f64,
        /// Metres.
        easements: [f64; 2],
    },
}

/// What was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Survey {
    /// Where it begins: abreast of the first point.
    pub begin: Place,
    /// The elements, one after another.
    pub elements: Vec<Fitted>,
    /// Their course.
    pub path: Path,
    /// For each point: how far to the left of the course it lies (to the right if negative), metres,
    /// and where along it.
    pub residuals: Vec<(f64, f64)>,
    /// Points that were set aside, by their place in the row.
    pub outliers: Vec<usize>,
    /// Root mean square of the residuals of the others, metres.
    pub rms: f64,
}

/// Why nothing could be fitted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unfit {
    /// Fewer than four points that go with one another.
    TooFew,
    /// Points that lie in one place, or jump about.
    NoCourse,
}

/// Fits a row of points, in the order of the track.
///
/// # Errors
/// [`Unfit`] if there is no course to be seen in them.
pub fn fit(points: &[Measured], options: Options) -> Result<Survey, Unfit> {
    let at: Vec<Point> = points.iter().map(|point| point.at).collect();
    if at.len() < 4 {
        return Err(Unfit::TooFew);
    }
    let screened = screen::screen(&at);
    let kept: Vec<Point> = screened.kept.iter().map(|index| at[*index]).collect();
    if kept.len() < 4 {
        return Err(Unfit::TooFew);
    }
    // A tape is not read finer than a tenth of a millimetre.
    let scatter = options.scatter.unwrap_or(screened.scatter).max(1e-4);
    let runs = part::part(&kept, scatter);
    if runs.is_empty() {
        return Err(Unfit::NoCourse);
    }
    let model = adjust::fit(&kept, &runs, scatter).ok_or(Unfit::NoCourse)?;
    let path = model.path();
    let residuals = residuals(&path, &at);
    let limit = 4.0 * spread(&residuals, &screened.kept).max(scatter);
    let outliers: Vec<usize> = (0..at.len())
        .filter(|index| residuals[*index].0.abs() > limit)
        .collect();
    let good = residuals
        .iter()
        .enumerate()
        .filter(|(index, _)| !outliers.contains(index));
    let (sum, count) = good.fold((0.0, 0.0), |(sum, count), (_, (off, _))| {
        (sum + off * off, count + 1.0)
    });
    Ok(Survey {
        begin: model.begin(),
        elements: model.elements(),
        path,
        residuals,
        outliers,
        rms: (sum / f64::max(count, 1.0)).sqrt(),
    })
}

/// How far points lie to the left of a course, and where along it.
fn residuals(path: &Path, points: &[Point]) -> Vec<(f64, f64)> {
    let stations = stations(points);
    let whole = stations.last().copied().unwrap_or(0.0).max(1e-9);
    points
        .iter()
        .zip(&stations)
        .map(|(point, station)| {
            let (s, apart) = near(path, *point, station / whole);
            let left = path
                .at(s)
                .map_or(0.0, |place| (*point - place.point()).dot(place.left()));
            (apart.copysign(left), s)
        })
        .collect()
}

/// The nearest point of a course, looked for about a share of its length: a course that comes back by
/// itself is not mistaken for its other side.
fn near(path: &Path, point: Point, share: f64) -> (f64, f64) {
    let about = share * path.length();
    let reach = 0.15 * path.length() + 0.2;
    let mut best = (about, f64::INFINITY);
    for (start, piece) in path.placed() {
        if start > about + reach || start + piece.length < about - reach {
            continue;
        }
        let (s, apart) = piece.nearest(point);
        if apart < best.1 {
            best = (start + s, apart);
        }
    }
    best
}

/// Distances along the chords from point to point.
fn stations(points: &[Point]) -> Vec<f64> {
    let mut sum = 0.0;
    let mut stations = Vec::with_capacity(points.len());
    for (at, point) in points.iter().enumerate() {
        if at > 0 {
            sum += points[at - 1].distance(*point);
        }
        stations.push(sum);
    }
    stations
}

/// The usual size of residuals, by their median: what a normal scatter of that median has as its
/// standard deviation.
fn spread(residuals: &[(f64, f64)], of: &[usize]) -> f64 {
    let mut sizes: Vec<f64> = of.iter().map(|index| residuals[*index].0.abs()).collect();
    1.4826 * median(&mut sizes)
}

fn median(values: &mut [f64]) -> f64 {
    if values.is_empty() {
        return 0.0;
    }
    values.sort_by(f64::total_cmp);
    values[values.len() / 2]
}

impl Fitted {
    /// Its pieces from a place on; `from` is the curvature it comes out of.
    fn pieces(&self, mut at: Place, from: f64, into: f64) -> Vec<Piece> {
        let mut pieces = Vec::new();
        let stretches = match *self {
            Self::Tangent(length) => vec![(length, [0.0, 0.0])],
            Self::Curve {
                curvature: k,
                arc,
                easements,
            } => {
                vec![
                    (easements[0], [from, k]),
                    (arc, [k, k]),
                    (easements[1], [k, into]),
                ]
            }
        };
        for (length, curvature) in stretches {
            if length > 0.0 {
                let piece = Piece::spiral(at, length, curvature);
                at = piece.end();
                pieces.push(piece);
            }
        }
        pieces
    }
}

impl Survey {
    /// The text of a center line to be pasted into a page of `alignments/`: as it is printed, rounded
    /// to hundredths of an inch (or tenths of a millimetre) and of a degree. `grades` are points of
    /// distance and height.
    pub fn text(&self, name: &str, metric: bool, grades: &[(f64, f64)]) -> String {
        let length = |metres: f64| {
            let length = Actual::from_meters(metres);
            if metric {
                format!("{:.1} mm", length.mm())
            } else {
                format!("{:.2} in", length.inches())
            }
        };
        let bearing = (90.0 - self.begin.heading.to_degrees()).rem_euclid(360.0);
        let mut text = String::from("[[center_lines]]\n");
        let _ = writeln!(text, "name = {name:?}");
        let _ = writeln!(
            text,
            "begin = {{ at = [\"{}\", \"{}\"], bearing = {bearing:.3} }}",
            length(self.begin.x),
            length(self.begin.y)
        );
        text.push_str("elements = [\n");
        for (at, element) in self.elements.iter().enumerate() {
            match *element {
                Fitted::Tangent(metres) => {
                    let _ = writeln!(text, "  {{ tangent = \"{}\" }},", length(metres));
                }
                Fitted::Curve {
                    curvature,
                    arc,
                    easements,
                } => {
                    let before = self.compounded(at);
                    let turn = if curvature > 0.0 { "left" } else { "right" };
                    let angle = 0.5 * easements[0] * (curvature + before.unwrap_or(0.0)).abs()
                        + (arc + 0.5 * easements[1]) * curvature.abs();
                    // A page gives the easement of a compound curve as if it came from a tangent.
                    let share = before.map_or(1.0, |before| {
                        (curvature - before).abs() / curvature.abs().max(before.abs())
                    });
                    let written = [easements[0] / share.max(1e-9), easements[1]];
                    let _ = write!(
                        text,
                        "  {{ {turn} = \"{}\", angle = {:.3}",
                        length(1.0 / curvature.abs()),
                        angle.to_degrees()
                    );
                    match written.map(length) {
                        [a, b] if a == b => {
                            let _ = write!(text, ", easement = \"{a}\"");
                        }
                        [a, b] => {
                            let _ = write!(text, ", easement_in = \"{a}\", easement_out = \"{b}\"");
                        }
                    }
                    text.push_str(" },\n");
                }
            }
        }
        text.push_str("]\n");
        if grades.len() > 1 {
            text.push_str("grades = [\n");
            for (at, height) in grades {
                let _ = writeln!(
                    text,
                    "  {{ at = \"{}\", elevation = \"{}\" }},",
                    length(*at),
                    length(*height)
                );
            }
            text.push_str("]\n");
        }
        text
    }

    /// The curvature of the curve of the same hand right before an element.
    fn compounded(&self, at: usize) -> Option<f64> {
        match (self.elements.get(at.checked_sub(1)?)?, &self.elements[at]) {
            (Fitted::Curve { curvature: a, .. }, Fitted::Curve { curvature: b, .. })
                if a * b > 0.0 =>
            {
                Some(*a)
            }
            _ => None,
        }
    }

    /// The elements as a plan of one center line: what the text says, before rounding.
    pub fn plan(&self, gauge: f64) -> Plan {
        let elements = self
            .elements
            .iter()
            .enumerate()
            .map(|(at, element)| match *element {
                Fitted::Tangent(length) => Element::Tangent {
                    length,
                    adjust: false,
                },
                Fitted::Curve {
                    curvature,
                    arc,
                    easements,
                } => {
                    let before = self.compounded(at);
                    let share = before.map_or(1.0, |before| {
                        (curvature - before).abs() / curvature.abs().max(before.abs())
                    });
                    Element::Curve {
                        turn: curvature.signum(),
                        radius: 1.0 / curvature.abs(),
                        by: Measure::Angle(
                            0.5 * easements[0] * (curvature + before.unwrap_or(0.0)).abs()
                                + (arc + 0.5 * easements[1]) * curvature.abs(),
                        ),
                        easements: [easements[0] / share.max(1e-9), easements[1]],
                        adjust: None,
                    }
                }
            });
        Plan {
            lines: vec![CenterLine {
                name: String::new(),
                begin: Begin::At(self.begin),
                elements: elements.collect(),
                end: End::Free,
            }],
            gauge,
        }
    }
}
