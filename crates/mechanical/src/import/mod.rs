//! Cars or engines from somebody else's spreadsheet: which column is what, what each cell means, and a report of all that was guessed.
//!
//! Nothing is taken silently: a value that is not written as the record writes it is either read as what it probably
//! means, and said to be, or left out, and said to be.

mod cell;
mod column;

pub use column::{Column, Why};

use std::collections::{HashMap, HashSet};

use model::{
    Diagnostics, Sources,
    scale::Scale,
    text::{self, Need, Page},
};

use crate::{
    CarKind, EngineKind,
    car::{self, canonical_marks, canonical_number, car_name},
    engine::{self, Wheels},
};
use cell::{Cell, Taken};
use column::Usual;

/// What a spreadsheet lists.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum List {
    /// Cars, for `cars.csv`.
    Cars,
    /// Engines, for `engines.csv`.
    Engines,
}

impl List {
    /// The page its rows are for.
    pub const fn page(self) -> &'static Page {
        match self {
            Self::Cars => &car::PAGE,
            Self::Engines => &engine::PAGE,
        }
    }

    /// One of them, in a word.
    pub const fn noun(self) -> &'static str {
        match self {
            Self::Cars => "car",
            Self::Engines => "engine",
        }
    }

    /// So many of them: `1 car`, `12 cars`.
    pub fn count(self, number: usize) -> String {
        let word = if number == 1 {
            self.noun()
        } else {
            self.plural()
        };
        format!("{number} {word}")
    }

    /// Several of them, in a word.
    pub const fn plural(self) -> &'static str {
        match self {
            Self::Cars => "cars",
            Self::Engines => "engines",
        }
    }

    const fn usual(self) -> Usual {
        match self {
            Self::Cars => column::CARS,
            Self::Engines => column::ENGINES,
        }
    }

    /// The column the kind may follow from, and what it is called.
    const fn clue(self) -> (&'static str, &'static str) {
        match self {
            Self::Cars => ("aar", "designation"),
            Self::Engines => ("wheels", "wheel arrangement"),
        }
    }

    /// The kind that such a cell usually stands for. Wheels in Whyte notation are those of steam; those in letters may be
    /// diesel or electric.
    fn kind_by(self, clue: &str) -> Option<&'static str> {
        match self {
            Self::Cars => cell::kind_of(clue).map(CarKind::word),
            Self::Engines => {
                matches!(Wheels::parse(clue)?, Wheels::Whyte(_)).then(|| EngineKind::Steam.word())
            }
        }
    }
}

/// What was made of a spreadsheet.
#[derive(Debug, Clone, PartialEq)]
pub struct Imported {
    /// What it lists.
    pub list: List,
    /// The columns of the spreadsheet, in its order, and what each was taken for.
    pub columns: Vec<Column>,
    /// The columns of the record that are filled, in its order.
    pub keys: Vec<&'static str>,
    /// The cars or engines, one value for each of `keys`.
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
    /// The car or engine.
    pub name: String,
    /// Key of the record.
    pub key: &'static str,
    /// What the cell holds.
    pub found: String,
    /// What it was taken for; left out if none.
    pub taken: Option<String>,
    /// Why.
    pub why: String,
}

