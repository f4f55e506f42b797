//! How `alignments/*.toml` is written.

use model::text::{Form, Kind, Noun, Page, Table};

use super::{Adjusts, Governs};
use crate::{
    fields::{may, or},
    line::Turn,
    station::Hand,
};

/// `alignments/*.toml`.
pub static PAGE: Page = Page {
    path: "alignments/*.toml",
    form: Form::Toml,
    required: false,
    about: "Where the track lies in the room: center lines as a surveyor describes them, one element after another.",
    table: &ALIGNMENT,
};

const DEGREES: Kind = Kind::Number(-3600.0, 3600.0);

/// A point of the room.
pub(crate) const POINT: Kind = Kind::Row(&[
    ("to the right", Kind::Length),
    ("up the plan", Kind::Length),
]);

static ALIGNMENT: Table = Table {
    noun: "alignment",
    about: "Center lines that lie together. All pages share one plan of the house: the first number of a point is its distance to the right, the second up the plan; bearings are degrees clockwise from straight up.",
    fields: &[
        or(
            "governs",
            Kind::OneOf(Governs::CHOICES),
            "alignment",
            "Where an alignment and the tape in a station's or line's page disagree: which of them holds.",
        ),
        may(
            "easement",
            Kind::Length,
            "Length of the easement at each end of a curve that gives none of its own; none if left out.",
        ),
        may(
            "vertical_curve",
            Kind::Length,
            "Length of the vertical curve where grades change and nothing else is said; none if left out.",
        ),
        may(
            "center_lines",
            Kind::Tables(&CENTER_LINE),
            "The center lines.",
        ),
        may("note", Kind::Text, "Anything else worth writing down."),
    ],
};

static CENTER_LINE: Table = Table {
    noun: "center line",
    about: "The middle of one track, from its beginning to its end. That of a station's track or of open line gives it its length, curves and grades.",
    fields: &[
        may(
            "track",
            Kind::Ref(Noun::Track),
            "The track it is that of, as `Station / track`. It begins where the track begins.",
        ),
        may(
            "line",
            Kind::Ref(Noun::Line),
            "The line whose open line it is that of, with `between`.",
        ),
        may(
            "between",
            Kind::Row(&[
                ("from", Kind::Ref(Noun::Station)),
                ("to", Kind::Ref(Noun::Station)),
            ]),
            "The two stations between which that lies, toward higher miles.",
        ),
        or(
            "number",
            Kind::Whole(1, 2),
            "1",
            "Which track of double track.",
        ),
        may(
            "name",
            Kind::Text,
            "Its name, if others refer to it; otherwise that of its track, or `From - To`.",
        ),
        may(
            "begin",
            Kind::Table(&BEGIN),
            "Where it begins. If left out: at the switch, joint or station end where its track begins, on a center line that is there.",
        ),
        may(
            "elements",
            Kind::Tables(&ELEMENT),
            "One after another from its beginning, each told by one of `tangent`, `left`, `right`, `connect`, `parallel`, `turnout` or `crossing`.",
        ),
        may(
            "end",
            Kind::Table(&END),
            "Where it is to end. If left out: at the switch, joint or station end where its track ends, if a center line is there already; else wherever it comes to.",
        ),
        may(
            "grades",
            Kind::Tables(&GRADE),
            "Where the grade changes, from its beginning. If left out, the heights of the station's or line's page.",
        ),
        may("note", Kind::Text, "Anything else worth writing down."),
    ],
};

static BEGIN: Table = Table {
    noun: "beginning",
    about: "Where a center line begins: a point with a bearing, or another center line.",
    fields: &[
        may("at", POINT, "The point."),
        may(
            "bearing",
            DEGREES,
            "Which way it goes, in degrees clockwise from straight up the plan.",
        ),
        may(
            "after",
            Kind::Text,
            "The center line at whose end it begins, going on.",
        ),
        may(
            "back_from",
            Kind::Text,
            "The center line at whose beginning it begins, going the other way.",
        ),
        may(
            "turnout",
            Kind::Text,
            "The turnout it leaves by, an element of the center line under `on`.",
        ),
        may("on", Kind::Text, "The center line that turnout lies on."),
    ],
};

