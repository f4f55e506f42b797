//! The turnout in straight track by formula, and fitted to any center line.
//!
//! With *g* the gauge, *h* the heel spread, *L* the length of a switch rail, *t* the thickness of its
//! point, *k* the toe length of the frog from its theoretical point, *F* the frog angle and *S* the
//! switch angle:
//!
//! - *F* = 2·atan(1/2N), *S* = asin((h − t)/L) for straight points;
//! - radius of the outer gauge line of the closure
//!   *R* = (g − h − t₁·sin S − (k + t₂)·sin F) / (cos S − cos F),
//! - lead to the theoretical point
//!   *L*·cos S + t₁·cos S + R·(sin F − sin S) + (k + t₂)·cos F,
//!
//! where t₁ and t₂ are short tangents at the heel and at the toe by which printed plans make up whole
//! rail lengths. These are the formulas of figure 6-28 of Army TI 850-02 (March 2000) written out.

use crate::curve::{Path, Piece, Place};

/// What is given of one side of a turnout, metres and radians.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Given {
    /// How far the outer gauge line has to come across: the gauge, or half of it in an equilateral
    /// turnout.
    pub across: f64,
    /// Spread at the heel of the points, of which this side takes its part.
    pub heel: f64,
    /// Thickness of the point, of which this side takes its part.
    pub thickness: f64,
    /// Length of the points.
    pub points: f64,
    /// Whether the points are curved, tangent to the stock rail.
    pub curved_points: bool,
    /// Angle between this side and the middle: the frog angle, or half of it.
    pub angle: f64,
    /// Toe length of the frog from its theoretical point; nought for a curved frog.
    pub toe: f64,
    /// Tangents at the heel and before the toe.
    pub tangents: [f64; 2],
}

/// A turnout solved in straight track.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Solved {
    /// Angle at the point, radians; nought for curved points.
    pub switch_angle: f64,
    /// Angle at the heel of the points, radians.
    pub heel_angle: f64,
    /// Radius of the outer gauge line through curved points, metres; infinite for straight ones.
    pub point_radius: f64,
    /// Radius of the outer gauge line through the closure, metres.
    pub radius: f64,
    /// From the point to the theoretical point of frog along the straight track, metres.
    pub lead: f64,
    /// Length of the curved part of the outer closure rail along its gauge line, metres.
    pub arc: f64,
}

impl Given {
    /// Solves it.
    ///
    /// # Errors
    /// What does not fit: the points would cross the track before the frog, or turn farther than it.
    pub fn solve(&self) -> Result<Solved, String> {
        let (sin_f, cos_f) = self.angle.sin_cos();
        let (switch_angle, heel_angle, point_radius, along) = if self.points <= 0.0 {
            (0.0, 0.0, f64::INFINITY, 0.0)
        } else if self.curved_points {
            let h = self.heel;
            let radius = (self.points * self.points + h * h) / (2.0 * h);
            (0.0, (self.points / radius).asin(), radius, self.points)
        } else {
            let angle = ((self.heel - self.thickness) / self.points).asin();
            (angle, angle, f64::INFINITY, self.points * angle.cos())
        };
        if heel_angle.is_nan() || heel_angle >= self.angle {
            return Err(format!(
                "points {} long spread by {} turn as far as the frog itself: take longer points, \
                 a smaller spread or a smaller frog number",
                mm(self.points),
                mm(self.heel),
            ));
        }
        let (sin_s, cos_s) = heel_angle.sin_cos();
        let [first, last] = self.tangents;
        let heel = if self.points > 0.0 { self.heel } else { 0.0 };
        let toe = self.toe + last;
        let left = self.across - heel - first * sin_s - toe * sin_f;
        let radius = left / (cos_s - cos_f);
        if radius <= 0.0 {
            return Err(format!(
                "a heel spread of {} and a toe of {} leave no room for a closure in {}",
                mm(heel),
                mm(self.toe),
                mm(self.across)
            ));
        }
        Ok(Solved {
            switch_angle,
            heel_angle,
            point_radius,
            radius,
            lead: along + first * cos_s + radius * (sin_f - sin_s) + toe * cos_f,
            arc: radius * (self.angle - heel_angle),
        })
    }

