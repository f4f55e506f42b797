//! How `cars.csv` is written.

use model::text::{Field, Form, Kind, Need, Noun, Page, Table};

use super::{CarKind, CarState, RunningBoard, Underframe};

/// `cars.csv`.
pub static PAGE: Page = Page {
    path: "cars.csv",
    form: Form::Csv,
    required: false,
    about: "The car record: one row for each car, as it would stand on a card in the car shop.",
    table: &CAR,
};

const fn field(key: &'static str, kind: Kind, need: Need, about: &'static str) -> Field {
    Field {
        key,
        kind,
        need,
        about,
    }
}

static CAR: Table = Table {
    noun: "car",
    about: "A car. Elsewhere it goes by its marks and number, `SMR 101`.",
    fields: &[
        field(
            "marks",
            Kind::Text,
            Need::Required,
            "Reporting marks as stenciled. Read as capitals; blanks and `&` may be among them.",
        ),
        field(
            "number",
            Kind::Text,
            Need::Required,
            "Number as stenciled. A spreadsheet's `1,234` is read as 1234.",
        ),
        field(
            "aar",
            Kind::Text,
            Need::Optional,
            "Mechanical designation: `XM`, `RS`, `HM`, `NE`; from 1970 on also the car type code.",
        ),
        field(
            "kind",
            Kind::OneOf(CarKind::CHOICES),
            Need::Required,
            "What kind of car it is: shippers order cars by it.",
        ),
        field(
            "length",
            Kind::Length,
            Need::Required,
            "Over the pulling faces of the couplers: what it takes up in a train.",
        ),
        field(
            "inside_length",
            Kind::FullSize,
            Need::Optional,
            "Inside length, full size.",
        ),
        field(
            "height",
            Kind::FullSize,
            Need::Optional,
            "Extreme height above the rail, full size.",
        ),
        field(
            "capacity",
            Kind::FullSizeWeight,
            Need::Optional,
            "Nominal capacity, full size.",
        ),
        field(
            "light_weight",
            Kind::FullSizeWeight,
            Need::Optional,
            "Light weight, full size.",
        ),
        field(
            "built",
            Kind::PartialDate,
            Need::Optional,
            "When the car was built, full size.",
        ),
        field(
            "rebuilt",
            Kind::PartialDate,
            Need::Optional,
            "When it was last rebuilt, full size.",
        ),
        field(
            "painted",
            Kind::PartialDate,
            Need::Optional,
            "When it was first painted and lettered as the model is.",
        ),
        field(
            "retired",
            Kind::PartialDate,
            Need::Optional,
            "When it left service, full size.",
        ),
        field(
            "truck",
            Kind::Text,
            Need::Optional,
            "Truck sides, as `arch bar` or the name of the type. Arch bars are judged by the date.",
        ),
        field(
            "brake",
            Kind::Text,
            Need::Optional,
            "Brake valve, as `K` or `AB`. K brakes are judged by the date.",
        ),
        field(
            "underframe",
            Kind::OneOf(Underframe::CHOICES),
            Need::Optional,
            "Underframe.",
        ),
        field(
            "running_board",
            Kind::OneOf(RunningBoard::CHOICES),
            Need::Optional,
            "Running board.",
        ),
        field(
            "home_road",
            Kind::Ref(Noun::Road),
            Need::Optional,
            "The road it belongs to, if the marks do not say so: a private owner's car has none.",
        ),
        field(
            "weight",
            Kind::Weight,
            Need::Optional,
            "What the model weighs on a scale.",
        ),
        field(
            "couplers",
            Kind::Text,
            Need::Optional,
            "Couplers of the model.",
        ),
        field("wheels", Kind::Text, Need::Optional, "Wheels of the model."),
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
            "pool",
            Kind::Text,
            Need::Optional,
            "Name of the pool it is assigned to: it is used for its pool's shippers only.",
        ),
        field(
            "outside_length",
            Kind::FullSize,
            Need::Optional,
            "Length over the end sills, full size.",
        ),
        field(
            "width",
            Kind::FullSize,
            Need::Optional,
            "Extreme width, full size.",
        ),
        field(
            "truck_centers",
            Kind::FullSize,
            Need::Optional,
            "Distance between truck centers, full size: for overhang on curves.",
        ),
        field(
            "log",
            Kind::List(&Kind::Text),
            Need::Optional,
            "Dated log of its repairs, oldest first: `1996-03-02 new wheels; 1996-05-11 bad order, coupler`.",
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
