//! The car accountant's books opened from the folder, and written back to it.

mod close;
mod ground;
mod open;

pub use close::{Settled, edits};
pub use ground::ground;
pub use open::open;
