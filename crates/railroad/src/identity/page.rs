//! How `railroad.toml` is written.

use engineering::turnout::{FrogStyle, PointStyle, Practice, Standard, TieTable};
use model::text::{Choice, Field, Form, Kind, Need, Noun, Page, Table};

/// `railroad.toml`.
pub static PAGE: Page = Page {
    path: "railroad.toml",
    form: Form::Toml,
    required: true,
    about: "Which railroad this is: its name, scale, date and the limits it is built to.",
    table: &RAILROAD,
};

static RAILROAD: Table = Table {
    noun: "railroad",
    about: "Everything in the folder is measured by what stands here.",
    fields: &[
        Field {
            key: "format",
            kind: Kind::Whole(0, i64::MAX),
            need: Need::Required,
            about: "Version of the layout of this folder; 1 today. The program says how to bring an older one up to date and refuses to guess at a newer one.",
        },
        Field {
            key: "name",
            kind: Kind::Text,
            need: Need::Required,
            about: "The railroad's name as printed at the head of its paper.",
        },
        Field {
            key: "marks",
            kind: Kind::Text,
            need: Need::Required,
            about: "Its own reporting marks.",
        },
        Field {
            key: "scale",
            kind: Kind::Text,
            need: Need::Required,
            about: "The scale by name (`HO`, `N`, `On30`, `P4`), or one of your own as a ratio with a gauge (`1:24 45 mm`).",
        },
        Field {
            key: "date",
            kind: Kind::Date,
            need: Need::Required,
            about: "The day that is modelled. Cars and engines are judged by it.",
        },
        Field {
            key: "equipment_from",
            kind: Kind::PartialDate,
            need: Need::Optional,
            about: "The owner allows equipment as it was from this day on: nothing repainted or rebuilt earlier is needed, nothing retired before it is wanted.",
        },
        Field {
            key: "equipment_to",
            kind: Kind::PartialDate,
            need: Need::Optional,
            about: "The owner allows equipment as it was up to this day. If left out, up to the modelled day.",
        },
        Field {
            key: "country",
            kind: Kind::OneOf(mechanical::era::Country::CHOICES),
            need: Need::Default("United States"),
            about: "Whose rules decide which cars may come in interchange.",
        },
        Field {
            key: "time_zone",
            kind: Kind::Text,
            need: Need::Optional,
            about: "Difference of the railroad's standard time from Greenwich, as `-07:00`: for the position of the sun.",
        },
        Field {
            key: "place",
            kind: Kind::Table(&PLACE),
            need: Need::Optional,
            about: "Where in the world the modelled region would be: for the position of the sun.",
        },
        Field {
            key: "units",
            kind: Kind::OneOf(UNITS),
            need: Need::Default("feet and inches"),
            about: "How lengths on the model are printed. Any unit may be written.",
        },
        Field {
            key: "clock_face",
            kind: Kind::OneOf(CLOCK_FACES),
            need: Need::Default("12 hour"),
            about: "How times of day are printed. Either may be written.",
        },
        Field {
            key: "clock",
            kind: Kind::Number(1.0, 60.0),
            need: Need::Default("4"),
            about: "Fast-clock ratio: how many railroad minutes pass in a real one.",
        },
        Field {
            key: "session",
            kind: Kind::Table(&SESSION),
            need: Need::Optional,
            about: "The part of the day that is run.",
        },
        Field {
            key: "limits",
            kind: Kind::Table(&LIMITS),
            need: Need::Optional,
            about: "What the owner builds to; a line may set its own.",
        },
        Field {
            key: "turnouts",
            kind: Kind::Table(&TURNOUTS),
            need: Need::Optional,
            about: "How turnouts are built: for plates at full size, and for leads and so usable lengths.",
        },
        Field {
            key: "roads",
            kind: Kind::Named(Some(Noun::Road), &ROAD),
            need: Need::Optional,
            about: "Other railroads, by their reporting marks: owners of foreign cars and of joint track.",
        },
        Field {
            key: "divisions",
            kind: Kind::Named(Some(Noun::Division), &DIVISION),
            need: Need::Optional,
            about: "Divisions, by name; a line says which it belongs to.",
        },
    ],
};

static PLACE: Table = Table {
    noun: "place",
    about: "A point on the earth.",
    fields: &[
        Field {
            key: "latitude",
            kind: Kind::Number(-90.0, 90.0),
            need: Need::Required,
            about: "Degrees, north positive.",
        },
        Field {
            key: "longitude",
            kind: Kind::Number(-180.0, 180.0),
            need: Need::Required,
            about: "Degrees, east positive.",
        },
        Field {
            key: "elevation",
            kind: Kind::FullSize,
            need: Need::Optional,
            about: "Height above the sea.",
        },
    ],
};

static UNITS: &[Choice] = &[
    Choice {
        word: "feet and inches",
        about: "12'-6 1/2\"",
    },
    Choice {
        word: "inches",
        about: "150 1/2 in",
    },
    Choice {
        word: "metric",
        about: "millimetres, and metres from one metre up",
    },
];

static CLOCK_FACES: &[Choice] = &[
    Choice {
        word: "12 hour",
        about: "7:05 PM",
    },
    Choice {
        word: "24 hour",
        about: "19:05",
    },
];

static SESSION: Table = Table {
    noun: "session",
    about: "The part of the railroad's day that fits an evening.",
    fields: &[
        Field {
            key: "begins",
            kind: Kind::Time,
            need: Need::Required,
            about: "What the fast clock shows at the start.",
        },
        Field {
            key: "real_time",
            kind: Kind::Duration,
            need: Need::Required,
            about: "How long it lasts by the clock on the wall.",
        },
    ],
};

