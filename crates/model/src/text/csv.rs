//! Spreadsheet text to rows, with the place of every cell.
//!
//! Real spreadsheets save commas, semicolons or tabs, quoted cells with line ends in them, trailing
//! blank columns and blank rows; all of that is read. The general CSV libraries give the place of a
//! row but not of a cell, and a diagnostic must point at the cell: hence this splitter. A test holds
//! it to the `csv` crate's reading.

use super::{
    rules::csv_unclosed_quote,
    tree::{Entry, Node, NodeValue},
};
use crate::{Diagnostics, FileId, Sources, Span, Spanned};

/// A table: its header cells and its rows, blank rows and trailing blank columns left out.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// The header row, as written, trimmed.
    pub header: Vec<Spanned<String>>,
    /// The other rows.
    pub rows: Vec<Vec<Spanned<String>>>,
    /// What parts the cells: `,`, `;` or a tab.
    pub separator: char,
}

impl Sheet {
    /// A row as a tree: one entry for each cell that is not blank and has a header.
    pub fn node(&self, row: &[Spanned<String>]) -> Node {
        let entries = self
            .header
            .iter()
            .zip(row)
            .filter(|(key, cell)| !key.value.is_empty() && !cell.value.is_empty())
            .map(|(key, cell)| Entry {
                key: Spanned {
                    value: key.value.clone(),
                    span: cell.span,
                },
                node: Node {
                    value: NodeValue::Text(cell.value.clone()),
                    span: cell.span,
                },
            })
            .collect();
        Node {
            value: NodeValue::Table(entries),
            span: row_span(row),
        }
    }
}

/// From the first to the last cell of a row.
pub fn row_span(row: &[Spanned<String>]) -> Span {
    let (first, last) = (row[0].span, row[row.len() - 1].span);
    Span {
        file: first.file,
        start: first.start,
        end: last.end,
    }
}

/// Reads a whole file.
pub fn parse(sources: &Sources, file: FileId, out: &mut Diagnostics) -> Sheet {
    let text = &sources.get(file).text;
    let separator = separator(text);
    let mut rows = split(text, file, separator, out);
    rows.retain(|row| row.iter().any(|cell| !cell.value.is_empty()));
    if rows.is_empty() {
        return Sheet {
            header: Vec::new(),
            rows,
            separator,
        };
    }
    let mut header = rows.remove(0);
    while header.last().is_some_and(|cell| cell.value.is_empty()) {
        header.pop();
    }
    for row in &mut rows {
        while row.len() > header.len().max(1) && row.last().is_some_and(|c| c.value.is_empty()) {
            row.pop();
        }
    }
    Sheet {
        header,
        rows,
        separator,
    }
}

/// Whichever of the three stands most often in the first line that is not blank.
pub fn separator(text: &str) -> char {
    let line = text
        .lines()
        .find(|line| !line.trim().is_empty())
        .unwrap_or("");
    let count = |separator| {
        let mut quoted = false;
        line.chars()
            .filter(|&c| {
                quoted ^= c == '"';
                c == separator && !quoted
            })
            .count()
    };
    // On a tie the comma, which stands last: `max_by_key` keeps the last of equals.
    ['\t', ';', ',']
        .into_iter()
        .max_by_key(|&separator| count(separator))
        .unwrap_or(',')
}

