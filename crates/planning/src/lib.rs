//! From the railroad to the engines and back: a town and its work compiled for `switching`, and the
//! answer in words, minutes and drawings.

pub mod bill;
pub mod capacity;
pub mod close;
pub mod crews;
pub mod day;
pub mod make_up;
pub mod orders;
mod parallel;
pub mod rest;
pub mod robust;
pub mod routing;
pub mod running;
pub mod season;
pub mod supply;
pub mod town;
