//! How `tonnage.toml` and `test-pulls.csv` are written.

use model::text::{Choice, Field, Form, Kind, Need, Page, Table};

use super::{Governs, RatedFor};

/// `tonnage.toml`.
pub static PAGE: Page = Page {
    path: "tonnage.toml",
    form: Form::Toml,
    required: false,
    about: "What tonnage ratings are reckoned by. Without it they are reckoned by common practice.",
    table: &TONNAGE,
};

/// `test-pulls.csv`.
pub static PULLS_PAGE: Page = Page {
    path: "test-pulls.csv",
    form: Form::Csv,
    required: false,
    about: "Test pulls: a cut of cars drawn by a spring scale at a walk. From them comes how hard this railroad's cars \
            roll and its curves drag.",
    table: &PULL,
};

const fn field(key: &'static str, kind: Kind, need: Need, about: &'static str) -> Field {
    Field {
        key,
        kind,
        need,
        about,
    }
}

/// The words for the formula, in the order of `Formula`.
pub(super) const FORMULAS: &[Choice] = &[
    Choice {
        word: "Davis 1926",
        about: "W. J. Davis Jr., for plain bearings",
    },
    Choice {
        word: "modified Davis",
        about: "the modification of the 1970s for heavy cars on roller bearings",
    },
];

/// The words for bearings, in the order of `Bearings`.
pub(super) const BEARINGS: &[Choice] = &[
    Choice {
        word: "plain",
        about: "20 lb a ton to start",
    },
    Choice {
        word: "roller",
        about: "5 lb a ton to start",
    },
];

static TONNAGE: Table = Table {
    noun: "way of rating",
    about: "What tonnage ratings are reckoned by.",
    fields: &[
        field(
            "governs",
            Kind::OneOf(Governs::CHOICES),
            Need::Default("model"),
            "Which of the two reckonings limits trains; both are shown.",
        ),
        field(
            "rated_for",
            Kind::OneOf(RatedFor::CHOICES),
            Need::Default("starting"),
            "What a rated train must be able to do.",
        ),
        field(
            "season",
            Kind::Text,
            Need::Default("fair"),
            "The season in force: `fair`, `wet rail`, `cold`, `severe cold` or one of your own.",
        ),
        field(
            "speed",
            Kind::Speed,
            Need::Default("10 mph"),
            "Speed of a rated train on the ruling grade, full size.",
        ),
        field(
            "formula",
            Kind::OneOf(FORMULAS),
            Need::Default("Davis 1926"),
            "Formula of train resistance, full size.",
        ),
        field(
            "bearings",
            Kind::OneOf(BEARINGS),
            Need::Default("plain"),
            "What most cars' journals run in, full size.",
        ),
        field(
            "curve_resistance",
            Kind::Number(0.0, 3.0),
            Need::Default("0.8"),
            "Curve resistance of a moving train in lb per ton and degree, full size.",
        ),
        field(
            "curve_starting",
            Kind::Number(0.0, 3.0),
            Need::Default("0.8"),
            "The same when a train starts. Webb, The Economics of Railroad Construction, has up to 2, on curves far wider \
             than a model's.",
        ),
        field(
            "rolling",
            Kind::Grade,
            Need::Default("2 %"),
            "The grade on which the model's cars just keep rolling by themselves. Test pulls count before it.",
        ),
        field(
            "starting",
            Kind::Grade,
            Need::Default("2.5 %"),
            "The grade on which the model's cars just begin to roll by themselves.",
        ),
        field(
            "curve",
            Kind::Table(&CURVE),
            Need::Optional,
            "How much one of the model's curves drags. If left out, as on the full-size railroad: in HO 32 % over the radius \
             in inches. Test pulls count before it.",
        ),
        field(
            "pull",
            Kind::Number(0.02, 0.8),
            Need::Default("0.22"),
            "What an engine of the model pulls as a share of its weight, where its pull was not measured.",
        ),
        field(
            "load",
            Kind::Number(0.0, 1.0),
            Need::Default("0.6"),
            "How much of its capacity the usual loaded car carries, full size.",
        ),
        field(
            "car",
            Kind::Table(&CAR),
            Need::Optional,
            "The car ratings are counted in. If left out, the mean of the freight cars in service.",
        ),
        field(
            "train_cars",
            Kind::Whole(1, 500),
            Need::Optional,
            "How many cars the trains have for which helpers are found. If left out, as many as the longest train.",
        ),
        field(
            "seasons",
            Kind::Named(None, &SEASON),
            Need::Optional,
            "Seasons of your own, in place of the usual ones.",
        ),
    ],
};

static CURVE: Table = Table {
    noun: "curve's drag",
    about: "How much a curve drags.",
    fields: &[
        field("radius", Kind::Radius, Need::Required, "Its radius."),
        field(
            "drag",
            Kind::Grade,
            Need::Required,
            "The grade that holds a train as much.",
        ),
    ],
};

static CAR: Table = Table {
    noun: "rating car",
    about: "The car ratings are counted in.",
    fields: &[
        field(
            "length",
            Kind::Length,
            Need::Optional,
            "Over the pulling faces.",
        ),
        field(
            "weight",
            Kind::Weight,
            Need::Optional,
            "Weight of the model.",
        ),
        field(
            "full_size",
            Kind::FullSizeWeight,
            Need::Optional,
            "Weight with its load, full size.",
        ),
    ],
};

static SEASON: Table = Table {
    noun: "season",
    about: "Rail and weather.",
    fields: &[
        field(
            "adhesion",
            Kind::Number(0.05, 0.45),
            Need::Default("0.25"),
            "Share of the weight on drivers that holds on the rail.",
        ),
        field(
            "pull",
            Kind::Number(0.2, 1.0),
            Need::Default("1"),
            "Share of the pull that is counted on.",
        ),
    ],
};

static PULL: Table = Table {
    noun: "test pull",
    about: "One reading of the spring scale.",
    fields: &[
        field("cars", Kind::Text, Need::Optional, "Which cars."),
        field(
            "weight",
            Kind::Weight,
            Need::Required,
            "What they weigh together.",
        ),
        field(
            "pull",
            Kind::Weight,
            Need::Required,
            "What the scale showed while they moved at a walk.",
        ),
        field(
            "grade",
            Kind::Grade,
            Need::Optional,
            "The grade they were drawn up; level if left out.",
        ),
        field(
            "radius",
            Kind::Radius,
            Need::Optional,
            "The curve all of them stood on; straight if left out.",
        ),
        field("date", Kind::Date, Need::Optional, "When."),
        field("note", Kind::Text, Need::Optional, "Anything else."),
    ],
};
