//! What holds the drivers on the rail, and what weather takes away.

use model::units::Weight;

/// Rail and weather, as they limit what an engine may take.
#[derive(Debug, Clone, PartialEq)]
pub struct Season {
    /// What the owner calls it.
    pub name: String,
    /// The share of the weight on drivers that holds on the rail.
    pub adhesion: f64,
    /// The share of the drawbar pull that is counted on.
    pub pull: f64,
}

impl Season {
    /// A season.
    pub fn new(name: impl Into<String>, adhesion: f64, pull: f64) -> Self {
        Self {
            name: name.into(),
            adhesion,
            pull,
        }
    }

    /// The usual ones. Dry rail holds a quarter of the weight on drivers (rule of thumb; B. Randolph, 1910, has 20 to
    /// 25 %). That wet rail holds 18 %, and that cold stiffens journals by a tenth and severe cold by a fifth, is common
    /// practice; the 0.80 also stands in an Army rating example (TR0603).
    pub fn usual() -> Vec<Self> {
        vec![
            Self::new("fair", 0.25, 1.0),
            Self::new("wet rail", 0.18, 1.0),
            Self::new("cold", 0.22, 0.9),
            Self::new("severe cold", 0.22, 0.8),
        ]
    }

    /// The most that so much weight on drivers can pull.
    pub fn holds(&self, on_drivers: Weight) -> Weight {
        on_drivers * self.adhesion
    }
}

/// Weight on drivers over tractive effort: about four for an engine that does not slip (common practice).
pub fn factor_of_adhesion(on_drivers: Weight, tractive_effort: Weight) -> f64 {
    on_drivers / tractive_effort
}
