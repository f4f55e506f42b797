//! How long points and frogs are: by prototype practice, by model practice, or by the closure radius of
//! a recommended practice.

use super::{
    Clearances, RailSection,
    solve::{Given, Solved},
};
use crate::clearance::frog_angle;

model::words! {
    /// By which practice turnouts are proportioned.
    pub enum Practice {
        Circular = "circular", "one curve from the points to the point of frog, as a stub switch: lead 2gN, radius 2gN² (Searles, *Field Engineering*)";
        Prototype = "prototype", "split switches to scale: switch lengths, toe lengths and leads of the AREA's plan 910 of 1941, from memory";
        Model = "model", "points 0.58 gN long, toes 0.2 gN: common practice, no source";
        Rp12Older = "NMRA RP-12 older", "the closure radii of RP-12.3, older edition, HO; N by the like table";
        Rp12Of2015 = "NMRA RP-12 2015", "the closure radii of RP-12.31 of 2015, HO";
    }
}

model::words! {
    /// How the points are made.
    pub enum PointStyle {
        Straight = "straight", "straight points, the stock rail bent ahead of them";
        Curved = "curved", "points curved from their tip, tangent to the stock rail";
    }
}

model::words! {
    /// How the frog is made.
    pub enum FrogStyle {
        Straight = "straight", "both legs straight";
        Curved = "curved", "the closure curve goes on through the frog";
    }
}

/// A frog bought ready, by its dimensions, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CastFrog {
    /// From its toe to the theoretical point.
    pub toe: f64,
    /// From the theoretical point to its heel.
    pub heel: f64,
}

/// A row of the AREA's plan 910 of 1941, straight split switches; from memory. Feet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SplitSwitch {
    /// Frog number.
    pub number: f64,
    /// Length of the switch rails.
    pub switch: f64,
    /// From the point of switch to the half-inch point of frog.
    pub lead: f64,
    /// Radius of the center line.
    pub radius: f64,
    /// From the toe of the frog to its half-inch point.
    pub toe: f64,
}

const fn row(number: f64, switch: f64, lead: f64, radius: f64, toe: f64) -> SplitSwitch {
    SplitSwitch {
        number,
        switch,
        lead,
        radius,
        toe,
    }
}

/// The rows of plan 910; from memory, and held together by the formulas to a ten-thousandth.
pub static PLAN_910: &[SplitSwitch] = &[
    row(5.0, 11.0, 42.0 + 6.5 / 12.0, 177.80, 3.0 + 6.5 / 12.0),
    row(6.0, 11.0, 47.5, 258.57, 3.75),
    row(7.0, 16.5, 62.0 + 1.0 / 12.0, 365.59, 4.0 + 8.5 / 12.0),
    row(8.0, 16.5, 68.0, 487.28, 5.0 + 1.0 / 12.0),
    row(9.0, 16.5, 72.0 + 3.5 / 12.0, 615.12, 6.0 + 4.5 / 12.0),
    row(10.0, 16.5, 78.75, 779.39, 6.0 + 5.0 / 12.0),
    row(11.0, 22.0, 91.0 + 10.25 / 12.0, 927.27, 7.0),
    row(12.0, 22.0, 96.0 + 8.0 / 12.0, 1104.63, 7.0 + 9.5 / 12.0),
    row(14.0, 22.0, 107.0 + 0.75 / 12.0, 1581.20, 8.0 + 7.5 / 12.0),
    row(15.0, 30.0, 126.0 + 4.5 / 12.0, 1720.77, 9.0 + 5.0 / 12.0),
    row(16.0, 30.0, 131.0 + 4.0 / 12.0, 2007.12, 9.0 + 5.0 / 12.0),
    row(18.0, 30.0, 140.0 + 11.5 / 12.0, 2578.79, 11.0 + 0.5 / 12.0),
    row(20.0, 30.0, 151.0 + 11.5 / 12.0, 3289.29, 11.0 + 0.5 / 12.0),
];