fn split(
    text: &str,
    file: FileId,
    separator: char,
    out: &mut Diagnostics,
) -> Vec<Vec<Spanned<String>>> {
    let bytes = text.as_bytes();
    let separator = separator as u8;
    let mut rows = Vec::new();
    let mut row = Vec::new();
    let mut at = 0;
    while at < bytes.len() {
        // One cell, up to its separator or line end.
        let start = at;
        let blank = bytes[at..]
            .iter()
            .take_while(|&&b| b == b' ' || (b == b'\t' && separator != b'\t'))
            .count();
        if bytes.get(at + blank) == Some(&b'"') {
            let open = at + blank;
            let mut value = String::new();
            let mut from = open + 1;
            let close = loop {
                let Some(quote) = text[from..].find('"').map(|offset| from + offset) else {
                    out.push(csv_unclosed_quote::diagnostic(Span::new(
                        file,
                        open..open + 1,
                    )));
                    value.push_str(&text[from..]);
                    break bytes.len();
                };
                value.push_str(&text[from..quote]);
                if bytes.get(quote + 1) != Some(&b'"') {
                    break quote;
                }
                value.push('"');
                from = quote + 2;
            };
            at = (close + 1).min(bytes.len());
            // Anything between the closing mark and the separator is kept, as spreadsheets do.
            let tail = at;
            while at < bytes.len() && bytes[at] != separator && bytes[at] != b'\n' {
                at += 1;
            }
            value.push_str(text[tail..at].trim_end());
            let value = value.trim().to_owned();
            row.push(Spanned {
                value,
                span: Span::new(file, open + 1..close.max(open + 1)),
            });
        } else {
            while at < bytes.len() && bytes[at] != separator && bytes[at] != b'\n' {
                at += 1;
            }
            let cell = &text[start..at];
            let value = cell.trim();
            let from = start + (cell.len() - cell.trim_start().len()).min(cell.len());
            let from = if value.is_empty() { start } else { from };
            row.push(Spanned {
                value: value.to_owned(),
                span: Span::new(file, from..from + value.len()),
            });
        }
        match bytes.get(at) {
            Some(&b) if b == separator => {
                at += 1;
                if at == bytes.len() {
                    row.push(Spanned {
                        value: String::new(),
                        span: Span::new(file, at..at),
                    });
                }
            }
            _ => {
                at += 1;
                rows.push(std::mem::take(&mut row));
            }
        }
    }
    if !row.is_empty() {
        rows.push(row);
    }
    rows
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn sheet(text: &str) -> (Sheet, Vec<crate::Diagnostic>) {
        let mut sources = Sources::default();
        let file = sources.add("t.csv", text.as_bytes());
        let mut out = Diagnostics::default();
        let sheet = parse(&sources, file, &mut out);
        for cell in sheet.rows.iter().flatten() {
            let written = sources.text(cell.span);
            assert!(written.trim() == cell.value || written.contains('"') || text.contains('"'));
        }
        (sheet, out.into_sorted())
    }

    fn values(sheet: &Sheet) -> Vec<Vec<&str>> {
        sheet
            .rows
            .iter()
            .map(|row| row.iter().map(|c| c.value.as_str()).collect())
            .collect()
    }

    #[test]
    fn what_spreadsheets_save_is_read() {
        let (s, _) =
            sheet("marks;number;notes;;\r\nSBR;101;\"one\r\ntwo; \"\"x\"\"\";;\r\n;;;;\r\n");
        assert_eq!(s.header.len(), 3);
        assert_eq!(values(&s), [["SBR", "101", "one\r\ntwo; \"x\""]]);
        let (s, _) = sheet("a\tb\n1\t2");
        assert_eq!(values(&s), [["1", "2"]]);
        let (s, _) = sheet("a,b\n1,\n");
        assert_eq!(values(&s), [["1", ""]]);
    }

    #[test]
    fn an_unclosed_quotation_mark_is_pointed_at() {
        let (s, found) = sheet("a,b\n1,\"two\n3,4\n");
        assert_eq!(found.len(), 1);
        assert_eq!(found[0].primary.span.range(), 6..7);
        assert_eq!(values(&s), [["1", "two\n3,4"]]);
    }

    proptest! {
        /// Reference: the `csv` crate.
        #[test]
        fn agrees_with_the_csv_crate(cells in prop::collection::vec(
            prop::collection::vec("[a-z\"\n,; ]{0,6}", 3), 1..6)) {
            let mut writer = csv::Writer::from_writer(Vec::new());
            writer.write_record(["h1", "h2", "h3"]).unwrap();
            for row in &cells {
                writer.write_record(row).unwrap();
            }
            let text = String::from_utf8(writer.into_inner().unwrap()).unwrap();
            let mut reader = csv::Reader::from_reader(text.as_bytes());
            let expected: Vec<Vec<String>> = reader
                .records()
                .map(|r| r.unwrap().iter().map(|c| c.trim().to_owned()).collect::<Vec<_>>())
                .filter(|row| row.iter().any(|cell| !cell.is_empty()))
                .collect();
            let (s, found) = sheet(&text);
            prop_assert!(found.is_empty());
            prop_assert_eq!(values(&s), expected);
        }
    }
}
