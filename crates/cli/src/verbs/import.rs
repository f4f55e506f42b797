//! `sawby import`: cars from somebody else's spreadsheet.

mod sheet;

use std::{
    collections::HashSet,
    fmt::Write as _,
    fs,
    io::Write as _,
    path::{Path, PathBuf},
    process::ExitCode,
};

use mechanical::import::{self, Imported, Why};
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
    /// What the spreadsheet lists.
    what: What,
    /// The spreadsheet: xlsx, xls, ods, or text with commas, semicolons or tabs.
    file: PathBuf,
    #[command(flatten)]
    which: Which,
    /// What a column is, before anything is guessed: `Road Name=marks`; `Color=` leaves it out. Can be given again.
    #[arg(long, value_name = "HEADING=COLUMN")]
    map: Vec<String>,
    /// Which sheet of a spreadsheet program's file; the first if left out.
    #[arg(long, value_name = "SHEET")]
    sheet: Option<String>,
    /// Write the cars here as a new `cars.csv`. Standard output if left out, and the report on standard error.
    #[arg(short, long, value_name = "FILE", conflicts_with = "add")]
    output: Option<PathBuf>,
    /// Add the cars to the railroad's own cars.csv.
    #[arg(long, conflicts_with = "example")]
    add: bool,
    /// Print the report as JSON for machines.
    #[arg(long)]
    json: bool,
}

/// What can be imported.
#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum What {
    /// Cars.
    Cars,
}

pub(super) fn run(args: &ImportArgs) -> Outcome {
    let What::Cars = args.what;
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
    let mapping = mapping(&args.map)?;
    let imported = import(&loaded.railroad, &bytes, &mapping);
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
            let _ = writeln!(text, "{added} cars added to cars.csv.");
        }
        for (car, why) in &refused {
            let _ = writeln!(text, "  {car} not added: {why}");
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

fn import(railroad: &Railroad, bytes: &[u8], mapping: &[(String, String)]) -> Imported {
    let known: HashSet<String> = railroad
        .roster
        .cars
        .iter()
        .map(|car| car.name.value.clone())
        .collect();
    import::cars(bytes, mapping, railroad.identity.scale.scale, &known)
}

/// `Heading=column`, each column one of the car record.
fn mapping(given: &[String]) -> Result<Vec<(String, String)>, Failure> {
    let mut keys: Vec<&str> = mechanical::car::PAGE
        .table
        .fields
        .iter()
        .map(|field| field.key)
        .collect();
    keys.push("name");
    given
        .iter()
        .map(|one| {
            let (heading, key) = one.rsplit_once('=').ok_or_else(|| {
                Failure::misunderstood(format!("--map {one}: expected HEADING=COLUMN"))
                    .help("as in --map \"Road Name=marks\"")
            })?;
            let key = key.trim();
            if !key.is_empty() {
                super::rating::pick("column of the car record", key, &keys)?;
            }
            Ok((heading.trim().to_owned(), key.to_lowercase()))
        })
        .collect()
}

/// Adds the cars row by row, so that one that the record cannot take keeps no other out.
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
        let name = format!("{} {}", of("marks"), of("number"));
        let edit = Edit::AddRow {
            file: mechanical::car::PAGE.path.to_owned(),
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
    let mut text = format!("{} cars. Columns:\n", imported.rows.len());
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
                    guess.car.clone(),
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
    json!({
        "cars": imported.rows.len(),
        "columns": imported.columns.iter().map(|column| json!({
            "heading": column.heading,
            "column": column.key,
            "guessed": column.why != Why::Told && column.why != Why::Named,
            "why": column.why.words(),
        })).collect::<Vec<_>>(),
        "guesses": imported.guesses.iter().map(|guess| json!({
            "line": guess.line, "car": guess.car, "column": guess.key,
            "found": guess.found, "taken": guess.taken, "why": guess.why,
        })).collect::<Vec<_>>(),
        "left_out": imported.left_out.iter().map(|(line, why)| json!({ "line": line, "why": why })).collect::<Vec<_>>(),
        "refused": refused.iter().map(|(car, why)| json!({ "car": car, "why": why })).collect::<Vec<_>>(),
    })
}
