//! The time-distance diagram on paper.
//!
//! Time runs to the right, ruled by the hour and every ten minutes; stations lie one under another, as far
//! apart as their miles. A train is a line whose steepness is its speed; where it is level, it stands.

use model::{
    time::{RailTime, TimeStyle},
    units::{Actual, LengthStyle},
};
use transportation::day::EncounterKind;

use super::facts::{Facts, Trace};
use crate::{
    svg::{Anchor, Sheet, Stroke, Type},
    track_chart::Paper,
};

// Told apart by lightness first, so that they stay apart when printed in grey.
const INK: &str = "#1b1b1b";
const FAINT: &str = "#6f6f6f";
const HOUR: &str = "#9a9a9a";
const TEN: &str = "#e2e2e2";
const HALF: &str = "#c9c9c9";
const FIRST: &str = "#8c1c13";
const SECOND: &str = "#123f6b";
const WAIT: &str = "#b35900";
const WRONG: &str = "#d0021b";

const MARGIN: f64 = 10.0;
const HEAD: f64 = 14.0;
const HOURS: f64 = 6.0;
const NAMES: f64 = 34.0;
const FOOT: f64 = 14.0;
/// Millimetres to the hour on the sheet for the wall.
const WALL_HOUR: f64 = 24.0;
/// Millimetres between neighboring stations, at least: room for a name.
const CLOSEST: f64 = 5.0;
/// Hours on one page of paper, at most.
const PAGE_HOURS: i64 = 8;

/// The whole day on one sheet, for a screen or the wall.
pub fn whole(facts: &Facts) -> String {
    let hours = facts.hours[1] - facts.hours[0];
    let width = MARGIN * 2.0 + NAMES * 2.0 + hours as f64 * WALL_HOUR;
    let height =
        (MARGIN * 2.0 + HEAD + HOURS * 2.0 + FOOT + facts.stations.len() as f64 * 15.0).max(110.0);
    Drawing::new(facts, width, height, facts.hours, None).finish()
}

/// The day as pages of paper, each with at most eight hours and half an hour of the one before.
pub fn pages(facts: &Facts, paper: Paper) -> Vec<String> {
    let (width, height) = paper.size();
    let [first, last] = facts.hours;
    let mut spans = Vec::new();
    let mut from = first;
    while from < last || spans.is_empty() {
        let to = (from + PAGE_HOURS).min(last.max(from + 1));
        spans.push([from, to]);
        from = to;
    }
    let count = spans.len();
    spans
        .into_iter()
        .enumerate()
        .map(|(at, span)| Drawing::new(facts, width, height, span, Some((at + 1, count))).finish())
        .collect()
}

/// How a class is drawn: the line's weight and pattern tell it, its color only helps.
fn stroke(class: i64, extra: bool) -> Stroke {
    if extra {
        return Stroke::dashed(INK, 0.35, "0.5 0.9");
    }
    match class {
        1 => Stroke::solid(FIRST, 1.0),
        2 => Stroke::solid(SECOND, 0.6),
        3 => Stroke::solid(INK, 0.35),
        _ => Stroke::dashed(INK, 0.4, "2.4 0.9"),
    }
}

fn class_word(class: i64) -> &'static str {
    match class {
        1 => "first class",
        2 => "second class",
        3 => "third class",
        _ => "fourth class",
    }
}

struct Drawing<'a> {
    facts: &'a Facts,
    sheet: Sheet,
    width: f64,
    height: f64,
    hours: [i64; 2],
    /// Height on paper of each station.
    rows: Vec<f64>,
    /// What labels must keep clear of: left, top, right, bottom.
    taken: Vec<[f64; 4]>,
}

impl<'a> Drawing<'a> {
    fn new(
        facts: &'a Facts,
        width: f64,
        height: f64,
        hours: [i64; 2],
        page: Option<(usize, usize)>,
    ) -> Self {
        let mut title = format!("{}: {}", facts.railroad, facts.line);
        if let Some((at, count)) = page {
            title.push_str(&format!(", page {at} of {count}"));
        }
        let top = MARGIN + HEAD + HOURS;
        let bottom = height - MARGIN - FOOT - HOURS;
        let mut drawing = Self {
            facts,
            sheet: Sheet::new(width, height, title),
            width,
            height,
            hours,
            rows: rows(facts, top + 3.0, bottom - 3.0),
            taken: Vec::new(),
        };
        drawing.head(page);
        drawing.grid(top, bottom);
        for trace in &facts.traces {
            drawing.due(trace);
        }
        for trace in &facts.traces {
            drawing.trace(trace);
        }
        for trace in &facts.traces {
            drawing.marks(trace);
        }
        for trace in &facts.traces {
            drawing.labels(trace);
        }
        drawing.conflicts();
        drawing.legend();
        drawing
    }

