//! `sawby import`: cars or engines from somebody else's spreadsheet; track from measured points.

mod sheet;
mod survey;

use std::{
    collections::HashSet,
    fmt::Write as _,
    fs,
    io::Write as _,
    path::{Path, PathBuf},
    process::ExitCode,
};

use mechanical::import::{self, Imported, List, Why};
use railroad::{
    Railroad,
    edit::{Desk, Edit},
};
use serde_json::{Value, json};

use super::rating::columns;
use crate::{
    args::Which,
    outcome::{Failure, Outcome, WELL, WRONG, load, say},
};

/// What may stand after `import`.
#[derive(Debug, clap::Args)]
pub struct ImportArgs {
    /// What the file lists.
    what: What,
    /// The spreadsheet: xlsx, xls, ods, or text with commas, semicolons or tabs (of a survey, text).
    file: PathBuf,
    #[command(flatten)]
    which: Which,
    /// What a column is, before anything is guessed: `Road Name=marks`; `Color=` leaves it out. Can be given again.
    #[arg(long, value_name = "HEADING=COLUMN")]
    map: Vec<String>,
    /// Which sheet of a spreadsheet program's file; the first if left out.
    #[arg(long, value_name = "SHEET")]
    sheet: Option<String>,
    /// Write them here as a new `cars.csv` or `engines.csv`. Standard output if left out, and the report on standard error.
    #[arg(short, long, value_name = "FILE", conflicts_with = "add")]
    output: Option<PathBuf>,
    /// Add them to the railroad's own cars.csv or engines.csv.
    #[arg(long, conflicts_with = "example")]
    add: bool,
    /// Of a survey: the unit of plain numbers; `in`, or `mm` where the railroad is metric.
    #[arg(long, value_name = "UNIT")]
    unit: Option<String>,
    /// Of a survey: how far a well-measured point lies off; found from the points if left out.
    #[arg(long, value_name = "LENGTH")]
    scatter: Option<String>,
    /// Of a survey: the name of the center line; that of the file if left out.
    #[arg(long, value_name = "NAME")]
    name: Option<String>,
    /// Print the report as JSON for machines.
    #[arg(long)]
    json: bool,
}

/// What can be imported.
#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum What {
    /// Cars.
    Cars,
    /// Engines.
    Engines,
    /// Points measured along track, one to a row: x, y and perhaps z.
    Survey,
}

pub(super) fn run(args: &ImportArgs) -> Outcome {
    let list = match args.what {
        What::Cars => List::Cars,
        What::Engines => List::Engines,
        What::Survey => return survey::run(args),
    };
    let bytes = fs::read(&args.file).map_err(|error| Failure::file(&args.file, &error))?;
    // Spreadsheet programs' own files are archives, or the older compound files.
    let bytes = if bytes.starts_with(b"PK") || bytes.starts_with(&[0xd0, 0xcf, 0x11, 0xe0]) {
        sheet::as_text(&bytes, args.sheet.as_deref())
            .map_err(|error| error.failure(&args.file))?
            .into_bytes()
    } else {
        bytes
    };
    let loaded = load(&args.which)?;
    let mapping = mapping(list, &args.map)?;
    let imported = import(list, &loaded.railroad, &bytes, &mapping);
    let mut refused = Vec::new();
    let mut added = 0;
    if args.add {
        (added, refused) = add(&args.which.folder, &imported)?;
    } else if let Some(path) = &args.output {
        fs::write(path, imported.to_csv()).map_err(|error| Failure::file(path, &error))?;
    }
    if args.json {
        say(&format!("{:#}\n", to_json(&imported, &refused)));
    } else {
        let mut text = report(&imported);
        if args.add {
            let _ = writeln!(text, "{} added to {}.", list.count(added), list.page().path);
        }
        for (name, why) in &refused {
            let _ = writeln!(text, "  {name} not added: {why}");
        }
        if args.output.is_some() || args.add {
            say(&text);
        } else {
            say(&imported.to_csv());
            let _ = anstream::stderr().write_all(text.as_bytes());
        }
    }
    let unsure = imported.rows.is_empty() || !imported.left_out.is_empty() || !refused.is_empty();
    Ok(ExitCode::from(if unsure { WRONG } else { WELL }))
}

fn import(list: List, railroad: &Railroad, bytes: &[u8], mapping: &[(String, String)]) -> Imported {
    let roster = &railroad.roster;
    let known: HashSet<String> = match list {
        List::Cars => roster.cars.iter().map(|car| &car.name).collect::<Vec<_>>(),
        List::Engines => roster.engines.iter().map(|engine| &engine.number).collect(),
    }
    .into_iter()
    .map(|name| name.value.clone())
    .collect();
    import::read(list, bytes, mapping, railroad.identity.scale.scale, &known)
}