impl Imported {
    /// As a `cars.csv` or `engines.csv`.
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
/// cars or engines already on the record, by name: they are left out. Never fails: a spreadsheet that makes no sense gives no
/// rows and says why.
pub fn read(
    list: List,
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
    let fields = list.page().table.fields;
    let headings: Vec<String> = sheet.header.iter().map(|cell| cell.value.clone()).collect();
    let columns = column::guess(list, &headings, mapping);
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
            .map(|number| match list {
                List::Cars => canonical_number(&number, &marks),
                List::Engines => engine_number(&number),
            })
            .unwrap_or_default();
        let lacks = if marks.is_empty() && list == List::Cars {
            Some("reporting marks")
        } else {
            number.is_empty().then_some("number")
        };
        if let Some(lacks) = lacks {
            left_out.push((line, format!("has no {lacks}")));
            continue;
        }
        let name = match list {
            List::Cars => car_name(&marks, &number).trim().to_owned(),
            List::Engines => number.clone(),
        };
        if known.contains(&name) {
            left_out.push((line, format!("{name} is on the record already")));
            continue;
        }
        if !names.insert(name.clone()) {
            left_out.push((line, format!("{name} stands in the spreadsheet before")));
            continue;
        }
        let clue = find(list.clue().0);
        for (key, found, column) in raw {
            // The first column that fills a key has it.
            if values.contains_key(key) {
                continue;
            }
            let Some(field) = fields.iter().find(|field| field.key == key) else {
                continue;
            };
            let cell = Cell {
                list,
                key,
                kind: &field.kind,
                found: &found,
                unit: column.unit.as_deref(),
                scale,
                clue: clue.as_deref(),
            };
            let mut guess = |taken: Option<String>, why: String| {
                guesses.push(Guess {
                    line,
                    name: name.clone(),
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
        if !values.contains_key("kind")
            && let Some(clue) = values.get(list.clue().0).cloned()
            && let Some(kind) = list.kind_by(&clue)
        {
            guesses.push(Guess {
                line,
                name: name.clone(),
                key: "kind",
                found: String::new(),
                taken: Some(kind.to_owned()),
                why: format!("from its {} {clue}", list.clue().1),
            });
            values.insert("kind", kind.to_owned());
        }
        if list == List::Cars {
            values.insert("marks", marks);
        }
        values.insert("number", number);
        for field in fields
            .iter()
            .filter(|field| matches!(field.need, Need::Required))
        {
            if !values.contains_key(field.key) {
                guesses.push(Guess {
                    line,
                    name: name.clone(),
                    key: field.key,
                    found: String::new(),
                    taken: None,
                    why: format!("the {} record needs it: fill it in", list.noun()),
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
        list,
        columns,
        keys,
        rows,
        guesses,
        left_out,
    }
}

/// An engine's number without what a spreadsheet adds, and otherwise as written: it may have its road's marks before it.
fn engine_number(text: &str) -> String {
    let text = text.trim().trim_start_matches('#').trim_start();
    let number = canonical_number(text, "");
    if number.eq_ignore_ascii_case(text) {
        text.to_owned()
    } else {
        number
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
        read(
            List::Cars,
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
                .find(|guess| guess.name == car && guess.key == key)
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
    fn nonsense_gives_no_rows() {
        for bytes in [&b""[..], b"\xff\xfe", b"a,b,c\n1,2,3\n", b"\"unclosed"] {
            assert!([List::Cars, List::Engines].into_iter().all(|list| {
                read(list, bytes, &[], Scale::new(87.1).unwrap(), &HashSet::new())
                    .rows
                    .is_empty()
            }));
        }
    }

    #[test]
    fn engines_that_were_imported_are_read_without_a_fault() {
        let sheet = "\
Loco;Type;Wheel arrangement;Drivers (in);Cyl;Engine wt (tons);T.E.;HP;Min radius;Pull (oz);Wt;DCC address;Length
SMR 7;Steam loco;4-6-0;63;21 x 28;90;31,000;;24;3.1;16;7;10.1 in
70;Diesel-electric switcher;B-B;;22;115 tons;44;1,000 hp;610;4;450;99999;46'
71;;B-B;;;;;;;;210000;;6
";
        let scale = Scale::new(87.1).unwrap();
        let imported = read(List::Engines, sheet.as_bytes(), &[], scale, &HashSet::new());
        assert!(imported.columns.iter().all(|column| column.key.is_some()));
        let left_out: Vec<(&str, &str)> = imported
            .guesses
            .iter()
            .filter(|guess| guess.taken.is_none())
            .map(|guess| (guess.name.as_str(), guess.key))
            .collect();
        assert_eq!(
            left_out,
            [
                ("70", "cylinders"),
                ("70", "tractive_effort"),
                ("70", "address"),
                ("71", "weight"),
                ("71", "kind"),
            ]
        );
        let mut sources = Sources::default();
        let file = sources.add("engines.csv", imported.to_csv().as_bytes());
        let mut reader = Reader::new(&sources, scale);
        let records = reader.csv(&engine::PAGE, file);
        let roster = Roster::build(&mut reader, &[], &records);
        // The one engine whose kind nobody could guess lacks it, and nothing else is wrong.
        let faults = reader.out.into_sorted();
        let said: Vec<&str> = faults.iter().map(|fault| fault.rule.code).collect();
        assert_eq!(said, ["missing-value"]);
        let [steam, diesel, last] = &roster.engines[..] else {
            panic!("three engines: {}", imported.to_csv());
        };
        assert_eq!(steam.number.value, "SMR 7");
        assert_eq!(steam.kind.unwrap().value, EngineKind::Steam);
        assert!((steam.drivers.unwrap().value.inches() - 63.0).abs() < 1e-9);
        assert!((steam.minimum_radius.unwrap().value.inches() - 24.0).abs() < 1e-9);
        assert!((steam.tractive_effort.unwrap().value.pounds() - 31_000.0).abs() < 1e-6);
        assert_eq!(diesel.kind.unwrap().value, EngineKind::Diesel);
        assert_eq!(diesel.horsepower, Some(1000.0));
        assert!((diesel.minimum_radius.unwrap().value.mm() - 610.0).abs() < 1e-6);
        // A full-size length is taken for the one over the couplers: nothing is added.
        assert!((diesel.length.unwrap().value.inches() - 46.0 * 12.0 / 87.1).abs() < 0.01);
        assert!((last.length.unwrap().value.inches() - 6.0).abs() < 1e-9);
    }
}
