//! `sawby rating`: what each engine may take over each line.

mod train;

use std::{
    fmt::Write as _,
    fs,
    io::Write as _,
    path::{Path, PathBuf},
    process::ExitCode,
};

use drawing::tonnage;
use mechanical::{
    rating::{Hill, Limit, Rating, Reach},
    tonnage::{Governs, Missing, RatedFor},
};
use model::{
    diagnostic::nearest,
    units::{Actual, Weight, WeightStyle},
};
use railroad::{
    Railroad,
    identity::UnitsStyle,
    rating::{ClassRatings, LineRatings, Rated, Sheet, place_words, sheet_of},
};
use serde_json::{Value, json};

use crate::{
    args::Which,
    outcome::{Failure, Outcome, load, say},
};

/// What may stand after `rating`.
#[derive(Debug, clap::Args)]
pub struct RatingArgs {
    #[command(flatten)]
    which: Which,
    /// Only this line.
    #[arg(long, value_name = "LINE")]
    line: Option<String>,
    /// Only this engine class, or engine.
    #[arg(long, value_name = "CLASS")]
    engine: Option<String>,
    /// For this season instead of the one in tonnage.toml.
    #[arg(long, value_name = "SEASON")]
    season: Option<String>,
    /// What this train may take over its way, instead of the table.
    #[arg(long, value_name = "TRAIN", conflicts_with_all = ["line", "engine"])]
    train: Option<String>,
    /// With so many cars, instead of the train's own limit.
    #[arg(long, value_name = "CARS", requires = "train")]
    cars: Option<u32>,
    /// Draw grade against capacity: into this file, or with several lines and directions into this folder.
    #[arg(short, long, value_name = "FILE or FOLDER", conflicts_with = "train")]
    output: Option<PathBuf>,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &RatingArgs) -> Outcome {
    let mut loaded = load(&args.which)?;
    let railroad = &mut loaded.railroad;
    if let Some(season) = &args.season {
        let names: Vec<&str> = railroad
            .tonnage
            .seasons
            .iter()
            .map(|season| season.name.as_str())
            .collect();
        railroad.tonnage.season = pick("season", season, &names)?;
    }
    let railroad = &*railroad;
    if let Some(symbol) = &args.train {
        return train::run(railroad, symbol, args.cars, args.json);
    }
    let lines: Vec<&str> = railroad
        .way
        .lines()
        .map(|(_, line)| line.name.value.as_str())
        .collect();
    let line = args
        .line
        .as_ref()
        .map(|name| pick("line", name, &lines))
        .transpose()?;
    let engines = &railroad.roster.engines;
    if let Some(name) = &args.engine {
        let names: Vec<&str> = engines
            .iter()
            .flat_map(|engine| [Some(engine.number.value.as_str()), engine.class.as_deref()])
            .flatten()
            .collect();
        pick("engine or class", name, &names)?;
    }
    let sheet = sheet_of(railroad, |id, engine| {
        line.is_none_or(|line| line == id.index())
            && match (engine, &args.engine) {
                (Some(engine), Some(name)) => {
                    engine.number.value == *name || engine.class.as_ref() == Some(name)
                }
                _ => true,
            }
    });
    if args.json {
        say(&format!("{:#}\n", to_json(railroad, &sheet)));
    } else {
        say(&text(railroad, &sheet, args.engine.is_some()));
    }
    if let Some(path) = &args.output {
        draw(railroad, &sheet, path)?;
    }
    Ok(ExitCode::SUCCESS)
}

/// Writes the drawings: to the file itself if there is one, else one for each line and direction into a folder.
fn draw(railroad: &Railroad, sheet: &Sheet, path: &Path) -> Result<(), Failure> {
    let failed = |path: &Path| {
        let path = path.to_owned();
        move |error: std::io::Error| Failure::file(&path, &error)
    };
    let one = sheet.lines.len() == 1;
    for line in &sheet.lines {
        let file = if one {
            path.to_owned()
        } else {
            fs::create_dir_all(path).map_err(failed(path))?;
            path.join(format!(
                "{}-{}.svg",
                plain(&line.name),
                plain(&line.direction)
            ))
        };
        fs::write(&file, tonnage::plot(railroad, sheet, line)).map_err(failed(&file))?;
        // Beside the JSON of `--json` only the file itself is wanted.
        let _ = writeln!(anstream::stderr(), "{}", file.display());
    }
    Ok(())
}

