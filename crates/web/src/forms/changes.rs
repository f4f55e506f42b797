//! From a form that was sent to the edits it asks for.

use model::text::{Form, Kind};
use railroad::edit::{Edit, Step};

use super::document::{Document, path_text, step};

/// What a form asks for, and the fields it came from.
#[derive(Debug, Default, PartialEq)]
pub struct Changes {
    /// The field and its edit, in the order in which they are to be made.
    pub edits: Vec<(String, Edit)>,
}

/// The fields of a form: names and values.
pub type Sent = [(String, String)];

/// The value of a field.
pub fn sent<'a>(form: &'a Sent, name: &str) -> Option<&'a str> {
    form.iter()
        .find(|(key, _)| key == name)
        .map(|(_, value)| value.as_str())
}

/// Line ends as browsers send them, made plain; blank lines and outer blanks gone.
fn clean(value: &str) -> String {
    let lines: Vec<&str> = value
        .lines()
        .map(str::trim)
        .filter(|line| !line.is_empty())
        .collect();
    lines.join("\n")
}

/// The edits a form asks for. Fields are named `v:` and their path; `x:` and a path takes a record
/// out; `n:` a path, `:` and a key are the fields of a new record there, `n:path:` its name.
pub fn changes(document: &Document, form: &Sent) -> Changes {
    if let Some(text) = sent(form, "text") {
        return rewritten(document, text);
    }
    let mut changes = Changes::default();
    let mut gone: Vec<Vec<Step>> = Vec::new();
    for (name, value) in form {
        if let Some(path) = name.strip_prefix("x:").and_then(|path| document.path(path))
            && !value.is_empty()
        {
            gone.push(path);
        }
    }
    let file = document.file.clone();
    let mut rows: Vec<(Vec<Step>, Vec<String>)> = Vec::new();
    for (name, value) in form {
        let Some(path) = name.strip_prefix("v:").and_then(|path| document.path(path)) else {
            continue;
        };
        if gone.iter().any(|gone| path.starts_with(gone)) {
            continue;
        }
        // The places of a row are set together.
        if let Some((Step::At(_), row)) = path.split_last()
            && matches!(document.kind(row), Some(Kind::Row(_)))
        {
            match rows.last_mut() {
                Some((last, cells)) if last == row => cells.push(clean(value)),
                _ => rows.push((row.to_vec(), vec![clean(value)])),
            }
            continue;
        }
        let value = clean(value);
        let edit = set(document, &path, value);
        changes
            .edits
            .extend(edit.map(|edit| (path_text(&path), edit)));
    }
    for (path, cells) in rows {
        let value = if cells.iter().all(String::is_empty) {
            String::new()
        } else {
            cells.join("\n")
        };
        let edit = set(document, &path, value);
        changes
            .edits
            .extend(edit.map(|edit| (path_text(&path), edit)));
    }
    added(document, form, &mut changes);
    // The last of a list first, so that the places of the others hold.
    gone.sort_by_key(|path| std::cmp::Reverse(path.iter().filter_map(at).collect::<Vec<_>>()));
    for path in gone {
        let edit = match (document.page.form, path.as_slice()) {
            (Form::Csv, [Step::At(row)]) => Edit::RemoveRow {
                file: file.clone(),
                row: *row,
            },
            _ => Edit::Remove {
                file: file.clone(),
                path: path.clone(),
            },
        };
        changes.edits.push((path_text(&path), edit));
    }
    changes
}

fn at(step: &Step) -> Option<usize> {
    match step {
        Step::At(at) => Some(*at),
        Step::Key(_) => None,
    }
}

/// The edit that gives a field this value, if it has not got it.
fn set(document: &Document, path: &[Step], value: String) -> Option<Edit> {
    let now = document.text(path);
    if clean(now.as_deref().unwrap_or_default()) == value {
        return None;
    }
    let file = document.file.clone();
    Some(match (document.page.form, path) {
        (Form::Csv, [Step::At(row), Step::Key(column)]) => Edit::SetCell {
            file,
            row: *row,
            column: column.clone(),
            value: value.replace('\n', "; "),
        },
        _ if value.is_empty() => Edit::Remove {
            file,
            path: path.to_vec(),
        },
        _ => Edit::Set {
            file,
            path: path.to_vec(),
            value,
        },
    })
}

/// A new record: where it goes, its name, its values by key.
type NewRecord = (String, String, Vec<(String, String)>);

