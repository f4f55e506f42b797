//! Trains built from the tables of their page.

use model::{
    Spanned,
    days::Days,
    text::{Reader, Record, Value},
};

use super::{Helper, Meet, Stop, StopWork, Train, TrainKind};

impl Train {
    /// A train from its table.
    pub(crate) fn build(
        symbol: &Spanned<String>,
        record: &Record,
        _reader: &mut Reader<'_>,
    ) -> Self {
        let owned = |key| owned(record, key);
        let kind = TrainKind::read(record, "kind");
        let without_caboose = matches!(
            kind.map(|kind| kind.value),
            Some(
                TrainKind::Passenger
                    | TrainKind::Express
                    | TrainKind::Helper
                    | TrainKind::LightEngine
            )
        );
        Self {
            span: record.span,
            symbol: symbol.clone(),
            name: record.text("name").map(|name| name.value.to_owned()),
            class: record.whole("class"),
            kind,
            line: owned("line"),
            direction: owned("direction"),
            days: record.days("days").unwrap_or(Spanned {
                value: Days::DAILY,
                span: record.span,
            }),
            from: owned("from"),
            to: owned("to"),
            from_track: owned("from_track"),
            from_place: record.whole("from_place"),
            to_track: owned("to_track"),
            leave: record.time("leave"),
            arrive: record.time("arrive"),
            engines: texts(record, "engines"),
            helper: record.table("helper").map(|helper| Helper {
                span: helper.span,
                engine: self::owned(helper, "engine"),
                from: self::owned(helper, "from"),
                to: self::owned(helper, "to"),
                returns: helper.flag("returns").is_some_and(|returns| returns.value),
            }),
            max_length: record.length("max_length"),
            max_cars: record.whole("max_cars"),
            max_tons: record.number("max_tons"),
            blocks: texts(record, "blocks"),
            stops: record.tables("stops").iter().map(stop).collect(),
            meets: record
                .tables("meets")
                .iter()
                .map(|meet| Meet {
                    span: meet.span,
                    train: self::owned(meet, "train"),
                    at: self::owned(meet, "at"),
                })
                .collect(),
            job: owned("job"),
            caboose: record
                .flag("caboose")
                .map_or(!without_caboose, |caboose| caboose.value),
            note: record.text("note").map(|note| note.value.to_owned()),
        }
    }
}

fn stop(record: &Record) -> Stop {
    let work = record
        .list("work")
        .iter()
        .filter_map(|item| match item.value {
            Value::Word(word) => StopWork::from_word(word).map(|value| Spanned {
                value,
                span: item.span,
            }),
            _ => None,
        });
    Stop {
        span: record.span,
        station: owned(record, "station"),
        arrive: record.time("arrive"),
        leave: record.time("leave"),
        track: owned(record, "track"),
        work: work.collect(),
        minutes: record.duration("minutes"),
    }
}

pub(crate) fn owned(record: &Record, key: &str) -> Option<Spanned<String>> {
    record.text(key).map(|text| text.map(str::to_owned))
}

pub(crate) fn texts(record: &Record, key: &str) -> Vec<Spanned<String>> {
    record
        .texts(key)
        .into_iter()
        .map(|text| text.map(str::to_owned))
        .collect()
}
