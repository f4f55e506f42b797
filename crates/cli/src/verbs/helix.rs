//! `sawby helix`: what a helix or a return loop comes to, and how the alternatives compare.

use std::{fmt::Write as _, path::PathBuf, process::ExitCode};

use engineering::{
    Limits,
    helix::{Helix, ReturnLoop, least_radius, least_rise},
};
use model::{
    scale::ScaleAndGauge,
    units::{Actual, CurveText, Grade},
};
use railroad::identity::UnitsStyle;
use serde_json::{Value, json};

use crate::{
    args::Which,
    outcome::{Failure, Outcome, WRONG, load, say},
};

/// What may stand after `helix`.
#[derive(Debug, clap::Args)]
pub struct HelixArgs {
    /// The railroad folder whose scale and limits hold.
    #[arg(default_value = ".", value_name = "FOLDER")]
    folder: PathBuf,
    /// The example railroad that comes with the program.
    #[arg(long, conflicts_with = "folder")]
    example: bool,
    /// Without a folder: the scale.
    #[arg(long, value_name = "SCALE", conflicts_with_all = ["folder", "example"])]
    scale: Option<String>,
    /// How high it has to climb.
    #[arg(long, value_name = "LENGTH", required_unless_present = "return_loop")]
    climb: Option<String>,
    /// Radius of the (innermost) track; several to compare them.
    #[arg(long, value_name = "RADIUS", value_delimiter = ',')]
    radius: Vec<String>,
    /// Rise of a turn; several to compare them. The least that leaves room overhead if left out.
    #[arg(long, value_name = "LENGTH", value_delimiter = ',')]
    rise: Vec<String>,
    /// Straight between the two halves of an oval one.
    #[arg(long, value_name = "LENGTH", default_value = "0 in")]
    straight: String,
    /// Tracks side by side.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u8).range(1..=4))]
    tracks: u8,
    /// From railhead down to the underside of the deck; the railroad's `roadbed` if left out.
    #[arg(long, value_name = "LENGTH")]
    deck: Option<String>,
    /// Longest distance between the rods that carry the deck.
    #[arg(long, value_name = "LENGTH", default_value = "16 in")]
    span: String,
    /// Length of a train: how much of the helix it fills. The railroad's longest if left out.
    #[arg(long, value_name = "LENGTH")]
    train: Option<String>,
    /// A return loop instead: a turnout of this number, and curves of each radius.
    #[arg(long, value_name = "NUMBER")]
    return_loop: Option<f64>,
    /// Print JSON.
    #[arg(long)]
    json: bool,
}

/// What holds for the railroad.
struct Setting {
    limits: Limits,
    units: UnitsStyle,
    train: Option<Actual>,
}

pub(super) fn run(args: &HelixArgs) -> Outcome {
    let setting = setting(args)?;
    let limits = &setting.limits;
    let length = |text: &str| {
        Actual::parse_in(text, limits.scale)
            .map_err(|error| Failure::misunderstood(format!("`{text}`: {error}")))
    };
    let radius = |text: &String| {
        CurveText::parse(text)
            .map(|curve| curve.actual_radius(limits.scale))
            .map_err(|error| Failure::misunderstood(format!("`{text}`: {error}")))
    };
    let mut radii = args
        .radius
        .iter()
        .map(radius)
        .collect::<Result<Vec<_>, _>>()?;
    if radii.is_empty() {
        let least = limits.radius.ok_or_else(|| {
            Failure::misunderstood("no radius is given, and the railroad sets no limit")
                .help("name some with --radius")
        })?;
        radii.extend([1.0, 1.1, 1.2, 1.35].map(|times| least * times));
    }
    if let Some(number) = args.return_loop {
        return return_loops(args, &setting, number, &radii);
    }
    let deck = args
        .deck
        .as_deref()
        .map_or(Ok(limits.plan.roadbed), length)?;
    let mut rises = args
        .rise
        .iter()
        .map(|text| length(text))
        .collect::<Result<Vec<_>, _>>()?;
    if rises.is_empty() {
        rises.push(least_rise(limits.plan.overhead, deck));
    }
    let train = args
        .train
        .as_deref()
        .map(length)
        .transpose()?
        .or(setting.train);
    let climb = length(args.climb.as_deref().unwrap_or("0 in"))?;
    let (straight, span) = (length(&args.straight)?, length(&args.span)?);
    if [climb, span]
        .iter()
        .chain(&rises)
        .any(|length| *length <= Actual::ZERO)
    {
        return Err(Failure::misunderstood(
            "climb, rise and span are lengths over nothing",
        ));
    }
    let all: Vec<Helix> = rises
        .iter()
        .flat_map(|rise| {
            radii.iter().map(|radius| Helix {
                radius: *radius,
                rise_per_turn: *rise,
                straight,
                climb,
                deck,
                tracks: args.tracks,
                centers: limits.track_centers,
                rod_room: limits
                    .scale
                    .to_actual(model::units::Prototype::from_feet(10.0)),
            })
        })
        .collect();
    let faults: Vec<Vec<String>> = all.iter().map(|one| faults(one, &setting, span)).collect();
    if args.json {
        let rows: Vec<Value> = all
            .iter()
            .zip(&faults)
            .map(|(one, faults)| to_json(one, &setting, span, train, faults))
            .collect();
        say(&format!("{:#}\n", Value::Array(rows)));
    } else {
        say(&text(&all, &faults, &setting, span, train));
    }
    let none = faults.iter().all(|faults| !faults.is_empty());
    Ok(if none {
        ExitCode::from(WRONG)
    } else {
        ExitCode::SUCCESS
    })
}

