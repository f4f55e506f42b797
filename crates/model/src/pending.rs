//! Stand-ins until the real types land.
#![allow(missing_docs)]
use crate::scale::Scale;
use crate::units::{Actual, Fault, ReadError};
macro_rules! q { ($($n:ident),*) => { $(#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Default)] pub struct $n(f64);
impl $n { pub fn parse(text: &str) -> Result<Self, ReadError> { let digits: String = text.chars().take_while(|c| c.is_ascii_digit() || *c == '.').collect();
 digits.parse().map(Self).map_err(|_| ReadError { at: 0..text.len(), fault: Fault::Empty { expected: "x".into() }, hint: None }) } })* } }
q!(Grade, Weight, Radius, Date, PartialDate);
impl Radius {
    pub fn on_model(self, _: Option<&Scale>) -> Option<Actual> {
        Some(Actual::from_meters(self.0))
    }
}
impl PartialDate {
    pub fn first(self) -> Date {
        Date(self.0)
    }
    pub fn last(self) -> Date {
        Date(self.0)
    }
}
