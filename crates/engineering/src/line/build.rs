//! Lines from what was read.

use model::{
    Span, Spanned,
    text::{Record, Value},
    units::Actual,
};

use super::{
    Curve, Line, LineKind, OpenEnd, OpenLine, SlowOrder, Structure, StructureKind, Turn, Worked,
};
use crate::{ids::StationId, way::Lookup};

/// An owned text of a record.
pub(crate) fn word(record: &Record, key: &str) -> Option<Spanned<String>> {
    record.text(key).map(|text| text.map(str::to_owned))
}

/// A row of two lengths.
pub(crate) fn pair(cells: &[Spanned<Value>]) -> Option<[Spanned<Actual>; 2]> {
    match cells {
        [
            Spanned {
                value: Value::Length(first),
                span: a,
            },
            Spanned {
                value: Value::Length(second),
                span: b,
            },
        ] => Some([
            Spanned {
                value: *first,
                span: *a,
            },
            Spanned {
                value: *second,
                span: *b,
            },
        ]),
        _ => None,
    }
}

/// The curves of a record.
pub(crate) fn curves(record: &Record) -> Vec<Curve> {
    record
        .tables("curves")
        .iter()
        .map(|curve| Curve {
            span: curve.span,
            reach: reach(curve),
            radius: curve.radius("radius"),
            turn: curve
                .word("turn")
                .and_then(|word| Turn::from_word(word.value)),
        })
        .collect()
}

fn reach(record: &Record) -> Option<[Spanned<Actual>; 2]> {
    Some([record.length("from")?, record.length("to")?])
}

fn two_texts(record: &Record, key: &str, default: [&str; 2]) -> [String; 2] {
    match record.texts(key)[..] {
        [low, high] => [low.value.to_owned(), high.value.to_owned()],
        _ => default.map(str::to_owned),
    }
}

/// A line; `stations` finds stations by name.
pub(crate) fn build(record: &Record, name: Spanned<String>, stations: &Lookup<StationId>) -> Line {
    let ends = two_texts(record, "ends", ["W", "E"]);
    let open = record
        .tables("open")
        .iter()
        .map(|open| open_line(open, &ends, stations))
        .collect();
    let owned = |key| record.text(key).map(|text| text.value.to_owned());
    Line {
        name,
        kind: record
            .word("kind")
            .and_then(|w| LineKind::from_word(w.value))
            .unwrap_or(LineKind::Main),
        worked: record
            .word("worked")
            .and_then(|w| Worked::from_word(w.value))
            .unwrap_or(Worked::Worked),
        owner: word(record, "owner"),
        division: word(record, "division"),
        directions: two_texts(record, "directions", ["west", "east"]),
        superior: word(record, "superior"),
        ends,
        grade: record.grade("grade").map(|grade| grade.value),
        radius: record.radius("radius").map(|radius| radius.value),
        speed: record.speed("speed").map(|speed| speed.value),
        passenger_speed: record.speed("passenger_speed").map(|speed| speed.value),
        open,
        note: owned("note"),
        span: record.span,
    }
}

fn open_line(record: &Record, ends: &[String; 2], stations: &Lookup<StationId>) -> OpenLine {
    // Going up the line one leaves `from` by its high-mile end and enters `to` by its low-mile end.
    let end = |key, end_key, default: &str| {
        let station = word(record, key);
        let written = word(record, end_key);
        let place = station.as_ref().map_or(record.span, |station| station.span);
        OpenEnd {
            id: station
                .as_ref()
                .and_then(|station| stations.find(&station.value)),
            written: written.is_some(),
            end: written.unwrap_or(Spanned {
                value: default.to_owned(),
                span: place,
            }),
            station,
        }
    };
    let one = Spanned {
        value: 1,
        span: record.span,
    };
    OpenLine {
        span: head(record),
        ends: [
            end("from", "from_end", &ends[1]),
            end("to", "to_end", &ends[0]),
        ],
        length: record.length("length"),
        measured: record.written("length"),
        tracks: record
            .whole("tracks")
            .map_or(one, |tracks| tracks.map(|n| if n == 2 { 2 } else { 1 })),
        blocks: record
            .whole("blocks")
            .map_or(1, |n| u32::try_from(n.value).unwrap_or(1)),
        gap: record.full_size("gap"),
        elevation: pair(record.list("elevation")),
        profile: record
            .list("profile")
            .iter()
            .filter_map(|point| match &point.value {
                Value::List(cells) => pair(cells),
                _ => None,
            })
            .collect(),
        curves: curves(record),
        speed: record.speed("speed").map(|speed| speed.value),
        slow: record
            .tables("slow")
            .iter()
            .map(|slow| SlowOrder {
                span: slow.span,
                reach: reach(slow),
                speed: slow.speed("speed").map(|speed| speed.value),
                why: slow.text("why").map(|why| why.value.to_owned()),
            })
            .collect(),
        structures: record
            .tables("structures")
            .iter()
            .map(|one| Structure {
                span: one.span,
                at: one.length("at"),
                length: one
                    .length("length")
                    .map_or(Actual::ZERO, |length| length.value),
                kind: one
                    .word("kind")
                    .and_then(|w| StructureKind::from_word(w.value))
                    .unwrap_or(StructureKind::Bridge),
                height: one.length("height"),
                width: one.length("width"),
                name: one.text("name").map(|name| name.value.to_owned()),
            })
            .collect(),
        note: record.text("note").map(|note| note.value.to_owned()),
    }
}

/// Where to point for a district as a whole: its first station, rather than all its lines.
fn head(record: &Record) -> Span {
    record
        .text("from")
        .or(record.text("to"))
        .map_or(record.span, |station| station.span)
}