/// Heel spread of switches of any length, feet: 6¼ in (W. L. Webb, *Railroad Construction*, §305).
pub const HEEL_SPREAD_FT: f64 = 6.25 / 12.0;
/// Thickness of the point, feet: ⅛ in, with which plan 910 agrees.
pub const POINT_THICKNESS_FT: f64 = 0.125 / 12.0;
/// Gauge, feet.
pub const GAUGE_FT: f64 = 56.5 / 12.0;
/// Heel length of a frog from its half-inch point for each frog number, feet. 7 ft 11 in for No. 8 and
/// 19 ft 10 in for No. 20 (US Army transportation handbook, table of frogs) agree with it.
const HEEL_FT: f64 = 0.99;
const FOOT: f64 = 0.3048;

impl SplitSwitch {
    /// As the formulas take it, feet; with the tangent that makes it as long as printed.
    ///
    /// # Errors
    /// If no tangent does.
    pub fn given(&self) -> Result<Given, String> {
        // The half-inch point lies N half inches beyond the theoretical one.
        let half_inch = self.number / 24.0;
        self.free().with_lead(self.lead - half_inch)
    }

    /// Without tangents: the lead is then the formula's own.
    pub fn free(&self) -> Given {
        Given {
            across: GAUGE_FT,
            heel: HEEL_SPREAD_FT,
            thickness: POINT_THICKNESS_FT,
            points: self.switch,
            curved_points: false,
            angle: frog_angle(self.number).radians(),
            toe: self.toe - self.number / 24.0,
            tangents: [0.0; 2],
        }
    }
}

/// Closure radii in inches by frog number.
type Radii = &'static [(f64, f64)];

/// RP-12.3, older edition, HO (No. 10 from memory).
const RP12_3: Radii = &[
    (4.0, 15.0),
    (5.0, 26.0),
    (6.0, 43.0),
    (7.0, 49.0),
    (8.0, 67.0),
    (10.0, 117.0),
];
/// RP-12.31, 2015, HO.
const RP12_31: Radii = &[(5.0, 23.0), (6.0, 35.0)];
/// The older edition for N: from memory, unconfirmed.
const RP12_N: Radii = &[
    (4.0, 8.0),
    (5.0, 14.0),
    (6.0, 23.0),
    (7.0, 27.0),
    (8.0, 36.0),
    (10.0, 64.0),
];

impl Practice {
    /// The radii of a recommended practice for a scale of one to `ratio`.
    fn radii(self, ratio: f64) -> Option<Radii> {
        let near = |other: f64| (ratio / other - 1.0).abs() < 0.01;
        match self {
            Self::Rp12Older if near(87.1) => Some(RP12_3),
            Self::Rp12Older if near(160.0) => Some(RP12_N),
            Self::Rp12Of2015 if near(87.1) => Some(RP12_31),
            _ => None,
        }
    }
}

/// What a turnout is built by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Build {
    /// How many times larger the prototype is.
    pub ratio: f64,
    /// Clearances.
    pub clearances: Clearances,
    /// Rail.
    pub rail: RailSection,
    /// Proportions.
    pub practice: Practice,
    /// Points.
    pub points: PointStyle,
    /// Frog.
    pub frog: FrogStyle,
    /// A frog bought ready.
    pub cast: Option<CastFrog>,
}

/// What a turnout of a number comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Proportions {
    /// For the formulas, metres.
    pub given: Given,
    /// Heel length of the frog from its theoretical point, metres.
    pub heel: f64,
    /// Whether the heel spread had to be more than the scale one, so that a wheel passes.
    pub spread_widened: bool,
}

impl Build {
    /// With straight points, a straight frog and the usual rail.
    pub fn new(ratio: f64, clearances: Clearances, practice: Practice) -> Self {
        Self {
            ratio,
            clearances,
            rail: RailSection::usual(ratio),
            practice,
            points: PointStyle::Straight,
            frog: FrogStyle::Straight,
            cast: None,
        }
    }

    /// The spread at the heel that lets a wheel by: a flangeway and a head, with a seventh to spare.
    pub fn spread(&self) -> f64 {
        1.15 * (self.clearances.flangeway + self.rail.head)
    }

