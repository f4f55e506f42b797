//! How `shippers.csv` is written.

use mechanical::CarKind;
use model::text::{Field, Form, Kind, Need, Noun, Page, Table};

use super::{Does, Moves};

/// `shippers.csv`.
pub static PAGE: Page = Page {
    path: "shippers.csv",
    form: Form::Csv,
    required: false,
    about: "Who ships and receives what: one row for each commodity and kind of car, so that most \
            shippers have several rows.",
    table: &FLOW,
};

const fn field(key: &'static str, kind: Kind, need: Need, about: &'static str) -> Field {
    Field {
        key,
        kind,
        need,
        about,
    }
}

static FLOW: Table = Table {
    noun: "shipper's row",
    about: "What a shipper ships or receives in one kind of car.",
    fields: &[
        field(
            "shipper",
            Kind::Text,
            Need::Required,
            "The shipper's or receiver's name.",
        ),
        field(
            "station",
            Kind::Ref(Noun::Station),
            Need::Required,
            "The station that serves it.",
        ),
        field(
            "track",
            Kind::Text,
            Need::Required,
            "The track of that station where its cars are spotted.",
        ),
        field(
            "spots",
            Kind::List(&Kind::Text),
            Need::Optional,
            "The spots of the track it uses, parted by semicolons. If left out, any place on the track.",
        ),
        field(
            "does",
            Kind::OneOf(Does::CHOICES),
            Need::Required,
            "Which way the loads go.",
        ),
        field("commodity", Kind::Text, Need::Required, "What is loaded."),
        field(
            "car_kind",
            Kind::OneOf(CarKind::CHOICES),
            Need::Required,
            "The kind of car it is loaded in, in the words of the car record.",
        ),
        field(
            "cars_per_week",
            Kind::Number(0.0, 1000.0),
            Need::Required,
            "How many cars a week of the railroad's calendar, in season; 0.5 is one every other week.",
        ),
        field(
            "place",
            Kind::Text,
            Need::Optional,
            "Where it goes to or comes from: a station, or a place off the line with the staging or \
             interchange that leads there, `Harlan via East Staging`. If left out, whoever on the \
             railroad ships or receives the same.",
        ),
        field(
            "dwell",
            Kind::Duration,
            Need::Optional,
            "How long a car stands to be loaded or unloaded, by the railroad's clock: `24 h`, `2 days`.",
        ),
        field(
            "season",
            Kind::Text,
            Need::Default("all year"),
            "Months in which it moves: `Sep-Nov`, `Jun, Sep-Oct`, `winter`, `all year`.",
        ),
        field(
            "priority",
            Kind::Whole(1, 9),
            Need::Default("5"),
            "Which is served first when cars or room are short: 1 before 9.",
        ),
        field(
            "pool",
            Kind::Text,
            Need::Optional,
            "The pool of cars it uses before all others.",
        ),
        field(
            "days",
            Kind::Days,
            Need::Default("daily"),
            "The days of the week on which cars are wanted or loads are offered: the cars of a week are \
             spread over them.",
        ),
        field(
            "moves",
            Kind::OneOf(Moves::CHOICES),
            Need::Default("carload"),
            "In what manner it moves.",
        ),
        field(
            "cars_at_once",
            Kind::Whole(1, 200),
            Need::Default("1"),
            "How many cars are ordered, loaded and carried together as a unit; `cars_per_week` counts the \
             single cars.",
        ),
        field(
            "not_after",
            Kind::List(&Kind::Text),
            Need::Optional,
            "What the car must not have carried last, unless it has been cleaned: `coal; cattle`.",
        ),
        field(
            "clean",
            Kind::Flag,
            Need::Default("no"),
            "Whether it needs a clean car: none that something dirty was unloaded from and that has not been \
             cleaned since.",
        ),
        field(
            "dirties",
            Kind::Flag,
            Need::Default("no"),
            "Whether it leaves the car dirty. Cars are cleaned on a repair track, and beyond the line.",
        ),
        field(
            "captive",
            Kind::Flag,
            Need::Default("no"),
            "Whether only cars of the `pool` will do. Emptied, they go back to where they are loaded.",
        ),
        field(
            "away",
            Kind::Duration,
            Need::Default("1 day"),
            "If it leaves the railroad: how long its car is away until it is back empty at the staging or \
             interchange.",
        ),
        field("note", Kind::Text, Need::Optional, "Anything else."),
    ],
};
