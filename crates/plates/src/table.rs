//! The tables of a plan, and the sheets they stand on.

use engineering::turnout::{BillLine, Feed, Plan};
use kurbo::Point;

use crate::{
    letters,
    shape::{Layer, Stand},
    sheet::{Paper, Sheet, Title},
    words,
};

/// A table with a heading; three cells to a row. A row of one cell is running text.
#[derive(Debug, Clone, PartialEq)]
pub struct Section {
    /// What it is.
    pub heading: String,
    /// Its rows.
    pub rows: Vec<Vec<String>>,
}

/// Everything a plan has to say besides its drawing.
pub fn sections(plan: &Plan) -> Vec<Section> {
    let mut sections = Vec::new();
    let mut add = |heading: &str, rows: Vec<Vec<String>>| {
        if !rows.is_empty() {
            sections.push(Section {
                heading: heading.into(),
                rows,
            });
        }
    };
    let fact = |fact: &engineering::turnout::Fact| {
        let [a, b] = words::amount(&fact.amount);
        vec![fact.what.clone(), a, b]
    };
    add("Dimensions", plan.table.iter().map(fact).collect());
    let mut offsets = vec![vec!["place".into(), "along".into(), "aside".into()]];
    for offset in &plan.offsets {
        let both = |metres| format!("{} ({})", words::mm(metres), words::inches(metres));
        offsets.push(vec![
            offset.place.clone(),
            both(offset.along),
            both(offset.aside),
        ]);
    }
    if plan.offsets.is_empty() {
        offsets.clear();
    }
    add(
        "Offsets of the curved closure rail, from the straight stock rail, gauge line to gauge line",
        offsets,
    );
    add("Bill of material", plan.bill().iter().map(bill).collect());
    add(
        "To file, plane and bend",
        plan.jig().iter().map(fact).collect(),
    );
    let mut notes: Vec<String> = Vec::new();
    if !plan.gaps.is_empty() {
        notes.push(match plan.feed {
            Feed::Live => "Live frog: insulated gaps stand beyond its toe and heel. Feed it through a contact \
                that changes with the points; join points and closure rails to their stock rails."
                .into(),
            Feed::Isolated => "Isolated frog: gaps stand close around its point, so that the stretch without \
                current is short. Feed the rails beyond by jumpers; short engines may stall on it."
                .into(),
        });
    }
    notes.extend(plan.notes.iter().cloned());
    notes.extend(CAUTIONS.iter().map(|&caution| caution.to_owned()));
    add(
        "Notes and cautions",
        notes.into_iter().map(|note| vec![note]).collect(),
    );
    sections
}

/// Usual workshop cautions.
const CAUTIONS: &[&str] = &[
    "Check every clearance with the standard's own gauge before a train runs: paper shrinks and swells.",
    "Files and saws: clamp the rail, never hold it; wear eye protection when cutting rail with a disc; \
     deburr the ends, they are sharp.",
    "Solder and flux: air the room, wear eye protection, keep the hot iron in its stand, wash your hands. \
     Do not solder on a layout that is under power.",
    "Anything joined to the mains (power supplies, switch machine supplies) must be bought ready and approved, \
     or be put in by a licensed electrician; local codes go before anything printed here.",
];

fn bill(line: &BillLine) -> Vec<String> {
    let length = line.length.map_or(String::new(), words::mm);
    let inches = line.length.map_or(String::new(), words::inches);
    vec![format!("{} × {}", line.count, line.what), length, inches]
}

const SIZE: f64 = 2.6;
const STEP: f64 = 3.7;

/// Sheets for the tables, upright; the first is sheet `first` of `of` (as many as [`count`] says).
pub(crate) fn sheets(
    sections: &[Section],
    paper: Paper,
    title: &Title,
    before: usize,
) -> Vec<Sheet> {
    let count = lay(sections, paper, title, before, 0).len();
    lay(sections, paper, title, before, count)
}

fn lay(
    sections: &[Section],
    paper: Paper,
    title: &Title,
    before: usize,
    count: usize,
) -> Vec<Sheet> {
    let mut sheets: Vec<Sheet> = Vec::new();
    let mut y = 0.0;
    let mut low = f64::INFINITY;
    let turn = |sheets: &mut Vec<Sheet>, y: &mut f64, low: &mut f64| {
        let at = before + sheets.len() + 1;
        let sheet = Sheet::new(paper, false, title, (at, before + count), "tables");
        let room = sheet.room();
        *y = room.y1 - 5.0;
        *low = room.y0 + 3.0;
        sheets.push(sheet);
    };
    for section in sections {
        // A heading does not stand alone at the foot of a sheet.
        if y - 4.0 * STEP < low || sheets.is_empty() {
            turn(&mut sheets, &mut y, &mut low);
        } else {
            y -= 0.9 * STEP;
        }
        for (index, row) in section.rows.iter().enumerate() {
            let Some(sheet) = sheets.last() else { break };
            let room = sheet.room();
            let wide = if row.len() == 1 {
                room.width() - 6.0
            } else {
                0.55 * room.width()
            };
            let lines = letters::wrapped(row.first().map_or("", String::as_str), SIZE, false, wide);
            let tall = STEP * lines.len().max(1) as f64;
            let head = if index == 0 { 1.4 * STEP } else { 0.0 };
            if y - tall - head < low {
                turn(&mut sheets, &mut y, &mut low);
            }
            let Some(sheet) = sheets.last_mut() else {
                break;
            };
            let x = room.x0 + 2.0;
            if index == 0 {
                for line in letters::wrapped(&section.heading, 3.2, true, room.width() - 4.0) {
                    sheet.heavy.push((Point::new(x, y), line, 3.2));
                    y -= 1.4 * STEP;
                }
            }
            for (at, line) in lines.iter().enumerate() {
                sheet.around.text(
                    Point::new(x, y - STEP * at as f64),
                    line.clone(),
                    SIZE,
                    Stand::Begin,
                );
            }
            for (cell, share) in row.iter().skip(1).zip([0.75, 0.985]) {
                sheet.around.text(
                    Point::new(room.x0 + share * room.width(), y),
                    cell.clone(),
                    SIZE,
                    Stand::End,
                );
            }
            y -= tall;
            if row.len() > 1 {
                let rule = y + 0.72 * STEP;
                sheet.around.line(
                    Layer::Rule,
                    Point::new(x, rule),
                    Point::new(room.x1 - 2.0, rule),
                );
            } else {
                y -= 0.4 * STEP;
            }
        }
    }
    sheets
}