/// New records.
fn added(document: &Document, form: &Sent, changes: &mut Changes) {
    let mut records: Vec<NewRecord> = Vec::new();
    for (name, value) in form {
        let Some((path, key)) = name
            .strip_prefix("n:")
            .and_then(|rest| rest.rsplit_once(':'))
        else {
            continue;
        };
        let at = records
            .iter()
            .position(|(known, ..)| known == path)
            .unwrap_or_else(|| {
                records.push((path.to_owned(), String::new(), Vec::new()));
                records.len() - 1
            });
        let value = clean(value);
        if key.is_empty() {
            records[at].1 = value;
        } else if !value.is_empty() {
            records[at].2.push((key.to_owned(), value));
        }
    }
    for (path, name, mut values) in records {
        let Some(steps) = document.path(&path) else {
            continue;
        };
        let file = document.file.clone();
        let edit = match document.kind(&steps) {
            Some(Kind::Tables(_)) if document.page.form == Form::Csv && !values.is_empty() => {
                for (_, value) in &mut values {
                    *value = value.replace('\n', "; ");
                }
                Edit::AddRow { file, values }
            }
            Some(Kind::Tables(_)) if !values.is_empty() => Edit::Add {
                file,
                path: steps,
                name: None,
                values,
            },
            Some(Kind::Named(..)) if !name.is_empty() => Edit::Add {
                file,
                path: steps,
                name: Some(name),
                values,
            },
            Some(Kind::Map(_)) if !name.is_empty() && !values.is_empty() => Edit::Set {
                file,
                path: step(&steps, &name),
                value: values.remove(0).1,
            },
            _ => continue,
        };
        changes.edits.push((format!("n:{path}"), edit));
    }
}

/// The whole file written anew.
fn rewritten(document: &Document, text: &str) -> Changes {
    let mut text = text.replace("\r\n", "\n");
    if !text.is_empty() && !text.ends_with('\n') {
        text.push('\n');
    }
    Changes {
        edits: vec![(
            String::new(),
            Edit::Rewrite {
                file: document.file.clone(),
                text,
            },
        )],
    }
}

#[cfg(test)]
mod tests {
    use railroad::Folder;

    use super::*;

    fn open(file: &str) -> Document {
        let folder = Folder::built_in("example").unwrap();
        Document::open(file, folder.get(file).unwrap()).unwrap()
    }

    fn form(pairs: &[(&str, &str)]) -> Vec<(String, String)> {
        pairs
            .iter()
            .map(|(a, b)| ((*a).to_owned(), (*b).to_owned()))
            .collect()
    }

    #[test]
    fn only_what_was_changed_is_set() {
        let document = open("stations/sandrill.toml");
        let sent = form(&[
            ("v:tracks/siding/length", "11 ft 2 in"),
            ("v:tracks/mill/spots", "flour door 1\r\nflour door 2\r\n"),
            ("v:tracks/mill/length", " 3 ft 6 in "),
            ("v:call", ""),
            ("v:office/hours/0", "6:00 AM"),
            ("v:office/hours/1", "10:00 PM"),
        ]);
        let found = changes(&document, &sent).edits;
        let fields: Vec<&str> = found.iter().map(|(field, _)| field.as_str()).collect();
        assert_eq!(fields, ["tracks/mill/length", "call", "office/hours"]);
        assert!(matches!(&found[0].1, Edit::Set { value, .. } if value == "3 ft 6 in"));
        assert!(matches!(&found[1].1, Edit::Remove { .. }));
        assert!(matches!(&found[2].1, Edit::Set { value, .. } if value == "6:00 AM\n10:00 PM"));
    }

    #[test]
    fn records_are_added_and_taken_out_the_last_first() {
        let document = open("stations/sandrill.toml");
        let sent = form(&[
            ("n:tracks:", "coal"),
            ("n:tracks:from", "r6"),
            ("n:tracks:length", "2 ft"),
            ("n:switches:", ""),
            ("n:switches:on", "main"),
            ("x:tracks/wool", "on"),
        ]);
        let found = changes(&document, &sent).edits;
        assert_eq!(found.len(), 2);
        assert!(
            matches!(&found[0].1, Edit::Add { name: Some(name), values, .. } if name == "coal" && values.len() == 2)
        );
        let cars = open("cars.csv");
        let sent = form(&[
            ("x:1", "on"),
            ("x:12", "on"),
            ("v:1/built", "1900"),
            ("v:3/built", "1901"),
        ]);
        let found = changes(&cars, &sent).edits;
        let words: Vec<String> = found.iter().map(|(field, _)| field.clone()).collect();
        assert_eq!(words, ["3/built", "12", "1"]);
    }
}
