//! How `lines/*.toml` is written.

use model::text::{Form, Kind, Noun, Page, Table};

use super::{LineKind, StructureKind, Turn, Worked};
use crate::fields::{may, must, or};

/// `lines/*.toml`.
pub static PAGE: Page = Page {
    path: "lines/*.toml",
    form: Form::Toml,
    required: true,
    about: "A line: the districts of open line that join its stations, with their lengths, grades and curves.",
    table: &LINE,
};

static LINE: Table = Table {
    noun: "line",
    about: "A main line or a branch. The stations say at which mile of it they lie.",
    fields: &[
        must(
            "name",
            Kind::Name(Noun::Line),
            "The line's name, as stations refer to it.",
        ),
        or(
            "kind",
            Kind::OneOf(LineKind::CHOICES),
            "main",
            "What sort of line.",
        ),
        or(
            "worked",
            Kind::OneOf(Worked::CHOICES),
            "worked",
            "How it takes part in a session.",
        ),
        may(
            "owner",
            Kind::Ref(Noun::Road),
            "Marks of the road that owns it, if it is another than this one.",
        ),
        may(
            "division",
            Kind::Ref(Noun::Division),
            "The division it belongs to.",
        ),
        may(
            "directions",
            Kind::Row(&[
                ("toward lower miles", Kind::Text),
                ("toward higher miles", Kind::Text),
            ]),
            "What the timetable calls its two directions; `[\"west\", \"east\"]` if left out.",
        ),
        may(
            "superior",
            Kind::Text,
            "Which of the two directions is superior, if either is.",
        ),
        may(
            "ends",
            Kind::Row(&[
                ("toward lower miles", Kind::Text),
                ("toward higher miles", Kind::Text),
            ]),
            "How stations on the line name their two ends; `[\"W\", \"E\"]` if left out.",
        ),
        may(
            "grade",
            Kind::Grade,
            "Steepest grade allowed on this line, if other than the railroad's.",
        ),
        may(
            "radius",
            Kind::Radius,
            "Sharpest curve allowed on this line, if other than the railroad's.",
        ),
        may(
            "speed",
            Kind::Speed,
            "Speed allowed where nothing lower stands.",
        ),
        may(
            "passenger_speed",
            Kind::Speed,
            "Speed allowed to passenger trains, if other than `speed`.",
        ),
        may(
            "open",
            Kind::Tables(&OPEN),
            "The districts of open line, from the low-mile end.",
        ),
        may("note", Kind::Text, "Anything else worth writing down."),
    ],
};

static OPEN: Table = Table {
    noun: "district of open line",
    about: "The track between two stations.",
    fields: &[
        must(
            "from",
            Kind::Ref(Noun::Station),
            "The station at its low-mile end.",
        ),
        must(
            "to",
            Kind::Ref(Noun::Station),
            "The station at its high-mile end.",
        ),
        may(
            "from_end",
            Kind::Text,
            "The end of that station it leaves by, if other than the line's own word for it: needed where a branch leaves a junction.",
        ),
        may(
            "to_end",
            Kind::Text,
            "The end of the other station it arrives at.",
        ),
        may(
            "length",
            Kind::Length,
            "Length on the model, from the one station's end to the other's. Where an alignment describes it, it need not be measured.",
        ),
        or(
            "tracks",
            Kind::Whole(1, 2),
            "1",
            "Single or double track. The ends of double track are named `E1` and `E2`, `W1` and `W2` in the stations.",
        ),
        or(
            "blocks",
            Kind::Whole(1, 100),
            "1",
            "Into how many blocks it is parted: how many trains may follow one another in it.",
        ),
        may(
            "gap",
            Kind::FullSize,
            "Country that is not modelled: scheduled miles without track.",
        ),
        may(
            "elevation",
            Kind::Row(&[("at from", Kind::Length), ("at to", Kind::Length)]),
            "Height of the railhead above the floor at its two ends. If left out, that of the stations.",
        ),
        may(
            "profile",
            Kind::List(&Kind::Row(&[
                ("at", Kind::Length),
                ("elevation", Kind::Length),
            ])),
            "Where the grade changes on the way: distance from `from`, and height of the railhead.",
        ),
        may("curves", Kind::Tables(&CURVE), "Its curves, from `from`."),
        may("speed", Kind::Speed, "Speed allowed in this district."),
        may("slow", Kind::Tables(&SLOW), "Slow orders."),
        may(
            "structures",
            Kind::Tables(&STRUCTURE),
            "Bridges, tunnels and the like.",
        ),
        may("note", Kind::Text, "Anything else worth writing down."),
    ],
};

/// A curve of open line or of a track.
pub(crate) static CURVE: Table = Table {
    noun: "curve",
    about: "A stretch of track that turns.",
    fields: &[
        must(
            "from",
            Kind::Length,
            "Where it begins, from the beginning of the track.",
        ),
        must("to", Kind::Length, "Where it ends."),
        must("radius", Kind::Radius, "Radius of the center line."),
        may(
            "turn",
            Kind::OneOf(Turn::CHOICES),
            "To which hand it turns as one goes up the line.",
        ),
    ],
};

static SLOW: Table = Table {
    noun: "slow order",
    about: "A stretch where trains must run slower.",
    fields: &[
        must("from", Kind::Length, "Where it begins, from `from`."),
        must("to", Kind::Length, "Where it ends."),
        must("speed", Kind::Speed, "The speed allowed there."),
        may(
            "why",
            Kind::Text,
            "The reason, printed in the special instructions.",
        ),
    ],
};

static STRUCTURE: Table = Table {
    noun: "structure",
    about: "A bridge, a tunnel or the like.",
    fields: &[
        must("at", Kind::Length, "Where it begins, from `from`."),
        may(
            "length",
            Kind::Length,
            "How long it is; a point if left out.",
        ),
        must("kind", Kind::OneOf(StructureKind::CHOICES), "What it is."),
        may(
            "height",
            Kind::Length,
            "Clear height above the rail on the model, for tunnels, sheds and bridges overhead.",
        ),
        may(
            "width",
            Kind::Length,
            "Clear width on the model, the track in its middle.",
        ),
        may("name", Kind::Text, "Its name or number."),
    ],
};