    /// What a turnout of a number comes to.
    ///
    /// # Errors
    /// If the practice says nothing of that number or scale, or the parts do not fit together.
    pub fn proportions(&self, number: f64) -> Result<Proportions, String> {
        let gauge = self.clearances.gauge;
        let angle = frog_angle(number).radians();
        let least = self.spread();
        let mut found = match self.practice {
            Practice::Circular => Proportions {
                given: Given {
                    across: gauge,
                    heel: 0.0,
                    thickness: 0.0,
                    points: 0.0,
                    curved_points: true,
                    angle,
                    toe: 0.0,
                    tangents: [0.0; 2],
                },
                heel: 0.21 * gauge * number,
                spread_widened: false,
            },
            Practice::Prototype => self.scaled(number, least)?,
            Practice::Model => self.model(number, angle, least),
            Practice::Rp12Older | Practice::Rp12Of2015 => self.rp12(number, angle, least)?,
        };
        if let Some(cast) = self.cast {
            found.given.toe = cast.toe;
            found.given.tangents = [0.0; 2];
            found.heel = cast.heel;
        } else if self.frog == FrogStyle::Curved {
            found.given.toe = 0.0;
            found.given.tangents[1] = 0.0;
        }
        if self.points == PointStyle::Curved && found.given.points > 0.0 {
            // A curve from a sharp tip: its thickness is filed from the stock rail.
            found.given.curved_points = true;
            found.given.thickness = 0.0;
            found.given.tangents[0] = 0.0;
        }
        Ok(found)
    }

    fn model(&self, number: f64, angle: f64, least: f64) -> Proportions {
        let gn = self.clearances.gauge * number;
        Proportions {
            given: Given {
                across: self.clearances.gauge,
                heel: least,
                thickness: 0.0,
                points: 0.58 * gn,
                curved_points: false,
                angle,
                toe: 0.2 * gn,
                tangents: [0.0; 2],
            },
            heel: 0.21 * gn,
            spread_widened: false,
        }
    }

    fn scaled(&self, number: f64, least: f64) -> Result<Proportions, String> {
        // Narrow gauge has no plan here: the standard-gauge one shrunk with the gauge, frog number kept.
        let narrow = (self.clearances.gauge * self.ratio / (GAUGE_FT * FOOT)).min(1.0);
        let scale = narrow * FOOT / self.ratio;
        let first = PLAN_910[0];
        let at = PLAN_910.partition_point(|row| row.number < number - 1e-9);
        let last = PLAN_910.len() - 1;
        let given = match PLAN_910.get(at) {
            Some(row) if (row.number - number).abs() < 1e-9 => row.given()?,
            // Between two numbers: the lesser's switch rails, the toe in proportion, no tangents.
            // Beyond the ends: those of the end, in proportion to the number.
            _ => {
                let below = PLAN_910[at.saturating_sub(1).min(last)];
                let above = PLAN_910[at.min(last)];
                let (switch, toe) = if at == 0 {
                    let share = number / first.number;
                    (first.switch * share, first.toe * share)
                } else if at > last {
                    (below.switch, below.toe * number / below.number)
                } else {
                    let share = (number - below.number) / (above.number - below.number);
                    (below.switch, below.toe + share * (above.toe - below.toe))
                };
                SplitSwitch {
                    number,
                    switch,
                    toe,
                    lead: 0.0,
                    radius: 0.0,
                }
                .free()
            }
        };
        let heel = given.heel * scale;
        Ok(Proportions {
            given: Given {
                across: self.clearances.gauge,
                heel: heel.max(least),
                thickness: given.thickness * scale,
                points: given.points * scale,
                curved_points: false,
                angle: given.angle,
                toe: given.toe * scale,
                tangents: given.tangents.map(|t| t * scale),
            },
            heel: (HEEL_FT + 1.0 / 24.0) * number * scale,
            spread_widened: heel < least,
        })
    }

