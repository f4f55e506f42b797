//! What a season came to, drawn: how full the yards and staging were from session to session, and what
//! the cars of each kind did.
//!
//! Lines are told apart by their dashes and bars by their hatching as well as by colour, and both are
//! named on the sheet.

use crate::svg::{Anchor, Sheet, Stroke, Type};

const INK: &str = "#1b1b1b";
const FAINT: &str = "#6f6f6f";
const RULE: &str = "#d5d5d5";
const BLUE: &str = "#1f4e79";
const RUST: &str = "#a04a16";

/// Letter paper on its side, in millimetres.
const PAPER: (f64, f64) = (279.4, 215.9);
const LEFT: f64 = 18.0;
const RIGHT: f64 = 261.0;
const TOP: f64 = 34.0;
const BOTTOM: f64 = 200.0;

const SMALL: Type = Type::plain(2.6, INK);
const NOTE: Type = Type::italic(2.6, FAINT);
const NAME: Type = Type::bold(3.2, INK);

/// The median, the 95 per cent line and the fullest: colour, width, dashes and name.
const LINES: [(Stroke, &str); 3] = [
    (Stroke::solid(BLUE, 0.5), "median of the runs"),
    (Stroke::dashed(RUST, 0.4, "2 1"), "95 of 100 below"),
    (Stroke::dashed(INK, 0.3, "0.6 0.8"), "fullest"),
];

/// How full the tracks of a place were.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Its name.
    pub name: String,
    /// What the room is, in words.
    pub room: String,
    /// For each session the median, 95 per cent and most over the runs, as parts of the room.
    pub sessions: Vec<[f64; 3]>,
}

/// What the cars of a kind did.
#[derive(Debug, Clone, PartialEq)]
pub struct Kind {
    /// The kind.
    pub name: String,
    /// Cars in service.
    pub cars: f64,
    /// Of them idle, on the mean.
    pub idle: f64,
    /// Orders due for which no car had been found, on the mean.
    pub short: f64,
}

fn head(title: &str, about: &str) -> Sheet {
    let mut sheet = Sheet::new(PAPER.0, PAPER.1, title);
    sheet.text((LEFT, 14.0), title, Type::bold(5.0, INK), Anchor::Start);
    sheet.text((LEFT, 20.0), about, SMALL, Anchor::Start);
    sheet
}

/// Occupancy: a panel for each place, as many to a sheet as are legible. One SVG a sheet.
pub fn occupancy(title: &str, about: &str, places: &[Place]) -> Vec<String> {
    const ROWS: usize = 4;
    const COLUMNS: usize = 2;
    places
        .chunks(ROWS * COLUMNS)
        .map(|places| {
            let mut sheet = head(title, about);
            let mut at = LEFT;
            for (stroke, name) in LINES {
                sheet.line((at, 26.0), (at + 9.0, 26.0), stroke);
                sheet.text((at + 11.0, 27.0), name, SMALL, Anchor::Start);
                at += 16.0 + SMALL.width(name);
            }
            let (width, height) = (
                (RIGHT - LEFT) / COLUMNS as f64,
                (BOTTOM - TOP) / ROWS as f64,
            );
            for (number, place) in places.iter().enumerate() {
                let corner = (
                    LEFT + width * (number % COLUMNS) as f64,
                    TOP + height * (number / COLUMNS) as f64,
                );
                panel(&mut sheet, place, corner, (width - 12.0, height - 14.0));
            }
            sheet.finish()
        })
        .collect()
}

fn panel(sheet: &mut Sheet, place: &Place, corner: (f64, f64), size: (f64, f64)) {
    let (left, top) = (corner.0 + 8.0, corner.1 + 5.0);
    sheet.text((left, top - 1.5), &place.name, NAME, Anchor::Start);
    sheet.text((left + size.0, top - 1.5), &place.room, NOTE, Anchor::End);
    let most = place
        .sessions
        .iter()
        .map(|parts| parts[2])
        .fold(1.0, f64::max);
    let high = |part: f64| top + size.1 * (1.0 - part / most);
    for percent in [0, 50, 100] {
        let y = high(f64::from(percent) / 100.0);
        let stroke = if percent == 100 {
            Stroke::solid(INK, 0.25)
        } else {
            Stroke::solid(RULE, 0.2)
        };
        sheet.line((left, y), (left + size.0, y), stroke);
        sheet.text(
            (left - 1.0, y + 0.9),
            &format!("{percent} %"),
            SMALL,
            Anchor::End,
        );
    }
    let count = place.sessions.len();
    let across = |session: usize| left + size.0 * session as f64 / (count.max(2) - 1) as f64;
    for (line, (stroke, _)) in LINES.iter().enumerate() {
        let points: Vec<(f64, f64)> = place
            .sessions
            .iter()
            .enumerate()
            .map(|(session, parts)| (across(session), high(parts[line])))
            .collect();
        sheet.path(&points, *stroke, None);
    }
    let foot = top + size.1 + 3.5;
    sheet.text((left, foot), "session 1", SMALL, Anchor::Start);
    sheet.text(
        (left + size.0, foot),
        &format!("session {count}"),
        SMALL,
        Anchor::End,
    );
}

