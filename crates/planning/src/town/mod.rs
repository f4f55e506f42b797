//! A station as the switching engine sees it, the work of a session there, and its plan.
//!
//! [`compile()`] turns tracks into a town, [`visits`] says which trains work where, [`Sessions`] draws
//! what they find and bring, [`work()`] puts both together, and [`solve()`] asks the engine and sets
//! aside, with the reason, what cannot be worked from this side. [`case()`] does so for a typical
//! session, [`savings()`] tries changes of track on the same work, and [`estimate()`] says how long a train's
//! stop takes.

mod change;
mod compile;
mod demand;
mod pace;
mod review;
mod session;
mod solve;
mod visit;
mod work;

pub use change::Change;
pub(crate) use compile::usual_car;
pub use compile::{
    Assumptions, CompiledTown, Exit, HOLDING_GRADE, PER_INCH, SpotAt, actual, compile, end_name,
    units,
};
pub use demand::{Demand, demands};
pub use pace::{Pace, model_rates};
pub use review::{Came, Case, Dwell, Reviewed, Saving, case, estimate, quantile, savings};
pub use session::{
    DAYS_BEFORE, Dice, Facts, Inbound, Intent, RosterCar, Sessions, Standing, Target,
};
pub use solve::{Left, Planned, solve};
pub use visit::{Visit, end_toward, visits, visits_at};
pub use work::{Compiled, NoWork, work};
