//! `sawby print`: what a crew holds in its hand.

use std::{
    fs,
    path::{Path, PathBuf},
    process::ExitCode,
};

use clap::{Parser as _, ValueEnum};
use model::diagnostic::nearest;
use paper::{
    Dispatch, Document, For, Occasion, Own, Paper, Printed, Session, Size, Wording, bind,
    document::forms,
};
use planning::orders::{self, territory::of_day};
use railroad::{Folder, Railroad};
use transportation::order::Territory;

use super::day;
use crate::{
    args::Which,
    outcome::{Failure, Outcome, WELL, load, say},
};

/// What may stand after `print`.
#[derive(Debug, clap::Args)]
pub struct PrintArgs {
    /// What to print: a document's name, several with commas between, `session` for all that a session
    /// needs, or `all`.
    #[arg(default_value = "session", value_name = "WHAT")]
    what: String,
    #[command(flatten)]
    which: Which,
    /// Only for this train, job, person or station.
    #[arg(long = "for", value_name = "WHOM")]
    whom: Option<String>,
    /// On this paper.
    #[arg(long, value_name = "PAPER", default_value = "letter")]
    paper: PaperArg,
    /// In large print.
    #[arg(long)]
    large: bool,
    /// On half sheets.
    #[arg(long)]
    half: bool,
    /// In this language.
    #[arg(long, value_name = "LANGUAGE", default_value = "en")]
    language: String,
    /// Waybills as slips to be folded and used for four moves.
    #[arg(long)]
    folded: bool,
    /// Blank, to be written by hand: nothing is billed or planned.
    #[arg(long)]
    blank: bool,
    /// The dice for what the folder does not say.
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    seed: u64,
    /// Words printed at the foot beside the page: a revision of the owner's.
    #[arg(long, value_name = "WORDS", default_value = "first printing")]
    revision: String,
    /// As what: in a folder, a file a document; pictures and texts a file a page.
    #[arg(long = "as", value_name = "KIND", default_value = "pdf")]
    kind: Kind,
    /// Into this folder; or into this one file, if it ends in .pdf.
    #[arg(short, long, value_name = "FILE or FOLDER", default_value = "out")]
    output: PathBuf,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum PaperArg {
    Letter,
    A4,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
enum Kind {
    Pdf,
    Svg,
    Png,
    Text,
}

/// What is asked for, filled in: a name and its forms for each document.
fn fill(
    args: &PrintArgs,
    railroad: &Railroad,
) -> Result<(Vec<(&'static str, Vec<paper::Filled>)>, Occasion), Failure> {
    let documents = documents(&args.what)?;
    let own = own(args, railroad);
    let occasion = occasion(args, railroad)?;
    let whom = whom(args, railroad)?;
    let planned = if args.blank {
        None
    } else {
        Some(Planned::new(railroad, args.seed)?)
    };
    let session = planned.as_ref().map_or_else(
        || Session::blank(railroad),
        |planned| planned.session(railroad),
    );
    let mut filled = vec![];
    for document in documents {
        let forms = forms(document, &session, &occasion, &whom, &own)
            .map_err(|error| Failure::misunderstood(error.to_string()))?;
        if !forms.is_empty() {
            filled.push((document.word(), forms));
        }
    }
    Ok((filled, occasion))
}

/// What is asked for by these words, as `print` would write it into one file: for the office, which has the
/// railroad in hand.
pub(super) fn one_pdf(railroad: &Railroad, words: &[String]) -> Result<Vec<u8>, Failure> {
    #[derive(clap::Parser)]
    struct Alone {
        #[command(flatten)]
        args: PrintArgs,
    }
    let words = std::iter::once("print").chain(words.iter().map(String::as_str));
    let args = Alone::try_parse_from(words)
        .map_err(|error| Failure::misunderstood(error.to_string()))?
        .args;
    let (filled, _) = fill(&args, railroad)?;
    let all: Vec<_> = filled.into_iter().flat_map(|(_, forms)| forms).collect();
    if all.is_empty() {
        return Err(Failure::misunderstood("there is nothing to print of that"));
    }
    pdf(&set(&railroad.identity.name, &all)?)
}

pub(super) fn run(args: &PrintArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let (filled, _) = fill(args, railroad)?;
    let one_file = args.output.extension().is_some_and(|end| end == "pdf");
    if one_file {
        let all: Vec<_> = filled.into_iter().flat_map(|(_, forms)| forms).collect();
        let printed = set(&railroad.identity.name, &all)?;
        write(&args.output, &pdf(&printed)?)?;
        say(&format!(
            "{}: {} pages\n",
            args.output.display(),
            printed.pages()
        ));
        return Ok(ExitCode::from(WELL));
    }
    fs::create_dir_all(&args.output).map_err(|error| Failure::file(&args.output, &error))?;
    for (name, forms) in filled {
        let printed = set(name, &forms)?;
        let stem = name.replace(' ', "-");
        for (file, bytes) in files(args.kind, &stem, &printed)? {
            let path = args.output.join(file);
            write(&path, &bytes)?;
            say(&format!("{}\n", path.display()));
        }
    }
    Ok(ExitCode::from(WELL))
}

fn documents(what: &str) -> Result<Vec<Document>, Failure> {
    let mut out = vec![];
    for word in what.split(',').map(str::trim) {
        let word = word.replace(['-', '_'], " ").to_lowercase();
        match word.as_str() {
            "session" => out.extend(Document::SESSION),
            "all" => out.extend(Document::ALL),
            _ => match Document::from_word(&word) {
                Some(document) => out.push(document),
                None => {
                    let names: Vec<&str> = Document::ALL.iter().map(|it| it.word()).collect();
                    let failure = Failure::misunderstood(format!("there is no document `{word}`"));
                    let names_are = format!("there are: session, all, {}", names.join(", "));
                    return Err(failure.help(match nearest(&word, names.iter().copied()) {
                        Some(near) => format!("did you mean `{near}`? {names_are}"),
                        None => names_are,
                    }));
                }
            },
        }
    }
    Ok(out)
}

/// What the owner has beside the railroad's pages: special instructions and photographs.
fn own(args: &PrintArgs, railroad: &Railroad) -> Own {
    const INSTRUCTIONS: &str = "special-instructions.txt";
    let built_in = || {
        Folder::built_in_extra("example")
            .into_iter()
            .find(|(path, _)| path == INSTRUCTIONS)
            .map(|(_, bytes)| String::from_utf8_lossy(bytes).into_owned())
    };
    let instructions = if args.which.example {
        built_in()
    } else {
        fs::read_to_string(args.which.folder.join(INSTRUCTIONS)).ok()
    };
    let photographs = if args.which.example {
        vec![]
    } else {
        photographs(&args.which.folder, railroad)
    };
    Own {
        instructions,
        notices: vec![],
        photographs,
        folded_waybills: args.folded,
    }
}

/// Photographs of cars that lie in the railroad's folder. One that cannot be read is left out: the card
/// is printed without.
fn photographs(folder: &Path, railroad: &Railroad) -> Vec<(String, Vec<u8>)> {
    let mut out: Vec<(String, Vec<u8>)> = vec![];
    for photo in railroad
        .roster
        .cars
        .iter()
        .filter_map(|car| car.photo.as_ref())
    {
        let plain = Path::new(photo)
            .components()
            .all(|part| matches!(part, std::path::Component::Normal(_)));
        let picture = Path::new(photo).extension().is_some_and(|end| {
            ["jpg", "jpeg", "png", "gif", "webp", "svg"]
                .iter()
                .any(|known| end.eq_ignore_ascii_case(known))
        });
        if plain
            && picture
            && !out.iter().any(|(name, _)| name == photo)
            && let Ok(bytes) = fs::read(folder.join(photo))
        {
            out.push((photo.clone(), bytes));
        }
    }
    out
}

fn occasion(args: &PrintArgs, railroad: &Railroad) -> Result<Occasion, Failure> {
    let paper = match args.paper {
        PaperArg::Letter => Paper::Letter,
        PaperArg::A4 => Paper::A4,
    };
    let size = if args.half {
        Size::half(paper)
    } else {
        Size::whole(paper)
    };
    let mut wording = Wording::of(&args.language).ok_or_else(|| {
        Failure::misunderstood(format!("there is no wording in `{}`", args.language))
            .help(format!("there is: {}", Wording::LANGUAGES.join(", ")))
    })?;
    let own = args.which.folder.join("wording.toml");
    if !args.which.example && own.exists() {
        let text = fs::read_to_string(&own).map_err(|error| Failure::file(&own, &error))?;
        wording = wording
            .with_own(&text)
            .map_err(|error| Failure::misunderstood(format!("{}: {error}", own.display())))?;
    }
    Ok(Occasion {
        size: if args.large { size.large() } else { size },
        session: match railroad.identity.session {
            Some(_) if !args.blank => wording.at("next-session").to_owned(),
            _ => String::new(),
        },
        wording,
        revision: args.revision.clone(),
    })
}

fn whom(args: &PrintArgs, railroad: &Railroad) -> Result<For, Failure> {
    let Some(name) = &args.whom else {
        return Ok(For::All);
    };
    let service = &railroad.service;
    if service.find_train(name).is_some() {
        return Ok(For::Train(name.clone()));
    }
    if service.find_job(name).is_some() {
        return Ok(For::Job(name.clone()));
    }
    if railroad.way.find_station(name).is_some() {
        return Ok(For::Station(name.clone()));
    }
    let trains = service
        .trains
        .iter()
        .map(|train| train.symbol.value.as_str());
    let jobs = service.jobs.iter().map(|job| job.name.value.as_str());
    let stations = railroad
        .way
        .stations
        .iter()
        .map(|at| at.name.value.as_str());
    let all: Vec<&str> = trains.chain(jobs).chain(stations).collect();
    let failure = Failure::misunderstood(format!("no train, job or station is called `{name}`"));
    Err(match nearest(name, all.iter().copied()) {
        Some(near) => failure.help(format!("did you mean `{near}`?")),
        None => failure,
    })
}

/// A session planned and put into orders.
struct Planned {
    day: day::Session,
    territory: Territory,
    orders: orders::Paper,
}

impl Planned {
    fn new(railroad: &Railroad, seed: u64) -> Result<Self, Failure> {
        let options = planning::day::Options {
            seed,
            ..planning::day::Options::default()
        };
        let day = day::Session::plan(railroad, &options)
            .map_err(|error| Failure::misunderstood(error.to_string()))?;
        let territory = of_day(railroad, &day.planned);
        let style = railroad.identity.clock_face.style();
        let orders = orders::orders(&territory, &orders::Options::default(), style);
        Ok(Self {
            day,
            territory,
            orders,
        })
    }

    fn session<'a>(&'a self, railroad: &'a Railroad) -> Session<'a> {
        let billed = self.day.billed.as_ref();
        Session {
            plan: Some(&self.day.planned.plan),
            bills: billed.map_or(&[], |billed| &billed.bills),
            made_up: billed.map_or(&[], |billed| &billed.made_up),
            dispatch: Some(Dispatch {
                territory: &self.territory,
                orders: &self.orders.orders,
                clearances: &self.orders.clearances,
            }),
            ..Session::blank(railroad)
        }
    }
}

fn set(title: &str, forms: &[paper::Filled]) -> Result<Printed, Failure> {
    bind(title, forms).map_err(|error| Failure::misunderstood(error.to_string()))
}

fn pdf(printed: &Printed) -> Result<Vec<u8>, Failure> {
    printed
        .pdf()
        .map_err(|error| Failure::misunderstood(error.to_string()))
}

fn files(kind: Kind, stem: &str, printed: &Printed) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    /// Fine enough to paste into a letter.
    const DOTS: f64 = 150.0;
    if kind == Kind::Pdf {
        return Ok(vec![(format!("{stem}.pdf"), pdf(printed)?)]);
    }
    let text = printed.text();
    Ok((0..printed.pages())
        .filter_map(|page| {
            let (ending, bytes) = match kind {
                Kind::Svg => ("svg", printed.svg(page)?.into_bytes()),
                Kind::Png => ("png", printed.png(page, DOTS)?),
                Kind::Text | Kind::Pdf => ("txt", text[page].clone().into_bytes()),
            };
            Some((format!("{stem}-{}.{ending}", page + 1), bytes))
        })
        .collect())
}

fn write(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    fs::write(path, bytes).map_err(|error| Failure::file(path, &error))
}