    fn finish(self) -> String {
        self.sheet.finish()
    }

    fn left(&self) -> f64 {
        MARGIN + NAMES
    }

    fn right(&self) -> f64 {
        self.width - MARGIN - NAMES
    }

    fn x(&self, time: RailTime) -> f64 {
        let whole = ((self.hours[1] - self.hours[0]) * 3600).max(1) as f64;
        let part = (time.seconds() - self.hours[0] * 3600) as f64 / whole;
        self.left() + part * (self.right() - self.left())
    }

    fn head(&mut self, page: Option<(usize, usize)>) {
        let facts = self.facts;
        let y = MARGIN + 5.0;
        self.sheet.text(
            (MARGIN, y),
            &format!("{} — {}", facts.railroad, facts.line),
            Type::bold(5.0, INK),
            Anchor::Start,
        );
        let mut right = facts.date.clone().unwrap_or_default();
        if let Some((at, count)) = page {
            right.push_str(&format!("   {at} of {count}"));
        }
        self.sheet.text(
            (self.width - MARGIN, y),
            &right,
            Type::plain(3.4, INK),
            Anchor::End,
        );
        self.sheet.text(
            (MARGIN, y + 5.0),
            &format!(
                "Down the sheet is {}; level is standing still, the steeper the faster.",
                facts.directions[1]
            ),
            Type::plain(2.8, FAINT),
            Anchor::Start,
        );
    }

    fn grid(&mut self, top: f64, bottom: f64) {
        for minutes in (0..=(self.hours[1] - self.hours[0]) * 60).step_by(10) {
            let time = RailTime::from_seconds(self.hours[0] * 3600 + minutes * 60);
            let x = self.x(time);
            let stroke = match minutes % 60 {
                0 => Stroke::solid(HOUR, 0.3),
                30 => Stroke::solid(HALF, 0.2),
                _ => Stroke::solid(TEN, 0.15),
            };
            self.sheet.line((x, top), (x, bottom), stroke);
            if minutes % 60 == 0 {
                let text = hour(time, self.facts.style);
                for y in [top - 1.5, bottom + 3.8] {
                    self.sheet
                        .text((x, y), &text, Type::bold(2.8, INK), Anchor::Middle);
                }
            }
        }
        for (at, place) in self.facts.stations.iter().enumerate() {
            let y = self.rows[at];
            let (left, right) = (self.left(), self.right());
            self.sheet
                .line((left, y), (right, y), Stroke::solid(HOUR, 0.2));
            self.sheet.text(
                (left - 1.5, y + 0.9),
                &place.name,
                Type::bold(2.7, INK),
                Anchor::End,
            );
            let siding = place
                .siding
                .map_or_else(String::new, |siding| format!(", {}", length(siding)));
            self.sheet.text(
                (right + 1.5, y + 0.9),
                &format!("mile {:.1}{siding}", place.mile),
                Type::plain(2.4, FAINT),
                Anchor::Start,
            );
        }
    }

    /// A polyline within the hours shown; parts outside are cut off.
    fn course(&mut self, points: &[(RailTime, f64)], stroke: Stroke) {
        let (left, right) = (self.left(), self.right());
        let mut run: Vec<(f64, f64)> = Vec::new();
        for pair in points.windows(2) {
            let (a, b) = (
                (self.x(pair[0].0), pair[0].1),
                (self.x(pair[1].0), pair[1].1),
            );
            let Some((a, b)) = clipped(a, b, left, right) else {
                continue;
            };
            if run.last() != Some(&a) {
                if run.len() > 1 {
                    self.sheet.path(&run, stroke, None);
                }
                run = vec![a];
            }
            if a != b {
                run.push(b);
            }
        }
        if run.len() > 1 {
            self.sheet.path(&run, stroke, None);
        }
    }