    /// With the one tangent that makes the turnout as long as a given lead to the theoretical point:
    /// at the heel or, if it would be negative there, before the toe.
    ///
    /// # Errors
    /// If neither gives that lead.
    pub fn with_lead(mut self, lead: f64) -> Result<Self, String> {
        self.tangents = [0.0; 2];
        let free = self.solve()?;
        let (sin_s, cos_s) = free.heel_angle.sin_cos();
        let (sin_f, cos_f) = self.angle.sin_cos();
        // Radius given up and length won for each metre of tangent at the heel, and at the toe.
        let per = [(sin_s, cos_s), (sin_f, cos_f)]
            .map(|(sin, cos)| cos - sin * (sin_f - sin_s) / (cos_s - cos_f));
        let extra = lead - free.lead;
        for (at, per) in per.into_iter().enumerate() {
            let tangent = extra / per;
            if tangent >= 0.0 && tangent.is_finite() {
                self.tangents[at] = tangent;
                if self.solve().is_ok() {
                    return Ok(self);
                }
                self.tangents[at] = 0.0;
            }
        }
        Err(format!(
            "no closure is {} long to the point of frog",
            mm(lead)
        ))
    }
}

fn mm(length: f64) -> String {
    format!("{:.2} mm", length * 1000.0)
}

/// A center line that leaves another: its path, and where along it things lie.
#[derive(Debug, Clone, PartialEq)]
pub struct Leg {
    /// The center line, begun where its outer gauge line leaves the stock rail's.
    pub path: Path,
    /// Distance along the host to where it begins.
    pub leaves: f64,
    /// Distance along itself of the points, of their heel, of the end of the closure curve and of the
    /// theoretical point of frog.
    pub marks: [f64; 4],
    /// Radius of the center line in the closure, relative to the host.
    pub radius: f64,
}

/// Follows `host` from `start`, where it is `from` metres along, by stretches of a length and of a
/// curvature that is added to the host's.
pub fn follow(host: &Path, start: Place, from: f64, stretches: &[(f64, f64)]) -> Path {
    let mut path = Path::default();
    let mut place = start;
    let mut along = from;
    for &(length, added) in stretches {
        let mut left = length;
        while left > 0.0 {
            let Some((index, s)) = host.piece_at(along) else {
                return path;
            };
            let piece = &host.pieces()[index];
            let last = index + 1 == host.pieces().len();
            let room = piece.length - s;
            // The last piece goes on for ever; a crumb at the end of another is passed over.
            let step = if last || along < 0.0 && index == 0 {
                left
            } else {
                left.min(room.max(1e-12))
            };
            let sharpness = piece.sharpness();
            let first = piece.curvature[0] + sharpness * s;
            let next = Piece::spiral(
                place,
                step,
                [first + added, first + sharpness * step + added],
            );
            place = next.end();
            path.push(next);
            along += step;
            left -= step;
        }
    }
    path
}

/// What a leg of a turnout is to be, on any host.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Wanted {
    /// The turnout in straight track.
    pub given: Given,
    /// Half the gauge, metres.
    pub half_gauge: f64,
    /// 1 if it leaves to the left, −1 if to the right.
    pub side: f64,
    /// Where the point is, metres along the host.
    pub point: f64,
    /// How far to go beyond the theoretical point of frog: the heel of the frog, and on from there.
    pub beyond: [f64; 2],
    /// Whether the closure curve goes on through the frog to its heel.
    pub curved_frog: bool,
}