fn plain(name: &str) -> String {
    let name: String = name
        .to_lowercase()
        .chars()
        .map(|c| if c.is_alphanumeric() { c } else { '-' })
        .collect();
    name.trim_matches('-').to_owned()
}

/// The place of a name among those there are, or a failure that says what was probably meant.
pub(super) fn pick(what: &str, name: &str, names: &[&str]) -> Result<usize, Failure> {
    let found = names.iter().position(|one| one.eq_ignore_ascii_case(name));
    found.ok_or_else(|| {
        let failure = Failure::misunderstood(format!("there is no {what} `{name}`"));
        match nearest(name, names.iter().copied()) {
            Some(near) => failure.help(format!("did you mean `{near}`?")),
            None => failure.help(format!("there are: {}", names.join(", "))),
        }
    })
}

/// A weight of the model in the owner's units, or full size in tons.
fn weight(railroad: &Railroad, governs: Governs, weight: Weight) -> String {
    match governs {
        Governs::Model if railroad.identity.units == UnitsStyle::Metric => {
            weight.show(WeightStyle::Grams { decimals: 0 }).to_string()
        }
        Governs::Model => weight.show(WeightStyle::Ounces { decimals: 1 }).to_string(),
        Governs::FullSize => weight
            .show(WeightStyle::ShortTons { decimals: 0 })
            .to_string(),
    }
}

fn text(railroad: &Railroad, sheet: &Sheet, in_detail: bool) -> String {
    let mut text = String::new();
    let units = railroad.identity.units;
    let car = &sheet.car;
    let _ = writeln!(
        text,
        "{}: tonnage ratings by {}, of trains that {}; season: {}.",
        railroad.identity.name,
        match sheet.governs {
            Governs::Model => "what the models pull",
            Governs::FullSize => "what the full-size engines would pull",
        },
        match sheet.rated_for {
            RatedFor::Starting => "start wherever they are stopped",
            RatedFor::Moving => "keep moving",
        },
        sheet.seasons[sheet.season],
    );
    let _ = writeln!(
        text,
        "The rating car{} is {} long and weighs {}; full size with its load {}.",
        match car.of {
            0 => String::new(),
            of => format!(", the mean of {of} in service,"),
        },
        units.show(car.length),
        weight(railroad, Governs::Model, car.model),
        weight(railroad, Governs::FullSize, car.full_size),
    );
    if let Some(found) = &railroad.tonnage.calibration {
        let plus = |fit: Option<f64>| {
            fit.map_or_else(String::new, |error| format!(" ± {:.2}", 200.0 * error))
        };
        let _ = writeln!(
            text,
            "{} test pulls: cars roll at {:.2}{} %{} (twice the standard error).",
            found.pulls,
            100.0 * found.rolling.value,
            plus(found.rolling.standard_error),
            found.curve_m.map_or_else(String::new, |curve| {
                let per_inch = |value: f64| value / 0.0254;
                format!(
                    "; curves drag {:.0}{} % over the radius in inches",
                    100.0 * per_inch(curve.value),
                    plus(curve.standard_error.map(per_inch)),
                )
            }),
        );
    }
    for line in &sheet.lines {
        let _ = write!(text, "\n{}, {}\n\n", line.name, line.direction);
        table(&mut text, railroad, sheet, line);
        if in_detail {
            for class in &line.classes {
                details(&mut text, railroad, sheet, line, class);
            }
        }
    }
    if !in_detail {
        text.push_str("\n`--engine CLASS` adds each district, helpers, and where a heavy train must not stop; `--train TRAIN` rates one train.\n");
    }
    text
}