    /// The timetable, and what came of it, faintly.
    fn due(&mut self, trace: &Trace) {
        let at = |points: &[(RailTime, usize)], rows: &[f64]| -> Vec<(RailTime, f64)> {
            points
                .iter()
                .map(|(time, place)| (*time, rows[*place]))
                .collect()
        };
        let late = trace.due.iter().any(|(time, place)| {
            trace.runs.iter().flatten().any(|stop| {
                stop.place == *place && (stop.arrive - *time).seconds() > 59 && stop.leave != *time
            })
        });
        // Where the plan keeps the timetable it would only be drawn twice.
        if late {
            let points = at(&trace.due, &self.rows);
            self.course(&points, Stroke::dashed(FAINT, 0.2, "0.6 0.6"));
        }
        if !trace.actual.is_empty() {
            let points = at(&trace.actual, &self.rows);
            self.course(&points, Stroke::dashed(WAIT, 0.45, "1.2 0.7"));
        }
    }

    fn trace(&mut self, trace: &Trace) {
        let stroke = stroke(trace.class, trace.extra);
        for run in &trace.runs {
            let mut points = Vec::with_capacity(run.len() * 2);
            for stop in run {
                points.push((stop.arrive, self.rows[stop.place]));
                points.push((stop.leave, self.rows[stop.place]));
            }
            self.course(&points, stroke);
            for pair in points.windows(2) {
                let (a, b) = (
                    (self.x(pair[0].0), pair[0].1),
                    (self.x(pair[1].0), pair[1].1),
                );
                // Labels keep clear of lines, in short pieces.
                let pieces = 6;
                for piece in 0..pieces {
                    let (s, t) = (
                        f64::from(piece) / f64::from(pieces),
                        f64::from(piece + 1) / f64::from(pieces),
                    );
                    let (x1, x2) = (a.0 + (b.0 - a.0) * s, a.0 + (b.0 - a.0) * t);
                    let (y1, y2) = (a.1 + (b.1 - a.1) * s, a.1 + (b.1 - a.1) * t);
                    self.taken
                        .push([x1.min(x2), y1.min(y2), x1.max(x2), y1.max(y2)]);
                }
            }
        }
    }

    /// Work, waits and meets.
    fn marks(&mut self, trace: &Trace) {
        for stop in trace.runs.iter().flatten() {
            let y = self.rows[stop.place];
            let (left, right) = (self.left(), self.right());
            if stop.work > 0 {
                let until =
                    RailTime::from_seconds(stop.arrive.seconds() + stop.work).min(stop.leave);
                if let Some((a, b)) =
                    clipped((self.x(stop.arrive), y), (self.x(until), y), left, right)
                {
                    self.sheet.rect(
                        (a.0, y - 0.9),
                        ((b.0 - a.0).max(0.3), 1.8),
                        Stroke::solid(INK, 0.15),
                        "#c9c9c9",
                    );
                }
            }
            for (from, until) in &stop.waits {
                if let Some((a, b)) = clipped((self.x(*from), y), (self.x(*until), y), left, right)
                {
                    // A wave, which no grey printer takes for a line.
                    let count = ((b.0 - a.0) / 0.8).ceil().max(2.0);
                    let points: Vec<(f64, f64)> = (0..=count as usize)
                        .map(|at| {
                            let x = a.0 + (b.0 - a.0) * at as f64 / count;
                            (x, y + if at % 2 == 0 { -0.5 } else { 0.5 })
                        })
                        .collect();
                    self.sheet.path(&points, Stroke::solid(WAIT, 0.3), None);
                }
            }
            for (when, kind) in &stop.meets {
                let x = self.x(*when);
                if x < left || x > right {
                    continue;
                }
                match kind {
                    EncounterKind::Meet => {
                        self.sheet
                            .circle((x, y), 0.9, Stroke::solid(INK, 0.25), "#ffffff");
                    }
                    EncounterKind::Passes | EncounterKind::Passed => {
                        let points = [(x - 0.9, y + 0.8), (x + 0.9, y + 0.8), (x, y - 0.9)];
                        self.sheet
                            .path(&points, Stroke::solid(INK, 0.25), Some("#ffffff"));
                    }
                }
                self.taken.push([x - 1.0, y - 1.0, x + 1.0, y + 1.0]);
            }
        }
    }

