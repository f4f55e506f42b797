//! How the owner builds turnouts, as the railroad's page says.

use model::{scale::ScaleAndGauge, units::Actual};

use super::{Build, Clearances, FrogStyle, PointStyle, Practice, RailSection, Standard, TieTable};

/// What the owner says of turnouts; what is left out is chosen by scale.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct TurnoutRules {
    /// By which practice they are proportioned.
    pub practice: Option<Practice>,
    /// By which standard flangeways are spaced.
    pub standard: Option<Standard>,
    /// Rail code.
    pub rail: Option<u16>,
    /// Points.
    pub points: Option<PointStyle>,
    /// Frogs.
    pub frog: Option<FrogStyle>,
    /// Ties.
    pub ties: Option<TieTable>,
}

impl TurnoutRules {
    /// What leads are solved with: only if the owner names a practice.
    pub fn leads(&self, size: &ScaleAndGauge) -> Option<Leads> {
        let practice = self.practice?;
        // A standard that has not the size is reported where plates are drawn; leads hardly differ.
        let clearances = Clearances::find(size, self.standard)
            .or_else(|_| Clearances::find(size, None))
            .ok()?;
        let mut build = Build::new(size.scale.ratio(), clearances, practice);
        if let Some(code) = self.rail {
            build.rail = RailSection::of_code(code);
        }
        build.points = self.points.unwrap_or(PointStyle::Straight);
        build.frog = self.frog.unwrap_or(FrogStyle::Straight);
        Some(Leads(build))
    }
}

/// Leads of turnouts as they are built.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Leads(Build);

impl Leads {
    /// From the points to the theoretical point of frog; nothing for a number of which the practice
    /// says nothing.
    pub fn lead(&self, number: f64) -> Option<Actual> {
        let (_, solved) = self.0.solve(number).ok()?;
        Some(Actual::from_meters(solved.lead))
    }
}