impl Wanted {
    /// Fits the leg to a host: finds the curvature and length of the closure for which its outer gauge
    /// line comes across at exactly the angle wanted. In straight track it is the formula's.
    ///
    /// # Errors
    /// What does not fit.
    pub fn fit(&self, host: &Path) -> Result<(Leg, Solved), String> {
        let solved = self.given.solve()?;
        let half = self.half_gauge;
        // The outer gauge line is the one on the other side from where the track leaves to.
        let outer = -self.side * half;
        // By how much the host's own gauge line is to be left behind.
        let across = self.side * (self.given.across - half);
        let mut bend = solved.radius - half;
        let mut turn = self.given.angle - solved.heel_angle;
        if bend <= 0.0 {
            return Err(format!(
                "the closure would turn on {}: take a larger frog number",
                mm(bend)
            ));
        }
        let mut unknown = [1.0 / bend, bend * turn];
        let build = |unknown: [f64; 2]| self.build(host, &solved, unknown);
        let miss = |unknown: [f64; 2]| {
            let leg = build(unknown);
            let end = leg
                .path
                .at(leg.marks[3])
                .unwrap_or_else(|| Place::new(0.0, 0.0, 0.0));
            let point = end.point() + end.left() * outer;
            let (s, _) = host.nearest(point).unwrap_or((0.0, 0.0));
            let there = host.at(s).unwrap_or_else(|| Place::new(0.0, 0.0, 0.0));
            let aside = (point - there.point()).dot(there.left());
            let angle = crate::curve::wrapped(end.heading - there.heading);
            [aside - across, angle * self.side - self.given.angle]
        };
        for _ in 0..40 {
            let now = miss(unknown);
            if now[0].abs() < 1e-14 && now[1].abs() < 1e-14 {
                break;
            }
            let steps = [unknown[0] * 1e-6, unknown[1] * 1e-6];
            let columns = [0, 1].map(|at| {
                let mut other = unknown;
                other[at] += steps[at];
                let there = miss(other);
                [
                    (there[0] - now[0]) / steps[at],
                    (there[1] - now[1]) / steps[at],
                ]
            });
            let [[a, c], [b, d]] = columns;
            let det = a * d - b * c;
            let change = [
                (d * now[0] - b * now[1]) / det,
                (a * now[1] - c * now[0]) / det,
            ];
            unknown = [unknown[0] - change[0], unknown[1] - change[1]];
            if !unknown.iter().all(|u| u.is_finite()) || unknown[1] <= 0.0 {
                return Err("no closure joins these points to that frog on this curve".into());
            }
            if change[0].abs() < 1e-13 * unknown[0].abs() && change[1].abs() < 1e-15 {
                break;
            }
        }
        let left = miss(unknown);
        if left[0].abs() > 1e-9 || left[1].abs() > 1e-9 {
            return Err("no closure joins these points to that frog on this curve".into());
        }
        bend = 1.0 / unknown[0];
        turn = unknown[0] * unknown[1];
        let leg = build(unknown);
        Ok((
            leg,
            Solved {
                radius: bend + half,
                arc: (bend + half) * turn,
                ..solved
            },
        ))
    }

