//! Edits of CSV text that leave every other cell byte for byte as it was.

use model::{
    Diagnostics, Sources,
    source::Encoding,
    text::{Page, csv::Sheet, read::column_key},
};

use super::Refusal;

/// The sheet, its text, and what goes around its edits.
struct Open {
    sheet: Sheet,
    text: String,
    encoding: Encoding,
    line_end: &'static str,
}

fn open(file: &str, bytes: &[u8]) -> Open {
    let mut sources = Sources::default();
    let id = sources.add(file, bytes);
    let sheet = model::text::csv::parse(&sources, id, &mut Diagnostics::default());
    let source = sources.get(id);
    let line_end = if source.text.contains("\r\n") {
        "\r\n"
    } else {
        "\n"
    };
    Open {
        sheet,
        text: source.text.clone(),
        encoding: source.encoding,
        line_end,
    }
}

impl Open {
    fn close(self, file: &str) -> Result<Vec<u8>, Refusal> {
        match self.encoding {
            Encoding::Utf8 => Ok(self.text.into_bytes()),
            Encoding::Utf8Marked => Ok(format!("\u{feff}{}", self.text).into_bytes()),
            Encoding::Utf16 => {
                let units = std::iter::once(0xfeff).chain(self.text.encode_utf16());
                Ok(units.flat_map(u16::to_le_bytes).collect())
            }
            Encoding::Windows1252 => {
                let (bytes, _, lost) = encoding_rs::WINDOWS_1252.encode(&self.text);
                if lost {
                    return Err(Refusal::NoValue {
                        value: file.to_owned(),
                        expected: "characters of Windows-1252, the encoding of this file; save it \
                                   as UTF-8 for others"
                            .into(),
                    });
                }
                Ok(bytes.into_owned())
            }
        }
    }

    fn quoted(&self, value: &str) -> String {
        let separator = self.sheet.separator;
        let plain = !value.contains([separator, '"', '\n', '\r']) && value.trim() == value;
        if plain {
            value.to_owned()
        } else {
            format!("\"{}\"", value.replace('"', "\"\""))
        }
    }

    fn column(&self, page: &Page, file: &str, key: &str) -> Result<Option<usize>, Refusal> {
        if page.table.fields.iter().all(|field| field.key != key) {
            let keys: Vec<&str> = page.table.fields.iter().map(|field| field.key).collect();
            return Err(Refusal::NoPlace {
                file: file.to_owned(),
                place: key.to_owned(),
                help: format!("the columns are {}", keys.join(", ")),
            });
        }
        Ok(self
            .sheet
            .header
            .iter()
            .position(|cell| column_key(&cell.value) == key))
    }

    /// The end of the line on which a row ends, before its line end.
    fn end_of_row(&self, row: &[model::Spanned<String>]) -> usize {
        let last = row[row.len() - 1].span.range().end;
        self.text[last..]
            .find(['\n', '\r'])
            .map_or(self.text.len(), |at| last + at)
    }
}

pub(super) fn start(values: &[(String, String)]) -> String {
    let cell = |text: &str| match text.contains([',', '"', '\n']) {
        true => format!("\"{}\"", text.replace('"', "\"\"")),
        false => text.to_owned(),
    };
    let keys: Vec<&str> = values.iter().map(|(key, _)| key.as_str()).collect();
    let cells: Vec<String> = values.iter().map(|(_, value)| cell(value)).collect();
    format!("{}\n{}\n", keys.join(","), cells.join(","))
}

pub(super) fn set(
    page: &Page,
    file: &str,
    bytes: &[u8],
    row: usize,
    column: &str,
    value: &str,
) -> Result<Vec<u8>, Refusal> {
    let mut open = open(file, bytes);
    let at = open.column(page, file, column)?;
    let no_row = || Refusal::NoPlace {
        file: file.to_owned(),
        place: format!("row {}", row + 1),
        help: "the table is shorter".into(),
    };
    let cells = open.sheet.rows.get(row).ok_or_else(no_row)?.clone();
    let text = open.quoted(value);
    match at {
        // The whole written cell goes, with its quotation marks if it has them.
        Some(at) if at < cells.len() => {
            let mut range = cells[at].span.range();
            if range.start > 0
                && open.text.as_bytes()[range.start - 1] == b'"'
                && open.text.as_bytes().get(range.end) == Some(&b'"')
            {
                range = range.start - 1..range.end + 1;
            }
            if cells[at].value != value {
                open.text.replace_range(range, &text);
            }
        }
        Some(at) => {
            let end = open.end_of_row(&cells);
            let blank = open
                .sheet
                .separator
                .to_string()
                .repeat(at + 1 - cells.len());
            open.text.insert_str(end, &format!("{blank}{text}"));
        }
        None => {
            // A new column: the row first, so that the header's places stay right.
            let end = open.end_of_row(&cells);
            let width = open.sheet.header.len();
            let blank = open
                .sheet
                .separator
                .to_string()
                .repeat((width + 1).saturating_sub(cells.len()));
            open.text.insert_str(end, &format!("{blank}{text}"));
            let end = open.end_of_row(&open.sheet.header);
            open.text
                .insert_str(end, &format!("{}{column}", open.sheet.separator));
        }
    }
    open.close(file)
}

pub(super) fn add(
    page: &Page,
    file: &str,
    bytes: &[u8],
    values: &[(String, String)],
) -> Result<Vec<u8>, Refusal> {
    let mut open = open(file, bytes);
    if open.sheet.header.is_empty() {
        return Ok(start(values).into_bytes());
    }
    let mut cells = vec![String::new(); open.sheet.header.len()];
    let mut new_columns = Vec::new();
    for (key, value) in values {
        match open.column(page, file, key)? {
            Some(at) => cells[at] = open.quoted(value),
            None => {
                new_columns.push(key.clone());
                cells.push(open.quoted(value));
            }
        }
    }
    let separator = open.sheet.separator.to_string();
    if !open.text.ends_with('\n') {
        open.text.push_str(open.line_end);
    }
    let row = format!("{}{}", cells.join(&separator), open.line_end);
    open.text.push_str(&row);
    if !new_columns.is_empty() {
        let end = open.end_of_row(&open.sheet.header);
        let heads: String = new_columns
            .iter()
            .map(|key| format!("{separator}{key}"))
            .collect();
        open.text.insert_str(end, &heads);
    }
    open.close(file)
}

pub(super) fn remove(file: &str, bytes: &[u8], row: usize) -> Result<Vec<u8>, Refusal> {
    let mut open = open(file, bytes);
    let Some(cells) = open.sheet.rows.get(row).cloned() else {
        return Err(Refusal::NoPlace {
            file: file.to_owned(),
            place: format!("row {}", row + 1),
            help: "the table is shorter".into(),
        });
    };
    let first = cells[0].span.range().start;
    let start = open.text[..first].rfind('\n').map_or(0, |at| at + 1);
    let end = open.end_of_row(&cells);
    let end = open.text[end..]
        .find('\n')
        .map_or(open.text.len(), |at| end + at + 1);
    open.text.replace_range(start..end, "");
    open.close(file)
}
