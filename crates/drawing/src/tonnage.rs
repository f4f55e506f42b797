//! Grade against capacity: what a line asks of its trains, and how many cars each engine class takes over it.
//!
//! Both stand over the same length of track, in the direction of travel: above, the grade and what curves add to it; below,
//! from station to station, the cars of each class.

use model::units::Actual;
use railroad::{
    Railroad,
    rating::{LineRatings, Sheet as Ratings, drag},
};

use crate::svg::{Anchor, Sheet, Stroke, Type};

const INK: &str = "#1b1b1b";
const FAINT: &str = "#8a8a8a";
const RULE: &str = "#d5d5d5";
const EARTH: &str = "#e3d5b4";
const CURVE: &str = "#1f4e79";

/// Sheet of letter paper on its side, and the part of it that is drawn on, in millimetres.
const PAPER: (f64, f64) = (279.4, 215.9);
const LEFT: f64 = 20.0;
const RIGHT: f64 = 250.0;
const GRADES: (f64, f64) = (32.0, 92.0);
const CARS: (f64, f64) = (112.0, 196.0);

const SMALL: Type = Type::plain(2.6, INK);
const NOTE: Type = Type::italic(2.6, FAINT);

/// Dashes by which the classes are told apart, beside their names.
const DASHES: [&str; 4] = ["", "3 1", "1 1", "4 1 1 1"];

/// The drawing of one line in one direction.
pub fn plot(railroad: &Railroad, ratings: &Ratings, line: &LineRatings) -> String {
    let title = format!(
        "{}: {}, {}",
        railroad.identity.name, line.name, line.direction
    );
    let mut sheet = Sheet::new(PAPER.0, PAPER.1, format!("Grade against capacity. {title}"));
    sheet.text((LEFT, 14.0), &title, Type::bold(5.0, INK), Anchor::Start);
    let by = format!(
        "Tonnage ratings by {}, trains that {}; season: {}",
        match ratings.governs {
            mechanical::tonnage::Governs::Model => "what the models pull",
            mechanical::tonnage::Governs::FullSize => "what the full-size engines would pull",
        },
        match ratings.rated_for {
            mechanical::tonnage::RatedFor::Starting => "start wherever they are stopped",
            mechanical::tonnage::RatedFor::Moving => "keep moving",
        },
        ratings.seasons[ratings.season],
    );
    sheet.text((LEFT, 20.0), &by, SMALL, Anchor::Start);
    let length = line.profile.length().max(Actual::from_mm(1.0));
    let across = |at: Actual| LEFT + (RIGHT - LEFT) * (at / length);
    stations(&mut sheet, line, across);
    grades(&mut sheet, railroad, ratings, line, across);
    cars(&mut sheet, ratings, line, across);
    sheet.finish()
}

/// The stations as bands through both parts, named between them.
fn stations(sheet: &mut Sheet, line: &LineRatings, across: impl Fn(Actual) -> f64) {
    let mut free = [f64::NEG_INFINITY; 2];
    for place in &line.profile.places {
        let (from, to) = (across(place.from), across(place.to));
        for (top, bottom) in [GRADES, CARS] {
            sheet.rect(
                (from, top),
                ((to - from).max(0.3), bottom - top),
                Stroke::solid("none", 0.0),
                "#f3f3f3",
            );
        }
        // Two rows of names, so that neighbors do not run into each other.
        let middle = (from + to) / 2.0;
        let half = SMALL.width(&place.name) / 2.0;
        let row = usize::from(free[0] > middle - half);
        free[row] = middle + half + 1.0;
        sheet.text(
            (middle, GRADES.1 + 6.0 + 4.0 * row as f64),
            &place.name,
            SMALL,
            Anchor::Middle,
        );
    }
}

