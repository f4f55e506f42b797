//! Center lines from what was read.

use model::{
    Spanned,
    text::{Reader, Record, Value},
    units::Actual,
};

use super::{
    Adjusts, Described, Governs, GradeStep, Of, Step, StepWhat, Terminal, TerminalWhat,
    TurnoutStep,
    plan::{Adjust, Element, Measure},
    rules::{center_line_unclear, element_unclear, terminal_unclear},
};
use crate::{
    curve::{Place, Point},
    ids::{LineId, StationId, TrackRef},
    line::Turn,
    station::Hand,
    way::Lookup,
};

/// What center lines refer to, by name.
pub(crate) struct Known<'a> {
    pub(crate) lines: &'a Lookup<LineId>,
    pub(crate) stations: &'a Lookup<StationId>,
    pub(crate) tracks: &'a Lookup<TrackRef>,
    pub(crate) between: &'a dyn Fn(LineId, StationId, StationId) -> Option<crate::ids::OpenRef>,
}

/// A point of the plan.
pub(crate) fn point(cells: &[Spanned<Value>]) -> Option<Point> {
    match cells {
        [
            Spanned {
                value: Value::Length(x),
                ..
            },
            Spanned {
                value: Value::Length(y),
                ..
            },
        ] => Some(Point::new(x.meters(), y.meters())),
        _ => None,
    }
}

/// A bearing in degrees clockwise from up the plan, as radians to the left of the x axis.
pub(crate) fn heading(bearing: f64) -> f64 {
    (90.0 - bearing).to_radians()
}

/// The center lines of a page.
pub(crate) fn build(page: &Record, reader: &mut Reader<'_>, known: &Known<'_>) -> Vec<Described> {
    let governs = Governs::read(page, "governs").map_or(Governs::Alignment, |word| word.value);
    let easement = page
        .length("easement")
        .map_or(0.0, |length| length.meters());
    let vertical = page.length("vertical_curve").map(|length| length.value);
    page.tables("center_lines")
        .iter()
        .map(|record| center_line(record, reader, known, governs, easement, vertical))
        .collect()
}

fn text(record: &Record, key: &str) -> Option<Spanned<String>> {
    record.text(key).map(|text| text.map(str::to_owned))
}

fn center_line(
    record: &Record,
    reader: &mut Reader<'_>,
    known: &Known<'_>,
    governs: Governs,
    easement: f64,
    vertical: Option<Actual>,
) -> Described {
    let track = text(record, "track");
    let line = text(record, "line");
    let stations = record.texts("between");
    let given = text(record, "name");
    let (of, of_span, usual) = match (&track, &line, stations.as_slice()) {
        (Some(track), None, []) => {
            let of = known.tracks.find(&track.value).map(Of::Track);
            (of, track.span, Some(track.value.clone()))
        }
        (None, Some(line), [from, to]) => {
            let number = record
                .whole("number")
                .map_or(1, |n| if n.value == 2 { 2 } else { 1 });
            let ids = known.lines.find(&line.value).zip(
                known
                    .stations
                    .find(from.value)
                    .zip(known.stations.find(to.value)),
            );
            let open = ids.and_then(|(line, (from, to))| (known.between)(line, from, to));
            // Names that are unknown are reported as such; two stations without open line are not.
            if ids.is_some() && open.is_none() {
                reader.out.push(center_line_unclear::no_open(
                    from.span,
                    from.value,
                    to.value,
                    &line.value,
                ));
            }
            let of = open.map(|open| Of::Open(open, number));
            let second = if number == 2 { " 2" } else { "" };
            (
                of,
                from.span,
                Some(format!("{} - {}{second}", from.value, to.value)),
            )
        }
        (None, None, []) => (None, record.span, None),
        _ => {
            reader.out.push(center_line_unclear::what(record.span));
            (
                None,
                record.span,
                track.as_ref().map(|track| track.value.clone()),
            )
        }
    };
    let name = given
        .or(usual.map(|value| Spanned {
            value,
            span: of_span,
        }))
        .unwrap_or_else(|| {
            reader.out.push(center_line_unclear::nameless(record.span));
            Spanned {
                value: String::new(),
                span: record.span,
            }
        });
    let begin = record
        .table("begin")
        .map(|table| terminal(table, reader, true));
    let end = record
        .table("end")
        .map(|table| terminal(table, reader, false));
    let elements = record
        .tables("elements")
        .iter()
        .map(|element| step(element, reader, easement))
        .collect();
    let grades = record
        .tables("grades")
        .iter()
        .map(|point| GradeStep {
            span: point.span,
            at: point.length("at"),
            elevation: point.length("elevation"),
            grade: point.grade("grade").map(|grade| grade.value),
            curve: point
                .length("curve")
                .map(|length| length.value)
                .or(vertical),
            change: point
                .number("change")
                .map(|change| change.value / 100.0 / Actual::from_feet(1.0).meters()),
        })
        .collect();
    Described {
        name,
        of,
        of_span,
        begin,
        end,
        elements,
        grades,
        governs,
    }
}

