//! Turnouts and crossings.
mod bill;
mod crossings;
mod owner;
mod parallel;
mod plan;
mod practice;
mod rail;
mod solve;
mod standard;
mod ties;
mod track;
mod turnouts;

pub use bill::BillLine;
pub use crossings::{Slips, crossing, crossover, curve, double_crossover, plain};
pub use owner::{Leads, TurnoutRules};
pub use parallel::{Line, Part, Route};
pub use plan::{Amount, Fact, Feed, Frog, FrogKind, Gap, Junction, Offset, Plan, Rail, Role, Side};
pub use practice::{
    Build, CastFrog, FrogStyle, GAUGE_FT, HEEL_SPREAD_FT, PLAN_910, POINT_THICKNESS_FT, PointStyle,
    Practice, Proportions, SplitSwitch,
};
pub use rail::RailSection;
pub use solve::{Given, Leg, Solved, Wanted, follow};
pub use standard::{Clearances, ROWS, Row, Standard};
pub use ties::{Tie, TieSize, TieTable};
pub use track::{OnTrack, along};
pub use turnouts::{Site, Style, equilateral, lateral, three_way};
