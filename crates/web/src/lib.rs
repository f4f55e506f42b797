//! The office: the railroad's documents in a browser, read and edited there.
//!
//! [`app`] is the whole of it as a function of requests, tested without a socket; [`serve`] puts it on
//! a port. Pages are written on the server, each a struct with its markup and tests beside it; the few
//! modules of script in `assets/` only save a round trip: every page can be read, and every change
//! made, without them.
//!
//! Solvers are not known here. Whoever serves the office hands it a table of functions, [`Services`].

mod app;
mod assets;
pub mod client;
mod diff;
mod forms;
mod frame;
mod guard;
mod ink;
pub mod live;
mod office;
mod pack;
mod pages;
mod secure;
mod serve;
pub mod services;
mod show;
mod works;

pub use app::app;
pub use office::Office;
pub use secure::Certificate;
pub use serve::{NoPort, Serving, bind};
pub use services::Services;
