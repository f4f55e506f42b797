//! Every printed form, and the only crate that has heard of PDF pages and typesetting.
//!
//! A form is a struct of plain texts and numbers, made from the departments' nouns, beside a sheet
//! that lays it out (`forms/NAME.typ`). [`Press`] sets the two together. So what is on paper can be
//! tested without setting it, and the look can be changed without touching what is said.

pub mod code;
pub mod document;
pub mod form;
pub mod forms;
pub mod impose;
pub mod press;
pub mod session;
pub mod sheet;
pub mod words;

pub use document::{Document, For, Own};
pub use form::{Filled, Form, Head, Logo, Occasion, bind, fill, set};
pub use impose::{Binding, Format, impose};
pub use press::{Overflow, Press, PressError, Printed, forget};
pub use session::{Called, Dispatch, Person, Session};
pub use sheet::{Paper, Size};
pub use words::Wording;
