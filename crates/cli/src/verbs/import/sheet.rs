//! A sheet of a spreadsheet program's file, as CSV text.

use std::{io::Cursor, path::Path};

use calamine::{Data, DataType as _, Reader as _, open_workbook_auto_from_rs};
use mechanical::import::quoted;

use crate::outcome::Failure;

/// Why a sheet could not be read.
#[derive(Debug)]
pub(super) enum NoSheet {
    /// It is no spreadsheet that is known.
    Unreadable(String),
    /// There is no sheet of that name; those there are.
    Unknown(String, Vec<String>),
}

impl NoSheet {
    /// In words.
    pub(super) fn failure(self, file: &Path) -> Failure {
        let file = file.display();
        match self {
            Self::Unreadable(why) => {
                Failure::misunderstood(format!("{file} is no spreadsheet that can be read: {why}"))
                    .help("save the sheet as CSV and import that")
            }
            Self::Unknown(name, names) => {
                Failure::misunderstood(format!("{file} has no sheet `{name}`"))
                    .help(format!("its sheets are: {}", names.join(", ")))
            }
        }
    }
}

/// The sheet of that name, or the first, with commas between its cells.
pub(super) fn as_text(bytes: &[u8], name: Option<&str>) -> Result<String, NoSheet> {
    let mut book = open_workbook_auto_from_rs(Cursor::new(bytes))
        .map_err(|error| NoSheet::Unreadable(error.to_string()))?;
    let names = book.sheet_names();
    let sheet = match name {
        None => names.first().cloned(),
        Some(name) => names
            .iter()
            .find(|one| one.eq_ignore_ascii_case(name))
            .cloned(),
    };
    let sheet =
        sheet.ok_or_else(|| NoSheet::Unknown(name.unwrap_or_default().to_owned(), names))?;
    let range = book
        .worksheet_range(&sheet)
        .map_err(|error| NoSheet::Unreadable(error.to_string()))?;
    let mut text = String::new();
    for row in range.rows() {
        let cells: Vec<String> = row.iter().map(|cell| quoted(&shown(cell), ',')).collect();
        text.push_str(&cells.join(","));
        text.push('\n');
    }
    Ok(text)
}

/// A cell as its owner sees it, as far as the file tells; dates as dates, whatever their format.
fn shown(cell: &Data) -> String {
    match cell {
        Data::DateTime(_) | Data::DateTimeIso(_) => match cell.as_date() {
            Some(date) => date.to_string(),
            None => cell.to_string(),
        },
        Data::Error(_) => String::new(),
        cell => cell.to_string(),
    }
}
