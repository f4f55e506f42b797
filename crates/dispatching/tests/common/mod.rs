//! What the tests of this crate share: small random problems, an exhaustive enumeration of their plans,
//! and a second judge. None of it uses the solver or the product's judge.

#![allow(dead_code, reason = "each test binary uses a part of it")]

pub(crate) mod enumerate;
pub(crate) mod naive;
pub(crate) mod random;
