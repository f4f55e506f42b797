//! From the railroad to the engines and back: a town and its work compiled for `switching`, and the
//! answer in words, minutes and drawings.

<<<<<<< HEAD
pub mod bill;
=======
pub mod capacity;
>>>>>>> e7034da (sawby orders, crews, punctuality and capacity)
pub mod crews;
pub mod day;
pub mod make_up;
pub mod orders;
pub mod robust;
pub mod routing;
pub mod running;
pub mod supply;
pub mod town;
