//! Helices: track that winds up over itself, and return loops.
//!
//! A turn of an oval runs 2πR and twice the straight between its half circles; its grade is rise over
//! run, and its track the hypotenuse. What a train feels is the grade and what the curve is worth; over
//! the head of what stands below there must be room for the tallest car and the roadbed above it.

use model::{
    scale::Scale,
    units::{Actual, CurveDefinition, DegreeOfCurve, Grade},
};

/// A helix of one radius, its turns alike.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Helix {
    /// Radius of the center line.
    pub radius: Actual,
    /// Height from each turn to the next.
    pub rise_per_turn: Actual,
    /// Straight between its two halves, on each side; none in a round one.
    pub straight: Actual,
    /// Height it has to climb.
    pub climb: Actual,
    /// From the railhead of a turn down to the underside of what carries it.
    pub deck: Actual,
    /// Spacing of several tracks, from center to center; the radius is that of the innermost.
    pub tracks: u8,
    /// Distance between those.
    pub centers: Actual,
    /// Room from the outer track's middle to the rods that carry it.
    pub rod_room: Actual,
}

/// What a helix comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HelixFigures {
    /// Turns, whole and part.
    pub turns: f64,
    /// Run of a turn, level.
    pub run: Actual,
    /// Track of a turn.
    pub per_turn: Actual,
    /// Track of the whole.
    pub length: Actual,
    /// Rise over run.
    pub grade: Grade,
    /// What the curve is worth as a grade, over the round parts.
    pub curve: Grade,
    /// Grade and curve together: what limits the train.
    pub effective: Grade,
    /// From railhead to the underside of the turn above.
    pub clear: Actual,
    /// Across the whole: to the rods on both sides, along the straight, and across it.
    pub floor: [Actual; 2],
    /// Spacing of rods around the outside, so that no piece of deck spans more than asked.
    pub rods: u32,
    /// From rod to rod along the outer track.
    pub rod_spacing: Actual,
    /// Rise from each rod to the next.
    pub rise_per_rod: Actual,
}

impl Helix {
    /// What it comes to. `compensation` is the grade a curve of one degree is worth, the degree reckoned
    /// along the arc; `span` the longest distance between rods.
    pub fn figures(&self, scale: Scale, compensation: Grade, span: Actual) -> HelixFigures {
        use std::f64::consts::TAU;
        let run = self.radius * TAU + self.straight * 2.0;
        let per_turn = Actual::from_meters(run.meters().hypot(self.rise_per_turn.meters()));
        let turns = self.climb / self.rise_per_turn;
        let grade = Grade::from_ratio(self.rise_per_turn / run);
        let degrees =
            DegreeOfCurve::of_radius(scale.to_prototype(self.radius), CurveDefinition::Arc)
                .map_or(0.0, |degree| degree.angle().degrees());
        let curve = Grade::from_ratio(compensation.ratio() * degrees);
        let outer =
            self.radius + self.centers * f64::from(self.tracks.saturating_sub(1)) + self.rod_room;
        let around = outer * TAU + self.straight * 2.0;
        let rods = (around / span).ceil().clamp(3.0, 1000.0);
        HelixFigures {
            turns,
            run,
            per_turn,
            length: per_turn * turns,
            grade,
            curve,
            effective: Grade::from_ratio(grade.ratio() + curve.ratio()),
            clear: self.rise_per_turn - self.deck,
            floor: [outer * 2.0 + self.straight, outer * 2.0],
            rods: rods as u32,
            rod_spacing: around / rods,
            rise_per_rod: self.rise_per_turn / rods,
        }
    }
}

/// The rise of a turn that leaves just so much room overhead.
pub fn least_rise(overhead: Actual, deck: Actual) -> Actual {
    overhead + deck
}

