//! `sawby plate`: turnouts, crossings and curves at full size, to lay rail on.

mod folder;

use std::{
    fs,
    path::{Path, PathBuf},
    process::ExitCode,
};

use engineering::turnout::{
    self, Build, CastFrog, Clearances, Feed, FrogStyle, Plan, PointStyle, Practice, RailSection,
    Side, Site, Slips, Standard, Style, TieTable,
};
use model::{
    scale::ScaleAndGauge,
    units::{Actual, CurveText},
};
use plates::{Heading, Paper, Plate};
use railroad::{Folder, Railroad};

use crate::{
    args::Which,
    outcome::{Failure, Outcome, say},
};

/// What may stand after `plate`.
#[derive(Debug, clap::Args)]
pub struct PlateArgs {
    #[command(subcommand)]
    what: What,
}

/// What is drawn.
#[derive(Debug, clap::Subcommand)]
enum What {
    /// A turnout: to either hand, equilateral, in straight or curved track.
    Turnout(TurnoutArgs),
    /// Two turnouts laid into each other, one to each side.
    ThreeWay(ThreeWayArgs),
    /// Two tracks that cross at an angle.
    Crossing(CrossingArgs),
    /// A crossing on which trains can change tracks.
    Slip(SlipArgs),
    /// A track from one of two parallel tracks to the other.
    Crossover(CrossoverArgs),
    /// A piece of curved track, with easements if wanted.
    Curve(CurveArgs),
    /// Every switch and crossing of a station of the railroad.
    Station(StationArgs),
    /// A track of the railroad with the switches that lie on it.
    Track(TrackArgs),
}

/// How track is built, and where the plate goes.
#[derive(Debug, clap::Args)]
struct Common {
    /// The scale by name, or a ratio with a gauge: `HO`, `On30`, `1:24 45 mm`. The railroad's own if
    /// left out.
    #[arg(long, value_name = "SCALE")]
    scale: Option<String>,
    /// The railroad whose scale, name, date and turnout practice are taken.
    #[arg(long, value_name = "FOLDER", conflicts_with = "scale")]
    railroad: Option<PathBuf>,
    #[command(flatten)]
    output: OutputArgs,
}

/// How track is built, whatever it is, and where the plate goes.
#[derive(Debug, clap::Args)]
struct OutputArgs {
    /// Where to write; the ending says as what: .pdf, .svg or .dxf.
    #[arg(short, long, value_name = "FILE")]
    output: PathBuf,
    /// Paper of a PDF.
    #[arg(long, value_enum, value_name = "PAPER", default_value = "letter")]
    paper: PaperArg,
    /// Revision printed in the title block.
    #[arg(long, value_name = "TEXT", default_value = "1")]
    revision: String,
    /// By which practice turnouts are proportioned: `model`, `prototype`, `circular`,
    /// `NMRA RP-12 older` or `NMRA RP-12 2015`.
    #[arg(long, value_name = "PRACTICE", value_parser = practice)]
    practice: Option<Practice>,
    /// By which standard flangeways are spaced: `NMRA S-3.2 2010`, `NMRA S-3.2 earlier`,
    /// `NMRA S-3.1 2004`, `NEM 310 2002` or `by proportion`.
    #[arg(long, value_name = "STANDARD", value_parser = standard)]
    standard: Option<Standard>,
    /// Rail by its code: 40 to 332.
    #[arg(long, value_name = "CODE", value_parser = clap::value_parser!(u16).range(30..=400))]
    rail: Option<u16>,
    /// Points: `straight` or `curved`.
    #[arg(long, value_name = "STYLE", value_parser = points)]
    points: Option<PointStyle>,
    /// Frog: `straight`, or `curved` with the closure curve going on through it.
    #[arg(long, value_name = "STYLE", value_parser = frog)]
    frog: Option<FrogStyle>,
    /// A frog bought ready: from its toe to its theoretical point, and from there to its heel.
    #[arg(long, num_args = 2, value_names = ["TOE", "HEEL"])]
    cast_frog: Option<Vec<String>>,
    /// How frogs get their current: `live` or `isolated`.
    #[arg(long, value_name = "FEED", default_value = "live", value_parser = feed)]
    feed: Feed,
    /// Ties by a table: `main`, `branch`, `three-foot`, `two-foot` or `NEM 122`.
    #[arg(long, value_name = "TABLE", value_parser = tie_table)]
    ties: Option<TieTable>,
}

