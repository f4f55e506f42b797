//! The search.

pub(crate) mod atlas;
pub(crate) mod bound;
pub(crate) mod build;
pub(crate) mod clear;
pub(crate) mod done;
pub(crate) mod goals;
pub(crate) mod lone;
pub(crate) mod map;
pub(crate) mod problem;
pub(crate) mod route;
pub(crate) mod second;
pub(crate) mod seek;
pub(crate) mod state;
pub(crate) mod step;
pub(crate) mod store;
pub(crate) mod why;
