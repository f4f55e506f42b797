//! People: who can do what in a session.

mod page;
pub(crate) mod rules;

pub use page::PAGE;

use model::{
    Span, Spanned,
    text::{Record, Value},
    time::RailTime,
};

/// Which person of a [`Service`](crate::Service).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct PersonId(pub u32);

impl PersonId {
    /// Their place in [`Service::people`](crate::Service::people).
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

model::words! {
    /// What a person does in a session.
    pub enum Role {
        Engineer = "engineer", "runs the engine";
        Conductor = "conductor", "has charge of the train and its paper";
        Brakeman = "brakeman", "throws switches and couples cars";
        Dispatcher = "dispatcher", "moves the trains over the line";
        Yardmaster = "yardmaster", "has charge of a yard";
        Operator = "operator", "copies orders and reports trains at an office";
        Hostler = "hostler", "has charge of engines at a terminal";
    }
}

/// A person.
#[derive(Debug, Clone, PartialEq)]
pub struct Person {
    /// The row.
    pub span: Span,
    /// Their name.
    pub name: Spanned<String>,
    /// What they are qualified for; for anything, if nothing is written.
    pub qualified: Vec<Role>,
    /// When they come, if not at the beginning.
    pub comes: Option<Spanned<RailTime>>,
    /// When they leave, if not at the end.
    pub leaves: Option<Spanned<RailTime>>,
    /// The owner's note.
    pub note: Option<String>,
}

impl Person {
    /// A person from their row.
    pub(crate) fn build(record: &Record) -> Self {
        let qualified = record
            .list("qualified")
            .iter()
            .filter_map(|item| match item.value {
                Value::Word(word) => Role::from_word(word),
                _ => None,
            });
        Self {
            span: record.span,
            name: record.text("name").map_or_else(
                || Spanned {
                    value: String::new(),
                    span: record.span,
                },
                |name| name.map(str::to_owned),
            ),
            qualified: qualified.collect(),
            comes: record.time("comes"),
            leaves: record.time("leaves"),
            note: record.text("note").map(|note| note.value.to_owned()),
        }
    }

    /// Whether they can take a role.
    pub fn can(&self, role: Role) -> bool {
        self.qualified.is_empty() || self.qualified.contains(&role)
    }
}
