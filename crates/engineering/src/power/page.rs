//! How `power.toml` is written.

use model::text::{Form, Kind, Noun, Page, Table};

use crate::fields::{may, or};

/// `power.toml`.
pub static PAGE: Page = Page {
    path: "power.toml",
    form: Form::Toml,
    required: false,
    about: "Power districts: which tracks one booster or throttle feeds, by what wire.",
    table: &POWER,
};

static POWER: Table = Table {
    noun: "list of power districts",
    about: "Every power district, by name.",
    fields: &[may(
        "districts",
        Kind::Named(Some(Noun::PowerDistrict), &DISTRICT),
        "The power districts, by name.",
    )],
};

static DISTRICT: Table = Table {
    noun: "power district",
    about: "Tracks fed together.",
    fields: &[
        may(
            "stations",
            Kind::List(&Kind::Ref(Noun::Station)),
            "Stations all of whose tracks it feeds, but for those another district names one by one.",
        ),
        may(
            "tracks",
            Kind::List(&Kind::Ref(Noun::Track)),
            "Single tracks it feeds, each as `Station / track`.",
        ),
        may(
            "amps",
            Kind::Number(0.0, 100.0),
            "Current it may draw, in amperes.",
        ),
        may("wire", Kind::Whole(0, 40), "Size of the bus wire, AWG."),
        may(
            "bus_length",
            Kind::Length,
            "Length of the bus from the source to its far end.",
        ),
        or(
            "reversing",
            Kind::Flag,
            "false",
            "Whether it is a reversing section: its polarity follows the train.",
        ),
        may("note", Kind::Text, "Anything else worth writing down."),
    ],
};
