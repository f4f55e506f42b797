//! How `scenes.toml` is written.

use model::text::{Form, Kind, Noun, Page, Table};

use super::Status;
use crate::fields::{may, or};

/// `scenes.toml`.
pub static PAGE: Page = Page {
    path: "scenes.toml",
    form: Form::Toml,
    required: false,
    about: "The scenes of the railroad: the real place each stands for, and how far the work on it has come.",
    table: &SCENES,
};

static SCENES: Table = Table {
    noun: "list of scenes",
    about: "Every scene, by name.",
    fields: &[may(
        "scenes",
        Kind::Named(Some(Noun::Scene), &SCENE),
        "The scenes, by name.",
    )],
};

static SCENE: Table = Table {
    noun: "scene",
    about: "A real place that the model shows.",
    fields: &[
        may(
            "place",
            Kind::Text,
            "The real place, so that someone else can find it.",
        ),
        may(
            "station",
            Kind::Ref(Noun::Station),
            "The station it lies at, if any.",
        ),
        may(
            "full_size_length",
            Kind::FullSize,
            "How long the real place is, along the track.",
        ),
        may(
            "model_length",
            Kind::Length,
            "How much of the model's length it is given.",
        ),
        or(
            "status",
            Kind::OneOf(Status::CHOICES),
            "idea",
            "How far the work has come.",
        ),
        may(
            "sources",
            Kind::List(&Kind::Text),
            "Photographs, maps, measurements, and where they are kept.",
        ),
        may("work", Kind::List(&Kind::Text), "What is left to do."),
        may("note", Kind::Text, "Anything else worth writing down."),
    ],
};