fn grades(
    sheet: &mut Sheet,
    railroad: &Railroad,
    ratings: &Ratings,
    line: &LineRatings,
    across: impl Fn(Actual) -> f64,
) {
    let share = |radius: Option<Actual>| {
        radius.map_or(0.0, |radius| drag(railroad, ratings.governs, radius))
    };
    let steepest = line
        .profile
        .pieces
        .iter()
        .map(|piece| (piece.grade.ratio() + share(piece.radius)).max(piece.grade.ratio().abs()))
        .fold(0.01, f64::max);
    let most = (steepest * 100.0).ceil();
    let middle = (GRADES.0 + GRADES.1) / 2.0;
    let up = |percent: f64| middle - percent / most * (GRADES.1 - GRADES.0) / 2.0;
    for percent in -(most as i32)..=most as i32 {
        let y = up(f64::from(percent));
        sheet.line(
            (LEFT, y),
            (RIGHT, y),
            Stroke::solid(if percent == 0 { INK } else { RULE }, 0.15),
        );
        sheet.text(
            (LEFT - 1.5, y + 0.9),
            &format!("{percent} %"),
            SMALL,
            Anchor::End,
        );
    }
    let mut at = Actual::ZERO;
    for piece in &line.profile.pieces {
        let (from, to) = (across(at), across(at + piece.length));
        at += piece.length;
        let grade = up(100.0 * piece.grade.ratio());
        let (top, bottom) = (grade.min(middle), grade.max(middle));
        if bottom > top {
            sheet.rect(
                (from, top),
                (to - from, bottom - top),
                Stroke::solid(INK, 0.1),
                EARTH,
            );
        }
        let total = up(100.0 * (piece.grade.ratio() + share(piece.radius)));
        if total < grade {
            sheet.rect(
                (from, total),
                (to - from, grade - total),
                Stroke::dashed(CURVE, 0.25, "1 0.6"),
                "none",
            );
        }
    }
    sheet.text(
        (RIGHT, GRADES.0 - 2.0),
        "grade in the direction of travel, filled; what curves add to it, dashed",
        NOTE,
        Anchor::End,
    );
}

fn cars(sheet: &mut Sheet, ratings: &Ratings, line: &LineRatings, across: impl Fn(Actual) -> f64) {
    let state = usize::from(ratings.rated_for == mechanical::tonnage::RatedFor::Moving);
    let rated: Vec<_> = line
        .classes
        .iter()
        .filter_map(|class| {
            Some((
                class.class.as_str(),
                class.governing(ratings).as_ref().ok()?,
            ))
        })
        .collect();
    let full = rated
        .iter()
        .map(|(_, rated)| rated.full_train)
        .max()
        .unwrap_or(10);
    let lowest = rated
        .iter()
        .map(|(_, rated)| rated.rating(ratings.rated_for).cars)
        .max()
        .unwrap_or(10);
    let most = f64::from(full.max(lowest)) * 1.25;
    let up = |cars: f64| CARS.1 - cars.min(most) / most * (CARS.1 - CARS.0);
    let step = if most > 50.0 { 10 } else { 5 };
    for cars in (0..=most as u32).step_by(step) {
        let y = up(f64::from(cars));
        sheet.line((LEFT, y), (RIGHT, y), Stroke::solid(RULE, 0.15));
        sheet.text((LEFT - 1.5, y + 0.9), &cars.to_string(), SMALL, Anchor::End);
    }
    let y = up(f64::from(full));
    sheet.line((LEFT, y), (RIGHT, y), Stroke::dashed(CURVE, 0.3, "2 1"));
    sheet.text(
        (LEFT + 1.0, y - 1.0),
        &format!("the longest train: {full} cars"),
        NOTE,
        Anchor::Start,
    );
    let mut names: Vec<(f64, String)> = Vec::new();
    for (at, (class, rated)) in rated.iter().enumerate() {
        let stroke = Stroke::dashed(
            INK,
            if at % 2 == 0 { 0.4 } else { 0.25 },
            DASHES[at % DASHES.len()],
        );
        let mut points = Vec::new();
        for (stretch, cars) in line.stretches.iter().zip(&rated.stretches) {
            let y = up(f64::from(cars[state]));
            points.push((across(stretch.from), y));
            points.push((across(stretch.to), y));
        }
        sheet.path(&points, stroke, None);
        let least = rated.rating(ratings.rated_for).cars;
        names.push((
            points.last().map_or(CARS.1, |point| point.1),
            format!("{class}: {least}"),
        ));
    }
    // Names beside the ends of the lines, pushed apart where they would overlap.
    names.sort_by(|a, b| a.0.total_cmp(&b.0).then_with(|| a.1.cmp(&b.1)));
    let mut free = CARS.0 - 2.0;
    for (y, name) in names {
        let at = y.max(free + 3.0);
        free = at;
        sheet.line((RIGHT, y), (RIGHT + 2.0, at), Stroke::solid(FAINT, 0.15));
        sheet.text((RIGHT + 2.5, at + 0.9), &name, SMALL, Anchor::Start);
    }
    sheet.text(
        (RIGHT, CARS.1 + 5.0),
        "cars from station to station; beside each class, over the whole line",
        NOTE,
        Anchor::End,
    );
}
