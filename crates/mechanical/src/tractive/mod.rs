//! What an engine pulls, full size: of steam from its cylinders, of diesel and electric engines from horsepower, and never
//! more than its drivers hold on the rail. A force is given as the weight that presses with it.

mod adhesion;
mod power;
mod steam;

pub use adhesion::{Season, factor_of_adhesion};
pub use power::from_horsepower;
pub use steam::{SteamEngine, speed_factor};