    fn build(&self, host: &Path, solved: &Solved, [bend, length]: [f64; 2]) -> Leg {
        let half = self.half_gauge;
        // Ahead of the point the switch rail's line would meet the stock rail's.
        let before = if solved.switch_angle > 0.0 {
            self.given.thickness / solved.switch_angle.sin()
        } else {
            0.0
        };
        let leaves = self.point - before * solved.switch_angle.cos();
        let there = host.at(leaves).unwrap_or_else(|| Place::new(0.0, 0.0, 0.0));
        // Turned about the stock rail's gauge line.
        let pivot = there.point() - there.left() * (self.side * half);
        let mut start = there;
        start.heading += self.side * solved.switch_angle;
        let center = pivot + start.left() * (self.side * half);
        (start.x, start.y) = (center.x, center.y);
        let (points, added) = if solved.point_radius.is_finite() {
            let radius = solved.point_radius - half;
            (radius * solved.heel_angle, self.side / radius)
        } else {
            (self.given.points, 0.0)
        };
        let bend = self.side * bend;
        let [first, last] = self.given.tangents;
        let (heel, on) = (self.beyond[0], self.beyond[1]);
        let through = if self.curved_frog { bend } else { 0.0 };
        let path = follow(
            host,
            start,
            leaves,
            &[
                (before, 0.0),
                (points, added),
                (first, 0.0),
                (length, bend),
                (last + self.given.toe, 0.0),
                (heel, through),
                (on, 0.0),
            ],
        );
        let mut mark = before;
        let mut marks = [before; 4];
        for (at, step) in [points, first + length, last + self.given.toe]
            .into_iter()
            .enumerate()
        {
            mark += step;
            marks[at + 1] = mark;
        }
        Leg {
            path,
            leaves,
            marks,
            radius: 1.0 / bend.abs(),
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn frog(number: f64) -> f64 {
        2.0 * (0.5 / number).atan()
    }

    fn given(g: f64, h: f64, t: f64, points: f64, k: f64, number: f64) -> Given {
        Given {
            across: g,
            heel: h,
            thickness: t,
            points,
            curved_points: false,
            angle: frog(number),
            toe: k,
            tangents: [0.0; 2],
        }
    }

    /// Worked rows of the split turnout formulas, computed apart from this program in double
    /// precision: case, N, g, h, L, k, then S in degrees, R, lead and arc in the units of g.
    #[test]
    fn worked_rows_of_the_formulas() {
        for (n, g, h, points, k, s, r, lead, arc) in [
            (
                4.0, 0.650, 0.120, 1.50, 0.625, 4.58857, 13.6465, 4.3684, 2.3011,
            ),
            (
                6.0, 0.650, 0.120, 2.25, 0.875, 3.05723, 31.1380, 6.6029, 3.5162,
            ),
            (
                8.0, 0.650, 0.120, 3.00, 1.000, 2.29244, 58.0778, 8.8982, 4.9266,
            ),
            (
                6.0, 0.354, 0.070, 1.25, 0.500, 3.21024, 16.4630, 3.5441, 1.8151,
            ),
            (
                8.0, 4.708_333, 0.520_833, 16.5, 4.75, 1.80888, 493.7079, 67.0940, 46.0465,
            ),
        ] {
            let solved = given(g, h, 0.0, points, k, n).solve().unwrap();
            for (name, found, expected) in [
                ("S", solved.switch_angle.to_degrees(), s),
                ("R", solved.radius, r),
                ("lead", solved.lead, lead),
                ("arc", solved.arc, arc),
            ] {
                assert!(
                    (found - expected).abs() < 1e-4,
                    "No. {n} {name}: {found}, not {expected}"
                );
            }
        }
    }

    /// The geometry of a fitted leg in straight track against the formulas, without using the fit's
    /// own marks: where its outer gauge line meets the other rail, and at what angle.
    #[test]
    fn a_leg_in_straight_track_is_the_formulas() {
        let g = given(0.0165, 0.0028, 0.0004, 0.057, 0.016, 6.0);
        let solved = g.solve().unwrap();
        let host = Path::new([Piece::tangent(Place::new(0.0, 0.0, 0.0), 1.0)]);
        let wanted = Wanted {
            given: g,
            half_gauge: 0.00825,
            side: 1.0,
            point: 0.1,
            beyond: [0.02, 0.1],
            curved_frog: false,
        };
        let (leg, fitted) = wanted.fit(&host).unwrap();
        assert!((fitted.radius - solved.radius).abs() < 1e-10);
        let end = leg.path.at(leg.marks[3]).unwrap();
        let point = end.point() - end.left() * 0.00825;
        assert!((point.y - 0.00825).abs() < 1e-12);
        assert!((point.x - 0.1 - solved.lead).abs() < 1e-10);
        assert!((end.heading - frog(6.0)).abs() < 1e-12);
        // At the point the switch rail stands off by its thickness, at the heel by the spread.
        for (mark, spread) in [(leg.marks[0], 0.0004), (leg.marks[1], 0.0028)] {
            let place = leg.path.at(mark).unwrap();
            let gauge_line = place.point() - place.left() * 0.00825;
            assert!((gauge_line.y + 0.00825 - spread).abs() < 1e-12);
        }
    }

    proptest! {
        /// On a curve either way, and through a spiral, the frog has its angle and lies on the rail.
        #[test]
        fn a_leg_on_any_curve_comes_across_at_the_frog_angle(
            number in 4.0..10.0f64, k0 in -1.0..1.0f64, k1 in -1.0..1.0f64, left in any::<bool>(),
        ) {
            let side = if left { 1.0 } else { -1.0 };
            let wanted = Wanted {
                given: given(0.0165, 0.0025, 0.0, 0.0095 * number, 0.002 * number, number),
                half_gauge: 0.00825,
                side,
                point: 0.05,
                beyond: [0.02, 0.1],
                curved_frog: false,
            };
            let host = Path::new([Piece::spiral(Place::new(0.0, 0.0, 0.0), 0.6, [k0, k1])]);
            let (leg, _) = wanted.fit(&host).unwrap();
            let end = leg.path.at(leg.marks[3]).unwrap();
            let point = end.point() - end.left() * (side * 0.00825);
            let (s, _) = host.nearest(point).unwrap();
            let there = host.at(s).unwrap();
            let aside = (point - there.point()).dot(there.left());
            prop_assert!((aside - side * 0.00825).abs() < 1e-9);
            prop_assert!((side * (end.heading - there.heading) - frog(number)).abs() < 1e-9);
            for jump in leg.path.joints() {
                prop_assert!(jump.gap < 1e-12 && jump.kink.abs() < 1e-12);
            }
        }
    }
}
