//! Sorting arrivals into outbound blocks.
//!
//! # In words
//!
//! Cars come in some order, each bound for a block of an outbound train. The engine shoves the cut
//! down the lead and drops car after car into the tracks; a car dropped first lies deepest, and
//! when the track is pulled and shoved again it is dropped first again. So a track keeps the order
//! of its cars, and each pull of a track is one more chance to put its cars somewhere else.
//!
//! # In symbols
//!
//! There are pulls 1..h, and pull *i* takes everything that then lies on one track. A car's
//! *code* is the set of pulls it takes part in. At the start it goes to the track of its first
//! pull, at each pull to the track of its next one, and after its last to the outbound track (with
//! no pull at all it goes there at once). Cars reach the outbound track in the order of their
//! codes, read as binary numbers with pull *i* worth 2^(i-1); cars with equal codes keep their
//! inbound order. So the outbound train comes out right exactly if codes never fall along it, and
//! cars with equal codes already follow each other inbound. (This is the encoding by which the
//! literature on multistage sorting counts; see R. Jacob, P. Marton, J. Maue, M. Nunkesser,
//! "Multistage methods for freight train classification", Networks 57, 2011; from memory.)
//!
//! How many different codes a train needs follows from the inbound order alone: [`chains`]. How
//! many codes there are follows from the yard:
//!
//! | method | rule | codes with h pulls |
//! |---|---|---|
//! | one by one | one track, each car pulled until its turn comes | h + 1 |
//! | each once | every car is pulled at most once: h tracks | h + 1 |
//! | triangular | every car is pulled at most twice | 1 + h(h+1)/2 |
//! | geometric (binary) | no limit | 2^h |
//! | w tracks | a track can only be loaded for its next pull | [`codes`] |
//!
//! Several outbound trains are sorted at once, each to its own outbound track, with the same pulls
//! (the simultaneous method): the longest set of chains decides.

mod session;
mod sort;

pub use session::{
    Arrival, Departing, Event, EventKind, Jam, SessionPlan, YardTrack, plan_session,
};
pub use sort::{
    Inbound, Method, Pace, SortError, SortPlan, SortStep, chains, codes, plan_sort, pulls_needed,
    queues_needed, sorts_through_one_stack, trade_off,
};