fn terminal(table: &Record, reader: &mut Reader<'_>, begin: bool) -> Terminal {
    let mut said = Vec::new();
    let mut unclear = false;
    let at = point(table.list("at"));
    match (at, table.number("bearing")) {
        (Some(at), Some(bearing)) => said.push(TerminalWhat::At(at, heading(bearing.value))),
        (None, None) => {}
        _ => unclear = true,
    }
    if let Some(other) = text(table, if begin { "after" } else { "before" }) {
        said.push(TerminalWhat::Other(other));
    }
    if begin && let Some(other) = text(table, "back_from") {
        said.push(TerminalWhat::BackFrom(other));
    }
    match (text(table, "turnout"), text(table, "on")) {
        (Some(turnout), Some(on)) => said.push(TerminalWhat::Turnout(turnout, on)),
        (None, None) => {}
        _ => unclear = true,
    }
    if !begin && table.flag("closed").is_some_and(|closed| closed.value) {
        said.push(TerminalWhat::Closed);
    }
    let what = match (said.len(), unclear) {
        (1, false) => said.remove(0),
        _ => {
            reader
                .out
                .push(terminal_unclear::diagnostic(table.span, begin));
            TerminalWhat::Unclear
        }
    };
    Terminal {
        span: table.span,
        what,
    }
}

/// The keys that tell what an element is.
const HEADS: [&str; 7] = [
    "tangent", "left", "right", "connect", "parallel", "turnout", "crossing",
];

fn step(record: &Record, reader: &mut Reader<'_>, easement: f64) -> Step {
    let heads: Vec<&str> = HEADS
        .into_iter()
        .filter(|head| record.written(head))
        .collect();
    let mut unclear = |message: element_unclear::Why| {
        reader
            .out
            .push(element_unclear::diagnostic(record.span, message));
        StepWhat::Unclear
    };
    let metres = |key: &str| record.length(key).map(|length| length.meters());
    let eased = metres("easement").unwrap_or(easement);
    let adjust = Adjusts::read(record, "adjust").map(|word| word.value);
    let what = match heads.as_slice() {
        ["tangent"] => match metres("tangent") {
            Some(length) => StepWhat::Plain(Element::Tangent {
                length,
                adjust: adjust.is_some(),
            }),
            None => StepWhat::Unclear,
        },
        [hand @ ("left" | "right")] => {
            let measures = [
                record
                    .number("angle")
                    .map(|angle| Measure::Angle(angle.to_radians())),
                metres("length").map(Measure::Length),
                record
                    .number("bearing")
                    .map(|bearing| Measure::Heading(heading(bearing.value))),
            ];
            let written = ["angle", "length", "bearing"]
                .iter()
                .filter(|key| record.written(key))
                .count();
            match (measures.into_iter().flatten().next(), record.radius(hand)) {
                _ if written != 1 => unclear(element_unclear::Why::Measure(written)),
                (Some(by), Some(radius)) => StepWhat::Plain(Element::Curve {
                    turn: if *hand == "left" { 1.0 } else { -1.0 },
                    radius: radius.meters(),
                    by,
                    easements: [
                        metres("easement_in").unwrap_or(eased),
                        metres("easement_out").unwrap_or(eased),
                    ],
                    adjust: adjust.map(|adjust| match adjust {
                        Adjusts::Length => Adjust::Length,
                        Adjusts::Radius => Adjust::Radius,
                    }),
                }),
                // Unreadable: said already.
                _ => StepWhat::Unclear,
            }
        }
        ["connect"] => {
            let to = point(record.list("to"));
            let bearing = record.number("bearing");
            match record.radius("connect") {
                _ if to.is_some() != bearing.is_some() => unclear(element_unclear::Why::Target),
                Some(radius) => {
                    let to = to
                        .zip(bearing)
                        .map(|(to, b)| Place::new(to.x, to.y, heading(b.value)));
                    let element = Element::Connect {
                        radius: radius.meters(),
                        easement: eased,
                        between: 0.0,
                        to,
                    };
                    StepWhat::Connect(element, metres("between"))
                }
                None => StepWhat::Unclear,
            }
        }
        ["parallel"] => match text(record, "parallel") {
            Some(other) => StepWhat::Parallel(
                other,
                metres("centers"),
                Turn::read(record, "side").map(|side| side.value),
                record.radius("radius").map(|radius| radius.meters()),
                metres("length"),
            ),
            None => StepWhat::Unclear,
        },
        ["turnout"] => match text(record, "turnout") {
            Some(name) => StepWhat::Turnout(TurnoutStep {
                name,
                number: record.number("number").map(|number| number.value),
                hand: Hand::read(record, "hand").map(|hand| hand.value),
                trailing: record.flag("trailing").is_some_and(|flag| flag.value),
                diverging: record.flag("diverging").is_some_and(|flag| flag.value),
            }),
            None => StepWhat::Unclear,
        },
        ["crossing"] => match text(record, "crossing") {
            Some(name) => StepWhat::Crossing(name),
            None => StepWhat::Unclear,
        },
        _ => unclear(element_unclear::Why::Heads(heads.len())),
    };
    Step {
        span: record.span,
        what,
    }
}