static END: Table = Table {
    noun: "end",
    about: "Where a center line is to end: a point with a bearing, another center line, or where it began.",
    fields: &[
        may("at", POINT, "The point."),
        may("bearing", DEGREES, "Which way it arrives there."),
        may(
            "before",
            Kind::Text,
            "The center line at whose beginning it ends.",
        ),
        may(
            "turnout",
            Kind::Text,
            "The turnout it comes in by, an element of the center line under `on`.",
        ),
        may("on", Kind::Text, "The center line that turnout lies on."),
        or(
            "closed",
            Kind::Flag,
            "false",
            "Whether it ends where it began: a loop.",
        ),
    ],
};

static ELEMENT: Table = Table {
    noun: "element",
    about: "A piece of a center line.",
    fields: &[
        may("tangent", Kind::Length, "Straight, for such a length."),
        may(
            "left",
            Kind::Radius,
            "A curve to the left of such a radius or degree; with `angle`, `length` or `bearing`.",
        ),
        may("right", Kind::Radius, "A curve to the right, likewise."),
        may(
            "angle",
            Kind::Number(0.0, 36_000.0),
            "Angle between the tangents of a curve, in degrees: all it turns, easements included.",
        ),
        may(
            "length",
            Kind::Length,
            "Length of a curve, easements included; or how far a parallel goes.",
        ),
        may(
            "bearing",
            DEGREES,
            "The bearing on which a curve, or a connection to a point, ends.",
        ),
        may(
            "easement",
            Kind::Length,
            "Length of its easements, where it is not the page's; `0 in` for none.",
        ),
        may(
            "easement_in",
            Kind::Length,
            "That of the first alone, if they differ.",
        ),
        may("easement_out", Kind::Length, "That of the second alone."),
        may(
            "connect",
            Kind::Radius,
            "To `to`, or to the end of the center line, by tangents and curves of this radius: one curve if that will do, else two with a tangent between.",
        ),
        may("to", POINT, "The point a connection leads to."),
        may(
            "between",
            Kind::Length,
            "Shortest tangent between the reverse curves of a connection; the railroad's limit if left out.",
        ),
        may(
            "parallel",
            Kind::Text,
            "The center line it runs beside: at the distance `centers`, on the `side`.",
        ),
        may(
            "centers",
            Kind::Length,
            "How far from it; the railroad's track centers if left out.",
        ),
        may(
            "side",
            Kind::OneOf(Turn::CHOICES),
            "On which side of it, as that one runs; the nearer if left out.",
        ),
        may(
            "radius",
            Kind::Radius,
            "Radius of the curve by which it becomes parallel; that of a No. 6 turnout if left out.",
        ),
        may(
            "turnout",
            Kind::Text,
            "The points of a turnout: a switch of the station, by its name there, or one of your own with `number` and `hand`.",
        ),
        may(
            "number",
            Kind::Number(3.0, 30.0),
            "Frog number of a turnout that no station page describes.",
        ),
        may(
            "hand",
            Kind::OneOf(Hand::CHOICES),
            "Its hand, looking from its points.",
        ),
        or(
            "trailing",
            Kind::Flag,
            "false",
            "Whether one comes to its frog before its points.",
        ),
        or(
            "diverging",
            Kind::Flag,
            "false",
            "Whether this center line takes the diverging side.",
        ),
        may(
            "crossing",
            Kind::Text,
            "The middle of a crossing, by its name in the station.",
        ),
        may(
            "adjust",
            Kind::OneOf(Adjusts::CHOICES),
            "What of it may be changed, as little as need be, so that the center line meets its end.",
        ),
    ],
};

static GRADE: Table = Table {
    noun: "grade point",
    about: "A point where the grade changes.",
    fields: &[
        may(
            "at",
            Kind::Length,
            "Distance from the beginning; of the first and the last, the beginning and the end if left out.",
        ),
        may(
            "elevation",
            Kind::Length,
            "Height of the railhead above the floor there, where the grades intersect. If left out, what the `grade` before it gives.",
        ),
        may(
            "grade",
            Kind::Grade,
            "The grade from here to the next point, up as one goes along, if that gives no elevation.",
        ),
        may(
            "curve",
            Kind::Length,
            "Length of the vertical curve about it.",
        ),
        may(
            "change",
            Kind::Number(0.001, 1000.0),
            "Instead: how fast the grade changes in it, in per cent for each foot of track on the model.",
        ),
    ],
};
