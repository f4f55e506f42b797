//! `sawby print`: what a crew holds in its hand.

use std::{
    fs,
    path::{Path, PathBuf},
    process::ExitCode,
};

use clap::{Parser as _, ValueEnum};
use model::diagnostic::nearest;
use paper::{
    Binding, Called, Dispatch, Document, For, Format, Logo, Occasion, Own, Paper, Printed, Session,
    Size, Wording, bind, document::forms, impose,
};
use planning::orders::{self, territory::of_day};
use railroad::{Folder, Railroad};
use transportation::{DayPlan, order::Territory};

use super::{crews, day, season};
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
    /// On pocket pages, a quarter of a sheet.
    #[arg(long, conflicts_with = "half")]
    pocket: bool,
    /// Half or pocket pages put on whole sheets as a booklet: print on both sides, cut where marked, lay
    /// the upper strips on the lower ones and fold. Turn half sheets over the short edge, pocket pages
    /// over the long one.
    #[arg(long)]
    booklet: bool,
    /// Half or pocket pages put on whole sheets to be cut apart into leaves printed on both sides.
    #[arg(long, conflicts_with = "booklet")]
    leaves: bool,
    /// Address of the railroad's office on the club's network: codes on the forms lead there.
    #[arg(long, value_name = "URL")]
    at: Option<String>,
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
    #[arg(long, value_name = "NUMBER", default_value_t = planning::day::Options::default().seed)]
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

impl PaperArg {
    const fn of(self) -> Paper {
        match self {
            Self::Letter => Paper::Letter,
            Self::A4 => Paper::A4,
        }
    }
}

/// How small the pages are; nothing for whole sheets.
const fn format(args: &PrintArgs) -> Option<Format> {
    match (args.half, args.pocket) {
        (true, _) => Some(Format::Half),
        (_, true) => Some(Format::Pocket),
        // A booklet of whole sheets would want sheets of twice their size.
        _ if args.booklet || args.leaves => Some(Format::Half),
        _ => None,
    }
}

/// The office's address, if it is one.
fn office(at: Option<&str>) -> Result<Option<String>, Failure> {
    match at {
        None => Ok(None),
        Some(at)
            if ["http://", "https://"]
                .iter()
                .any(|scheme| at.strip_prefix(scheme).is_some_and(|rest| !rest.is_empty()))
                && !at.contains(char::is_whitespace) =>
        {
            Ok(Some(at.to_owned()))
        }
        Some(at) => Err(Failure::misunderstood(format!(
            "--at {at}: this is no address of the web"
        ))
        .help("write it as the office prints it when it opens: `http://192.168.1.20:7841`")),
    }
}

/// The owner's mark: `logo.svg`, `logo.png` or `logo.jpg` beside the railroad's pages.
fn logo(args: &PrintArgs) -> Option<Logo> {
    ["logo.svg", "logo.png", "logo.jpg"]
        .into_iter()
        .find_map(|file| {
            let bytes = if args.which.example {
                Folder::built_in_extra("example")
                    .into_iter()
                    .find(|(path, _)| path == file)
                    .map(|(_, bytes)| bytes.to_vec())
            } else {
                fs::read(args.which.folder.join(file)).ok()
            };
            Some(Logo {
                file: file.to_owned(),
                bytes: bytes?,
            })
        })
}

