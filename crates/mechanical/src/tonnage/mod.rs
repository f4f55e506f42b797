//! What the owner rates by: `tonnage.toml`, the test pulls of `test-pulls.csv`, and what each engine pulls by them.

mod build;
mod page;
mod pull;
pub(crate) mod rules;

pub use page::{PAGE, PULLS_PAGE};
pub use pull::{Missing, Pulling, davis_car, full_size, full_size_car, model_car, on_model};

use model::{
    Span, Spanned,
    scale::Scale,
    units::{Actual, Speed, Weight},
};

use crate::{
    resistance::{
        Bearings, CURVE_PER_DEGREE, Calibration, Formula, ModelRolling, TestPull, calibrate,
    },
    tractive::Season,
};

model::words! {
    /// Which of the two ways of reckoning governs what an engine may take.
    pub enum Governs {
        Model = "model", "what the model pulls";
        FullSize = "full size", "what the full-size engine would pull";
    }
}

model::words! {
    /// What a rated train must be able to do.
    pub enum RatedFor {
        Starting = "starting", "it starts wherever it is stopped";
        Moving = "moving", "it keeps moving; where it cannot start it must not stop";
    }
}

/// What the owner rates by.
#[derive(Debug, Clone, PartialEq)]
pub struct Tonnage {
    /// Which reckoning governs.
    pub governs: Governs,
    /// What a rated train must be able to do.
    pub rated_for: RatedFor,
    /// The seasons; at least one.
    pub seasons: Vec<Season>,
    /// The season in force, an index of `seasons`.
    pub season: usize,
    /// Speed of a rated train, full size.
    pub speed: Speed,
    /// Which formula of train resistance, full size.
    pub formula: Formula,
    /// What the trucks' journals run in, full size.
    pub bearings: Bearings,
    /// Curve resistance, full size, lb per ton and degree: moving, and when starting.
    pub curve_lb: [f64; 2],
    /// Resistance of the model's trains.
    pub rolling: ModelRolling,
    /// The usual load of a car, as a share of its capacity.
    pub load: f64,
    /// Length of the rating car, if the owner says.
    pub car_length: Option<Actual>,
    /// Weight of the model of the rating car.
    pub car_weight: Option<Weight>,
    /// Weight of the rating car with its load, full size.
    pub car_full_size: Option<Weight>,
    /// How many cars the train has for which helpers are found.
    pub train_cars: Option<u32>,
    /// The test pulls.
    pub pulls: Vec<TestPull>,
    /// What the test pulls say.
    pub calibration: Option<Calibration>,
    /// A season that is named and is none.
    pub(crate) unknown_season: Option<Spanned<String>>,
    /// Where each test pull stands.
    pub(crate) pull_spans: Vec<Span>,
}

impl Tonnage {
    /// What counts where the owner says nothing.
    pub fn usual(scale: Scale) -> Self {
        Self {
            governs: Governs::Model,
            rated_for: RatedFor::Starting,
            seasons: Season::usual(),
            season: 0,
            speed: Speed::from_mph(10.0),
            formula: Formula::Davis1926,
            bearings: Bearings::Plain,
            curve_lb: [CURVE_PER_DEGREE; 2],
            rolling: ModelRolling::usual(scale),
            load: 0.6,
            car_length: None,
            car_weight: None,
            car_full_size: None,
            train_cars: None,
            pulls: Vec::new(),
            calibration: None,
            unknown_season: None,
            pull_spans: Vec::new(),
        }
    }

    /// Takes the model's resistance from the test pulls, as far as they tell it.
    fn calibrate(&mut self) {
        self.calibration = calibrate(&self.pulls);
        let Some(found) = &self.calibration else {
            return;
        };
        let usual = self.rolling;
        if found.rolling.value > 0.0 {
            // What starting takes more than rolling is not measured by pulls at a walk.
            self.rolling.starting = found.rolling.value + (usual.starting - usual.rolling).max(0.0);
            self.rolling.rolling = found.rolling.value;
        }
        if let Some(curve) = found.curve_m.filter(|curve| curve.value >= 0.0) {
            self.rolling.curve_m = curve.value;
        }
    }
}
