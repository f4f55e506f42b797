//! How `engines.csv` is written.

use model::text::{Field, Form, Kind, Need, Noun, Page, Table};

use super::EngineKind;
use crate::car::CarState;

/// `engines.csv`.
pub static PAGE: Page = Page {
    path: "engines.csv",
    form: Form::Csv,
    required: false,
    about: "The engine record: one row for each engine. A set of units that is never parted is one engine.",
    table: &ENGINE,
};

const fn field(key: &'static str, kind: Kind, need: Need, about: &'static str) -> Field {
    Field {
        key,
        kind,
        need,
        about,
    }
}

static ENGINE: Table = Table {
    noun: "engine",
    about: "An engine. Elsewhere it goes by its number.",
    fields: &[
        field(
            "number",
            Kind::Name(Noun::Engine),
            Need::Required,
            "Road number; of a foreign engine with its marks before it.",
        ),
        field(
            "kind",
            Kind::OneOf(EngineKind::CHOICES),
            Need::Required,
            "What drives it.",
        ),
        field("class", Kind::Text, Need::Optional, "The road's own class."),
        field(
            "wheels",
            Kind::Text,
            Need::Optional,
            "Wheel arrangement: `2-8-0` for steam, `B-B` for diesel and electric.",
        ),
        field(
            "drivers",
            Kind::FullSize,
            Need::Optional,
            "Diameter of the driving wheels, full size.",
        ),
        field(
            "cylinders",
            Kind::Text,
            Need::Optional,
            "Bore and stroke in inches, full size: `22 x 28`. Of an articulated engine, those of one \
             pair, and `4 22 x 28` for four of them.",
        ),
        field(
            "pressure",
            Kind::Number(50.0, 500.0),
            Need::Optional,
            "Boiler pressure in pounds per square inch.",
        ),
        field(
            "engine_weight",
            Kind::FullSizeWeight,
            Need::Optional,
            "Weight of the engine without its tender, full size.",
        ),
        field(
            "tender_weight",
            Kind::FullSizeWeight,
            Need::Optional,
            "Weight of the tender with coal and water, full size.",
        ),
        field(
            "weight_on_drivers",
            Kind::FullSizeWeight,
            Need::Optional,
            "Weight on the driving wheels, full size.",
        ),
        field(
            "tractive_effort",
            Kind::FullSizeWeight,
            Need::Optional,
            "Rated tractive effort, full size, if it is not what cylinders, pressure and drivers give.",
        ),
        field(
            "horsepower",
            Kind::Number(10.0, 20_000.0),
            Need::Optional,
            "Rated horsepower, full size.",
        ),
        field(
            "length",
            Kind::Length,
            Need::Required,
            "Over the pulling faces, tender included: what it takes up in a train and on a turntable.",
        ),
        field(
            "height",
            Kind::FullSize,
            Need::Optional,
            "Extreme height above the rail, full size.",
        ),
        field(
            "width",
            Kind::FullSize,
            Need::Optional,
            "Extreme width, full size.",
        ),
        field(
            "minimum_radius",
            Kind::Radius,
            Need::Optional,
            "Sharpest curve the model runs on without trouble.",
        ),
        field(
            "drawbar_pull",
            Kind::Weight,
            Need::Optional,
            "What the model pulls on a spring scale when its wheels slip.",
        ),
        field(
            "weight",
            Kind::Weight,
            Need::Optional,
            "What the model weighs, tender included.",
        ),
        field(
            "address",
            Kind::Whole(0, 10_239),
            Need::Optional,
            "Decoder address.",
        ),
        field(
            "built",
            Kind::PartialDate,
            Need::Optional,
            "When the engine was built, full size.",
        ),
        field(
            "retired",
            Kind::PartialDate,
            Need::Optional,
            "When it left service, full size.",
        ),
        field(
            "state",
            Kind::OneOf(CarState::CHOICES),
            Need::Default("in service"),
            "Whether it can be used in a session.",
        ),
        field(
            "at",
            Kind::Ref(Noun::Track),
            Need::Optional,
            "Where it stands before the first session: `Station / track`.",
        ),
        field(
            "consist",
            Kind::Text,
            Need::Optional,
            "What it may run with, and what not: which end leads, which units it is numbered with, whether it may help at the rear.",
        ),
        field(
            "log",
            Kind::List(&Kind::Text),
            Need::Optional,
            "Dated log of its repairs, oldest first: `1996-03-02 new wheels; 1996-05-11 bad order, tender derails`.",
        ),
        field(
            "photo",
            Kind::Text,
            Need::Optional,
            "File or page of its photograph.",
        ),
        field("note", Kind::Text, Need::Optional, "Anything else."),
    ],
};
