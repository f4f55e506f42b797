//! Heights along a line, curves counted as grades.

use model::units::Actual;

use super::GradeProfile;

/// Height along a line, with each curve counted as the grade that resists as much; level beyond both ends.
///
/// Other than a railhead it has one direction: on a curve it rises whichever way a train goes, so a line met from its other
/// end is another slope.
#[derive(Debug, Clone, PartialEq)]
pub struct Slope {
    /// Where the breaks of grade are, in meters; the first is zero.
    at: Vec<f64>,
    /// Heights at the breaks, in meters.
    height: Vec<f64>,
}

impl Slope {
    /// The slope of a line on which a curve resists as `curve` says: a share of weight for a radius.
    pub fn new(profile: &GradeProfile, curve: impl Fn(Actual) -> f64) -> Self {
        let mut at = vec![0.0];
        let mut height = vec![0.0];
        let mut last = f64::NAN;
        for piece in &profile.pieces {
            let length = piece.length.meters();
            if length <= 0.0 {
                continue;
            }
            let grade = piece.grade.ratio() + piece.radius.map_or(0.0, &curve);
            let end = (
                at[at.len() - 1] + length,
                height[height.len() - 1] + length * grade,
            );
            if (grade - last).abs() < 1e-12 {
                at.pop();
                height.pop();
            }
            last = grade;
            at.push(end.0);
            height.push(end.1);
        }
        Self { at, height }
    }

    /// Height at a point, in meters.
    pub fn height(&self, at: f64) -> f64 {
        let after = self.at.partition_point(|&point| point <= at);
        if after == 0 {
            return self.height[0];
        }
        if after == self.at.len() {
            return self.height[after - 1];
        }
        let (a, b) = (self.at[after - 1], self.at[after]);
        let (low, high) = (self.height[after - 1], self.height[after]);
        low + (high - low) * (at - a) / (b - a)
    }

    /// The mean grade between two points, `front` the one further on.
    pub fn mean(&self, front: f64, rear: f64) -> f64 {
        let length = front - rear;
        if length > 0.0 {
            (self.height(front) - self.height(rear)) / length
        } else {
            0.0
        }
    }

    /// The steepest grade anywhere between two points, and at least level.
    pub fn steepest(&self, from: f64, to: f64) -> f64 {
        let first = self.at.partition_point(|&point| point <= from).max(1);
        let mut steepest = 0.0_f64;
        for at in first..self.at.len() {
            if self.at[at - 1] >= to {
                break;
            }
            let grade = (self.height[at] - self.height[at - 1]) / (self.at[at] - self.at[at - 1]);
            steepest = steepest.max(grade);
        }
        steepest
    }

    /// Where the grade breaks, in meters, ends included.
    pub fn breaks(&self) -> &[f64] {
        &self.at
    }
}
