//! Cars from somebody else's spreadsheet: which column is what, what each cell means, and a report of all that was guessed.
//!
//! Nothing is taken silently: a value that is not written as the car record writes it is either read as what it probably
//! means, and said to be, or left out, and said to be.

mod cell;
mod column;

pub use column::{Column, Why};

use std::collections::{HashMap, HashSet};

use model::{
    Diagnostics, Sources,
    scale::Scale,
    text::{self, Need},
};

use crate::car::{self, canonical_marks, canonical_number, car_name};
use cell::{Cell, Taken};

/// What was made of a spreadsheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Imported {
    /// The columns of the spreadsheet, in its order, and what each was taken for.
    pub columns: Vec<Column>,
    /// The columns of the car record that are filled, in its order.
    pub keys: Vec<&'static str>,
    /// The cars, one value for each of `keys`.
    pub rows: Vec<Vec<String>>,
    /// Cells that were not taken as written.
    pub guesses: Vec<Guess>,
    /// Rows that were left out: line of the spreadsheet and reason.
    pub left_out: Vec<(usize, String)>,
}

/// A cell that was not taken as written.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Guess {
    /// Line of the spreadsheet, from 1.
    pub line: usize,
    /// The car, as far as it has a name.
    pub car: String,
    /// Key of the car record.
    pub key: &'static str,
    /// What the cell holds.
    pub found: String,
    /// What it was taken for; left out if none.
    pub taken: Option<String>,
    /// Why.
    pub why: String,
}

impl Imported {
    /// As a `cars.csv`.
    pub fn to_csv(&self) -> String {
        let mut text = self.keys.join(",");
        text.push('\n');
        for row in &self.rows {
            let cells: Vec<String> = row.iter().map(|cell| quoted(cell, ',')).collect();
            text.push_str(&cells.join(","));
            text.push('\n');
        }
        text
    }
}

/// A cell as CSV wants it.
pub fn quoted(cell: &str, separator: char) -> String {
    if cell.contains([separator, '"', '\n', '\r']) || cell != cell.trim() {
        format!("\"{}\"", cell.replace('"', "\"\""))
    } else {
        cell.to_owned()
    }
}