    fn rp12(&self, number: f64, angle: f64, least: f64) -> Result<Proportions, String> {
        let practice = self.practice;
        let radii = practice.radii(self.ratio).ok_or_else(|| {
            format!(
                "the radii of {practice} for a scale of 1:{} are not in the program",
                self.ratio
            )
        })?;
        let radius = radii
            .iter()
            .find(|(listed, _)| (listed - number).abs() < 1e-9)
            .map(|(_, inches)| inches * 0.0254)
            .ok_or_else(|| {
                let numbers: Vec<String> = radii.iter().map(|(n, _)| n.to_string()).collect();
                format!(
                    "{practice} has no No. {number} here; it has: {}",
                    numbers.join(", ")
                )
            })?;
        let mut found = self.model(number, angle, least);
        let given = &mut found.given;
        let (sin_f, cos_f) = angle.sin_cos();
        let room = given.across - given.heel;
        let cos_s = (given.heel / given.points).asin().cos();
        // The toe that leaves that radius; if it would be too short to solder, shorter points.
        let toe = (room - radius * (cos_s - cos_f)) / sin_f;
        let shortest = 0.06 * self.clearances.gauge * number;
        given.toe = toe.max(shortest);
        if toe < shortest {
            let cos_s = cos_f + (room - shortest * sin_f) / radius;
            given.points = given.heel / (1.0 - cos_s * cos_s).sqrt();
        }
        Ok(found)
    }

    /// From the points to the theoretical point of frog along straight track, metres.
    ///
    /// # Errors
    /// As [`Self::proportions`], and if the parts do not fit together.
    pub fn solve(&self, number: f64) -> Result<(Proportions, Solved), String> {
        let proportions = self.proportions(number)?;
        let solved = proportions.given.solve()?;
        Ok((proportions, solved))
    }
}

#[cfg(test)]
mod tests {
    use model::scale::ScaleAndGauge;

    use super::*;
    use crate::clearance::lead;

    fn build(scale: &str, practice: Practice) -> Build {
        let size = ScaleAndGauge::parse(scale).unwrap();
        let clearances = Clearances::find(&size, None).unwrap();
        Build::new(size.scale.ratio(), clearances, practice)
    }

    /// AREA Trackwork Plan 910-41, straight split switches, the table **from memory**. With switch
    /// length, toe length and heel spread as input the formula's own lead is within 1.5 % and its
    /// radius within 2 % from No. 7 up; with the printed lead as well the radius is the table's
    /// within a five-thousandth of it for every number.
    #[test]
    fn plan_910() {
        for row in PLAN_910 {
            let number = row.number;
            let free = row.free().solve().unwrap();
            let lead = free.lead + number / 24.0;
            let radius = free.radius - 0.5 * GAUGE_FT;
            if number >= 7.0 {
                assert!(
                    (lead / row.lead - 1.0).abs() < 0.015,
                    "No. {number}: lead {lead}"
                );
                assert!(
                    (radius / row.radius - 1.0).abs() < 0.02,
                    "No. {number}: radius {radius}"
                );
            }
            let given = row.given().unwrap();
            let fitted = given.solve().unwrap();
            assert!((fitted.lead + number / 24.0 - row.lead).abs() < 1e-9);
            let radius = fitted.radius - 0.5 * GAUGE_FT;
            assert!(
                (radius / row.radius - 1.0).abs() < 2e-4,
                "No. {number}: radius {radius}"
            );
        }
    }

    /// Army TI 850-02 (March 2000), figure 6-27: turnout curvature by frog number, in degrees of a
    /// 100-foot chord of the center line.
    #[test]
    fn turnout_curvature_of_the_army_table() {
        for (number, degrees) in [(8.0, 11.8), (9.0, 9.3), (10.0, 7.4)] {
            let row = PLAN_910.iter().find(|row| row.number == number).unwrap();
            let radius = row.given().unwrap().solve().unwrap().radius - 0.5 * GAUGE_FT;
            let found = 2.0 * (50.0 / radius).asin().to_degrees();
            assert!((found - degrees).abs() < 0.05, "No. {number}: {found}");
        }
    }