/// The smallest radius at which a turn rises by so much on no more than a grade, the curve counted.
/// `straight` is that between its halves. None if no radius does: on one so wide that the curve is
/// worth nothing the grade is met, so there always is one for a grade over nothing.
pub fn least_radius(
    rise: Actual,
    straight: Actual,
    limit: Grade,
    scale: Scale,
    compensation: Grade,
) -> Option<Actual> {
    let effective = |radius: Actual| {
        let helix = Helix {
            radius,
            rise_per_turn: rise,
            straight,
            climb: rise,
            deck: Actual::ZERO,
            tracks: 1,
            centers: Actual::ZERO,
            rod_room: Actual::ZERO,
        };
        helix.figures(scale, compensation, radius).effective
    };
    let (mut low, mut high) = (rise * 0.1, rise * 1e4);
    if limit.ratio() <= 0.0 || effective(high) > limit {
        return None;
    }
    for _ in 0..80 {
        let middle = (low + high) / 2.0;
        if effective(middle) > limit {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(high)
}

/// A return loop: a circle, entered and left by the same turnout through curves to the other hand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct ReturnLoop {
    /// Radius of all its curves.
    pub radius: Actual,
    /// Frog number of the turnout.
    pub number: f64,
    /// Gauge of the track.
    pub gauge: Actual,
    /// Spacing that tracks keep.
    pub centers: Actual,
}

/// What a return loop comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoopFigures {
    /// Around from the points back to the points.
    pub length: Actual,
    /// The longest train that stands in it clear of the turnout: also how long its reversing section
    /// may be, and the longest train that may cross its gaps at one time.
    pub holds: Actual,
    /// Along the approach, from the points to the far side of the track.
    pub depth: Actual,
    /// Across it.
    pub width: Actual,
}

