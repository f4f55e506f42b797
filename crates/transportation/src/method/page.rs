//! How `operating.toml` is written.

use model::text::{Field, Form, Kind, Need, Noun, Page, Table};

use super::Method;

/// `operating.toml`.
pub static PAGE: Page = Page {
    path: "operating.toml",
    form: Form::Toml,
    required: false,
    about: "How trains are run: the operating method, the minutes the rules ask for, and what is out of \
            the ordinary today. Everything may be left out.",
    table: &OPERATING,
};

const fn may(key: &'static str, kind: Kind, about: &'static str) -> Field {
    Field {
        key,
        kind,
        need: Need::Optional,
        about,
    }
}

const fn must(key: &'static str, kind: Kind, about: &'static str) -> Field {
    Field {
        key,
        kind,
        need: Need::Required,
        about,
    }
}

const fn usual(key: &'static str, kind: Kind, value: &'static str, about: &'static str) -> Field {
    Field {
        key,
        kind,
        need: Need::Default(value),
        about,
    }
}

static OPERATING: Table = Table {
    noun: "operating page",
    about: "How trains are run.",
    fields: &[
        usual(
            "method",
            Kind::OneOf(Method::CHOICES),
            "timetable and train order",
            "By what trains are authorised.",
        ),
        usual(
            "clear",
            Kind::Duration,
            "5 min",
            "How long before a superior train an inferior one must be in clear. Older books say 5 minutes, \
             many roads made it 10. Only with timetable and train order.",
        ),
        usual(
            "extras_by_direction",
            Kind::Flag,
            "false",
            "Whether, of two extras, the one in the superior direction is superior, as older books have it.",
        ),
        usual(
            "saw_by",
            Kind::Flag,
            "false",
            "Whether trains too long for a siding may saw by each other there.",
        ),
        usual(
            "saw_by_time",
            Kind::Duration,
            "20 min",
            "How long that takes each of them.",
        ),
        usual(
            "no_stop_grades",
            Kind::Flag,
            "false",
            "Whether a train is kept from stopping on a grade where, by the ratings of its engines and cars, it \
             could not start again: it leaves only when it can run through.",
        ),
        usual(
            "allowance",
            Kind::Number(0.0, 100.0),
            "0",
            "Percent added to the running times for crews who do not know the road.",
        ),
        usual(
            "made_up",
            Kind::Duration,
            "20 min",
            "How long before leaving a train stands made up on its yard track.",
        ),
        usual(
            "broken_up",
            Kind::Duration,
            "20 min",
            "How long after arriving a train stands on its yard track before it is broken up.",
        ),
        usual(
            "engine_turn",
            Kind::Duration,
            "30 min",
            "How long an engine takes between two trains: coal, water, turning.",
        ),
        usual(
            "crew_turn",
            Kind::Duration,
            "5 min",
            "How long a crew takes between two trains.",
        ),
        usual(
            "hours_of_service",
            Kind::Duration,
            "16:00",
            "How long a crew may be on duty. The act of 1907 says 16 hours, that of 1969 says 12.",
        ),
        may(
            "annulled",
            Kind::List(&Kind::Ref(Noun::Train)),
            "Trains that do not run today.",
        ),
        may(
            "closed",
            Kind::Tables(&CLOSED),
            "When track is closed to trains: a drawbridge open for ships, a gang at work.",
        ),
        may(
            "connections",
            Kind::Tables(&CONNECTION),
            "Trains that wait for each other's people or cars.",
        ),
        may("note", Kind::Text, "Anything else worth writing down."),
    ],
};

static CLOSED: Table = Table {
    noun: "closure",
    about: "A time during which no train may be on a piece of track.",
    fields: &[
        must(
            "between",
            Kind::Row(&[
                ("station", Kind::Ref(Noun::Station)),
                ("station", Kind::Ref(Noun::Station)),
            ]),
            "The two stations beside it. The same one twice means its siding or the track named.",
        ),
        may(
            "track",
            Kind::Text,
            "Which track, if not all: that of a station, or `1` or `2` of double track.",
        ),
        must("from", Kind::Time, "When it closes."),
        must("to", Kind::Time, "When it opens again."),
        may("why", Kind::Text, "The reason, as crews are told."),
    ],
};

static CONNECTION: Table = Table {
    noun: "connection",
    about: "A train that waits for another.",
    fields: &[
        must("train", Kind::Ref(Noun::Train), "The train that waits."),
        must(
            "waits_for",
            Kind::Ref(Noun::Train),
            "The train it waits for.",
        ),
        must("at", Kind::Ref(Noun::Station), "Where."),
        usual(
            "minutes",
            Kind::Duration,
            "5 min",
            "How long the change takes after the other has arrived.",
        ),
    ],
};