/// `Heading=column`, each column one of the record.
fn mapping(list: List, given: &[String]) -> Result<Vec<(String, String)>, Failure> {
    let mut keys: Vec<&str> = list
        .page()
        .table
        .fields
        .iter()
        .map(|field| field.key)
        .collect();
    if list == List::Cars {
        keys.push("name");
    }
    given
        .iter()
        .map(|one| {
            let (heading, key) = one.rsplit_once('=').ok_or_else(|| {
                Failure::misunderstood(format!("--map {one}: expected HEADING=COLUMN"))
                    .help("as in --map \"Remarks=note\"")
            })?;
            let key = key.trim();
            if !key.is_empty() {
                super::rating::pick(&format!("column of the {} record", list.noun()), key, &keys)?;
            }
            Ok((heading.trim().to_owned(), key.to_lowercase()))
        })
        .collect()
}

/// Adds them row by row, so that one that the record cannot take keeps no other out.
fn add(folder: &Path, imported: &Imported) -> Result<(usize, Vec<(String, String)>), Failure> {
    let mut desk = Desk::open(folder)?;
    let mut refused = Vec::new();
    let mut added = 0;
    for row in &imported.rows {
        let values: Vec<(String, String)> = imported
            .keys
            .iter()
            .zip(row)
            .filter(|(_, value)| !value.is_empty())
            .map(|(key, value)| ((*key).to_owned(), value.clone()))
            .collect();
        let of = |key: &str| {
            values
                .iter()
                .find(|(one, _)| one == key)
                .map_or("", |(_, value)| value.as_str())
        };
        let name = format!("{} {}", of("marks"), of("number"))
            .trim()
            .to_owned();
        let edit = Edit::AddRow {
            file: imported.list.page().path.to_owned(),
            values,
        };
        match desk.propose(&edit) {
            Ok(proposal) => {
                desk.make(proposal)
                    .map_err(|error| Failure::misunderstood(error.to_string()))?;
                added += 1;
            }
            Err(refusal) => refused.push((name, refusal.to_string())),
        }
    }
    Ok((added, refused))
}

fn report(imported: &Imported) -> String {
    let mut text = format!("{}. Columns:\n", imported.list.count(imported.rows.len()));
    let rows: Vec<[String; 3]> = imported
        .columns
        .iter()
        .map(|column| {
            let what = match column.key {
                Some("name") => "marks and number".to_owned(),
                Some(key) => key.to_owned(),
                None => "-".to_owned(),
            };
            [column.heading.clone(), what, column.why.words().to_owned()]
        })
        .collect();
    text.push_str(&columns(&rows));
    if !imported.guesses.is_empty() {
        text.push_str("\nNot taken as written:\n");
        let rows: Vec<[String; 5]> = imported
            .guesses
            .iter()
            .map(|guess| {
                [
                    format!("line {}", guess.line),
                    guess.name.clone(),
                    format!("{} `{}`", guess.key, guess.found),
                    guess
                        .taken
                        .as_ref()
                        .map_or_else(|| "left out".to_owned(), |taken| format!("is {taken}")),
                    guess.why.clone(),
                ]
            })
            .collect();
        text.push_str(&columns(&rows));
    }
    if !imported.left_out.is_empty() {
        text.push_str("\nRows left out:\n");
        for (line, why) in &imported.left_out {
            let _ = writeln!(text, "  line {line}: {why}");
        }
    }
    text
}

fn to_json(imported: &Imported, refused: &[(String, String)]) -> Value {
    let noun = imported.list.noun();
    json!({
        imported.list.plural(): imported.rows.len(),
        "columns": imported.columns.iter().map(|column| json!({
            "heading": column.heading,
            "column": column.key,
            "guessed": column.why != Why::Told && column.why != Why::Named,
            "why": column.why.words(),
        })).collect::<Vec<_>>(),
        "guesses": imported.guesses.iter().map(|guess| json!({
            "line": guess.line, noun: guess.name, "column": guess.key,
            "found": guess.found, "taken": guess.taken, "why": guess.why,
        })).collect::<Vec<_>>(),
        "left_out": imported.left_out.iter().map(|(line, why)| json!({ "line": line, "why": why })).collect::<Vec<_>>(),
        "refused": refused.iter().map(|(name, why)| json!({ noun: name, "why": why })).collect::<Vec<_>>(),
    })
}
