//! How `jobs.toml` is written.

use model::text::{Field, Form, Kind, Need, Noun, Page, Table};

use crate::person::Role;

/// `jobs.toml`.
pub static PAGE: Page = Page {
    path: "jobs.toml",
    form: Form::Toml,
    required: false,
    about: "The jobs of a session: which trains one crew works, and the jobs in yards and offices.",
    table: &JOBS,
};

const fn field(key: &'static str, kind: Kind, need: Need, about: &'static str) -> Field {
    Field {
        key,
        kind,
        need,
        about,
    }
}

static JOBS: Table = Table {
    noun: "list of jobs",
    about: "The jobs of a session.",
    fields: &[field(
        "jobs",
        Kind::Named(Some(Noun::Job), &JOB),
        Need::Optional,
        "The jobs, by name: `[jobs.\"First Local\"]`.",
    )],
};

static JOB: Table = Table {
    noun: "job",
    about: "What one crew does in a session.",
    fields: &[
        field(
            "trains",
            Kind::List(&Kind::Ref(Noun::Train)),
            Need::Optional,
            "The trains it works, in order of time. A yard's or an office's job has none.",
        ),
        field(
            "people",
            Kind::Whole(0, 20),
            Need::Default("1"),
            "How many people it takes.",
        ),
        field(
            "roles",
            Kind::List(&Kind::OneOf(Role::CHOICES)),
            Need::Optional,
            "What those people must be qualified for.",
        ),
        field(
            "on_duty",
            Kind::Time,
            Need::Optional,
            "When it goes on duty.",
        ),
        field(
            "at",
            Kind::Ref(Noun::Station),
            Need::Optional,
            "Where it goes on duty.",
        ),
        field(
            "note",
            Kind::Text,
            Need::Optional,
            "Anything else; printed on the call board.",
        ),
    ],
};
