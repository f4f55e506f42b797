//! Who says something, and what they may say.

use serde::{Deserialize, Serialize};

/// What a device may do. Each may do what those before it may.
#[derive(
    Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, Default,
)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Looks on, and may stop everything.
    #[default]
    Visitor,
    /// Reports for the trains of their own job.
    Crew,
    /// Works the cars of a yard, calls trains, reports any train as an operator does.
    Yard,
    /// Moves the trains: orders, extras, track out of service, plans.
    Dispatcher,
    /// Runs the session: grants roles, sets the clock, closes out.
    Superintendent,
}

impl Role {
    /// All, the least first.
    pub const ALL: [Self; 5] = [
        Self::Visitor,
        Self::Crew,
        Self::Yard,
        Self::Dispatcher,
        Self::Superintendent,
    ];

    /// The word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Visitor => "visitor",
            Self::Crew => "crew",
            Self::Yard => "yard",
            Self::Dispatcher => "dispatcher",
            Self::Superintendent => "superintendent",
        }
    }

    /// What the word stands for.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.word() == word)
    }
}

impl std::fmt::Display for Role {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(self.word())
    }
}

/// Who gives a command: written beside every event, so that the journal says who did what.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Who {
    /// The person's name, as they gave it when they joined.
    pub name: String,
    /// The device, by a name that is no secret (not the cookie).
    pub device: String,
    /// What the device may do. The server takes it from [`crate::State::role_of`].
    pub role: Role,
}

impl Who {
    /// The laptop itself: whoever can start the program may do everything.
    pub fn office() -> Self {
        Self {
            name: "the office".into(),
            device: "office".into(),
            role: Role::Superintendent,
        }
    }
}
