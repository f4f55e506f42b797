//! What carries a name in a railroad, who declares it, and who refers to it.

use std::collections::HashMap;

use super::rules::{duplicate_name, unknown_name};
use crate::{Diagnostics, Span, Spanned};

/// A kind of thing that other pages refer to by name.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Noun {
    /// A line or branch.
    Line,
    /// A division.
    Division,
    /// A station, yard, staging yard or junction.
    Station,
    /// A road: one's own, a foreign or a joint one, by its reporting marks.
    Road,
    /// A track of a station, written `Station / track`.
    Track,
    /// A car, by marks and number.
    Car,
    /// An engine, by number.
    Engine,
    /// A shipper or receiver.
    Shipper,
    /// A commodity.
    Commodity,
    /// A train, by number or symbol.
    Train,
    /// A job: the trains one crew works in a session.
    Job,
    /// A person.
    Person,
    /// A scene.
    Scene,
    /// A power district.
    PowerDistrict,
}

impl Noun {
    /// The word for one of them.
    pub fn word(self) -> &'static str {
        match self {
            Self::Line => "line",
            Self::Division => "division",
            Self::Station => "station",
            Self::Road => "road",
            Self::Track => "track",
            Self::Car => "car",
            Self::Engine => "engine",
            Self::Shipper => "shipper",
            Self::Commodity => "commodity",
            Self::Train => "train",
            Self::Job => "job",
            Self::Person => "person",
            Self::Scene => "scene",
            Self::PowerDistrict => "power district",
        }
    }
}

/// Names declared and names referred to, gathered while pages are read.
#[derive(Debug, Clone, Default)]
pub struct Names {
    declared: HashMap<Noun, HashMap<String, Span>>,
    referred: Vec<(Noun, Spanned<String>)>,
}

impl Names {
    /// Notes a declaration; the second one of the same name is reported.
    pub fn declare(&mut self, noun: Noun, name: &str, span: Span, out: &mut Diagnostics) {
        match self
            .declared
            .entry(noun)
            .or_default()
            .entry(name.to_owned())
        {
            std::collections::hash_map::Entry::Vacant(free) => {
                free.insert(span);
            }
            std::collections::hash_map::Entry::Occupied(first) => {
                out.push(duplicate_name::diagnostic(noun, name, span, *first.get()));
            }
        }
    }

    /// Notes a reference, to be looked up when everything is read.
    pub fn refer(&mut self, noun: Noun, name: &str, span: Span) {
        self.referred.push((
            noun,
            Spanned {
                value: name.to_owned(),
                span,
            },
        ));
    }

    /// Where a name was declared.
    pub fn find(&self, noun: Noun, name: &str) -> Option<Span> {
        self.declared.get(&noun)?.get(name).copied()
    }

    /// The declared names of a kind, sorted.
    pub fn all(&self, noun: Noun) -> Vec<&str> {
        let mut names: Vec<&str> = self
            .declared
            .get(&noun)
            .into_iter()
            .flatten()
            .map(|(name, _)| name.as_str())
            .collect();
        names.sort_unstable();
        names
    }

    /// Reports every reference to a name that nothing declares.
    pub fn resolve(&self, out: &mut Diagnostics) {
        for (noun, name) in &self.referred {
            if self.find(*noun, &name.value).is_none() {
                out.push(unknown_name::diagnostic(self, *noun, name));
            }
        }
    }
}
