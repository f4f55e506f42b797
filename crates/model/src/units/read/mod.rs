//! Reading of quantities as people write them: numbers, fractions, unit words, and what is wrong with them.

mod parts;
mod reader;

use std::ops::Range;

pub(crate) use parts::{Amount, Mark, Quantity, Unit};
pub(crate) use reader::{Number, Reader};

/// Why a text could not be read as a quantity, a time or a date.
///
/// `Display` gives the fault followed by the hint in parentheses; take the fields apart to set them on lines of their own.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{fault}{}", .hint.as_ref().map(|h| format!(" ({h})")).unwrap_or_default())]
pub struct ReadError {
    /// Bytes of the input at fault. Empty at the end of the input when something is missing there.
    pub at: Range<usize>,
    /// What was found and what was expected.
    pub fault: Fault,
    /// What was probably meant, or what to write instead.
    pub hint: Option<String>,
}

/// The kinds of fault a text can have.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Fault {
    /// There is nothing but blanks.
    #[error("nothing is written here: expected {expected}")]
    Empty {
        /// What should stand here.
        expected: String,
    },
    /// A number without a unit.
    #[error("{number} of what? Expected a unit of {quantity}")]
    MissingUnit {
        /// The number as written.
        number: String,
        /// The quantity wanted, such as "length".
        quantity: &'static str,
    },
    /// A word that is no unit of the quantity wanted.
    #[error("`{found}` is not a unit of {quantity}")]
    UnknownUnit {
        /// The word as written.
        found: String,
        /// The quantity wanted, such as "length".
        quantity: &'static str,
    },
    /// Something other than what was expected.
    #[error("found {found}, expected {expected}")]
    Unexpected {
        /// What stands there, in backquotes, or "the end of the text".
        found: String,
        /// What should stand there.
        expected: String,
    },
    /// A value that cannot be right.
    #[error("`{found}` is out of range: expected {expected}")]
    OutOfRange {
        /// The value as written.
        found: String,
        /// The range allowed.
        expected: String,
    },
    /// A text with two sensible readings.
    #[error("`{found}` can be read two ways: {readings}")]
    Ambiguous {
        /// The text as written.
        found: String,
        /// Both readings, joined by "or".
        readings: String,
    },
    /// A scale length where only a real one can be understood, or the other way about.
    #[error("`{found}` can be converted only where the railroad's scale is known")]
    NeedsScale {
        /// The text as written.
        found: String,
    },
}

impl ReadError {
    pub(crate) fn new(at: Range<usize>, fault: Fault) -> Self {
        Self {
            at,
            fault,
            hint: None,
        }
    }

    pub(crate) fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }
}

/// The candidate most like `word`, if any is like enough to be worth offering.
pub(crate) fn nearest<'c>(
    word: &str,
    candidates: impl Iterator<Item = &'c str>,
) -> Option<&'c str> {
    let word = word.to_lowercase();
    candidates
        .map(|c| (strsim::damerau_levenshtein(&word, &c.to_lowercase()), c))
        .filter(|(distance, c)| *distance <= 1 + c.chars().count() / 4 && *distance < c.len())
        .min_by_key(|(distance, _)| *distance)
        .map(|(_, c)| c)
}

/// `value` with that many decimals, without a minus before zero.
pub(crate) fn decimal(value: f64, decimals: u8) -> String {
    let text = format!("{value:.*}", usize::from(decimals));
    let zero = text.starts_with('-') && !text.contains(|c: char| ('1'..='9').contains(&c));
    if zero { text[1..].to_owned() } else { text }
}