/// One row a class: what governs first, then both reckonings.
fn table(text: &mut String, railroad: &Railroad, sheet: &Sheet, line: &LineRatings) {
    let head = [
        "class",
        "cars",
        "weight",
        "room for",
        "ruling grade",
        "model",
        "full size",
        "helper for a full train",
    ];
    let mut rows = vec![head.map(str::to_owned)];
    for class in &line.classes {
        let both = |rated: &Result<Rated, Missing>| match rated {
            Ok(rated) => format!("{} / {}", cars(&rated.starting), cars(&rated.moving)),
            Err(_) => "?".to_owned(),
        };
        let mut row = [const { String::new() }; 8];
        row[0].clone_from(&class.class);
        row[5] = both(&class.model);
        row[6] = match &class.full_size[sheet.season] {
            rated @ Ok(found) => format!(
                "{}, {}",
                both(rated),
                weight(railroad, Governs::FullSize, found.weight)
            ),
            Err(_) => "?".to_owned(),
        };
        match class.governing(sheet) {
            Ok(rated) => {
                let rating = rated.rating(sheet.rated_for);
                row[1] = cars(rating);
                row[2] = weight(railroad, sheet.governs, rated.weight);
                row[3] = rated
                    .car_limit
                    .map_or_else(|| "any".to_owned(), |limit| limit.to_string());
                row[4] = match rating.limit {
                    Limit::Length => "none".to_owned(),
                    Limit::Grade(hardest) => {
                        let place = line
                            .profile
                            .last_place(hardest.front)
                            .map_or("", |(place, _)| place.name.as_str());
                        format!(
                            "{:.2} % {} {place}",
                            100.0 * hardest.mean,
                            past(line, hardest.front)
                        )
                    }
                };
                row[7] = helpers(sheet, line, rated);
            }
            Err(missing) => row[1] = format!("not rated: {missing}"),
        }
        rows.push(row);
    }
    text.push_str(&columns(&rows));
    text.push_str("  Under model and full size: cars that start wherever they are stopped / that keep moving.\n");
}

/// Whether a front stands in the last place or past it.
fn past(line: &LineRatings, front: Actual) -> &'static str {
    match line.profile.last_place(front) {
        Some((_, past)) if past <= Actual::from_mm(1.0) => "in",
        _ => "past",
    }
}

fn place(line: &LineRatings, at: usize) -> &str {
    line.profile
        .places
        .get(at)
        .map_or("the end of the line", |place| place.name.as_str())
}

/// The helpers of a full train in a few words.
fn helpers(sheet: &Sheet, line: &LineRatings, rated: &Rated) -> String {
    let each: Vec<String> = rated
        .hills
        .iter()
        .map(|hill| {
            let who = match (&hill.help, &hill.doubling) {
                (Some(help), _) => sheet.helpers[help.helper].clone(),
                (None, Some(doubling)) => format!("{} trips", doubling.parts),
                (None, None) => "no way".to_owned(),
            };
            format!(
                "{who} {} to {}",
                place(line, hill.on),
                place(line, hill.off)
            )
        })
        .collect();
    each.join("; ")
}

/// Rows set in columns.
pub(super) fn columns<const N: usize>(rows: &[[String; N]]) -> String {
    let mut widths = [0; N];
    for row in rows {
        for (width, cell) in widths.iter_mut().zip(row) {
            *width = (*width).max(cell.chars().count());
        }
    }
    let mut text = String::new();
    for row in rows {
        let mut line = String::from(" ");
        for (width, cell) in widths.iter().zip(row) {
            let _ = write!(line, " {cell:<width$} ");
        }
        text.push_str(line.trim_end());
        text.push('\n');
    }
    text
}

fn cars(rating: &Rating) -> String {
    match (rating.moves_itself, rating.limit) {
        (false, _) => "not itself".to_owned(),
        (true, Limit::Length) => format!("{}+", rating.cars),
        (true, Limit::Grade(_)) => rating.cars.to_string(),
    }
}

