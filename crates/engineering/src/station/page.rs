//! How `stations/*.toml` is written.

use model::text::{Form, Kind, Noun, Page, Table};

use super::{Control, Facility, Hand, Slip, StationKind, SwitchKind, TrackUse};
use crate::{
    fields::{may, must, or},
    line::CURVE,
};

/// `stations/*.toml`.
pub static PAGE: Page = Page {
    path: "stations/*.toml",
    form: Form::Toml,
    required: true,
    about: "A station: its tracks, the switches that join them, and what stands there.",
    table: &STATION,
};

const MILE: Kind = Kind::Number(-100_000.0, 100_000.0);

static STATION: Table = Table {
    noun: "station",
    about: "A place where trains meet or work: a town, a yard, a staging yard, a junction.",
    fields: &[
        must(
            "name",
            Kind::Name(Noun::Station),
            "Its name as the timetable prints it.",
        ),
        must(
            "line",
            Kind::Ref(Noun::Line),
            "The line it lies on; a junction names its other lines under `also`.",
        ),
        must("mile", MILE, "Its scheduled mile on that line."),
        may("also", Kind::Tables(&ALSO), "Other lines that meet here."),
        or(
            "kind",
            Kind::OneOf(StationKind::CHOICES),
            "station",
            "What sort of place.",
        ),
        may(
            "ends",
            Kind::List(&Kind::Text),
            "Where the railroad goes on beyond the station. If left out, both ends of its line, and whatever else open line joins.",
        ),
        may("call", Kind::Text, "Its telegraph call."),
        may(
            "office",
            Kind::Table(&OFFICE),
            "The train-order office, if there is one.",
        ),
        may(
            "facilities",
            Kind::List(&Kind::OneOf(Facility::CHOICES)),
            "What else stands here.",
        ),
        or(
            "yard_limits",
            Kind::Flag,
            "false",
            "Whether it lies within yard limits.",
        ),
        may(
            "saw_by",
            Kind::Flag,
            "Whether two trains too long for its siding may saw by each other here. If left out, as the \
             operating page says.",
        ),
        may(
            "elevation",
            Kind::Length,
            "Height of the railhead above the floor, where no track says otherwise.",
        ),
        may(
            "elevations",
            Kind::Map(&Kind::Length),
            "Height of the railhead at an end, a switch, a joint or a turntable, by its name.",
        ),
        may(
            "joints",
            Kind::Map(&Kind::Length),
            "Places where two tracks meet end to end without a switch, by name, each with the height of the railhead there.",
        ),
        may("tracks", Kind::Named(None, &TRACK), "The tracks, by name."),
        may(
            "switches",
            Kind::Named(None, &SWITCH),
            "The switches, by name. Each lies on one track, and another begins or ends at it.",
        ),
        may(
            "crossings",
            Kind::Named(None, &CROSSING),
            "Where two tracks cross on the level, with or without slips.",
        ),
        may(
            "turntables",
            Kind::Named(None, &TURNTABLE),
            "Turntables and transfer tables, by name; tracks begin or end at them.",
        ),
        may("note", Kind::Text, "Anything else worth writing down."),
    ],
};

static ALSO: Table = Table {
    noun: "line of a junction",
    about: "Another line that meets here.",
    fields: &[
        must("line", Kind::Ref(Noun::Line), "The line."),
        must("mile", MILE, "The station's scheduled mile on it."),
    ],
};

static OFFICE: Table = Table {
    noun: "train-order office",
    about: "Where an operator takes orders.",
    fields: &[
        may(
            "hours",
            Kind::Row(&[("opens", Kind::Time), ("closes", Kind::Time)]),
            "When it is open; day and night if left out.",
        ),
        or(
            "register",
            Kind::Flag,
            "false",
            "Whether trains sign the register here.",
        ),
    ],
};

static TRACK: Table = Table {
    noun: "track",
    about: "A track from one place to another. Its length is that of the center line from the points of the switch (or the end, joint, turntable or bumper) where it begins to those where it ends.",
    fields: &[
        must(
            "from",
            Kind::Text,
            "Where it begins: a station end, a switch, a joint, a turntable, or `bumper`.",
        ),
        must("to", Kind::Text, "Where it ends, likewise."),
        may(
            "length",
            Kind::Length,
            "Length along its center line; at a switch, from its points. Where an alignment describes the track it need not be measured.",
        ),
        may(
            "usable",
            Kind::Length,
            "How much of it holds cars, by tape. If left out, computed between its clearance points.",
        ),
        must("use", Kind::OneOf(TrackUse::CHOICES), "What it is for."),
        may("radius", Kind::Radius, "Its sharpest curve."),
        may(
            "curves",
            Kind::Tables(&CURVE),
            "Its curves one by one, from its beginning.",
        ),
        may(
            "elevation",
            Kind::Row(&[("at from", Kind::Length), ("at to", Kind::Length)]),
            "Height of the railhead at its two ends. If left out, that of the places it joins, or of the station.",
        ),
        may("speed", Kind::Speed, "Speed allowed on it."),
        may(
            "spots",
            Kind::List(&Kind::Text),
            "Places where a car is set for loading or unloading, from its beginning.",
        ),
        may("spot_length", Kind::Length, "Length of one spot."),
        or(
            "several_trains",
            Kind::Flag,
            "false",
            "Whether trains may stand on it one behind another, as many as fit; meant for staging.",
        ),
        may("note", Kind::Text, "Anything else worth writing down."),
    ],
};

static SWITCH: Table = Table {
    noun: "switch",
    about: "A turnout. It lies on one track, and exactly one other begins or ends at it (two at a three-way).",
    fields: &[
        must("on", Kind::Text, "The track it lies on."),
        may(
            "at",
            Kind::Length,
            "How far along that track its points are, from the track's beginning. Where it is a `turnout` of an alignment it need not be measured.",
        ),
        must(
            "points",
            Kind::Text,
            "The station end its points face: a train coming from there meets the points first. Where that fails, as on a wye or a loop: `from` or `to` of the track it lies on.",
        ),
        must(
            "hand",
            Kind::OneOf(Hand::CHOICES),
            "To which hand the other track leaves, looking from the points.",
        ),
        may("number", Kind::Number(3.0, 30.0), "Frog number."),
        may(
            "normal",
            Kind::Text,
            "The track of its normal position, if that is not the one it lies on.",
        ),
        or(
            "control",
            Kind::OneOf(Control::CHOICES),
            "hand",
            "How it is thrown.",
        ),
        or(
            "kind",
            Kind::OneOf(SwitchKind::CHOICES),
            "turnout",
            "How it is made.",
        ),
        may("note", Kind::Text, "Anything else worth writing down."),
    ],
};

static CROSSING: Table = Table {
    noun: "crossing",
    about: "Two tracks that cross on the level.",
    fields: &[
        must(
            "on",
            Kind::Row(&[("one track", Kind::Text), ("other track", Kind::Text)]),
            "The two tracks.",
        ),
        must(
            "at",
            Kind::Row(&[("on the one", Kind::Length), ("on the other", Kind::Length)]),
            "How far along each of them it lies.",
        ),
        or(
            "angle",
            Kind::Number(2.0, 90.0),
            "90",
            "Angle between the tracks, in degrees.",
        ),
        or(
            "slip",
            Kind::OneOf(Slip::CHOICES),
            "none",
            "Whether trains can change from one track to the other here.",
        ),
    ],
};

static TURNTABLE: Table = Table {
    noun: "turntable",
    about: "A table that turns engines.",
    fields: &[must(
        "length",
        Kind::Length,
        "Length of its rails: what it can turn.",
    )],
};
