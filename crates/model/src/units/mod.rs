//! Quantities as types: lengths, speeds, weights, grades, curves and angles.
//!
//! Each is read as people write it, with a [`ReadError`] that says where and what is wrong, and is printed in a style that
//! the owner of the railroad chooses. What the tape measure says ([`Actual`], [`ActualSpeed`]) and what it stands for
//! ([`Prototype`], [`Speed`]) are different types; a [`Scale`](crate::scale::Scale) is the only way from one to the other.

mod angle;
mod curve;
mod grade;
mod length;
mod quantity;
pub(crate) mod read;
mod speed;
mod weight;

pub use angle::{Angle, AngleStyle, ShownAngle};
pub use curve::{CurveDefinition, CurveText, DegreeOfCurve};
pub use grade::{Grade, GradeStyle, ShownGrade};
pub use length::{Actual, Fraction, LengthStyle, LengthText, Prototype, ShownLength};
pub use read::{Fault, ReadError};
pub use speed::{ActualSpeed, ShownSpeed, Speed, SpeedStyle};
pub use weight::{ShownWeight, Weight, WeightStyle};
