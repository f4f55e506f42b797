//! Switching: moving cars on a small track graph, with as few moves or in as little time as can be
//! found, and with proof of how good that is. The crate knows nothing of a railroad's files.
//!
//! # The problem in words
//!
//! A train comes to a town with its engine at one end. Cars stand on the town's tracks. Some cars
//! of the train are to be left at certain tracks or doors, some that stand there are to go along,
//! others are only in the way. Tracks hold only so much, a switch is passed only through its
//! points, the engine is always at one end of whatever it handles, and a train can turn back at a
//! switch only when all of it has cleared it. Which couplings and set-outs, in which order?
//!
//! # The problem in symbols
//!
//! A [`Town`] is a graph of tracks joined at switches, joints, ends and boundaries, with a usable
//! length for each track, and *places* (rows of tracks) where cars may stand. A state holds, for
//! each place, the row of cars on it; the row of cars in the train with the engine among them; and
//! where the train can be. A **move** is a run followed by one handling: couple to the k nearest
//! cars of a place, or set out the k outermost cars of the train there. The count of moves is the
//! count of handlings; running is free when moves are counted, and costs time when time is.
//!
//! Where the train can be: call a *path* a longest line of free track, from a bumper, a boundary
//! or a standing cut to another, including the free rest of the places at its ends. The train can
//! slide along a path that is long enough, and change between two paths exactly where they share
//! a run of track at least as long as the train. Headshunts, tails too short, run-arounds and
//! pulling clear of a switch are all cases of this one rule.
//!
//! [`Work`] says what each car is for: a track (perhaps with an order), one of some marked spots,
//! leaving with the train in a block, or nothing in particular. [`solve`] answers with a plan, its
//! expected time, a proven lower bound and whether the plan is proven best; or proves that there
//! is no plan and says why ([`Reason`]); or gives up within its budget, with the bound.
//!
//! # How it searches
//!
//! Cars that differ in nothing that matters are one class. If all goal states can be listed, the
//! search runs breadth-first from both ends (couplings and set-outs undo each other). Otherwise
//! beams of growing width find and shorten a plan, and A* raises the bound. The bound counts
//! places still to be visited, neighbours still to be parted or joined, and what the most awkward
//! car would take alone in an empty town (complete tables, one for each class of car).
//!
//! Every plan is judged by [`replay`], which shares no code with the search; [`describe`] puts it
//! into words and [`strip()`] draws it, and both refuse a plan that the judge refuses.
//!
//! # What is simplified
//!
//! - Switches take no length. Cars on a place without marks may be bunched towards either end when
//!   room is needed, and count as standing at the far end from where they were set out: give a
//!   long main a shorter piece next to the switch for standing on.
//! - Cars cannot be left across the end of a place; list a row of tracks as one more place where
//!   they may be left across a switch.
//! - Track that loops back to its own switch is not run round; a wye is.
//! - The crew stands still in the clear while a due train passes, and every hand-thrown switch is
//!   lined back when it is cleared.
//! - On places with marks a cut is put so that one of its cars is exactly at a spot it may go to;
//!   "proven" means among such moves.
//!
//! # Example
//!
//! ```
//! use switching::{Goal, NodeKind, Options, Port, Town, Work, describe, replay, solve};
//!
//! let mut town = Town::new("Two spurs");
//! let west = town.node("west end", NodeKind::Boundary);
//! let s = town.node("mill switch", NodeKind::Switch { by_hand: true });
//! let (a, b) = (town.node("a", NodeKind::End), town.node("b", NodeKind::End));
//! let lead = town.track("lead", (west, Port::Through), (s, Port::Points), 200);
//! let mill = town.track("mill", (s, Port::Reverse), (a, Port::Through), 120);
//! let team = town.track("team", (s, Port::Normal), (b, Port::Through), 120);
//! let (mill, team) = (town.stand("mill", &[mill]), town.stand("team track", &[team]));
//!
//! let mut work = Work::new("engine 4", 60, &[lead], s);
//! let car = work.car("PB 7", 44, Goal::Track { places: vec![team], rank: None });
//! work.stands(mill, &[car]);
//!
//! let options = Options::default();
//! let answer = solve(&town, &work, &options, &|| false).expect("town and work make sense");
//! let solved = answer.solved().expect("there is a plan");
//! assert!(solved.proven && solved.moves == 2);
//! assert!(replay(&town, &work, &solved.plan).is_ok());
//! let words = describe(&town, &work, &solved.plan, &options.rates).unwrap();
//! assert_eq!(words[1].title, "Set out 1 car on the team track");
//! ```

pub mod answer;
pub mod draw;
pub mod plan;
pub mod rates;
pub mod replay;
mod search;
pub mod town;
pub mod words;
pub mod work;
pub mod yard;

pub use answer::{Answer, Objective, Options, Reason, Solved, Unusable, solve};
pub use draw::{frames, strip};
pub use plan::{Handling, Leaving, Leg, Move, Plan, Side, Stand};
pub use rates::{CalibrationError, Effort, Estimate, KINDS, Rates, calibrate};
pub use replay::{Picture, Refusal, Wrong, replay, replay_timed};
pub use search::atlas::{Atlas, Layout, UNREACHABLE};
pub use town::{
    Length, MAX_PLACES, Node, NodeId, NodeKind, Place, PlaceId, Port, Spot, Town, TownError, Track,
    TrackEnd, TrackId,
};
pub use words::{Words, describe};
pub use work::{
    Car, CarId, Departure, Engine, Goal, MAX_CARS, SpareEngine, Standing, StandingCar, Train,
    TrainDue, Work, WorkError,
};