    /// The train's number, on its line where there is room: once for every stretch of eight centimetres.
    fn labels(&mut self, trace: &Trace) {
        let kind = Type::bold(if trace.class == 1 { 3.4 } else { 2.7 }, INK);
        let (width, height) = (kind.width(&trace.symbol) + 0.8, kind.size * 0.85);
        let mut last: Option<f64> = None;
        let mut fallback: Option<(f64, f64)> = None;
        for run in &trace.runs {
            for pair in run.windows(2) {
                let a = (self.x(pair[0].leave), self.rows[pair[0].place]);
                let b = (self.x(pair[1].arrive), self.rows[pair[1].place]);
                for step in 1..8 {
                    let part = f64::from(step) / 8.0;
                    let (x, y) = (a.0 + (b.0 - a.0) * part, a.1 + (b.1 - a.1) * part);
                    if x < self.left() + width || x > self.right() - width {
                        continue;
                    }
                    if last.is_some_and(|last| (x - last).abs() < 80.0) {
                        continue;
                    }
                    fallback.get_or_insert((x, y));
                    // Beside the line, on either hand.
                    for side in [1.0, -1.0] {
                        let center = (x + side * (width / 2.0 + 0.6), y);
                        let rect = [
                            center.0 - width / 2.0,
                            center.1 - height / 2.0,
                            center.0 + width / 2.0,
                            center.1 + height / 2.0,
                        ];
                        if self.free(rect) {
                            self.label(center, &trace.symbol, kind, rect);
                            last = Some(x);
                            break;
                        }
                    }
                    if last == Some(x) {
                        break;
                    }
                }
            }
        }
        // A train without a number is of no use: over whatever is there.
        if last.is_none()
            && let Some((x, y)) = fallback
        {
            let rect = [
                x - width / 2.0,
                y - height / 2.0,
                x + width / 2.0,
                y + height / 2.0,
            ];
            self.sheet.rect(
                (rect[0], rect[1]),
                (width, height),
                Stroke::solid("#ffffff", 0.0),
                "#ffffff",
            );
            self.label((x, y), &trace.symbol, kind, rect);
        }
    }

    fn free(&self, rect: [f64; 4]) -> bool {
        self.taken.iter().all(|other| {
            rect[2] < other[0] || other[2] < rect[0] || rect[3] < other[1] || other[3] < rect[1]
        })
    }

    fn label(&mut self, center: (f64, f64), text: &str, kind: Type, rect: [f64; 4]) {
        self.sheet.text(
            (center.0, center.1 + kind.size * 0.34),
            text,
            kind,
            Anchor::Middle,
        );
        self.taken.push(rect);
    }

    fn conflicts(&mut self) {
        let facts = self.facts;
        for (number, conflict) in facts.conflicts.iter().enumerate() {
            let (x, y) = (self.x(conflict.at), self.rows[conflict.place]);
            if x < self.left() || x > self.right() {
                continue;
            }
            let points = [(x, y - 2.4), (x + 2.4, y), (x, y + 2.4), (x - 2.4, y)];
            self.sheet
                .path(&points, Stroke::solid(WRONG, 0.6), Some("#fff4c2"));
            self.sheet.text(
                (x, y + 0.9),
                &(number + 1).to_string(),
                Type::bold(2.6, INK),
                Anchor::Middle,
            );
        }
    }

