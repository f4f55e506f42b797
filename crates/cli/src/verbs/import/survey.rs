//! Points measured along track that is there already: `x, y` and, if measured, `z`; or distances along
//! a tape line and offsets from it. Gives the text of a center line.

use std::{fmt::Write as _, fs};

use engineering::{
    curve::Point,
    survey::{Fitted, Measured, Options, Survey, Unfit, fit, grade_points},
};
use model::units::{Actual, LengthText};
use railroad::identity::UnitsStyle;
use serde_json::json;

use super::ImportArgs;
use crate::outcome::{Failure, Outcome, WELL, WRONG, load, say};

/// The points of a file, each with the line it stands on.
struct Points {
    measured: Vec<Measured>,
    lines: Vec<usize>,
    /// Rows that are no points: line and why.
    unread: Vec<(usize, String)>,
}

pub(super) fn run(args: &ImportArgs) -> Outcome {
    let bytes = fs::read(&args.file).map_err(|error| Failure::file(&args.file, &error))?;
    // Measuring needs no railroad: only how its owner likes lengths.
    let units =
        load(&args.which).map_or(UnitsStyle::Inches, |loaded| loaded.railroad.identity.units);
    let metric = units == UnitsStyle::Metric;
    let unit = args
        .unit
        .as_deref()
        .unwrap_or(if metric { "mm" } else { "in" });
    let one = Actual::parse(&format!("1 {unit}"))
        .map_err(|error| Failure::misunderstood(format!("--unit {unit}: {error}")))?;
    let scatter = args
        .scatter
        .as_deref()
        .map(|text| {
            Actual::parse(text)
                .map_err(|error| Failure::misunderstood(format!("--scatter {text}: {error}")))
        })
        .transpose()?;
    let points = read(&String::from_utf8_lossy(&bytes), one);
    let options = Options {
        scatter: scatter.map(Actual::meters),
    };
    let survey = fit(&points.measured, options).map_err(|unfit| {
        Failure::misunderstood(match unfit {
            Unfit::TooFew => "there are fewer than four points that go with one another",
            Unfit::NoCourse => "no course can be seen in these points",
        })
        .help("one point to a row, in the order of the track: x, y and perhaps z")
    })?;
    let heights: Vec<(f64, f64)> = points
        .measured
        .iter()
        .zip(&survey.residuals)
        .filter_map(|(point, (_, s))| Some((*s, point.height?)))
        .collect();
    // Heights are read to about a thirty-second of an inch.
    let grades = if heights.len() > 1 {
        grade_points(&heights, 8e-4)
    } else {
        Vec::new()
    };
    let stem = args
        .file
        .file_stem()
        .map(|stem| stem.to_string_lossy().into_owned());
    let name = args
        .name
        .clone()
        .or(stem)
        .unwrap_or_else(|| "surveyed".to_owned());
    let text = survey.text(&name, metric, &grades);
    if args.json {
        say(&format!("{:#}\n", to_json(&survey, &points, &text)));
    } else {
        let report = report(&survey, &points, metric);
        match &args.output {
            Some(path) => {
                fs::write(path, &text).map_err(|error| Failure::file(path, &error))?;
                say(&report);
            }
            None => {
                let mut all = text;
                for line in report.lines() {
                    let _ = writeln!(all, "# {line}");
                }
                say(&all);
            }
        }
    }
    Ok(if points.unread.is_empty() {
        WELL
    } else {
        WRONG
    }
    .into())
}

