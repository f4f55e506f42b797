//! The car accountant's books opened from the folder.

mod ground;
mod open;

pub use ground::ground;
pub use open::open;
