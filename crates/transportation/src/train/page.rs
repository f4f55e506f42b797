//! How `trains.toml` is written.

use model::text::{Field, Form, Kind, Need, Noun, Page, Table};

use super::{StopWork, TrainKind};

/// `trains.toml`.
pub static PAGE: Page = Page {
    path: "trains.toml",
    form: Form::Toml,
    required: false,
    about: "The trains of the day: what the timetable is made from.",
    table: &TRAINS,
};

const fn field(key: &'static str, kind: Kind, need: Need, about: &'static str) -> Field {
    Field {
        key,
        kind,
        need,
        about,
    }
}

static TRAINS: Table = Table {
    noun: "list of trains",
    about: "The trains of the day.",
    fields: &[field(
        "trains",
        Kind::Named(Some(Noun::Train), &TRAIN),
        Need::Optional,
        "The trains, by number or symbol: `[trains.7]`, `[trains.\"Extra East\"]`.",
    )],
};

static TRAIN: Table = Table {
    noun: "train",
    about: "A train: its schedule, its power, the most it may be, and what it does on the way.",
    fields: &[
        field(
            "name",
            Kind::Text,
            Need::Optional,
            "Its name, as printed beside the number.",
        ),
        field(
            "class",
            Kind::Whole(1, 4),
            Need::Required,
            "Its class in the timetable: a train of class 1 is superior to one of class 2.",
        ),
        field(
            "kind",
            Kind::OneOf(TrainKind::CHOICES),
            Need::Optional,
            "What it is for.",
        ),
        field(
            "line",
            Kind::Ref(Noun::Line),
            Need::Optional,
            "The line whose directions it goes by. If left out, that of its first station.",
        ),
        field(
            "direction",
            Kind::Text,
            Need::Required,
            "Timetable direction: one of the two its line names, usually `east` or `west`.",
        ),
        field(
            "days",
            Kind::Days,
            Need::Default("daily"),
            "The days on which it leaves.",
        ),
        field(
            "from",
            Kind::Ref(Noun::Station),
            Need::Required,
            "Initial station.",
        ),
        field(
            "to",
            Kind::Ref(Noun::Station),
            Need::Required,
            "Terminal station.",
        ),
        field(
            "from_track",
            Kind::Text,
            Need::Optional,
            "The track on which it is made up.",
        ),
        field(
            "from_place",
            Kind::Whole(1, 20),
            Need::Optional,
            "Where several trains stand on that track: which of them it is, counted from the end by \
             which it leaves. If left out, the plan says.",
        ),
        field(
            "to_track",
            Kind::Text,
            Need::Optional,
            "The track on which it ends.",
        ),
        field(
            "leave",
            Kind::Time,
            Need::Required,
            "When it leaves the initial station.",
        ),
        field(
            "arrive",
            Kind::Time,
            Need::Optional,
            "When it is due at the terminal station; past midnight `12:30 AM +1` or `24:30`.",
        ),
        field(
            "engines",
            Kind::List(&Kind::Ref(Noun::Engine)),
            Need::Optional,
            "Its engines, the leading one first.",
        ),
        field(
            "helper",
            Kind::Table(&HELPER),
            Need::Optional,
            "The helper it takes.",
        ),
        field(
            "max_length",
            Kind::Length,
            Need::Optional,
            "The longest it may be, engines and caboose included.",
        ),
        field(
            "max_cars",
            Kind::Whole(0, 500),
            Need::Optional,
            "The most cars it may have.",
        ),
        field(
            "max_tons",
            Kind::Number(0.0, 50_000.0),
            Need::Optional,
            "The most tons behind the engine, full size.",
        ),
        field(
            "blocks",
            Kind::List(&Kind::Text),
            Need::Optional,
            "The blocks it carries, the head end first: each the name of a station, or of a block.",
        ),
        field(
            "stops",
            Kind::Tables(&STOP),
            Need::Optional,
            "Where it stops or is timed between its ends, in order.",
        ),
        field(
            "meets",
            Kind::Tables(&MEET),
            Need::Optional,
            "Trains it is to meet or let pass. Both trains name the meet.",
        ),
        field(
            "job",
            Kind::Ref(Noun::Job),
            Need::Optional,
            "The job that works it.",
        ),
        field(
            "caboose",
            Kind::Flag,
            Need::Optional,
            "Whether it carries a caboose. If left out, it does unless it is a passenger or express \
             train or an engine alone.",
        ),
        field(
            "note",
            Kind::Text,
            Need::Optional,
            "Anything else; printed in the timetable.",
        ),
    ],
};

static HELPER: Table = Table {
    noun: "helper",
    about: "An engine that helps the train over part of its way.",
    fields: &[
        field(
            "engine",
            Kind::Ref(Noun::Engine),
            Need::Required,
            "The engine, by number.",
        ),
        field(
            "from",
            Kind::Ref(Noun::Station),
            Need::Required,
            "Where it couples on.",
        ),
        field(
            "to",
            Kind::Ref(Noun::Station),
            Need::Required,
            "Where it cuts off.",
        ),
        field(
            "returns",
            Kind::Flag,
            Need::Default("false"),
            "Whether it then returns light to where it coupled on, even if no other train wants it there. \
             Where another does, it goes there in any case.",
        ),
    ],
};

static STOP: Table = Table {
    noun: "stop",
    about: "A stop, or a place the train is timed at.",
    fields: &[
        field(
            "station",
            Kind::Ref(Noun::Station),
            Need::Required,
            "The station.",
        ),
        field("arrive", Kind::Time, Need::Optional, "When it arrives."),
        field(
            "leave",
            Kind::Time,
            Need::Optional,
            "When it leaves; without an arrival, when it passes.",
        ),
        field("track", Kind::Text, Need::Optional, "The track it uses."),
        field(
            "work",
            Kind::List(&Kind::OneOf(StopWork::CHOICES)),
            Need::Optional,
            "What it does there; one or several.",
        ),
        field(
            "minutes",
            Kind::Duration,
            Need::Optional,
            "How long the work takes by the railroad's clock, `20 min`, if it is not to be computed.",
        ),
    ],
};

static MEET: Table = Table {
    noun: "meet",
    about: "A train to meet, or to let pass, and where.",
    fields: &[
        field(
            "train",
            Kind::Ref(Noun::Train),
            Need::Required,
            "The other train.",
        ),
        field(
            "at",
            Kind::Ref(Noun::Station),
            Need::Required,
            "The station.",
        ),
    ],
};