    fn legend(&mut self) {
        let facts = self.facts;
        let y = self.height - MARGIN - 7.0;
        let mut x = MARGIN;
        let mut classes: Vec<(i64, bool)> = facts
            .traces
            .iter()
            .map(|trace| (trace.class, trace.extra))
            .collect();
        classes.sort_unstable();
        classes.dedup();
        let kind = Type::plain(2.6, INK);
        for (class, extra) in classes {
            let word = if extra { "extra" } else { class_word(class) };
            self.sheet
                .line((x, y - 0.9), (x + 10.0, y - 0.9), stroke(class, extra));
            self.sheet.text((x + 11.5, y), word, kind, Anchor::Start);
            x += 15.0 + kind.width(word);
        }
        self.sheet
            .circle((x + 1.0, y - 0.9), 0.9, Stroke::solid(INK, 0.25), "#ffffff");
        self.sheet.text((x + 3.0, y), "meet", kind, Anchor::Start);
        x += 12.0;
        let points = [(x, y - 0.1), (x + 1.8, y - 0.1), (x + 0.9, y - 1.8)];
        self.sheet
            .path(&points, Stroke::solid(INK, 0.25), Some("#ffffff"));
        self.sheet.text((x + 3.0, y), "pass", kind, Anchor::Start);
        x += 12.0;
        self.sheet.rect(
            (x, y - 1.8),
            (6.0, 1.8),
            Stroke::solid(INK, 0.15),
            "#c9c9c9",
        );
        self.sheet.text((x + 7.5, y), "work", kind, Anchor::Start);
        x += 17.0;
        let wave: Vec<(f64, f64)> = (0..=8)
            .map(|at| {
                let off = if at % 2 == 0 { -0.5 } else { 0.5 };
                (x + f64::from(at) * 0.8, y - 0.9 + off)
            })
            .collect();
        self.sheet.path(&wave, Stroke::solid(WAIT, 0.3), None);
        self.sheet
            .text((x + 8.0, y), "waits for a train", kind, Anchor::Start);
        for (number, conflict) in facts.conflicts.iter().take(2).enumerate() {
            self.sheet.text(
                (MARGIN, y + 3.4 * (number + 1) as f64),
                &format!("{}: {}", number + 1, conflict.what),
                Type::bold(2.6, WRONG),
                Anchor::Start,
            );
        }
    }
}

fn length(length: Actual) -> String {
    length
        .show(LengthStyle::FeetInches(model::units::Fraction::Whole))
        .to_string()
}

/// The part of a straight line between two upright ones.
fn clipped(
    a: (f64, f64),
    b: (f64, f64),
    left: f64,
    right: f64,
) -> Option<((f64, f64), (f64, f64))> {
    if b.0 < left || a.0 > right || b.0 < a.0 {
        return None;
    }
    let at = |x: f64| {
        if b.0 > a.0 {
            a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0)
        } else {
            a.1
        }
    };
    let begin = if a.0 < left { (left, at(left)) } else { a };
    let end = if b.0 > right { (right, at(right)) } else { b };
    Some((begin, end))
}

/// Heights on paper in proportion to the miles, none closer than a name needs.
fn rows(facts: &Facts, top: f64, bottom: f64) -> Vec<f64> {
    let miles: Vec<f64> = facts.stations.iter().map(|place| place.mile).collect();
    let gaps: Vec<f64> = miles
        .windows(2)
        .map(|pair| (pair[1] - pair[0]).max(0.0))
        .collect();
    let room = bottom - top;
    let closest = CLOSEST.min(room / gaps.len().max(1) as f64);
    // Gaps that would be too narrow get the least; the others share the rest by their miles.
    let mut narrow = vec![false; gaps.len()];
    loop {
        let fixed = narrow.iter().filter(|narrow| **narrow).count() as f64 * closest;
        let free: f64 = gaps
            .iter()
            .zip(&narrow)
            .filter(|(_, narrow)| !**narrow)
            .map(|(gap, _)| gap)
            .sum();
        let per = if free > 0.0 {
            (room - fixed) / free
        } else {
            0.0
        };
        let mut changed = false;
        for (gap, narrow) in gaps.iter().zip(&mut narrow) {
            if !*narrow && gap * per < closest {
                *narrow = true;
                changed = true;
            }
        }
        if !changed {
            let mut y = top;
            let mut rows = vec![y];
            for (gap, narrow) in gaps.iter().zip(&narrow) {
                y += if *narrow { closest } else { gap * per };
                rows.push(y);
            }
            return rows;
        }
    }
}

fn hour(time: RailTime, style: TimeStyle) -> String {
    let hour = time.seconds().div_euclid(3600).rem_euclid(24);
    match style {
        TimeStyle::AmPm => match hour {
            0 => "midnight".to_owned(),
            12 => "noon".to_owned(),
            1..12 => format!("{hour} AM"),
            _ => format!("{} PM", hour - 12),
        },
        _ => format!("{hour}"),
    }
}