/// What a class's row leaves out: each district, helpers, where not to stop, momentum.
fn details(
    text: &mut String,
    railroad: &Railroad,
    sheet: &Sheet,
    line: &LineRatings,
    class: &ClassRatings,
) {
    let rated = match class.governing(sheet) {
        Ok(rated) => rated,
        Err(missing) => {
            let _ = writeln!(text, "\n  {}: not rated, {missing}.", class.class);
            return;
        }
    };
    let numbers: Vec<&str> = class
        .engines
        .iter()
        .map(|id| railroad.roster.engine(*id).number.value.as_str())
        .collect();
    let _ = writeln!(text, "\n  {} ({})", class.class, numbers.join(", "));
    let mut rows = vec![["district", "model", "full size"].map(str::to_owned)];
    for (at, stretch) in line.stretches.iter().enumerate() {
        let both = |rated: &Result<Rated, Missing>| match rated {
            Ok(rated) => format!("{} / {}", rated.stretches[at][0], rated.stretches[at][1]),
            Err(_) => "?".to_owned(),
        };
        rows.push([
            format!(
                "{} to {}",
                place(line, stretch.leaves),
                place(line, stretch.reaches)
            ),
            both(&class.model),
            both(&class.full_size[sheet.season]),
        ]);
    }
    text.push_str(&columns(&rows));
    let rating = rated.rating(sheet.rated_for);
    if let Limit::Grade(hardest) = rating.limit {
        let [grade, curves] =
            railroad::rating::ruling_parts(line, rated, rating, hardest.mean, hardest.front);
        let _ = writeln!(
            text,
            "  Ruling grade: {:.2} % under a train of {} cars, {:.2} of grade and {:.2} for curves, its front {}.",
            100.0 * hardest.mean,
            rating.cars + 1,
            100.0 * grade,
            100.0 * curves,
            place_words(railroad, &line.profile, hardest.front),
        );
    }
    if sheet.governs == Governs::Model
        && let Some([fewest, most]) =
            railroad::rating::spread(railroad, line, rated, sheet.rated_for)
    {
        let _ = writeln!(
            text,
            "  By the scatter of the test pulls it may be {fewest} to {most} cars."
        );
    }
    if let Ok(full_size) = &class.full_size[sheet.season]
        && let Some(adjusted) = railroad::rating::adjusted_rating(railroad, line, full_size)
    {
        let _ = writeln!(
            text,
            "  Full size, moving, adjusted: {} counting {:.1} tons more for each car, loaded or empty.",
            weight(railroad, Governs::FullSize, adjusted.rating),
            adjusted.per_car.short_tons(),
        );
    }
    for (season, rated) in sheet.seasons.iter().zip(&class.full_size) {
        if let Ok(rated) = rated {
            let rating = rated.rating(sheet.rated_for);
            let _ = writeln!(
                text,
                "  Full size, {season}: {} cars, {}.",
                cars(rating),
                weight(railroad, Governs::FullSize, rated.weight)
            );
        }
    }
    for hill in &rated.hills {
        let _ = writeln!(text, "  {}.", hill_words(sheet, line, rated, hill));
    }
    for reach in no_stops(railroad, sheet, line, rated) {
        let _ = writeln!(
            text,
            "  A train of {} cars must not stop with its front from {} to {}: it could not start again.",
            rated.moving.cars,
            place_words(railroad, &line.profile, reach.from),
            place_words(railroad, &line.profile, reach.to),
        );
    }
    if let Some(Ok(full_size)) = class.full_size.get(sheet.season)
        && let Some((cars, grades)) = &full_size.momentum
    {
        for grade in grades {
            let _ = writeln!(
                text,
                "  Momentum grade, full size: {cars} cars get over with {:.0} mph at the foot, the front {}.",
                grade.speed.mph().ceil(),
                place_words(railroad, &line.profile, grade.reach.from),
            );
        }
    }
    if !rated.pulling.assumed.is_empty() {
        let _ = writeln!(
            text,
            "  Taken from common practice: {}.",
            rated.pulling.assumed.join("; ")
        );
    }
}

/// Where the heaviest train that keeps moving could not start again.
fn no_stops(railroad: &Railroad, sheet: &Sheet, line: &LineRatings, rated: &Rated) -> Vec<Reach> {
    railroad::rating::no_stops(railroad, sheet.governs, line, rated, rated.moving.cars)
}

fn hill_words(sheet: &Sheet, line: &LineRatings, rated: &Rated, hill: &Hill) -> String {
    let (on, off) = (place(line, hill.on), place(line, hill.off));
    let mut words = format!(
        "{on} to {off}: takes {} of {} cars alone; ",
        hill.alone, rated.full_train
    );
    let _ = match &hill.help {
        Some(help) => {
            write!(
                words,
                "helper of class {} on at {on}, off at {off}",
                sheet.helpers[help.helper]
            )
        }
        None => write!(words, "no single helper serves"),
    };
    if let Some(doubling) = hill.doubling {
        let verb = match doubling.parts {
            2 => "double the hill".to_owned(),
            3 => "triple the hill".to_owned(),
            parts => format!("take {parts} trips up"),
        };
        let _ = write!(
            words,
            "; or {verb}, {} cars at most at a time",
            doubling.cars
        );
    }
    words
}

