//! Cars through trains and yards.
//!
//! A [`Problem`] is in plain numbers: trains of several days with room for cars, length, tons and weight from
//! stop to stop, tracks with room, and cars that want to go. [`solve()`] gives each car a way, or leaves it
//! where it stands, at the least cost it can find, and a bound below which no plan comes.
//!
//! The bound is that of Lagrange: each limit gets a price, every car goes its own cheapest way at those
//! prices, and what the limits would cost in full is taken off (Fisher, The Lagrangian relaxation method for
//! solving integer programming problems, Management Science 27, 1981). It holds at any prices; they are
//! raised where trains are overfull. All of it is reckoned in whole numbers, so the bound is exact. The same
//! prices then guide the plan: cars are put on trains one by one, and a few at a time are taken off and put
//! on again.

mod path;
mod problem;
mod rows;
mod solve;

pub use path::Ways;
pub use problem::{Call, DAY, LegRoom, Move, Problem, Ride, Room, Route, Run, Size, Station};
pub use solve::{Full, Options, Plan, solve};
