//! The search.

pub(crate) mod atlas;
pub(crate) mod map;
pub(crate) mod problem;
pub(crate) mod route;
pub(crate) mod step;
pub(crate) mod store;