/// Reads a spreadsheet saved as text with commas, semicolons or tabs.
///
/// `mapping` says which heading is which key, before anything is guessed; an empty key leaves the column out. `known` are the
/// cars already on the record, by name: they are left out. Never fails: a spreadsheet that makes no sense gives no cars and
/// says why.
pub fn cars(
    bytes: &[u8],
    mapping: &[(String, String)],
    scale: Scale,
    known: &HashSet<String>,
) -> Imported {
    let mut sources = Sources::default();
    let file = sources.add("spreadsheet", bytes);
    let mut faults = Diagnostics::default();
    let sheet = text::csv::parse(&sources, file, &mut faults);
    let source = sources.get(file);
    let fields = car::PAGE.table.fields;
    let headings: Vec<String> = sheet.header.iter().map(|cell| cell.value.clone()).collect();
    let columns = column::guess(&headings, mapping);
    let mut rows: Vec<HashMap<&'static str, String>> = Vec::new();
    let mut guesses = Vec::new();
    let mut left_out = Vec::new();
    let mut names: HashSet<String> = known.clone();
    for row in &sheet.rows {
        let span = text::csv::row_span(row);
        let line = source.line_column(span.range().start).0;
        let mut values: HashMap<&'static str, String> = HashMap::new();
        let mut raw: Vec<(&'static str, String, &Column)> = Vec::new();
        for (column, cell) in columns.iter().zip(row) {
            if cell.value.trim().is_empty() {
                continue;
            }
            match column.key {
                Some("name") => {
                    let (marks, number) = split_name(&cell.value);
                    raw.push(("marks", marks, column));
                    raw.push(("number", number, column));
                }
                Some(key) => raw.push((key, cell.value.trim().to_owned(), column)),
                None => {}
            }
        }
        let find = |key: &str| {
            raw.iter()
                .find(|(one, ..)| *one == key)
                .map(|(_, value, _)| value.clone())
        };
        let marks = find("marks")
            .map(|marks| canonical_marks(&marks))
            .unwrap_or_default();
        let number = find("number")
            .map(|number| canonical_number(&number, &marks))
            .unwrap_or_default();
        let name = car_name(&marks, &number).trim().to_owned();
        if marks.is_empty() || number.is_empty() {
            left_out.push((
                line,
                format!(
                    "has no {}",
                    if marks.is_empty() {
                        "reporting marks"
                    } else {
                        "number"
                    }
                ),
            ));
            continue;
        }
        if known.contains(&name) {
            left_out.push((line, format!("{name} is on the record already")));
            continue;
        }
        if !names.insert(name.clone()) {
            left_out.push((line, format!("{name} stands in the spreadsheet before")));
            continue;
        }
        let designation = find("aar");
        for (key, found, column) in raw {
            // The first column that fills a key has it.
            if values.contains_key(key) {
                continue;
            }
            let Some(field) = fields.iter().find(|field| field.key == key) else {
                continue;
            };
            let cell = Cell {
                key,
                kind: &field.kind,
                found: &found,
                unit: column.unit.as_deref(),
                scale,
                designation: designation.as_deref(),
            };
            let mut guess = |taken: Option<String>, why: String| {
                guesses.push(Guess {
                    line,
                    car: name.clone(),
                    key,
                    found: found.clone(),
                    taken,
                    why,
                });
            };
            match cell.take() {
                Taken::AsWritten(value) => {
                    values.insert(key, value);
                }
                Taken::Guessed { value, why, also } => {
                    guess(Some(value.clone()), why);
                    values.insert(key, value);
                    if let Some((other, value)) = also {
                        values.entry(other).or_insert(value);
                    }
                }
                Taken::LeftOut(why) => guess(None, why),
            }
        }
        fill(
            &mut values,
            &mut guesses,
            line,
            &name,
            designation.as_deref(),
        );
        values.insert("marks", marks);
        values.insert("number", number);
        for field in fields
            .iter()
            .filter(|field| matches!(field.need, Need::Required))
        {
            if !values.contains_key(field.key) {
                guesses.push(Guess {
                    line,
                    car: name.clone(),
                    key: field.key,
                    found: String::new(),
                    taken: None,
                    why: "the car record needs it: fill it in".to_owned(),
                });
            }
        }
        rows.push(values);
    }
    let keys: Vec<&'static str> = fields
        .iter()
        .filter(|field| {
            matches!(field.need, Need::Required)
                || rows.iter().any(|row| row.contains_key(field.key))
        })
        .map(|field| field.key)
        .collect();
    let rows = rows
        .into_iter()
        .map(|mut row| {
            keys.iter()
                .map(|key| row.remove(key).unwrap_or_default())
                .collect()
        })
        .collect();
    Imported {
        columns,
        keys,
        rows,
        guesses,
        left_out,
    }
}

/// What follows from other cells: the kind from the mechanical designation.
fn fill(
    values: &mut HashMap<&'static str, String>,
    guesses: &mut Vec<Guess>,
    line: usize,
    car: &str,
    designation: Option<&str>,
) {
    if values.contains_key("kind") {
        return;
    }
    let Some(designation) = designation else {
        return;
    };
    if let Some(kind) = cell::kind_of(designation) {
        guesses.push(Guess {
            line,
            car: car.to_owned(),
            key: "kind",
            found: String::new(),
            taken: Some(kind.to_owned()),
            why: format!("from its designation {designation}"),
        });
        values.insert("kind", kind.to_owned());
    }
}

/// `SMR 101`, `SMR-101` or `SMR#101` as marks and number.
fn split_name(text: &str) -> (String, String) {
    let text = text.trim();
    let at = text
        .find(|c: char| c.is_ascii_digit())
        .unwrap_or(text.len());
    let marks = text[..at].trim_end_matches(|c: char| c.is_whitespace() || matches!(c, '-' | '#'));
    (marks.to_owned(), text[at..].trim().to_owned())
}

#[cfg(test)]
mod tests {
    use model::text::Reader;

    use super::*;
    use crate::{Context, Era, Roster};

    const SHEET: &str = "\
Road Name;Car #;Type;AAR Code;Length;Actual Wt (oz);Blt;Trucks;Brakes;Color;Remarks
SMR;101;Box Car;XM;40';4.1;37;Arch Bar;K;red;needs grabs
btc;\"2,204\";Covered Hopper;LO;6.1 in;3,9;6/1941;;AB;;
BTC;330;;GB;46;4;1929?;;;;
SMR;101;Box;XM;40;4;1937;;;;twice
;77;Box;XM;40;4;1937;;;;
BTC;401;Whatsit;;40;4;sometime;;;;
";

    fn import(mapping: &[(&str, &str)], known: &[&str]) -> Imported {
        let mapping: Vec<_> = mapping
            .iter()
            .map(|(a, b)| ((*a).to_owned(), (*b).to_owned()))
            .collect();
        let known = known.iter().map(|name| (*name).to_owned()).collect();
        cars(
            SHEET.as_bytes(),
            &mapping,
            Scale::new(87.1).unwrap(),
            &known,
        )
    }

    #[test]
    fn what_was_imported_is_read_as_cars_without_a_fault() {
        let imported = import(&[], &[]);
        let mut sources = Sources::default();
        let file = sources.add("cars.csv", imported.to_csv().as_bytes());
        let scale = Scale::new(87.1).unwrap();
        let mut reader = Reader::new(&sources, scale);
        let records = reader.csv(&car::PAGE, file);
        let roster = Roster::build(&mut reader, &records, &[]);
        let names: Vec<&str> = roster
            .cars
            .iter()
            .map(|car| car.name.value.as_str())
            .collect();
        assert_eq!(names, ["SMR 101", "BTC 2204", "BTC 330", "BTC 401"]);
        let faults = reader.out.into_sorted();
        // The one car whose kind nobody could guess lacks it, and nothing else is wrong.
        let said: Vec<&str> = faults.iter().map(|fault| fault.rule.code).collect();
        assert_eq!(said, ["missing-value"]);
        let boxcar = &roster.cars[0];
        let context = Context {
            era: Era::default(),
            scale,
            own_marks: vec!["SMR".into()],
            country: crate::era::Country::UnitedStates,
        };
        assert!(
            !boxcar.is_foreign(&context) && boxcar.has_arch_bar_trucks() && boxcar.has_k_brakes()
        );
        assert_eq!(boxcar.built.unwrap().value.first().year(), 1937);
        // 40 ft is the nominal length of the inside; couplers and ends come to 4 ft more.
        assert!((boxcar.length.unwrap().value.inches() - 44.0 * 12.0 / 87.1).abs() < 0.01);
        assert!((boxcar.weight.unwrap().value.ounces() - 4.1).abs() < 1e-9);
        assert!((roster.cars[1].length.unwrap().value.inches() - 6.1).abs() < 1e-9);
        assert_eq!(roster.cars[2].kind.unwrap().value.word(), "gondola");
    }

    #[test]
    fn all_that_was_guessed_is_reported() {
        let imported = import(&[], &[]);
        let of = |car: &str, key: &str| {
            imported
                .guesses
                .iter()
                .find(|guess| guess.car == car && guess.key == key)
                .map(|guess| guess.taken.clone())
        };
        assert_eq!(of("SMR 101", "kind"), Some(Some("boxcar".into())));
        assert!(of("SMR 101", "length").flatten().is_some());
        assert_eq!(of("SMR 101", "built"), Some(Some("1937".into())));
        assert_eq!(of("BTC 330", "kind"), Some(Some("gondola".into())));
        assert_eq!(of("BTC 330", "built"), Some(Some("1929".into())));
        assert_eq!(of("BTC 401", "built"), Some(None));
        assert_eq!(
            of("SMR 101", "truck"),
            None,
            "arch bars are written as the record has them"
        );
        let left: Vec<&str> = imported
            .left_out
            .iter()
            .map(|(_, why)| why.as_str())
            .collect();
        assert_eq!(
            left,
            [
                "SMR 101 stands in the spreadsheet before",
                "has no reporting marks"
            ]
        );
        assert_eq!(imported.left_out[0].0, 5);
        let color = imported
            .columns
            .iter()
            .find(|column| column.heading == "Color")
            .unwrap();
        assert_eq!(color.key, None);
    }

    #[test]
    fn a_mapping_counts_before_any_guess_and_known_cars_are_left_out() {
        let imported = import(&[("Color", "note"), ("Remarks", "")], &["BTC 330"]);
        let note = imported.keys.iter().position(|key| *key == "note").unwrap();
        assert_eq!(imported.rows[0][note], "red");
        assert!(
            imported
                .left_out
                .iter()
                .any(|(_, why)| why.contains("on the record already"))
        );
    }

    #[test]
    fn nonsense_gives_no_cars() {
        for bytes in [&b""[..], b"\xff\xfe", b"a,b,c\n1,2,3\n", b"\"unclosed"] {
            assert!(
                cars(bytes, &[], Scale::new(87.1).unwrap(), &HashSet::new())
                    .rows
                    .is_empty()
            );
        }
    }
}