fn setting(args: &HelixArgs) -> Result<Setting, Failure> {
    if let Some(name) = &args.scale {
        let scale = ScaleAndGauge::parse(name)
            .map_err(|error| Failure::misunderstood(format!("`{name}`: {error}")))?;
        return Ok(Setting {
            limits: Limits::new(scale.scale, scale.gauge),
            units: UnitsStyle::FeetAndInches,
            train: None,
        });
    }
    let which = Which {
        folder: args.folder.clone(),
        example: args.example,
    };
    let railroad = load(&which)?.railroad;
    Ok(Setting {
        limits: *railroad.network.limits(),
        units: railroad.identity.units,
        train: railroad.identity.limits.train_length,
    })
}

/// What is wrong with one, each with the amount.
fn faults(helix: &Helix, setting: &Setting, span: Actual) -> Vec<String> {
    let limits = &setting.limits;
    let figures = helix.figures(limits.scale, limits.compensation, span);
    let show = |length: Actual| setting.units.show(length);
    let hair = Actual::from_mm(0.1);
    let mut faults = Vec::new();
    if let Some(limit) = limits.radius
        && helix.radius < limit - hair
    {
        faults.push(format!(
            "radius {} under the limit of {}",
            show(limit - helix.radius),
            show(limit)
        ));
    }
    if figures.clear < limits.plan.overhead - hair {
        let wanting = limits.plan.overhead - figures.clear;
        faults.push(format!(
            "{} of height wanting for {}",
            show(wanting),
            show(limits.plan.overhead)
        ));
    }
    if let Some(limit) = limits.grade
        && figures.effective.ratio() > limit.ratio() + 1e-6
    {
        let least = least_radius(
            helix.rise_per_turn,
            helix.straight,
            limit,
            limits.scale,
            limits.compensation,
        );
        let would = least.map_or_else(String::new, |radius| format!("; {} would do", show(radius)));
        faults.push(format!(
            "grade and curve {:.2} % over the limit of {:.2} %{would}",
            figures.effective.percent() - limit.percent(),
            limit.percent()
        ));
    }
    faults
}

/// Of a figure and the length of a train: turns it fills, and the height between its ends.
fn filled(helix: &Helix, per_turn: Actual, length: Actual, train: Actual) -> (f64, Actual) {
    let inside = train.min(length);
    let turns = inside / per_turn;
    (turns, helix.rise_per_turn * turns)
}

fn percent(grade: Grade) -> String {
    format!("{:.2} %", grade.percent())
}

fn text(
    all: &[Helix],
    faults: &[Vec<String>],
    setting: &Setting,
    span: Actual,
    train: Option<Actual>,
) -> String {
    let limits = &setting.limits;
    let show = |length: Actual| setting.units.show(length);
    let Some(first) = all.first() else {
        return String::new();
    };
    let mut text = format!("To climb {}", show(first.climb));
    if first.straight > Actual::ZERO {
        let _ = write!(
            text,
            ", with {} of straight on each side",
            show(first.straight)
        );
    }
    if first.tracks > 1 {
        let _ = write!(
            text,
            ", {} tracks {} apart, the innermost reckoned",
            first.tracks,
            show(first.centers)
        );
    }
    text.push_str(":\n\n");
    let mut rows = vec![
        [
            "radius",
            "rise",
            "clear",
            "turns",
            "track",
            "grade",
            "curve",
            "felt",
            "floor",
            "rods",
            "apart",
            "rise each",
        ]
        .map(str::to_owned)
        .to_vec(),
    ];
    if train.is_some() {
        rows[0].extend(["train fills", "and climbs"].map(str::to_owned));
    }
    for helix in all {
        let figures = helix.figures(limits.scale, limits.compensation, span);
        let [along, across] = figures.floor;
        let floor = if helix.straight > Actual::ZERO {
            format!("{} x {}", show(along), show(across))
        } else {
            show(across)
        };
        let mut row = vec![
            show(helix.radius),
            show(helix.rise_per_turn),
            show(figures.clear),
            format!("{:.2}", figures.turns),
            show(figures.length),
            percent(figures.grade),
            percent(figures.curve),
            percent(figures.effective),
            floor,
            figures.rods.to_string(),
            show(figures.rod_spacing),
            format!("{:.2} in", figures.rise_per_rod.inches()),
        ];
        if setting.units == UnitsStyle::Metric
            && let Some(cell) = row.last_mut()
        {
            *cell = format!("{:.1} mm", figures.rise_per_rod.mm());
        }
        if let Some(train) = train {
            let (turns, height) = filled(helix, figures.per_turn, figures.length, train);
            row.extend([format!("{turns:.2} turns"), show(height)]);
        }
        rows.push(row);
    }
    text.push_str(&table(&rows));
    text.push('\n');
    for (helix, faults) in all.iter().zip(faults) {
        for fault in faults {
            let _ = writeln!(
                text,
                "{} with {} a turn: {fault}.",
                show(helix.radius),
                show(helix.rise_per_turn)
            );
        }
    }
    let best = all
        .iter()
        .zip(faults)
        .filter(|(_, faults)| faults.is_empty())
        .map(|(one, _)| one)
        .min_by(|a, b| {
            a.radius
                .total_cmp(&b.radius)
                .then(a.rise_per_turn.total_cmp(&b.rise_per_turn))
        });
    match best {
        Some(best) => {
            let _ = writeln!(
                text,
                "Smallest that keeps all limits: radius {}, {} a turn.",
                show(best.radius),
                show(best.rise_per_turn)
            );
        }
        None => text.push_str("None of these keeps all limits.\n"),
    }
    text.push_str(CAUTION);
    text
}

