//! Why a command was not carried out: what was found, what was expected, and what has happened meanwhile.

use serde::{Deserialize, Serialize};

/// What sort of refusal, for the status of an answer and for tests.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Why {
    /// The device's role or job does not allow it.
    NotAllowed,
    /// A name that nothing has.
    Unknown,
    /// It cannot be as things stand.
    NotNow,
    /// An order or authority conflicts with others, or a train has none to go.
    Authority,
    /// Someone else has changed the same thing since the device looked.
    Meanwhile,
    /// Everything has been stopped.
    Stopped,
    /// The session is closed, or none is open.
    Closed,
}

/// An event in a line, as shown to someone who missed it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Brief {
    /// The revision it made.
    pub revision: u64,
    /// Railroad seconds after midnight.
    pub rail: i64,
    /// By whom.
    pub name: String,
    /// By which device.
    pub device: String,
    /// What happened, as a sentence.
    pub sentence: String,
}

/// A command refused. [`std::fmt::Display`] gives all of it in sentences.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Refused {
    /// What sort.
    pub why: Why,
    /// What was found, as a sentence without its stop.
    pub found: String,
    /// What was expected, or what to do instead, in the same form; may be empty.
    pub expected: String,
    /// The revision the device saw, if it said so.
    pub seen: Option<u64>,
    /// The revision the journal is at.
    pub now: u64,
    /// What has happened to the same things since the device looked, the oldest first.
    pub meanwhile: Vec<Brief>,
}

impl Refused {
    pub(crate) fn new(why: Why, found: impl Into<String>, expected: impl Into<String>) -> Self {
        Self {
            why,
            found: found.into(),
            expected: expected.into(),
            seen: None,
            now: 0,
            meanwhile: Vec::new(),
        }
    }

    pub(crate) fn not_now(found: impl Into<String>, expected: impl Into<String>) -> Self {
        Self::new(Why::NotNow, found, expected)
    }
}

impl std::fmt::Display for Refused {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&capital(&self.found))?;
        f.write_str(".")?;
        if !self.expected.is_empty() {
            write!(f, " {}.", capital(&self.expected))?;
        }
        for brief in &self.meanwhile {
            write!(f, " Meanwhile: {}, by {}.", brief.sentence, brief.name)?;
        }
        Ok(())
    }
}

impl std::error::Error for Refused {}

pub(crate) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    match letters.next() {
        Some(first) => first.to_uppercase().chain(letters).collect(),
        None => String::new(),
    }
}
