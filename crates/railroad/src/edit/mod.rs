//! Changing a railroad's files in place: one value or one record at a time, with comments, order and
//! formatting kept.
//!
//! An [`Edit`] says what to change in the words of the pages. [`propose`] gives the changed text for
//! review, or refuses an edit that would make the folder less readable than it is. A [`Desk`] writes
//! accepted proposals to disk, each file at once or not at all, and takes them back.

mod csv;
mod desk;
mod toml;

pub use desk::{Desk, DeskError};

use model::{
    Diagnostic, Severity,
    text::{Form, Kind, Page, Table},
};

use crate::{Folder, Loaded, load, pages};

/// A step from a page towards a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Step {
    /// A key of a table.
    Key(String),
    /// A place in a list, from 0.
    At(usize),
}

/// One change.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Edit {
    /// Sets a value of a TOML page, written as its owner would write it: `10'-6"`, `left`, `6`.
    /// The items of a list are parted by line ends.
    Set {
        /// The file.
        file: String,
        /// From the top of the file to the value.
        path: Vec<Step>,
        /// The new value.
        value: String,
    },
    /// Removes a key or a record of a TOML page.
    Remove {
        /// The file.
        file: String,
        /// From the top of the file to what goes.
        path: Vec<Step>,
    },
    /// Adds a record to a TOML page: a switch under `switches`, a district under `open`.
    Add {
        /// The file.
        file: String,
        /// From the top of the file to the table or list that gets it.
        path: Vec<Step>,
        /// Its name; none in a list.
        name: Option<String>,
        /// Its keys and values, written as its owner would.
        values: Vec<(String, String)>,
    },
    /// Sets a cell of a CSV page; a column that is not there yet is added.
    SetCell {
        /// The file.
        file: String,
        /// The row, from 0, blank rows and the header not counted.
        row: usize,
        /// The column's key.
        column: String,
        /// The new text.
        value: String,
    },
    /// Adds a row to a CSV page.
    AddRow {
        /// The file.
        file: String,
        /// Columns and texts.
        values: Vec<(String, String)>,
    },
    /// Removes a row of a CSV page.
    RemoveRow {
        /// The file.
        file: String,
        /// The row, counted as in [`Edit::SetCell`].
        row: usize,
    },
    /// Puts a whole new file into the folder.
    AddFile {
        /// The file.
        file: String,
        /// Its text.
        text: String,
    },
    /// Puts another text in place of a whole file, for what forms cannot mend.
    Rewrite {
        /// The file.
        file: String,
        /// Its new text, written as UTF-8.
        text: String,
    },
    /// Takes a file out of the folder.
    RemoveFile {
        /// The file.
        file: String,
    },
    /// Several changes of one file, made one after the other as a single one: forty cars pasted in, a
    /// switch and the track that leaves it. Each sees what those before it did.
    Together {
        /// The file.
        file: String,
        /// The changes, all of that file and none of them of whole files.
        edits: Vec<Edit>,
    },
}

impl Edit {
    /// The file it changes.
    pub fn file(&self) -> &str {
        match self {
            Self::Set { file, .. }
            | Self::Remove { file, .. }
            | Self::Add { file, .. }
            | Self::SetCell { file, .. }
            | Self::AddRow { file, .. }
            | Self::RemoveRow { file, .. }
            | Self::AddFile { file, .. }
            | Self::Rewrite { file, .. }
            | Self::RemoveFile { file }
            | Self::Together { file, .. } => file,
        }
    }
}

/// What an edit would do: the file before and after, and what would then be wrong or right.
#[derive(Debug, Clone)]
pub struct Proposal {
    /// The file.
    pub file: String,
    /// Its bytes now; none if it is new.
    pub before: Option<Vec<u8>>,
    /// Its bytes afterwards; none if it goes.
    pub after: Option<Vec<u8>>,
    /// The railroad as it would then be read.
    pub loaded: Loaded,
    /// What would be wrong then and is not now.
    pub worse: Vec<Diagnostic>,
    /// How many diagnostics would be gone.
    pub better: usize,
}

