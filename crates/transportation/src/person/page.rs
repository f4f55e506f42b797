//! How `people.csv` is written.

use model::text::{Field, Form, Kind, Need, Noun, Page, Table};

use super::Role;

/// `people.csv`.
pub static PAGE: Page = Page {
    path: "people.csv",
    form: Form::Csv,
    required: false,
    about: "The people who come to sessions, and what each is qualified for.",
    table: &PERSON,
};

const fn field(key: &'static str, kind: Kind, need: Need, about: &'static str) -> Field {
    Field {
        key,
        kind,
        need,
        about,
    }
}

static PERSON: Table = Table {
    noun: "person",
    about: "A person.",
    fields: &[
        field(
            "name",
            Kind::Name(Noun::Person),
            Need::Required,
            "Their name.",
        ),
        field(
            "qualified",
            Kind::List(&Kind::OneOf(Role::CHOICES)),
            Need::Optional,
            "What they are qualified for, parted by semicolons. If left out, anything.",
        ),
        field(
            "comes",
            Kind::Time,
            Need::Optional,
            "When they come, by the railroad's clock, if not at the beginning of the session.",
        ),
        field(
            "leaves",
            Kind::Time,
            Need::Optional,
            "When they leave, by the railroad's clock, if not at the end.",
        ),
        field("note", Kind::Text, Need::Optional, "Anything else."),
    ],
};
