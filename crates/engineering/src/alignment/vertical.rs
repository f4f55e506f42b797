//! Heights along a center line: grade points, and the parabolas that round them off.
//!
//! A vertical curve of length *L* about a grade point where the grade changes by *A* is a parabola:
//! the grade changes evenly, by r = A/L for each metre. At the point itself it stands e = A·L/8 off
//! the grades' intersection, and ½·r·x² off the first grade at x from its beginning.

/// Where the grade changes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct GradePoint {
    /// Distance along the center line, metres.
    pub at: f64,
    /// Height of the railhead where the grades intersect, metres.
    pub elevation: f64,
    /// Length of the vertical curve about it, metres; zero for a kink.
    pub curve: f64,
}

/// The heights of a center line.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Vertical {
    points: Vec<GradePoint>,
}

impl Vertical {
    /// From grade points in the order of their distances. Vertical curves that would overlap are
    /// shortened alike so that they meet.
    pub fn new(mut points: Vec<GradePoint>) -> Self {
        points.sort_by(|a, b| a.at.total_cmp(&b.at));
        points.dedup_by(|later, first| later.at <= first.at);
        let last = points.len().saturating_sub(1);
        for (at, point) in points.iter_mut().enumerate() {
            if at == 0 || at == last {
                point.curve = 0.0;
            }
        }
        let wanted: Vec<f64> = points.iter().map(|point| point.curve).collect();
        for at in 0..last {
            let room = points[at + 1].at - points[at].at;
            let both = 0.5 * (wanted[at] + wanted[at + 1]);
            if both > room {
                for one in [at, at + 1] {
                    points[one].curve = points[one].curve.min(wanted[one] * room / both);
                }
            }
        }
        Self { points }
    }

    /// The grade points, with their vertical curves as long as there is room.
    pub fn points(&self) -> &[GradePoint] {
        &self.points
    }

    /// Grade between two neighboring points: the one at this index and the next.
    fn between(&self, at: usize) -> f64 {
        match self.points.get(at..at + 2) {
            Some([a, b]) => (b.elevation - a.elevation) / (b.at - a.at),
            _ => 0.0,
        }
    }

    /// Change of grade at a point: rise over run after it less that before it. None at the ends.
    pub fn change(&self, at: usize) -> f64 {
        if at == 0 || at + 1 >= self.points.len() {
            return 0.0;
        }
        self.between(at) - self.between(at - 1)
    }

    /// Radius of the vertical curve at a point, L/|A|; nothing where the grade does not change.
    pub fn radius(&self, at: usize) -> Option<f64> {
        let change = self.change(at).abs();
        (change > 1e-9).then(|| self.points[at].curve / change)
    }

    /// Railhead at a distance; nothing before the first point or after the last, to a micrometre.
    pub fn elevation(&self, s: f64) -> Option<f64> {
        let (first, last) = (self.points.first()?, self.points.last()?);
        if s < first.at - 1e-6 || s > last.at + 1e-6 {
            return None;
        }
        let next = self
            .points
            .partition_point(|point| point.at <= s)
            .clamp(1, self.points.len().max(2) - 1);
        let low = &self.points[next - 1];
        let mut height = low.elevation + self.between(next - 1) * (s - low.at);
        for at in [next - 1, next] {
            let Some(point) = self.points.get(at) else {
                continue;
            };
            let into = 0.5 * point.curve - (s - point.at).abs();
            if into > 0.0 && point.curve > 0.0 {
                // Measured from the nearer end of the parabola.
                height += 0.5 * self.change(at) / point.curve * into * into;
            }
        }
        Some(height)
    }

    /// Grade at a distance, rise over run in the direction of travel.
    pub fn grade(&self, s: f64) -> Option<f64> {
        self.elevation(s)?;
        let next = self
            .points
            .partition_point(|point| point.at <= s)
            .clamp(1, self.points.len().max(2) - 1);
        let mut grade = self.between(next - 1);
        for at in [next - 1, next] {
            let Some(point) = self.points.get(at) else {
                continue;
            };
            let into = 0.5 * point.curve - (s - point.at).abs();
            if into > 0.0 && point.curve > 0.0 {
                let change = self.change(at) / point.curve * into;
                grade += if s < point.at { change } else { -change };
            }
        }
        Some(grade)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Length of a vertical curve, its offset at the grade point and on the way, by the relations
    /// e = A·L/8 and offset = ½·r·x² (L in stations of 100 ft, grades in per cent; United States
    /// Army engineering training manual for surveyors, vertical curves): +0.8 to −0.4 % at 0.10 % a
    /// station is 12 stations long, 1.800 ft at the middle, 0.050 and 0.450 ft at 1 and 3 stations.
    #[test]
    fn a_summit() {
        let vertical = Vertical::new(vec![
            GradePoint {
                at: 0.0,
                elevation: 0.0,
                curve: 0.0,
            },
            GradePoint {
                at: 2000.0,
                elevation: 16.0,
                curve: 1200.0,
            },
            GradePoint {
                at: 4000.0,
                elevation: 8.0,
                curve: 0.0,
            },
        ]);
        let off = |s: f64| {
            let grades = if s < 2000.0 {
                0.008 * s
            } else {
                16.0 - 0.004 * (s - 2000.0)
            };
            grades - vertical.elevation(s).unwrap()
        };
        for (s, expected) in [
            (2000.0, 1.8),
            (1500.0, 0.05),
            (1700.0, 0.45),
            (2300.0, 0.45),
            (1400.0, 0.0),
        ] {
            assert!((off(s) - expected).abs() < 1e-9, "{s}: {}", off(s));
        }
        // 0.10 % a station.
        let rate = (vertical.grade(2100.0).unwrap() - vertical.grade(2000.0).unwrap()) * 100.0;
        assert!((rate + 0.10).abs() < 1e-9, "{rate}");
        assert!((vertical.grade(0.0).unwrap() - 0.008).abs() < 1e-12);
    }

    /// A model's foot of the hill, level to 2 % in 20 in: 0.0500 in at the middle, radius 1000 in.
    #[test]
    fn a_sag_on_the_model() {
        let vertical = Vertical::new(vec![
            GradePoint {
                at: 0.0,
                elevation: 40.0,
                curve: 0.0,
            },
            GradePoint {
                at: 30.0,
                elevation: 40.0,
                curve: 20.0,
            },
            GradePoint {
                at: 80.0,
                elevation: 41.0,
                curve: 0.0,
            },
        ]);
        assert!((vertical.elevation(30.0).unwrap() - 40.05).abs() < 1e-12);
        assert!((vertical.radius(1).unwrap() - 1000.0).abs() < 1e-9);
    }

    #[test]
    fn grade_is_the_slope_of_the_height() {
        let vertical = Vertical::new(vec![
            GradePoint {
                at: 0.0,
                elevation: 1.0,
                curve: 0.0,
            },
            GradePoint {
                at: 1.0,
                elevation: 1.02,
                curve: 0.9,
            },
            GradePoint {
                at: 1.5,
                elevation: 1.0,
                curve: 0.9,
            },
            GradePoint {
                at: 3.0,
                elevation: 1.0,
                curve: 0.0,
            },
        ]);
        for n in 1..300 {
            let (s, d) = (f64::from(n) * 0.01 - 0.003, 1e-6);
            let slope = (vertical.elevation(s + d).unwrap() - vertical.elevation(s - d).unwrap())
                / (2.0 * d);
            assert!((slope - vertical.grade(s).unwrap()).abs() < 1e-5, "{s}");
        }
        assert_eq!(vertical.elevation(3.1), None);
        assert_eq!(Vertical::default().elevation(0.0), None);
    }
}