/// Why an edit is not made.
#[derive(Debug, Clone)]
pub enum Refusal {
    /// There is no such file in the folder.
    NoFile {
        /// The name asked for.
        file: String,
    },
    /// The file is there already.
    FileExists {
        /// The name asked for.
        file: String,
    },
    /// The page has no such place, as far as it is declared.
    NoPlace {
        /// The file.
        file: String,
        /// The place asked for.
        place: String,
        /// What is there instead, or what there might be.
        help: String,
    },
    /// The value cannot stand there.
    NoValue {
        /// The value asked for.
        value: String,
        /// What is expected.
        expected: String,
    },
    /// The file must be mended by hand first: it is not TOML as it stands.
    NotToml {
        /// The file.
        file: String,
        /// What the parser says.
        message: String,
    },
    /// One of several changes cannot be made.
    Among {
        /// Which of them, from 0.
        at: usize,
        /// Why not.
        why: Box<Refusal>,
    },
    /// The folder could be read less well than before.
    Unreadable {
        /// The diagnostics that would be new.
        found: Vec<Diagnostic>,
        /// The folder as it would be, whose sources the diagnostics point into.
        loaded: Box<Loaded>,
    },
}

impl std::fmt::Display for Refusal {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::NoFile { file } => write!(f, "there is no file `{file}`"),
            Self::FileExists { file } => write!(f, "`{file}` is there already"),
            Self::NoPlace { file, place, help } => {
                write!(f, "`{file}` has no place `{place}`: {help}")
            }
            Self::NoValue { value, expected } => write!(f, "found `{value}`, expected {expected}"),
            Self::NotToml { file, message } => {
                write!(f, "`{file}` must be mended by hand first: {message}")
            }
            Self::Among { why, .. } => why.fmt(f),
            Self::Unreadable { found, .. } => {
                let messages: Vec<&str> =
                    found.iter().map(|found| found.message.as_str()).collect();
                write!(
                    f,
                    "the folder could no longer be read: {}",
                    messages.join("; ")
                )
            }
        }
    }
}

impl std::error::Error for Refusal {}

/// Works out an edit without making it. `now` is the folder as loaded before.
///
/// # Errors
/// [`Refusal`], which says what was found and what was expected.
pub fn propose(folder: &Folder, now: &Loaded, edit: &Edit) -> Result<Proposal, Refusal> {
    let file = edit.file();
    let before = folder.get(file).map(<[u8]>::to_vec);
    let after = match edit {
        Edit::AddFile { text, .. } if before.is_none() => Some(text.clone().into_bytes()),
        Edit::AddFile { .. } => {
            return Err(Refusal::FileExists {
                file: file.to_owned(),
            });
        }
        Edit::Rewrite { text, .. } if before.is_some() => Some(text.clone().into_bytes()),
        Edit::RemoveFile { .. } if before.is_some() => None,
        Edit::Together { edits, .. } => {
            let mut bytes = before.clone();
            for (at, edit) in edits.iter().enumerate() {
                let among = |why| Refusal::Among {
                    at,
                    why: Box::new(why),
                };
                bytes = Some(one_of(file, bytes.as_deref(), edit).map_err(among)?);
            }
            bytes
        }
        _ => Some(one_of(file, before.as_deref(), edit)?),
    };
    let mut changed = folder.clone();
    match &after {
        Some(bytes) => changed.insert(file, bytes.clone()),
        None => changed.remove(file),
    }
    let loaded = load(&changed);
    let known: Vec<(&str, &str)> = now
        .diagnostics
        .iter()
        .map(|found| (found.rule.code, found.message.as_str()))
        .collect();
    let is_new = |found: &&Diagnostic| !known.contains(&(found.rule.code, found.message.as_str()));
    let worse: Vec<Diagnostic> = loaded.diagnostics.iter().filter(is_new).cloned().collect();
    let unreadable: Vec<Diagnostic> = worse
        .iter()
        .filter(|found| found.rule.severity == Severity::Error && of_reading(found))
        .cloned()
        .collect();
    if !unreadable.is_empty() {
        return Err(Refusal::Unreadable {
            found: unreadable,
            loaded: Box::new(loaded),
        });
    }
    let better = (now.diagnostics.len() + worse.len()).saturating_sub(loaded.diagnostics.len());
    Ok(Proposal {
        file: file.to_owned(),
        before,
        after,
        loaded,
        worse,
        better,
    })
}

