//! Whether cars and engines are right for a date, with the reason in a sentence.
//!
//! A car is right if it was built, rebuilt and painted as the model is by the last day the owner allows, had not left service
//! before the first, and no rule kept it from coming here on the modelled day. What the record does not say is said to be
//! unknown, not held to be right.

mod interchange;
mod judge;
mod moving;

pub use interchange::{
    Applies, Confidence, Country, InterchangeRule, RULES, Scope, Source, barred_since,
};
pub use judge::{Allowed, Finding, Judged, Standing, Why, judge_car, judge_engine};
pub use moving::{Change, moving};