    /// Switch angles, S = asin((h − t)/L) with h = 6¼ in: computed apart from this program for points
    /// an eighth of an inch thick.
    #[test]
    fn switch_angles() {
        for (feet, degrees, minutes, seconds) in [
            (11.0, 2.0, 39.0, 34.0),
            (16.5, 1.0, 46.0, 22.0),
            (22.0, 1.0, 19.0, 46.0),
            (30.0, 0.0, 58.0, 30.0),
        ] {
            let row = PLAN_910.iter().find(|row| row.switch == feet).unwrap();
            let found = row.free().solve().unwrap().switch_angle.to_degrees();
            let expected = degrees + minutes / 60.0 + seconds / 3600.0;
            assert!(
                (found - expected).abs() < 0.6 / 3600.0,
                "{feet} ft: {found}"
            );
        }
    }

    /// Searles, *Field Engineering*: lead 2gN and center radius 2gN² of a turnout that curves all the
    /// way, in feet.
    #[test]
    fn circular_turnouts() {
        for (number, expected_lead, radius) in [
            (6.0, 56.5, 339.0),
            (8.0, 75.333, 602.667),
            (10.0, 94.167, 941.667),
            (12.0, 113.0, 1356.0),
        ] {
            let mut clearances = Clearances::by_proportion(4.708_333);
            clearances.gauge = 56.5 / 12.0;
            let build = Build::new(1.0, clearances, Practice::Circular);
            let (_, solved) = build.solve(number).unwrap();
            assert!((solved.lead - expected_lead).abs() < 1e-3);
            assert!((solved.radius - 0.5 * clearances.gauge - radius).abs() < 1e-3);
            // And it is what usable lengths are reckoned with if the owner says nothing.
            let gauge = clearances.gauge_length();
            assert!((solved.lead - lead(number, gauge).meters()).abs() < 1e-12);
        }
    }

    /// NMRA RP-12.3, older edition (as quoted in print; No. 10 from memory), and RP-12.31 of 2015, HO:
    /// closure radius in inches, taken as that of the curved closure rail.
    #[test]
    fn closure_radii_by_edition() {
        let older = [
            (4.0, 15.0),
            (5.0, 26.0),
            (6.0, 43.0),
            (7.0, 49.0),
            (8.0, 67.0),
            (10.0, 117.0),
        ];
        let newer = [(5.0, 23.0), (6.0, 35.0)];
        for (practice, table) in [
            (Practice::Rp12Older, &older[..]),
            (Practice::Rp12Of2015, &newer[..]),
        ] {
            for &(number, inches) in table {
                let (proportions, solved) = build("HO", practice).solve(number).unwrap();
                assert!(
                    (solved.radius / 0.0254 - inches).abs() < 1e-6,
                    "No. {number}"
                );
                let Given { toe, points, .. } = proportions.given;
                // And what is left over for the other parts is such as can be built.
                assert!(
                    toe > 0.003 && points > 0.025,
                    "No. {number}: {toe} {points}"
                );
                assert!(solved.lead > 0.6 * 2.0 * 0.0165 * number, "No. {number}");
            }
        }
        assert_eq!(
            build("HO", Practice::Rp12Of2015).solve(8.0).unwrap_err(),
            "NMRA RP-12 2015 has no No. 8 here; it has: 5, 6"
        );
        assert_eq!(
            build("O", Practice::Rp12Older).solve(6.0).unwrap_err(),
            "the radii of NMRA RP-12 older for a scale of 1:48 are not in the program"
        );
    }

    /// Every practice gives a turnout for every number in every listed scale, if it says anything of it.
    #[test]
    fn every_scale_and_number() {
        for listed in model::scale::listed() {
            for practice in [Practice::Circular, Practice::Prototype, Practice::Model] {
                let build = build(listed.name, practice);
                for tenths in (35..=200).step_by(5) {
                    let number = f64::from(tenths) / 10.0;
                    let solved = build.solve(number);
                    // To scale, coarse flangeways need more spread than a short switch can turn to.
                    let known = practice == Practice::Prototype && number < 5.0;
                    assert!(
                        solved.is_ok() || known,
                        "{} {practice} No. {number}: {}",
                        listed.name,
                        solved.unwrap_err()
                    );
                }
            }
        }
    }
}