/// A document filled in: its name and its forms.
type FilledIn = (&'static str, Vec<paper::Filled>);

/// What is asked for, filled in.
fn fill(args: &PrintArgs, railroad: &Railroad) -> Result<(Vec<FilledIn>, Occasion), Failure> {
    let documents = documents(&args.what)?;
    let own = Own {
        season: documents
            .contains(&Document::SeasonReport)
            .then(|| season::paper(railroad))
            .flatten(),
        ..own(args, railroad)
    };
    let occasion = occasion(args, railroad)?;
    let whom = whom(args, railroad);
    let planned = if args.blank {
        None
    } else {
        Some(Planned::new(railroad, args.seed)?)
    };
    let called = planned
        .as_ref()
        .map_or_else(Vec::new, |planned| crews::called(railroad, planned.plan()));
    let whom = match (&args.whom, whom) {
        (_, Some(whom)) => whom,
        (Some(name), None) => person(railroad, &called, name)?,
        (None, None) => For::All,
    };
    let session = planned.as_ref().map_or_else(
        || Session::blank(railroad),
        |planned| planned.session(railroad, &called),
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
    let (filled, occasion) = fill(args, railroad)?;
    let one_file = args.output.extension().is_some_and(|end| end == "pdf");
    if one_file {
        let all: Vec<_> = filled.into_iter().flat_map(|(_, forms)| forms).collect();
        let printed = imposed(
            args,
            &railroad.identity.name,
            set(&railroad.identity.name, &all)?,
            &occasion.wording,
        )?;
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
        let printed = imposed(args, name, set(name, &forms)?, &occasion.wording)?;
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
        season: None,
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
    let paper = args.paper.of();
    let size = format(args).map_or_else(|| Size::whole(paper), |format| format.size(paper));
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
        office: office(args.at.as_deref())?,
        logo: logo(args),
    })
}

/// The train, job or station of a name; nothing if it is none of them.
fn whom(args: &PrintArgs, railroad: &Railroad) -> Option<For> {
    let name = args.whom.as_ref()?;
    let service = &railroad.service;
    if service.find_train(name).is_some() {
        Some(For::Train(name.clone()))
    } else if service.find_job(name).is_some() {
        Some(For::Jobs(vec![name.clone()]))
    } else if railroad.way.find_station(name).is_some() {
        Some(For::Station(name.clone()))
    } else {
        None
    }
}

/// The jobs for which a person is called.
fn person(railroad: &Railroad, called: &[Called], name: &str) -> Result<For, Failure> {
    let jobs: Vec<String> = called
        .iter()
        .filter(|called| called.people.iter().any(|person| person.name == name))
        .map(|called| called.job.clone())
        .collect();
    if !jobs.is_empty() {
        return Ok(For::Jobs(jobs));
    }
    let service = &railroad.service;
    if service
        .people
        .iter()
        .any(|person| person.name.value == name)
    {
        return Err(Failure::misunderstood(format!(
            "{name} is called for no job of this session"
        )));
    }
    let trains = service.trains.iter().map(|train| &train.symbol);
    let jobs = service.jobs.iter().map(|job| &job.name);
    let stations = railroad.way.stations.iter().map(|at| &at.name);
    let people = service.people.iter().map(|person| &person.name);
    let all = trains.chain(jobs).chain(stations).chain(people);
    let failure = Failure::misunderstood(format!(
        "no train, job, station or person is called `{name}`"
    ));
    Err(match nearest(name, all.map(|one| one.value.as_str())) {
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

    fn plan(&self) -> &DayPlan {
        &self.day.planned.plan
    }

    fn session<'a>(&'a self, railroad: &'a Railroad, called: &'a [Called]) -> Session<'a> {
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
            called,
            ..Session::blank(railroad)
        }
    }
}

fn set(title: &str, forms: &[paper::Filled]) -> Result<Printed, Failure> {
    bind(title, forms).map_err(|error| Failure::misunderstood(error.to_string()))
}

/// The pages on whole sheets, if that is wanted.
fn imposed(
    args: &PrintArgs,
    title: &str,
    pages: Printed,
    wording: &Wording,
) -> Result<Printed, Failure> {
    let binding = match (args.booklet, args.leaves) {
        (true, _) => Binding::Booklet,
        (_, true) => Binding::Leaves,
        _ => return Ok(pages),
    };
    let format = format(args).unwrap_or(Format::Half);
    impose(&pages, title, format, binding, args.paper.of(), wording)
        .map_err(|error| Failure::misunderstood(error.to_string()))
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
