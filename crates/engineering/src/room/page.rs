//! How `rooms/*.toml` is written.

use model::text::{Form, Kind, Page, Table};

use super::BenchworkKind;
use crate::{
    alignment::POINT,
    fields::{may, must, or},
};

/// `rooms/*.toml`.
pub static PAGE: Page = Page {
    path: "rooms/*.toml",
    form: Form::Toml,
    required: false,
    about: "A room: its walls, doors and posts, and the benchwork in it.",
    table: &ROOM,
};

const OUTLINE: Kind = Kind::List(&POINT);

static ROOM: Table = Table {
    noun: "room",
    about: "A room in the plan of the house that alignments share: a point is its distance to the right, then up the plan.",
    fields: &[
        may(
            "name",
            Kind::Text,
            "Its name; that of its file if left out.",
        ),
        must(
            "corners",
            OUTLINE,
            "Its corners, around it in either direction.",
        ),
        may(
            "doors",
            Kind::Tables(&DOOR),
            "Openings in its walls: doors, and holes for track.",
        ),
        may(
            "posts",
            Kind::Tables(&POST),
            "Posts, pipes and chimneys that stand in it.",
        ),
        may(
            "benchwork",
            Kind::Tables(&BENCHWORK),
            "What the track stands on.",
        ),
        may("note", Kind::Text, "Anything else worth writing down."),
    ],
};

static DOOR: Table = Table {
    noun: "door",
    about: "An opening in a wall.",
    fields: &[
        must("from", POINT, "One side of it."),
        must("to", POINT, "The other."),
        may("name", Kind::Text, "Its name."),
    ],
};

static POST: Table = Table {
    noun: "post",
    about: "Something that stands in the room.",
    fields: &[
        must("at", POINT, "Its middle."),
        must("size", Kind::Length, "How thick it is, corner to corner."),
        may("name", Kind::Text, "Its name."),
    ],
};

static BENCHWORK: Table = Table {
    noun: "piece of benchwork",
    about: "A table, a shelf, or a piece that opens to let people through.",
    fields: &[
        must("name", Kind::Text, "Its name."),
        must(
            "outline",
            OUTLINE,
            "Its corners, around it in either direction.",
        ),
        or(
            "kind",
            Kind::OneOf(BenchworkKind::CHOICES),
            "fixed",
            "Whether and how people get through.",
        ),
        may(
            "clear",
            Kind::Length,
            "Height below it, from the floor, where people go under.",
        ),
        may("note", Kind::Text, "Anything else worth writing down."),
    ],
};
