//! What the owner builds to, as plain numbers.

use crate::{clearance, turnout::Leads};
use model::{
    scale::Scale,
    units::{Actual, Grade, Prototype},
};

/// The railroad's standards, as far as the way is judged by them. A line may set its own grade and
/// radius.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// Proportion of the model.
    pub scale: Scale,
    /// Gauge of the model track.
    pub gauge: Actual,
    /// Spacing of parallel tracks.
    pub track_centers: Actual,
    /// Steepest grade.
    pub grade: Option<Grade>,
    /// Sharpest curve.
    pub radius: Option<Actual>,
    /// Smallest frog number.
    pub frog_number: Option<f64>,
    /// Grade that a curve of one degree is worth. W. L. Webb, *Railroad Construction*, gives 0.04 to
    /// 0.05 % in general, 0.10 % at stopping places, 0.02 to 0.03 % for fast trains.
    pub compensation: Grade,
    /// What alignments and rooms are judged by.
    pub plan: PlanLimits,
    /// Leads of turnouts as they are built, if the owner says by which practice.
    pub leads: Option<Leads>,
}

/// What alignments and rooms are judged by. The defaults are common practice without a source, where
/// nothing else is said.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanLimits {
    /// Shortest tangent between reverse curves: 50 ft full size, about a car's length.
    pub between_reverse: Actual,
    /// Room between the sides of cars on neighboring tracks: 1 ft full size.
    pub between_cars: Actual,
    /// Room between the sides of a car and a wall or a post: 2 ft full size.
    pub beside_cars: Actual,
    /// Height from railhead to whatever is overhead: 22 ft full size.
    pub overhead: Actual,
    /// From the railhead of a track down to the underside of what carries it: 1 in on the model.
    pub roadbed: Actual,
    /// How far from the edge of the benchwork track may lie: 30 in.
    pub reach: Actual,
    /// Narrowest aisle: 30 in.
    pub aisle: Actual,
    /// Lowest and highest railhead: 30 in, below which one kneels, and 62 in, above which one looks
    /// from below.
    pub railhead: [Actual; 2],
    /// How much the couplers of two cars may differ in height: 3 in full size (the variation that the
    /// Safety Appliance Acts allow in the height of drawbars; from memory).
    pub couplers: Actual,
}

impl PlanLimits {
    /// The defaults of a scale.
    pub fn new(scale: Scale) -> Self {
        let full_size = |feet: f64| scale.to_actual(Prototype::from_feet(feet));
        Self {
            between_reverse: full_size(50.0),
            between_cars: full_size(1.0),
            beside_cars: full_size(2.0),
            overhead: full_size(22.0),
            roadbed: Actual::from_inches(1.0),
            reach: Actual::from_inches(30.0),
            aisle: Actual::from_inches(30.0),
            railhead: [Actual::from_inches(30.0), Actual::from_inches(62.0)],
            couplers: full_size(0.25),
        }
    }
}

/// What an owner sets of [`PlanLimits`].
#[derive(Debug, Clone, Copy, PartialEq, Default)]
#[allow(
    missing_docs,
    reason = "each is that of its name in PlanLimits; `lowest` and `highest` are of the railhead"
)]
pub struct PlanOverrides {
    pub between_reverse: Option<Actual>,
    pub between_cars: Option<Actual>,
    pub beside_cars: Option<Actual>,
    pub overhead: Option<Actual>,
    pub roadbed: Option<Actual>,
    pub reach: Option<Actual>,
    pub aisle: Option<Actual>,
    pub lowest: Option<Actual>,
    pub highest: Option<Actual>,
    pub couplers: Option<Actual>,
}

impl PlanOverrides {
    /// The limits with these in place of the defaults.
    pub fn over(self, limits: PlanLimits) -> PlanLimits {
        PlanLimits {
            between_reverse: self.between_reverse.unwrap_or(limits.between_reverse),
            between_cars: self.between_cars.unwrap_or(limits.between_cars),
            beside_cars: self.beside_cars.unwrap_or(limits.beside_cars),
            overhead: self.overhead.unwrap_or(limits.overhead),
            roadbed: self.roadbed.unwrap_or(limits.roadbed),
            reach: self.reach.unwrap_or(limits.reach),
            aisle: self.aisle.unwrap_or(limits.aisle),
            couplers: self.couplers.unwrap_or(limits.couplers),
            railhead: [
                self.lowest.unwrap_or(limits.railhead[0]),
                self.highest.unwrap_or(limits.railhead[1]),
            ],
        }
    }
}

impl Limits {
    /// Standards of a railroad that states none: tracks 13 full-size feet apart (common practice of
    /// older roads, no source), 0.04 % a degree.
    pub fn new(scale: Scale, gauge: Actual) -> Self {
        Self {
            scale,
            gauge,
            track_centers: scale.to_actual(Prototype::from_feet(13.0)),
            grade: None,
            radius: None,
            frog_number: None,
            compensation: Grade::from_percent(0.04),
            plan: PlanLimits::new(scale),
            leads: None,
        }
    }

    /// The frog number of a switch that states none: the smallest the owner allows, or 6.
    pub fn number(&self, written: Option<f64>) -> f64 {
        written.or(self.frog_number).unwrap_or(6.0)
    }

    /// Distance from the points to the point of frog: as turnouts are built, or [`clearance::lead`] if
    /// the owner does not say how.
    pub fn lead(&self, number: f64) -> Actual {
        self.leads
            .and_then(|leads| leads.lead(number))
            .unwrap_or_else(|| clearance::lead(number, self.gauge))
    }

    /// Distance along the diverging track from the points to the clearance point.
    pub fn from_points(&self, number: f64) -> Actual {
        self.lead(number) + clearance::beyond_frog(number, self.gauge, self.track_centers)
    }

    /// Distance along the straight track from the points to abreast of the clearance point.
    pub fn beyond_points(&self, number: f64) -> Actual {
        let beyond = clearance::beyond_frog(number, self.gauge, self.track_centers);
        self.lead(number) + beyond * clearance::frog_angle(number).cos()
    }
}