/// What leads to cutting is said with care.
const CAUTION: &str = "
Rise and rods are those of threaded rods around the outside, a nut under and over each deck; the same
number stands inside. `felt` is the grade with what the curve is worth.

Take care: decks are sawn, and rods cut. Clamp the work, keep guards on and hands behind the blade, wear
eye and ear protection and a mask for the dust, and let someone who knows the saw show you. File the cut
ends of rods. Leave a way to get in and out of the middle that nobody has to crawl for in a hurry.
";

/// Columns under their headings.
fn table(rows: &[Vec<String>]) -> String {
    let columns = rows.first().map_or(0, Vec::len);
    let widths: Vec<usize> = (0..columns)
        .map(|at| {
            rows.iter()
                .map(|row| row[at].chars().count())
                .max()
                .unwrap_or(0)
        })
        .collect();
    let mut text = String::new();
    for row in rows {
        let cells: Vec<String> = row
            .iter()
            .zip(&widths)
            .map(|(cell, width)| format!("{cell:>width$}"))
            .collect();
        let _ = writeln!(text, "  {}", cells.join("  "));
    }
    text
}

fn to_json(
    helix: &Helix,
    setting: &Setting,
    span: Actual,
    train: Option<Actual>,
    faults: &[String],
) -> Value {
    let figures = helix.figures(setting.limits.scale, setting.limits.compensation, span);
    let m = |length: Actual| (length.meters() * 1e5).round() / 1e5;
    let of = |grade: Grade| (grade.percent() * 1e4).round() / 1e4;
    json!({
        "radius_m": m(helix.radius),
        "rise_per_turn_m": m(helix.rise_per_turn),
        "clear_m": m(figures.clear),
        "turns": (figures.turns * 1e4).round() / 1e4,
        "track_m": m(figures.length),
        "grade_percent": of(figures.grade),
        "curve_percent": of(figures.curve),
        "felt_percent": of(figures.effective),
        "floor_m": figures.floor.map(m),
        "rods": figures.rods,
        "rod_spacing_m": m(figures.rod_spacing),
        "rise_per_rod_m": m(figures.rise_per_rod),
        "train_turns": train.map(|train| filled(helix, figures.per_turn, figures.length, train).0),
        "faults": faults,
    })
}

fn return_loops(args: &HelixArgs, setting: &Setting, number: f64, radii: &[Actual]) -> Outcome {
    if !(3.0..=30.0).contains(&number) {
        return Err(Failure::misunderstood(
            "a turnout has a number from 3 to 30",
        ));
    }
    let show = |length: Actual| setting.units.show(length);
    let mut rows = vec![
        ["radius", "around", "holds", "deep", "wide"]
            .map(str::to_owned)
            .to_vec(),
    ];
    let mut json_rows = Vec::new();
    for &radius in radii {
        let one = ReturnLoop {
            radius,
            number,
            gauge: setting.limits.gauge,
            centers: setting.limits.track_centers,
        };
        let Some(figures) = one.figures() else {
            continue;
        };
        rows.push(vec![
            show(radius),
            show(figures.length),
            show(figures.holds),
            show(figures.depth),
            show(figures.width),
        ]);
        json_rows.push(json!({
            "radius_m": radius.meters(), "around_m": figures.length.meters(), "holds_m": figures.holds.meters(),
            "depth_m": figures.depth.meters(), "width_m": figures.width.meters(),
        }));
    }
    if args.json {
        say(&format!("{:#}\n", Value::Array(json_rows)));
    } else {
        let mut text =
            format!("Return loop by a No. {number} turnout, to the middle of the track:\n\n");
        text.push_str(&table(&rows));
        text.push_str(
            "\n`around` is from the points back to the points, `holds` what stands clear of the turnout: the\nreversing section is no longer than the one and no train that crosses its gaps may be longer than it.\n",
        );
        say(&text);
    }
    Ok(ExitCode::SUCCESS)
}