/// Rows of two or three cells, parted by commas, semicolons, tabs or blanks; a first row of words names
/// the columns.
fn read(text: &str, unit: Actual) -> Points {
    let mut points = Points {
        measured: Vec::new(),
        lines: Vec::new(),
        unread: Vec::new(),
    };
    let mut columns = [0, 1, 2];
    for (at, row) in text.lines().enumerate() {
        let row = row
            .split('#')
            .next()
            .unwrap_or("")
            .trim()
            .trim_start_matches('\u{feff}');
        if row.is_empty() {
            continue;
        }
        let parting = [';', '\t', ',']
            .into_iter()
            .find(|parting| row.contains(*parting));
        let cells: Vec<&str> = match parting {
            Some(parting) => row
                .split(parting)
                .map(|cell| cell.trim().trim_matches('"'))
                .collect(),
            None => row.split_whitespace().collect(),
        };
        let words = cells
            .iter()
            .all(|cell| !cell.starts_with(|c: char| c.is_ascii_digit() || "+-.".contains(c)));
        if points.measured.is_empty() && words {
            for (which, names) in [
                &["x", "station", "along", "distance", "at"][..],
                &["y", "offset", "aside"],
                &["z", "height", "elevation"],
            ]
            .into_iter()
            .enumerate()
            {
                let found = cells
                    .iter()
                    .position(|cell| names.contains(&cell.to_lowercase().as_str()));
                if let Some(found) = found {
                    columns[which] = found;
                }
            }
            continue;
        }
        let value = |which: usize| {
            let cell = cells.get(columns[which]).copied().unwrap_or("");
            match cell.parse::<f64>() {
                Ok(number) if number.is_finite() => Ok(number * unit.meters()),
                _ => match LengthText::parse(cell) {
                    Ok(LengthText::Plain(metres)) => Ok(metres),
                    Ok(LengthText::Actual(length)) => Ok(length.meters()),
                    Ok(LengthText::Scale(_)) => Err("a length on the model is wanted".to_owned()),
                    Err(error) => Err(error.to_string()),
                },
            }
        };
        match (value(0), value(1)) {
            (Ok(x), Ok(y)) => {
                points.measured.push(Measured {
                    at: Point::new(x, y),
                    height: value(2).ok(),
                });
                points.lines.push(at + 1);
            }
            (Err(why), _) | (_, Err(why)) => points.unread.push((at + 1, why)),
        }
    }
    points
}

fn report(survey: &Survey, points: &Points, metric: bool) -> String {
    let show = |metres: f64| {
        let length = Actual::from_meters(metres);
        if metric {
            format!("{:.1} mm", length.mm())
        } else {
            format!("{:.3} in", length.inches())
        }
    };
    let curves = survey
        .elements
        .iter()
        .filter(|element| matches!(element, Fitted::Curve { .. }))
        .count();
    let good = survey
        .residuals
        .iter()
        .enumerate()
        .filter(|(at, _)| !survey.outliers.contains(at));
    let worst = good.max_by(|a, b| a.1.0.abs().total_cmp(&b.1.0.abs()));
    let mut text = format!(
        "{} points, {} long: {}, {}. They lie {} off on the average (root mean square)",
        points.measured.len(),
        show(survey.path.length()),
        count(survey.elements.len() - curves, "tangent"),
        count(curves, "curve"),
        show(survey.rms)
    );
    if let Some((at, (off, _))) = worst {
        let _ = write!(
            text,
            ", line {} the most: {}",
            points.lines[at],
            show(off.abs())
        );
    }
    text.push_str(".\n");
    for at in &survey.outliers {
        let (off, s) = survey.residuals[*at];
        let side = if off > 0.0 { "left" } else { "right" };
        let _ = writeln!(
            text,
            "line {}: set aside, {} to the {side} at {} along it; measure it again",
            points.lines[*at],
            show(off.abs()),
            show(s)
        );
    }
    for (line, why) in &points.unread {
        let _ = writeln!(text, "line {line}: no point: {why}");
    }
    text
}

fn to_json(survey: &Survey, points: &Points, text: &str) -> serde_json::Value {
    let elements: Vec<serde_json::Value> = survey
        .elements
        .iter()
        .map(|element| match element {
            Fitted::Tangent(length) => json!({ "tangent_m": length }),
            Fitted::Curve {
                curvature,
                arc,
                easements,
            } => json!({
                "radius_m": 1.0 / curvature.abs(),
                "turn": if *curvature > 0.0 { "left" } else { "right" },
                "arc_m": arc,
                "easements_m": easements,
            }),
        })
        .collect();
    let residuals: Vec<serde_json::Value> = survey
        .residuals
        .iter()
        .enumerate()
        .map(|(at, (off, s))| {
            json!({ "line": points.lines[at], "left_m": off, "at_m": s, "set_aside": survey.outliers.contains(&at) })
        })
        .collect();
    json!({
        "elements": elements,
        "rms_m": survey.rms,
        "points": residuals,
        "unread": points.unread.iter().map(|(line, why)| json!({ "line": line, "why": why })).collect::<Vec<_>>(),
        "center_line": text,
    })
}

fn count(number: usize, what: &str) -> String {
    format!("{number} {what}{}", if number == 1 { "" } else { "s" })
}
