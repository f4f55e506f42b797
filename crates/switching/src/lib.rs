//! Search engine: moving cars on a small track graph. Knows nothing of railroads' files.

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
pub use draw::strip;
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