#[derive(Debug, clap::Args)]
struct TurnoutArgs {
    /// Frog number.
    #[arg(long, value_name = "N")]
    number: f64,
    /// To which hand it leads.
    #[arg(long, value_enum, value_name = "HAND", default_value = "left")]
    hand: HandArg,
    /// Radius of the through track, if it is curved: a length or degrees.
    #[arg(long, value_name = "RADIUS")]
    along: Option<String>,
    /// With --along: the diverging track leaves to the outside of the curve.
    #[arg(long, requires = "along")]
    outside: bool,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct ThreeWayArgs {
    /// Frog number.
    #[arg(long, value_name = "N")]
    number: f64,
    /// Which track leaves first.
    #[arg(long, value_enum, value_name = "HAND", default_value = "left")]
    first: SideArg,
    /// How far beyond the first points the second ones are.
    #[arg(long, value_name = "LENGTH")]
    stagger: Option<String>,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct CrossingArgs {
    /// Angle in degrees.
    #[arg(long, value_name = "DEGREES", required_unless_present = "number")]
    angle: Option<f64>,
    /// Or the frog number of its acute frogs.
    #[arg(long, value_name = "N", conflicts_with = "angle")]
    number: Option<f64>,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct SlipArgs {
    /// One slip instead of two.
    #[arg(long)]
    single: bool,
    #[command(flatten)]
    crossing: CrossingArgs,
}

#[derive(Debug, clap::Args)]
struct CrossoverArgs {
    /// Frog number.
    #[arg(long, value_name = "N")]
    number: f64,
    /// To which hand it leads.
    #[arg(long, value_enum, value_name = "HAND", default_value = "left")]
    hand: SideArg,
    /// Two crossovers laid across each other.
    #[arg(long)]
    double: bool,
    /// Track centers; the railroad's own, or 13 full-size feet.
    #[arg(long, value_name = "LENGTH")]
    centers: Option<String>,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct CurveArgs {
    /// Radius of the center line: a length or degrees.
    #[arg(long, value_name = "RADIUS")]
    radius: String,
    /// Angle it turns through in all, degrees.
    #[arg(long, value_name = "DEGREES")]
    angle: f64,
    /// Length of the easement at each end.
    #[arg(long, value_name = "LENGTH")]
    easement: Option<String>,
    #[command(flatten)]
    common: Common,
}

#[derive(Debug, clap::Args)]
struct StationArgs {
    /// The station.
    name: String,
    /// Only this switch or crossing of it.
    #[arg(long, value_name = "SWITCH")]
    only: Option<String>,
    #[command(flatten)]
    which: Which,
    #[command(flatten)]
    output: OutputArgs,
}

#[derive(Debug, clap::Args)]
struct TrackArgs {
    /// The track, as `Station / track`.
    name: String,
    #[command(flatten)]
    which: Which,
    #[command(flatten)]
    output: OutputArgs,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum PaperArg {
    /// 8.5 by 11 inches.
    Letter,
    /// 210 by 297 mm.
    A4,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
enum SideArg {
    Left,
    Right,
}

#[derive(Debug, Clone, Copy, PartialEq, clap::ValueEnum)]
enum HandArg {
    Left,
    Right,
    Equilateral,
}

/// A word of a fixed set, or what the set is.
fn word<T>(text: &str, found: Option<T>, choices: &[model::text::Choice]) -> Result<T, String> {
    found.ok_or_else(|| {
        let words: Vec<&str> = choices.iter().map(|choice| choice.word).collect();
        match model::diagnostic::nearest(text, words.iter().copied()) {
            Some(near) => format!("did you mean `{near}`?"),
            None => format!("it is one of: {}", words.join(", ")),
        }
    })
}

fn practice(text: &str) -> Result<Practice, String> {
    word(text, Practice::from_word(text), Practice::CHOICES)
}

fn standard(text: &str) -> Result<Standard, String> {
    word(text, Standard::from_word(text), Standard::CHOICES)
}

fn points(text: &str) -> Result<PointStyle, String> {
    word(text, PointStyle::from_word(text), PointStyle::CHOICES)
}

fn frog(text: &str) -> Result<FrogStyle, String> {
    word(text, FrogStyle::from_word(text), FrogStyle::CHOICES)
}

fn feed(text: &str) -> Result<Feed, String> {
    word(text, Feed::from_word(text), Feed::CHOICES)
}

fn tie_table(text: &str) -> Result<TieTable, String> {
    word(text, TieTable::from_word(text), TieTable::CHOICES)
}

impl From<SideArg> for Side {
    fn from(side: SideArg) -> Self {
        match side {
            SideArg::Left => Self::Left,
            SideArg::Right => Self::Right,
        }
    }
}

pub(super) fn run(args: &PlateArgs) -> Outcome {
    match &args.what {
        What::Turnout(args) => turnout(args),
        What::ThreeWay(args) => three_way(args),
        What::Crossing(args) => crossing(args, Slips::None),
        What::Slip(args) => crossing(
            &args.crossing,
            if args.single {
                Slips::Single
            } else {
                Slips::Double
            },
        ),
        What::Crossover(args) => crossover(args),
        What::Curve(args) => curve(args),
        What::Station(args) => folder::station(args),
        What::Track(args) => folder::track(args),
    }
}

/// What a plate is made with: how track is built, what the title says.
struct Shop {
    size: ScaleAndGauge,
    style: Style,
    heading: Heading,
    centers: Actual,
}

impl Shop {
    /// From what the command line says, and a railroad if there is one.
    fn new(
        railroad: Option<&Railroad>,
        scale: Option<&str>,
        output: &OutputArgs,
    ) -> Result<Self, Failure> {
        let size = match (scale, railroad) {
            (Some(text), _) => ScaleAndGauge::parse(text)
                .map_err(|error| Failure::misunderstood(format!("--scale: {error}")))?,
            (None, Some(railroad)) => railroad.identity.scale.clone(),
            (None, None) => {
                return Err(Failure::misunderstood("the scale is missing")
                    .help("say `--scale HO`, or `--railroad FOLDER` to take a railroad's own"));
            }
        };
        let own = railroad.map(|railroad| &railroad.identity.turnouts);
        let standard = output.standard.or(own.and_then(|own| own.standard));
        let clearances = Clearances::find(&size, standard)
            .map_err(|error| Failure::misunderstood(format!("--standard: {error}")))?;
        let practice = output
            .practice
            .or(own.and_then(|own| own.practice))
            .unwrap_or(Practice::Model);
        let ratio = size.scale.ratio();
        let mut build = Build::new(ratio, clearances, practice);
        if let Some(code) = output.rail.or(own.and_then(|own| own.rail)) {
            build.rail = RailSection::of_code(code);
        }
        build.points = output
            .points
            .or(own.and_then(|own| own.points))
            .unwrap_or(PointStyle::Straight);
        build.frog = output
            .frog
            .or(own.and_then(|own| own.frog))
            .unwrap_or(FrogStyle::Straight);
        if let Some([toe, heel]) = output.cast_frog.as_deref() {
            let read = |text: &str| length("--cast-frog", text, &size).map(Actual::meters);
            build.cast = Some(CastFrog {
                toe: read(toe)?,
                heel: read(heel)?,
            });
        }
        let usual = TieTable::usual(clearances.gauge, ratio);
        let ties = output
            .ties
            .or(own.and_then(|own| own.ties))
            .unwrap_or(usual);
        Ok(Self {
            style: Style {
                build,
                feed: output.feed,
                ties,
            },
            heading: Heading {
                railroad: railroad
                    .map(|r| r.identity.name.clone())
                    .unwrap_or_default(),
                scale: size.name.clone(),
                date: railroad
                    .and_then(|r| r.identity.date.as_ref())
                    .map(|date| date.value.to_string())
                    .unwrap_or_default(),
                revision: output.revision.clone(),
                place: String::new(),
            },
            centers: railroad.map_or_else(
                || engineering::Limits::new(size.scale, size.gauge).track_centers,
                |r| r.identity.way_limits().track_centers,
            ),
            size,
        })
    }

    fn of(common: &Common) -> Result<Self, Failure> {
        let loaded = match &common.railroad {
            Some(folder) => Some(railroad::load(&Folder::from_disk(folder)?)),
            None => None,
        };
        Self::new(
            loaded.as_ref().map(|loaded| &loaded.railroad),
            common.scale.as_deref(),
            &common.output,
        )
    }

    fn plate(&self, plan: &Plan) -> Plate {
        Plate::new(plan, &self.heading)
    }
}

fn length(what: &str, text: &str, size: &ScaleAndGauge) -> Result<Actual, Failure> {
    Actual::parse_in(text, size.scale)
        .map_err(|error| Failure::misunderstood(format!("{what}: {error}")))
}

fn radius(what: &str, text: &str, size: &ScaleAndGauge) -> Result<Actual, Failure> {
    CurveText::parse(text)
        .map(|curve| curve.actual_radius(size.scale))
        .map_err(|error| Failure::misunderstood(format!("{what}: {error}")))
}

/// What cannot be built is no fault of the program: the command line asks for it.
fn built(plan: Result<Plan, String>) -> Result<Plan, Failure> {
    plan.map_err(Failure::misunderstood)
}

fn turnout(args: &TurnoutArgs) -> Outcome {
    let shop = Shop::of(&args.common)?;
    let side = if args.hand == HandArg::Right {
        Side::Right
    } else {
        Side::Left
    };
    let site = match &args.along {
        None => Site::straight(),
        Some(text) => {
            let radius = radius("--along", text, &shop.size)?.meters();
            // To the inside the track curves to the hand it diverges to.
            let inside = if args.outside { -1.0 } else { 1.0 };
            Site::curved(inside * side.sign() / radius)
        }
    };
    let plan = built(if args.hand == HandArg::Equilateral {
        turnout::equilateral(&shop.style, args.number, &site)
    } else {
        turnout::lateral(&shop.style, args.number, side, &site)
    })?;
    write(&[shop.plate(&plan)], &args.common.output)
}

fn three_way(args: &ThreeWayArgs) -> Outcome {
    let shop = Shop::of(&args.common)?;
    let stagger = match &args.stagger {
        Some(text) => Some(length("--stagger", text, &shop.size)?.meters()),
        None => None,
    };
    let plan = built(turnout::three_way(
        &shop.style,
        args.number,
        args.first.into(),
        stagger,
        &Site::straight(),
    ))?;
    write(&[shop.plate(&plan)], &args.common.output)
}

fn crossing(args: &CrossingArgs, slips: Slips) -> Outcome {
    let shop = Shop::of(&args.common)?;
    let angle = match (args.angle, args.number) {
        (Some(degrees), _) => degrees.to_radians(),
        (None, number) => engineering::clearance::frog_angle(number.unwrap_or(6.0)).radians(),
    };
    let plan = built(turnout::crossing(&shop.style, angle, slips))?;
    write(&[shop.plate(&plan)], &args.common.output)
}

fn crossover(args: &CrossoverArgs) -> Outcome {
    let shop = Shop::of(&args.common)?;
    let centers = match &args.centers {
        Some(text) => length("--centers", text, &shop.size)?,
        None => shop.centers,
    }
    .meters();
    let plan = built(if args.double {
        turnout::double_crossover(&shop.style, args.number, centers)
    } else {
        turnout::crossover(&shop.style, args.number, args.hand.into(), centers)
    })?;
    write(&[shop.plate(&plan)], &args.common.output)
}

fn curve(args: &CurveArgs) -> Outcome {
    let shop = Shop::of(&args.common)?;
    let radius = radius("--radius", &args.radius, &shop.size)?.meters();
    let easement = match &args.easement {
        Some(text) => length("--easement", text, &shop.size)?.meters(),
        None => 0.0,
    };
    let plan = built(turnout::curve(
        &shop.style,
        radius,
        args.angle.to_radians(),
        easement,
    ))?;
    write(&[shop.plate(&plan)], &args.common.output)
}

/// Writes plates as the ending of the file says. An SVG or a DXF holds one: of several each has its
/// number in the name.
fn write(plates: &[Plate], output: &OutputArgs) -> Outcome {
    let path = &output.output;
    let paper = match output.paper {
        PaperArg::Letter => Paper::Letter,
        PaperArg::A4 => Paper::A4,
    };
    let ending = path
        .extension()
        .map(|ending| ending.to_string_lossy().to_lowercase())
        .unwrap_or_default();
    match ending.as_str() {
        "pdf" => {
            let (bytes, sheets) = plates::pdf(plates, paper).map_err(Failure::misunderstood)?;
            save(path, &bytes)?;
            say(&format!("{}: {sheets} sheets\n", path.display()));
        }
        "svg" | "dxf" => {
            for (at, plate) in plates.iter().enumerate() {
                let file = if plates.len() == 1 {
                    path.clone()
                } else {
                    numbered(path, at + 1)
                };
                let text = if ending == "svg" {
                    plate.svg()
                } else {
                    plate.dxf()
                };
                save(&file, text.as_bytes())?;
                say(&format!("{}\n", file.display()));
            }
        }
        _ => {
            return Err(Failure::misunderstood(format!(
                "{} ends neither in .pdf nor in .svg nor in .dxf",
                path.display()
            )));
        }
    }
    Ok(ExitCode::SUCCESS)
}

fn numbered(path: &Path, number: usize) -> PathBuf {
    let stem = path
        .file_stem()
        .map(|stem| stem.to_string_lossy())
        .unwrap_or_default();
    let ending = path
        .extension()
        .map(|ending| ending.to_string_lossy())
        .unwrap_or_default();
    path.with_file_name(format!("{stem}-{number}.{ending}"))
}

fn save(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    fs::write(path, bytes).map_err(|error| Failure::file(path, &error))
}
