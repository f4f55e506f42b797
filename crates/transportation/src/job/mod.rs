//! Jobs: the trains one crew works in a session.

mod page;
pub(crate) mod rules;

pub use page::PAGE;

use model::{
    Span, Spanned,
    text::{Record, Value},
    time::RailTime,
};

use crate::{
    person::Role,
    train::{owned, texts},
};

/// Which job of a [`Service`](crate::Service).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct JobId(pub(crate) u32);

impl JobId {
    /// Its place in [`Service::jobs`](crate::Service::jobs).
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// A job.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// The table it is written in.
    pub span: Span,
    /// Its name.
    pub name: Spanned<String>,
    /// The trains it works, in order.
    pub trains: Vec<Spanned<String>>,
    /// How many people it takes.
    pub people: Spanned<i64>,
    /// The roles those people must be qualified for.
    pub roles: Vec<Spanned<Role>>,
    /// When it goes on duty.
    pub on_duty: Option<Spanned<RailTime>>,
    /// Where it goes on duty.
    pub at: Option<Spanned<String>>,
    /// The owner's note.
    pub note: Option<String>,
}

impl Job {
    /// A job from its table.
    pub(crate) fn build(name: &Spanned<String>, record: &Record) -> Self {
        let roles = record
            .list("roles")
            .iter()
            .filter_map(|item| match item.value {
                Value::Word(word) => Role::from_word(word).map(|value| Spanned {
                    value,
                    span: item.span,
                }),
                _ => None,
            });
        Self {
            span: record.span,
            name: name.clone(),
            trains: texts(record, "trains"),
            people: record.whole("people").unwrap_or(Spanned {
                value: 1,
                span: record.span,
            }),
            roles: roles.collect(),
            on_duty: record.time("on_duty"),
            at: owned(record, "at"),
            note: record.text("note").map(|note| note.value.to_owned()),
        }
    }

    /// Whether it is worked without trains: a yard, an office, a dispatcher's desk.
    pub fn stands(&self) -> bool {
        self.roles.iter().any(|role| {
            matches!(
                role.value,
                Role::Dispatcher | Role::Yardmaster | Role::Operator | Role::Hostler
            )
        })
    }
}