fn to_json(railroad: &Railroad, sheet: &Sheet) -> Value {
    let lines: Vec<Value> = sheet
        .lines
        .iter()
        .map(|line| {
            let classes: Vec<Value> = line
                .classes
                .iter()
                .map(|class| {
                    let by_season: serde_json::Map<String, Value> = sheet
                        .seasons
                        .iter()
                        .zip(&class.full_size)
                        .map(|(season, rated)| {
                            (season.clone(), rated_json(railroad, sheet, line, Governs::FullSize, rated))
                        })
                        .collect();
                    json!({
                        "class": class.class,
                        "engines": class.engines.iter().map(|id| &railroad.roster.engine(*id).number.value).collect::<Vec<_>>(),
                        "model": rated_json(railroad, sheet, line, Governs::Model, &class.model),
                        "full_size": by_season,
                    })
                })
                .collect();
            json!({ "line": line.name, "direction": line.direction, "classes": classes })
        })
        .collect();
    json!({
        "railroad": railroad.identity.name,
        "governs": sheet.governs.word(),
        "rated_for": sheet.rated_for.word(),
        "season": sheet.seasons[sheet.season],
        "rating_car": {
            "inches": round(sheet.car.length.inches()),
            "ounces": round(sheet.car.model.ounces()),
            "tons": round(sheet.car.full_size.short_tons()),
            "mean_of": sheet.car.of,
        },
        "lines": lines,
    })
}

fn rated_json(
    railroad: &Railroad,
    sheet: &Sheet,
    line: &LineRatings,
    governs: Governs,
    rated: &Result<Rated, Missing>,
) -> Value {
    let rated = match rated {
        Ok(rated) => rated,
        Err(missing) => return json!({ "not_rated": missing.to_string() }),
    };
    let rating = rated.rating(sheet.rated_for);
    let name = |at: usize| line.profile.places.get(at).map(|place| place.name.as_str());
    let ruling = match rating.limit {
        Limit::Length => Value::Null,
        Limit::Grade(hardest) => json!({
            "percent": round(100.0 * hardest.mean),
            "front_m": round(hardest.front.meters()),
            "front": place_words(railroad, &line.profile, hardest.front),
        }),
    };
    let stretches: Vec<Value> = line
        .stretches
        .iter()
        .zip(&rated.stretches)
        .map(|(stretch, [starting, moving])| {
            json!({
                "from": name(stretch.leaves), "to": name(stretch.reaches), "starting": starting, "moving": moving,
            })
        })
        .collect();
    let hills: Vec<Value> = rated
        .hills
        .iter()
        .map(|hill| {
            json!({
                "on": name(hill.on), "off": name(hill.off), "alone": hill.alone,
                "helper": hill.help.map(|help| &sheet.helpers[help.helper]),
                "parts": hill.doubling.map(|doubling| doubling.parts),
                "cars_in_a_part": hill.doubling.map(|doubling| doubling.cars),
            })
        })
        .collect();
    let (key, most) = match governs {
        Governs::Model => ("ounces", rated.weight.ounces()),
        Governs::FullSize => ("tons", rated.weight.short_tons()),
    };
    json!({
        "cars": rating.cars,
        key: round(most),
        "moves_itself": rating.moves_itself,
        "starting": rated.starting.cars,
        "moving": rated.moving.cars,
        "car_limit": rated.car_limit,
        "full_train": rated.full_train,
        "ruling": ruling,
        "stretches": stretches,
        "hills": hills,
        "momentum": rated.momentum.as_ref().map(|(cars, grades)| json!({
            "cars": cars,
            "grades": grades.iter().map(|grade| json!({
                "front": place_words(railroad, &line.profile, grade.reach.from),
                "mph": round(grade.speed.mph()),
            })).collect::<Vec<_>>(),
        })),
        "assumed": rated.pulling.assumed,
    })
}

/// To four places: more would be noise.
pub(super) fn round(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}