/// Car supply: a bar for each kind, parted into cars at work and idle ones, and the orders without a
/// car beside it.
pub fn supply(title: &str, about: &str, kinds: &[Kind]) -> String {
    let mut sheet = head(title, about);
    let most = kinds
        .iter()
        .map(|kind| kind.cars + kind.short)
        .fold(1.0, f64::max);
    let (left, right) = (LEFT + 34.0, RIGHT - 44.0);
    let long = |cars: f64| (right - left) * cars / most;
    let row = ((BOTTOM - TOP) / kinds.len().max(1) as f64).min(14.0);
    let bar = row * 0.6;
    let mut at = LEFT;
    for (hatch, name) in [
        (Hatch::Full, "at work"),
        (Hatch::Slanted, "idle"),
        (Hatch::Crossed, "orders without a car"),
    ] {
        fill(&mut sheet, (at, 23.5), (9.0, 4.0), hatch);
        sheet.text((at + 11.0, 27.0), name, SMALL, Anchor::Start);
        at += 16.0 + SMALL.width(name);
    }
    for (number, kind) in kinds.iter().enumerate() {
        let top = TOP + row * number as f64;
        let base = top + bar * 0.75;
        sheet.text((left - 2.0, base), &kind.name, NAME, Anchor::End);
        let work = (kind.cars - kind.idle).max(0.0);
        let mut x = left;
        for (cars, hatch) in [
            (work, Hatch::Full),
            (kind.idle, Hatch::Slanted),
            (kind.short, Hatch::Crossed),
        ] {
            if long(cars) > 0.1 {
                fill(&mut sheet, (x, top), (long(cars), bar), hatch);
            }
            x += long(cars);
        }
        let words = format!(
            "{:.0} cars, {:.1} idle, {:.1} short",
            kind.cars, kind.idle, kind.short
        );
        sheet.text((x + 2.0, base), &words, SMALL, Anchor::Start);
    }
    sheet.finish()
}

#[derive(Clone, Copy, PartialEq)]
enum Hatch {
    Full,
    Slanted,
    Crossed,
}

/// A box, hatched so that it reads without colour.
fn fill(sheet: &mut Sheet, at: (f64, f64), size: (f64, f64), hatch: Hatch) {
    let (color, paper) = match hatch {
        Hatch::Full => (BLUE, "#8aa9c6"),
        Hatch::Slanted => (FAINT, "#ffffff"),
        Hatch::Crossed => (RUST, "#ffffff"),
    };
    sheet.rect(at, size, Stroke::solid(color, 0.3), paper);
    if hatch == Hatch::Full {
        return;
    }
    let step = 1.8;
    let thin = Stroke::solid(color, 0.2);
    let mut from = step;
    // Slanted lines at 45 degrees, cut at the box: x + y is constant along each.
    while from < size.0 + size.1 {
        let (a, b) = (
            (from.min(size.0), (from - size.0).max(0.0)),
            ((from - size.1).max(0.0), from.min(size.1)),
        );
        let place = |point: (f64, f64)| (at.0 + point.0, at.1 + point.1);
        sheet.line(place(a), place(b), thin);
        if hatch == Hatch::Crossed {
            let mirror = |point: (f64, f64)| (at.0 + size.0 - point.0, at.1 + point.1);
            sheet.line(mirror(a), mirror(b), thin);
        }
        from += step;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_place_and_kind_is_named_with_its_numbers() {
        let place = |name: &str| Place {
            name: name.into(),
            room: "12 ft".into(),
            sessions: vec![[0.2, 0.4, 0.5], [0.3, 0.9, 1.2]],
        };
        let sheets = occupancy("Title", "about", &vec![place("Yard & Co"); 9]);
        assert_eq!(sheets.len(), 2);
        assert_eq!(sheets[0].matches("Yard &amp; Co").count(), 8);
        // Dashes and names, beside colours.
        assert!(sheets[0].contains("stroke-dasharray") && sheets[0].contains("95 of 100 below"));
        let kinds = [Kind {
            name: "boxcar".into(),
            cars: 20.0,
            idle: 5.0,
            short: 1.5,
        }];
        let svg = supply("Title", "about", &kinds);
        assert!(svg.contains("20 cars, 5.0 idle, 1.5 short"), "{svg}");
        // Hatching: more lines than the bars have edges.
        assert!(svg.matches("<path").count() > 20);
    }
}
