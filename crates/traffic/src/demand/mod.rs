//! Demand: what the shippers' rows come to as streams of loads from one end to another, and when loads
//! are offered.
//!
//! A row of the shippers' page is written from one end's point of view; the receiver of a load often has
//! a row for it as well. [`lanes`] joins the two, so that no load is counted twice.

mod arrivals;
mod lane;

pub use arrivals::{Stream, poisson};
pub use lane::{End, Lane, Misfit, lanes};
