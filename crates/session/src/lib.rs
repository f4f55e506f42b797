//! The session as it is worked: commands, what they change, and the journal that loses nothing.
//!
//! A session begins with an [`Opening`], which holds all it needs of the railroad. [`State::decide`] turns
//! a [`Command`] into [`Event`]s or refuses it; [`State::apply`] enters them. Both are pure. The
//! [`Journal`] puts events on disk, a group of them at a time, and answers only then.

pub mod clock;
pub mod close;
pub mod command;
pub mod event;
pub mod journal;
pub mod open;
pub mod opening;
pub mod order;
pub mod refused;
pub mod rehearse;
pub mod replan;
pub mod state;
pub mod who;
pub mod wire;

pub use clock::{Clock, RealMillis};
pub use command::{Cause, Command, Done, NewPlan, Request, TrackPlace};
pub use event::{Event, Subject, What};
pub use journal::{Answer, Health, Journal, Receipt, SessionInfo, Trouble};
pub use open::{Sources, opening};
pub use opening::Opening;
pub use order::OrderText;
pub use refused::{Brief, Refused, Why};
pub use state::State;
pub use who::{Role, Who};
