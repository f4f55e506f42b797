//! Grades, and what curves add to them.

use model::units::{Actual, CurveDefinition, DegreeOfCurve, Grade};

use super::Profile;
use crate::limits::Limits;

/// Up or down the line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Going {
    /// Toward higher miles.
    Up,
    /// Toward lower miles.
    Down,
}

/// A stretch of one grade and one curvature.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GradePiece {
    /// Where it begins and ends.
    pub reach: [Actual; 2],
    /// Positive where it climbs going up the line.
    pub grade: Grade,
    /// Radius of the curve it lies in.
    pub radius: Option<Actual>,
    /// What the curve is worth as a grade.
    pub compensation: Grade,
}

impl GradePiece {
    /// How long it is.
    pub fn length(&self) -> Actual {
        self.reach[1] - self.reach[0]
    }

    /// The grade that a train has to overcome, its curve included.
    pub fn against(&self, going: Going) -> Grade {
        let grade = match going {
            Going::Up => self.grade.ratio(),
            Going::Down => -self.grade.ratio(),
        };
        Grade::from_ratio(grade + self.compensation.ratio())
    }
}

/// The grade that limits a train's weight in one direction.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RulingGrade {
    /// The grade, curves included.
    pub grade: Grade,
    /// Where it lies.
    pub reach: [Actual; 2],
}

/// The grade that a curve of a radius is worth: the degree of the curve it represents, by the arc,
/// times the rate of [`Limits::compensation`]. By the arc, because the chord of 100 feet fails on the
/// sharpest model curves.
pub fn compensation_of(radius: Actual, limits: &Limits) -> Grade {
    let full_size = limits.scale.to_prototype(radius);
    let degrees = DegreeOfCurve::of_radius(full_size, CurveDefinition::Arc)
        .map_or(0.0, |curve| curve.angle().degrees());
    Grade::from_ratio(limits.compensation.ratio() * degrees)
}

impl Profile {
    /// The line piece by piece, wherever its height is known. Where curves overlap, the sharper counts.
    pub fn grades(&self, limits: &Limits) -> Vec<GradePiece> {
        let mut pieces = Vec::new();
        let mut curves = self.curves.clone();
        curves.sort_by(|a, b| a.reach[0].total_cmp(&b.reach[0]));
        let mut first = 0;
        for pair in self.points.windows(2) {
            let (low, high) = (pair[0], pair[1]);
            let Some(grade) = Grade::of_actual(high.elevation - low.elevation, high.at - low.at)
            else {
                continue;
            };
            while curves
                .get(first)
                .is_some_and(|curve| curve.reach[1] <= low.at)
            {
                first += 1;
            }
            let here: Vec<_> = curves[first..]
                .iter()
                .take_while(|curve| curve.reach[0] < high.at)
                .filter(|curve| curve.reach[1] > low.at)
                .collect();
            let mut breaks = vec![low.at, high.at];
            for curve in &here {
                breaks.extend(
                    curve
                        .reach
                        .iter()
                        .filter(|at| **at > low.at && **at < high.at),
                );
            }
            breaks.sort_by(Actual::total_cmp);
            breaks.dedup();
            for reach in breaks.windows(2) {
                let middle = (reach[0] + reach[1]) / 2.0;
                let radius = here
                    .iter()
                    .filter(|curve| curve.reach[0] <= middle && middle <= curve.reach[1])
                    .map(|curve| curve.radius)
                    .min_by(Actual::total_cmp);
                let compensation =
                    radius.map_or(Grade::LEVEL, |radius| compensation_of(radius, limits));
                pieces.push(GradePiece {
                    reach: [reach[0], reach[1]],
                    grade,
                    radius,
                    compensation,
                });
            }
        }
        pieces
    }

    /// The steepest grade in a direction between two distances, as a train of a length feels it:
    /// averaged over the train. A train of no length feels the steepest point.
    pub fn ruling(
        &self,
        limits: &Limits,
        going: Going,
        between: [Actual; 2],
        train: Actual,
    ) -> Option<RulingGrade> {
        ruling(&self.grades(limits), going, between, train)
    }
}

/// As [`Profile::ruling`], from pieces in order.
///
/// The average over a window of the train's length is linear between the places where either end of
/// the window passes from one piece to the next, so it is greatest at one of them; each is looked at
/// once, with sums kept along the line.
fn ruling(
    pieces: &[GradePiece],
    going: Going,
    between: [Actual; 2],
    train: Actual,
) -> Option<RulingGrade> {
    let pieces: Vec<GradePiece> = pieces
        .iter()
        .filter(|piece| piece.reach[1] > between[0] && piece.reach[0] < between[1])
        .map(|piece| GradePiece {
            reach: [
                piece.reach[0].max(between[0]),
                piece.reach[1].min(between[1]),
            ],
            ..*piece
        })
        .collect();
    let (first, last) = (pieces.first()?, pieces.last()?);
    let (begin, end) = (first.reach[0], last.reach[1]);
    let train = train.min(end - begin);
    if train <= Actual::ZERO {
        let worst = pieces
            .iter()
            .fold(None::<GradePiece>, |worst, piece| match worst {
                Some(worst) if worst.against(going) >= piece.against(going) => Some(worst),
                _ => Some(*piece),
            })?;
        return Some(RulingGrade {
            grade: worst.against(going),
            reach: worst.reach,
        });
    }
    // Rise overcome from `begin` to each break. A hole of unknown height counts as level.
    let mut sums = vec![(begin, 0.0)];
    let mut sum = 0.0;
    for piece in &pieces {
        if sums.last().is_some_and(|(at, _)| *at < piece.reach[0]) {
            sums.push((piece.reach[0], sum));
        }
        sum += piece.against(going).ratio() * piece.length().meters();
        sums.push((piece.reach[1], sum));
    }
    let overcome = |at: Actual| {
        let next = sums
            .partition_point(|(other, _)| *other < at)
            .clamp(1, sums.len() - 1);
        let ((a, low), (b, high)) = (sums[next - 1], sums[next]);
        low + (high - low) * ((at - a) / (b - a))
    };
    let starts = sums.iter().flat_map(|(at, _)| [*at, *at - train]);
    let mut worst: Option<RulingGrade> = None;
    for start in starts {
        let start = start.max(begin).min(end - train);
        let reach = [start, start + train];
        let grade = Grade::from_ratio((overcome(reach[1]) - overcome(reach[0])) / train.meters());
        if worst.is_none_or(|worst| grade > worst.grade) {
            worst = Some(RulingGrade { grade, reach });
        }
    }
    worst
}
