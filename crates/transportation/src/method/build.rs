//! The operating page built from its record.

use model::{
    Span, Spanned,
    text::Record,
    time::{RailSpan, RailTime},
};

use super::Method;
use crate::train::{owned, texts};

/// How trains are run.
#[derive(Debug, Clone, PartialEq)]
pub struct Operating {
    /// By what trains are authorised.
    pub method: Method,
    /// How long before a superior train an inferior one must be in clear.
    pub clear: RailSpan,
    /// Whether direction decides between two extras.
    pub extras_by_direction: bool,
    /// Whether trains may saw by each other.
    pub saw_by: bool,
    /// How long that takes each of them.
    pub saw_by_time: RailSpan,
    /// Whether trains are kept from stopping where they could not start again.
    pub no_stop_grades: bool,
    /// Part added to running times: 0.05 for five percent.
    pub allowance: f64,
    /// How long a train stands made up before it leaves a yard.
    pub made_up: RailSpan,
    /// How long it stands after it came into one.
    pub broken_up: RailSpan,
    /// How long an engine takes between two trains.
    pub engine_turn: RailSpan,
    /// How long a crew takes between two trains.
    pub crew_turn: RailSpan,
    /// How long a crew may be on duty.
    pub hours_of_service: RailSpan,
    /// Trains that do not run today.
    pub annulled: Vec<Spanned<String>>,
    /// When track is closed.
    pub closed: Vec<Closed>,
    /// Trains that wait for others.
    pub connections: Vec<Connection>,
}

/// A time during which no train may be on a piece of track.
#[derive(Debug, Clone, PartialEq)]
pub struct Closed {
    /// Where it is written.
    pub span: Span,
    /// The two stations beside it; the same twice for a track of a station.
    pub between: Vec<Spanned<String>>,
    /// Which track, if not all.
    pub track: Option<Spanned<String>>,
    /// When it closes.
    pub from: Option<Spanned<RailTime>>,
    /// When it opens.
    pub to: Option<Spanned<RailTime>>,
    /// The reason.
    pub why: Option<String>,
}

/// A train that waits for another.
#[derive(Debug, Clone, PartialEq)]
pub struct Connection {
    /// Where it is written.
    pub span: Span,
    /// The train that waits.
    pub train: Option<Spanned<String>>,
    /// The train it waits for.
    pub waits_for: Option<Spanned<String>>,
    /// The station.
    pub at: Option<Spanned<String>>,
    /// How long the change takes.
    pub minutes: RailSpan,
}

impl Default for Operating {
    fn default() -> Self {
        Self {
            method: Method::default(),
            clear: RailSpan::from_minutes(5),
            extras_by_direction: false,
            saw_by: false,
            saw_by_time: RailSpan::from_minutes(20),
            no_stop_grades: false,
            allowance: 0.0,
            made_up: RailSpan::from_minutes(20),
            broken_up: RailSpan::from_minutes(20),
            engine_turn: RailSpan::from_minutes(30),
            crew_turn: RailSpan::from_minutes(5),
            hours_of_service: RailSpan::from_minutes(16 * 60),
            annulled: Vec::new(),
            closed: Vec::new(),
            connections: Vec::new(),
        }
    }
}

impl Operating {
    /// From the record of `operating.toml`.
    pub(crate) fn build(record: &Record) -> Self {
        let usual = Self::default();
        let span = |key, usual| record.duration(key).map_or(usual, |span| span.value);
        let flag = |key, usual| record.flag(key).map_or(usual, |flag| flag.value);
        Self {
            method: Method::read(record, "method").map_or(usual.method, |method| method.value),
            clear: span("clear", usual.clear),
            extras_by_direction: flag("extras_by_direction", usual.extras_by_direction),
            saw_by: flag("saw_by", usual.saw_by),
            saw_by_time: span("saw_by_time", usual.saw_by_time),
            no_stop_grades: flag("no_stop_grades", usual.no_stop_grades),
            allowance: record
                .number("allowance")
                .map_or(usual.allowance, |percent| percent.value / 100.0),
            made_up: span("made_up", usual.made_up),
            broken_up: span("broken_up", usual.broken_up),
            engine_turn: span("engine_turn", usual.engine_turn),
            crew_turn: span("crew_turn", usual.crew_turn),
            hours_of_service: span("hours_of_service", usual.hours_of_service),
            annulled: texts(record, "annulled"),
            closed: record.tables("closed").iter().map(closed).collect(),
            connections: record
                .tables("connections")
                .iter()
                .map(connection)
                .collect(),
        }
    }
}

fn closed(record: &Record) -> Closed {
    Closed {
        span: record.span,
        between: texts(record, "between"),
        track: owned(record, "track"),
        from: record.time("from"),
        to: record.time("to"),
        why: record.text("why").map(|why| why.value.to_owned()),
    }
}

fn connection(record: &Record) -> Connection {
    Connection {
        span: record.span,
        train: owned(record, "train"),
        waits_for: owned(record, "waits_for"),
        at: owned(record, "at"),
        minutes: record
            .duration("minutes")
            .map_or(RailSpan::from_minutes(5), |span| span.value),
    }
}
