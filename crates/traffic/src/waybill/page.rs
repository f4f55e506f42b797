//! How `waybills.csv` is written.

use model::text::{Field, Form, Kind, Need, Noun, Page, Table};

use super::CarLoad;

/// `waybills.csv`.
pub static PAGE: Page = Page {
    path: "waybills.csv",
    form: Form::Csv,
    required: false,
    about: "Waybills of past days, as a club may have kept them: one row for each move of a car.",
    table: &WAYBILL,
};

const fn field(key: &'static str, kind: Kind, need: Need, about: &'static str) -> Field {
    Field {
        key,
        kind,
        need,
        about,
    }
}

static WAYBILL: Table = Table {
    noun: "waybill",
    about: "One move of one car.",
    fields: &[
        field(
            "date",
            Kind::Date,
            Need::Required,
            "The day it was written.",
        ),
        field(
            "car",
            Kind::Text,
            Need::Required,
            "The car, by marks and number: `SMR 101`.",
        ),
        field(
            "from",
            Kind::Text,
            Need::Required,
            "Where it comes from: a station, a shipper, or `Harlan via East Staging`.",
        ),
        field(
            "to",
            Kind::Text,
            Need::Required,
            "Where it goes, written likewise.",
        ),
        field(
            "commodity",
            Kind::Text,
            Need::Optional,
            "What it carries; nothing if empty.",
        ),
        field(
            "train",
            Kind::Ref(Noun::Train),
            Need::Optional,
            "The train that carried it.",
        ),
        field(
            "state",
            Kind::OneOf(CarLoad::CHOICES),
            Need::Default("loaded"),
            "Loaded or empty.",
        ),
        field(
            "delivered",
            Kind::Date,
            Need::Optional,
            "The day on which the car came to where it goes; `sawby close` writes it.",
        ),
    ],
};