/// Whether a diagnostic is about how a file is written, not about what the railroad is.
fn of_reading(found: &Diagnostic) -> bool {
    // A name that refers to nothing is often an edit half done: the thing comes next.
    found.rule.code != "unknown-name"
        && model::text::rules::RULES
            .iter()
            .any(|rule| rule.code == found.rule.code)
}

/// A change of a file that is there, or the first row of a table that is not.
fn one_of(file: &str, bytes: Option<&[u8]>, edit: &Edit) -> Result<Vec<u8>, Refusal> {
    let no_file = |file: &str| Refusal::NoFile {
        file: file.to_owned(),
    };
    if edit.file() != file {
        return Err(no_file(edit.file()));
    }
    match (bytes, edit) {
        (Some(bytes), _) => change(file, bytes, edit),
        (None, Edit::AddRow { values, .. }) => {
            page(file, Form::Csv)?;
            Ok(csv::start(values).into_bytes())
        }
        (None, _) => Err(no_file(file)),
    }
}

fn change(file: &str, bytes: &[u8], edit: &Edit) -> Result<Vec<u8>, Refusal> {
    match edit {
        Edit::Set { path, value, .. } => {
            toml::set(page(file, Form::Toml)?, file, bytes, path, value)
        }
        Edit::Remove { path, .. } => toml::remove(file, bytes, path),
        Edit::Add {
            path, name, values, ..
        } => toml::add(
            page(file, Form::Toml)?,
            file,
            bytes,
            path,
            name.as_deref(),
            values,
        ),
        Edit::SetCell {
            row, column, value, ..
        } => csv::set(page(file, Form::Csv)?, file, bytes, *row, column, value),
        Edit::AddRow { values, .. } => csv::add(page(file, Form::Csv)?, file, bytes, values),
        Edit::RemoveRow { row, .. } => csv::remove(file, bytes, *row),
        Edit::AddFile { .. }
        | Edit::Rewrite { .. }
        | Edit::RemoveFile { .. }
        | Edit::Together { .. } => Err(Refusal::NoFile {
            file: file.to_owned(),
        }),
    }
}

fn page(file: &str, form: Form) -> Result<&'static Page, Refusal> {
    page_of(file)
        .filter(|page| page.form == form)
        .ok_or_else(|| Refusal::NoFile {
            file: file.to_owned(),
        })
}

/// The declaration of the page that a file of the folder is, if it is one.
pub fn page_of(file: &str) -> Option<&'static Page> {
    pages()
        .into_iter()
        .find(|page| crate::load::matches(page.path, file))
}

/// The declaration of what stands at a path.
fn kind_at(table: &'static Table, file: &str, path: &[Step]) -> Result<Kind, Refusal> {
    let mut kind = Kind::Table(table);
    for (depth, step) in path.iter().enumerate() {
        let missing = |help: String| Refusal::NoPlace {
            file: file.to_owned(),
            place: show(&path[..=depth]),
            help,
        };
        kind = match (kind, step) {
            (Kind::Table(table), Step::Key(key)) => {
                match table.fields.iter().find(|field| field.key == key) {
                    Some(field) => field.kind,
                    None => {
                        let keys: Vec<&str> = table.fields.iter().map(|field| field.key).collect();
                        let help = format!("a {} may have {}", table.noun, keys.join(", "));
                        return Err(missing(help));
                    }
                }
            }
            (Kind::Named(_, table), Step::Key(_)) | (Kind::Tables(table), Step::At(_)) => {
                Kind::Table(table)
            }
            (Kind::Map(kind), Step::Key(_)) | (Kind::List(kind), Step::At(_)) => *kind,
            (Kind::Row(cells), Step::At(at)) => match cells.get(*at) {
                Some((_, kind)) => *kind,
                None => return Err(missing(format!("it has {} places", cells.len()))),
            },
            (kind, _) => return Err(missing(format!("there stands {}", kind.expected()))),
        };
    }
    Ok(kind)
}

fn show(path: &[Step]) -> String {
    let mut text = String::new();
    for step in path {
        match step {
            Step::Key(key) => {
                if !text.is_empty() {
                    text.push('.');
                }
                text.push_str(key);
            }
            Step::At(at) => text.push_str(&format!("[{at}]")),
        }
    }
    text
}

#[cfg(test)]
mod tests;
