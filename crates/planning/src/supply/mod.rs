//! Empty cars for orders: the best car for each, exactly.

pub mod flow;
