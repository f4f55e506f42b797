//! What the owner builds to, as plain numbers.

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
        }
    }

    /// The frog number of a switch that states none: the smallest the owner allows, or 6.
    pub fn number(&self, written: Option<f64>) -> f64 {
        written.or(self.frog_number).unwrap_or(6.0)
    }
}