static LIMITS: Table = Table {
    noun: "set of limits",
    about: "What the owner builds to. What passes a limit is reported.",
    fields: &[
        Field {
            key: "grade",
            kind: Kind::Grade,
            need: Need::Optional,
            about: "Steepest grade.",
        },
        Field {
            key: "radius",
            kind: Kind::Radius,
            need: Need::Optional,
            about: "Sharpest curve.",
        },
        Field {
            key: "frog_number",
            kind: Kind::Number(2.0, 30.0),
            need: Need::Optional,
            about: "Smallest frog number.",
        },
        Field {
            key: "train_length",
            kind: Kind::Length,
            need: Need::Optional,
            about: "Longest train, engine and caboose included.",
        },
        Field {
            key: "car_length",
            kind: Kind::Length,
            need: Need::Optional,
            about: "Longest car over pull faces that is to run.",
        },
        Field {
            key: "track_centers",
            kind: Kind::Length,
            need: Need::Optional,
            about: "Spacing of parallel tracks: sets how far beyond a switch its clearance point lies. If left out, 13 full-size feet.",
        },
        Field {
            key: "reverse_tangent",
            kind: Kind::Length,
            need: Need::Optional,
            about: "Shortest tangent between reverse curves. If left out, 50 full-size feet.",
        },
        Field {
            key: "car_gap",
            kind: Kind::Length,
            need: Need::Optional,
            about: "Least room between the sides of cars on neighboring tracks, their swing on curves counted. If left out, 1 full-size foot.",
        },
        Field {
            key: "side_clearance",
            kind: Kind::Length,
            need: Need::Optional,
            about: "Least room between the side of a car and a wall or post. If left out, 2 full-size feet.",
        },
        Field {
            key: "overhead",
            kind: Kind::Length,
            need: Need::Optional,
            about: "Least height from the railhead to whatever is overhead. If left out, 22 full-size feet.",
        },
        Field {
            key: "roadbed",
            kind: Kind::Length,
            need: Need::Optional,
            about: "From the railhead of a track down to the underside of what carries it. If left out, 1 in on the model.",
        },
        Field {
            key: "reach",
            kind: Kind::Length,
            need: Need::Optional,
            about: "How far from where people stand track may lie. If left out, 30 in.",
        },
        Field {
            key: "aisle",
            kind: Kind::Length,
            need: Need::Optional,
            about: "Narrowest aisle. If left out, 30 in.",
        },
        Field {
            key: "lowest",
            kind: Kind::Length,
            need: Need::Optional,
            about: "Lowest railhead above the floor. If left out, 30 in.",
        },
        Field {
            key: "highest",
            kind: Kind::Length,
            need: Need::Optional,
            about: "Highest railhead above the floor. If left out, 62 in.",
        },
        Field {
            key: "coupler_difference",
            kind: Kind::Length,
            need: Need::Optional,
            about: "How much the couplers of two cars may differ in height over a change of grade. If left out, 3 full-size inches.",
        },
    ],
};

static TURNOUTS: Table = Table {
    noun: "way to build turnouts",
    about: "What is left out is chosen by the scale.",
    fields: &[
        Field {
            key: "practice",
            kind: Kind::OneOf(Practice::CHOICES),
            need: Need::Optional,
            about: "By which practice they are proportioned. If left out, plates are drawn as `model` and clearance points reckoned with the longest lead, 2gN.",
        },
        Field {
            key: "standard",
            kind: Kind::OneOf(Standard::CHOICES),
            need: Need::Optional,
            about: "By which standard flangeways, guard rails and points are spaced.",
        },
        Field {
            key: "rail",
            kind: Kind::Whole(30, 400),
            need: Need::Optional,
            about: "Rail by its code, the height in thousandths of an inch.",
        },
        Field {
            key: "points",
            kind: Kind::OneOf(PointStyle::CHOICES),
            need: Need::Optional,
            about: "How points are made; straight if left out.",
        },
        Field {
            key: "frog",
            kind: Kind::OneOf(FrogStyle::CHOICES),
            need: Need::Optional,
            about: "How frogs are made; straight if left out.",
        },
        Field {
            key: "ties",
            kind: Kind::OneOf(TieTable::CHOICES),
            need: Need::Optional,
            about: "By which table ties are cut and spaced.",
        },
    ],
};

static ROAD: Table = Table {
    noun: "road",
    about: "A railroad.",
    fields: &[
        Field {
            key: "name",
            kind: Kind::Text,
            need: Need::Required,
            about: "Its full name.",
        },
        Field {
            key: "kind",
            kind: Kind::OneOf(ROAD_KINDS),
            need: Need::Default("foreign"),
            about: "What it is to this railroad.",
        },
        Field {
            key: "about",
            kind: Kind::Text,
            need: Need::Optional,
            about: "Where it lies and how its cars come here.",
        },
    ],
};

static ROAD_KINDS: &[Choice] = &[
    Choice {
        word: "own",
        about: "another set of this railroad's own marks",
    },
    Choice {
        word: "foreign",
        about: "another railroad",
    },
    Choice {
        word: "joint",
        about: "a railroad whose track is used in common",
    },
    Choice {
        word: "private",
        about: "an owner of cars that is no railroad",
    },
];

static DIVISION: Table = Table {
    noun: "division",
    about: "A part of the railroad under one superintendent.",
    fields: &[Field {
        key: "about",
        kind: Kind::Text,
        need: Need::Optional,
        about: "What it covers.",
    }],
};