impl ReturnLoop {
    /// What it comes to: laid out and measured, rather than by formula. The straight side of the
    /// turnout leads into the loop on the one side of it; from the diverging side the track curves on
    /// around by the same radius until it meets the straight again.
    pub fn figures(&self) -> Option<LoopFigures> {
        use crate::{
            alignment::solve::{Eased, connect},
            clearance::{beyond_points, from_points, lead},
            curve::{Path, Piece, Place},
        };
        let start = Place::new(0.0, 0.0, 0.0);
        let radius = self.radius.meters();
        let gauge = self.gauge.meters();
        // Out by the diverging side, to the left: its lead, then around.
        let closure = 2.0 * gauge * self.number * self.number;
        let angle = crate::clearance::frog_angle(self.number).radians();
        let out = Piece::arc(start, closure * angle, 1.0 / closure);
        // Back by the straight side, where the frog has passed.
        let back = Place::new(
            lead(self.number, self.gauge).meters(),
            0.0,
            std::f64::consts::PI,
        );
        // So far it comes about before the rest is found.
        let about = radius * 1.2 * std::f64::consts::PI;
        let eased = Eased {
            radius,
            easement: 0.0,
        };
        let best = (0..=60)
            .filter_map(|step| {
                // First away to the left for a while, then around to the right.
                let away = Piece::arc(out.end(), radius * 0.02 * f64::from(step), 1.0 / radius);
                let around = Piece::arc(away.end(), about, -1.0 / radius);
                let rest = connect(around.end(), back, eased, 0.0)?;
                let mut pieces = vec![out, away, around];
                pieces.extend(rest.pieces);
                pieces.push(Piece::tangent(back, back.x));
                Some(Path::new(pieces))
            })
            .filter(|path| path.joints().all(|joint| joint.gap < 1e-6))
            .min_by(|a, b| a.length().total_cmp(&b.length()))?;
        let places = best.places(0.01);
        let side = |pick: fn(&Place) -> f64| {
            let values = places.iter().map(|(_, place)| pick(place));
            values.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| {
                (low.min(v), high.max(v))
            })
        };
        let (x, y) = (side(|place| place.x), side(|place| place.y));
        let length = Actual::from_meters(best.length());
        let clear = [
            from_points(self.number, self.gauge, self.centers),
            beyond_points(self.number, self.gauge, self.centers),
        ];
        Some(LoopFigures {
            length,
            holds: (length - clear[0] - clear[1]).max(Actual::ZERO),
            depth: Actual::from_meters(x.1),
            width: Actual::from_meters(y.1 - y.0),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn round(radius: f64, rise: f64, climb: f64) -> Helix {
        let inch = Actual::from_inches;
        Helix {
            radius: inch(radius),
            rise_per_turn: inch(rise),
            straight: Actual::ZERO,
            climb: inch(climb),
            deck: inch(1.0),
            tracks: 1,
            centers: inch(2.0),
            rod_room: inch(2.0),
        }
    }

    /// From the definitions, reckoned by another program: run, grade, track of a turn, turns and feet
    /// of track for a climb of 20 in.
    #[test]
    fn figures_of_round_helices() {
        for (radius, rise, run, percent, per_turn, turns, feet) in [
            (30.0, 4.0, 188.4956, 2.1221, 188.5380, 5.000, 78.557),
            (36.0, 4.0, 226.1947, 1.7684, 226.2300, 5.000, 94.263),
            (24.0, 3.5, 150.7964, 2.3210, 150.8371, 5.714, 71.827),
            (15.0, 2.5, 94.2478, 2.6526, 94.2809, 8.000, 62.854),
            (48.0, 7.0, 301.5929, 2.3210, 301.6741, 2.857, 71.827),
        ] {
            let scale = Scale::new(87.1).unwrap();
            let helix = round(radius, rise, 20.0);
            let figures =
                helix.figures(scale, Grade::from_percent(0.04), Actual::from_inches(24.0));
            for (got, expected, close) in [
                (figures.run.inches(), run, 1e-4),
                (figures.grade.percent(), percent, 1e-4),
                (figures.per_turn.inches(), per_turn, 1e-4),
                (figures.turns, turns, 1e-3),
                (figures.length.feet(), feet, 1e-3),
            ] {
                assert!((got - expected).abs() < close, "{radius}: {got} {expected}");
            }
            assert!(figures.rod_spacing <= Actual::from_inches(24.0));
            let all = figures.rise_per_rod * f64::from(figures.rods);
            assert!(all.is_near(helix.rise_per_turn, Actual::from_mm(0.001)));
        }
    }

    /// HO, 30 in, 0.04 % a degree of arc: the curve is worth 1.053 %; with 2.12 % of grade 3.17 %.
    #[test]
    fn the_curve_counts() {
        let scale = Scale::new(87.1).unwrap();
        let span = Actual::from_inches(20.0);
        let figures = round(30.0, 4.0, 20.0).figures(scale, Grade::from_percent(0.04), span);
        assert!(
            (figures.curve.percent() - 1.053).abs() < 1e-3,
            "{}",
            figures.curve.percent()
        );
        assert!((figures.effective.percent() - 3.17).abs() < 0.01);
        let radius = least_radius(
            Actual::from_inches(4.0),
            Actual::ZERO,
            figures.effective,
            scale,
            Grade::from_percent(0.04),
        );
        assert!(
            radius
                .unwrap()
                .is_near(Actual::from_inches(30.0), Actual::from_mm(0.01))
        );
    }

    #[test]
    fn an_oval_has_its_straights() {
        let scale = Scale::new(87.1).unwrap();
        let mut helix = round(30.0, 4.0, 8.0);
        helix.straight = Actual::from_inches(36.0);
        let figures = helix.figures(scale, Grade::from_percent(0.04), Actual::from_inches(24.0));
        assert!((figures.run.inches() - 188.4956 - 72.0).abs() < 1e-3);
        assert!((figures.floor[0].inches() - figures.floor[1].inches() - 36.0).abs() < 1e-9);
    }

    /// A loop turns by half a circle more than it turns back: by more than 2πR·½, and it holds less
    /// than it is long; a sharper turnout makes a shorter one.
    #[test]
    fn a_return_loop_comes_back() {
        let figures = |number: f64| {
            let one = ReturnLoop {
                radius: Actual::from_inches(30.0),
                number,
                gauge: Actual::from_inches(0.65),
                centers: Actual::from_inches(2.0),
            };
            one.figures().unwrap()
        };
        let (five, eight) = (figures(5.0), figures(8.0));
        let circle = 30.0 * std::f64::consts::TAU;
        assert!(five.length.inches() > circle && five.length.inches() < 2.0 * circle);
        assert!(
            five.holds < five.length && five.width.inches() > 59.9 && five.depth.inches() > 60.0
        );
        assert!(
            eight.length > five.length,
            "{} {}",
            eight.length.inches(),
            five.length.inches()
        );
    }
}
