//! What a train resists with, level, curved and uphill; full size and on the model.
//!
//! All resistances are shares of the weight they act on: a share of 0.01 is 1 %, or 20 lb for each short ton. So a grade is
//! its own resistance, a car that just keeps rolling down 2 % has a rolling resistance of 2 %, and pounds per ton only
//! appear where a published formula has them.

mod calibrate;
mod model;
mod prototype;

pub use calibrate::{Calibration, Fit, TestPull, calibrate};
pub use model::ModelRolling;
pub use prototype::{
    Bearings, CURVE_PER_DEGREE, CarClass, Davis, Formula, GRADE_PER_PERCENT, acceleration,
    curve_share, from_lb_per_ton, lb_per_ton, velocity_head,
};
