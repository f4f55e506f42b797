//! A railroad with one fault in one line, of the kinds that people make.

use railroad::Folder;
use rand::{RngExt as _, seq::IndexedRandom as _};
use rand_pcg::Pcg64;

/// What was spoilt.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault {
    /// The file.
    pub file: String,
    /// The line, from 1.
    pub line: usize,
    /// What was done, in a few words.
    pub what: String,
}

/// A copy of a railroad with one line spoilt by a slip of the kind people make: a letter doubled or
/// dropped in a key, a word or a name, a unit left out, a figure lost or repeated, a quotation mark
/// or bracket missing, a line written twice. Lines that say nothing a machine could judge (notes,
/// comments, blank lines) are left alone.
pub fn spoil(folder: &Folder, random: &mut Pcg64) -> (Folder, Fault) {
    let files: Vec<(&str, &[u8])> = folder.iter().collect();
    loop {
        let Some(&(file, bytes)) = files.choose(random) else {
            unreachable!("no files")
        };
        let text = String::from_utf8_lossy(bytes).into_owned();
        let lines: Vec<&str> = text.lines().collect();
        if lines.len() < 2 {
            continue;
        }
        let at = random.random_range(0..lines.len());
        let spoilt = if file.ends_with(".csv") {
            cell(lines[0], lines[at], at, random)
        } else {
            line_of_toml(lines[at], random)
        };
        let Some((new, what)) = spoilt else { continue };
        if new == lines[at] {
            continue;
        }
        let mut all: Vec<String> = lines.iter().map(|line| (*line).to_owned()).collect();
        all[at] = new;
        let mut copy = folder.clone();
        copy.insert(file, all.join("\n") + "\n");
        return (
            copy,
            Fault {
                file: file.to_owned(),
                line: at + 1,
                what,
            },
        );
    }
}

/// The part of a line before its comment.
fn content(line: &str) -> &str {
    let mut quoted = false;
    for (at, c) in line.char_indices() {
        match c {
            '"' => quoted = !quoted,
            '#' if !quoted => return &line[..at],
            _ => {}
        }
    }
    line
}

fn line_of_toml(line: &str, random: &mut Pcg64) -> Option<(String, String)> {
    let content = content(line);
    let key = content.split('=').next()?.trim();
    // Free text cannot be wrong.
    if content.trim().len() < 4 || ["note", "name", "about", "call", "why"].contains(&key) {
        return None;
    }
    let tail = &line[content.len()..];
    let spoilt = match random.random_range(0..5) {
        0 => swap_key(content, random)?,
        1 => drop_mark(content, random)?,
        2 => lose_unit(content, random)?,
        3 => slip_in_word(content, random)?,
        _ => wild_figure(content, random)?,
    };
    Some((format!("{}{tail}", spoilt.0), spoilt.1))
}

/// Misspells a key: two letters exchanged.
fn swap_key(line: &str, random: &mut Pcg64) -> Option<(String, String)> {
    let keys: Vec<(usize, &str)> = KEYS
        .iter()
        .flat_map(|key| line.match_indices(key).map(move |(at, _)| (at, *key)))
        .filter(|(at, key)| {
            let before = line[..*at].chars().next_back();
            let after = line[at + key.len()..].trim_start();
            before.is_none_or(|c| " {,".contains(c)) && after.starts_with('=')
        })
        .collect();
    let &(at, key) = keys.choose(random)?;
    let mut letters: Vec<char> = key.chars().collect();
    let swap = random.random_range(0..letters.len() - 1);
    letters.swap(swap, swap + 1);
    let new: String = letters.into_iter().collect();
    Some((
        format!("{}{new}{}", &line[..at], &line[at + key.len()..]),
        format!("key `{key}` as `{new}`"),
    ))
}

const KEYS: &[&str] = &[
    "from",
    "to",
    "length",
    "use",
    "on",
    "at",
    "points",
    "hand",
    "number",
    "line",
    "mile",
    "class",
    "direction",
    "leave",
    "elevation",
    "radius",
    "station",
    "engines",
    "trains",
    "kind",
];

/// Drops one quotation mark, bracket or brace.
fn drop_mark(line: &str, random: &mut Pcg64) -> Option<(String, String)> {
    let marks: Vec<usize> = line
        .char_indices()
        .filter(|(_, c)| "\"]}".contains(*c))
        .map(|(at, _)| at)
        .collect();
    let &at = marks.choose(random)?;
    Some((
        format!("{}{}", &line[..at], &line[at + 1..]),
        format!("`{}` dropped", &line[at..=at]),
    ))
}

/// Leaves a unit out: `12 ft` becomes `12`.
fn lose_unit(line: &str, random: &mut Pcg64) -> Option<(String, String)> {
    let units = [
        " ft", " in", " mph", " mi", " mm", " m", " cm", " %", " km/h",
    ];
    let found: Vec<(usize, &str)> = units
        .iter()
        .flat_map(|unit| {
            let whole = format!("{unit}\"");
            let places: Vec<usize> = line.match_indices(&whole).map(|(at, _)| at).collect();
            places.into_iter().map(move |at| (at, *unit))
        })
        // Feet with inches after them (`12 ft 6 in`) would still be understood.
        .filter(|(at, _)| {
            line[..*at].rfind('"').is_some_and(|open| {
                line[open + 1..*at]
                    .chars()
                    .all(|c| c.is_ascii_digit() || c == '.')
            })
        })
        .collect();
    let &(at, unit) = found.choose(random)?;
    Some((
        format!("{}{}", &line[..at], &line[at + unit.len()..]),
        format!("unit `{unit}` left out"),
    ))
}

/// Misspells a text that names or says something the reader knows.
fn slip_in_word(line: &str, random: &mut Pcg64) -> Option<(String, String)> {
    let known = [
        "from",
        "to",
        "use",
        "on",
        "points",
        "hand",
        "line",
        "station",
        "direction",
        "kind",
        "train",
        "track",
        "job",
        "engines",
        "trains",
        "at",
        "work",
    ];
    let texts: Vec<(usize, usize)> = known
        .iter()
        .flat_map(|key| {
            ["{k} = \"", "{k} = [\""].iter().flat_map(move |shape| {
                let head = shape.replace("{k}", key);
                line.match_indices(&head)
                    .filter(|(at, _)| {
                        line[..*at]
                            .chars()
                            .next_back()
                            .is_none_or(|c| " {,".contains(c))
                    })
                    .map(|(at, found)| {
                        (
                            at + found.len(),
                            line[at + found.len()..].find('"').unwrap_or(0),
                        )
                    })
                    .collect::<Vec<_>>()
            })
        })
        .filter(|(at, length)| {
            *length >= 1 && line[*at..at + length].chars().any(char::is_alphabetic)
        })
        .collect();
    let &(at, length) = texts.choose(random)?;
    let old = &line[at..at + length];
    let letters: Vec<(usize, char)> = old
        .char_indices()
        .filter(|(_, c)| c.is_ascii_lowercase() || c.is_ascii_uppercase())
        .collect();
    let &(spot, letter) = letters.choose(random)?;
    let new = format!("{}{letter}{}", &old[..spot], &old[spot..]);
    Some((
        format!("{}{new}{}", &line[..at], &line[at + length..]),
        format!("`{old}` as `{new}`"),
    ))
}

/// A length a hundred times too great: a lost point or a key struck twice.
fn wild_figure(line: &str, random: &mut Pcg64) -> Option<(String, String)> {
    let found: Vec<usize> = ["length = \"", "at = \""]
        .iter()
        .flat_map(|key| line.match_indices(key).map(|(at, m)| at + m.len()))
        .collect();
    let &at = found.choose(random)?;
    let digits = line[at..].chars().take_while(char::is_ascii_digit).count();
    (digits > 0 && &line[at..at + digits] != "0").then(|| {
        let end = at + digits;
        (
            format!("{}00{}", &line[..end], &line[end..]),
            "figure a hundred times too great".to_owned(),
        )
    })
}

/// Spoils a cell whose column says something the reader can judge.
fn cell(header: &str, row: &str, at: usize, random: &mut Pcg64) -> Option<(String, String)> {
    if row.contains('"') || row.trim().is_empty() {
        return None;
    }
    let heads: Vec<&str> = header.split(',').map(str::trim).collect();
    let mut cells: Vec<String> = row.split(',').map(str::to_owned).collect();
    if at == 0 {
        let judged: Vec<usize> = (0..heads.len())
            .filter(|&at| {
                [
                    "marks", "number", "kind", "length", "station", "track", "does", "car_kind",
                    "name", "shipper",
                ]
                .contains(&heads[at])
            })
            .collect();
        let &column = judged.choose(random)?;
        let what = format!("column `{}` misspelt", cells[column]);
        cells[column].push('z');
        return Some((cells.join(","), what));
    }
    let judged: Vec<usize> = (0..heads.len().min(cells.len()))
        .filter(|&at| {
            !cells[at].trim().is_empty()
                && [
                    "length",
                    "built",
                    "weight",
                    "at",
                    "station",
                    "track",
                    "does",
                    "cars_per_week",
                    "car_kind",
                    "state",
                    "capacity",
                    "light_weight",
                    "home_road",
                    "aar",
                    "qualified",
                    "date",
                    "car",
                    "minimum_radius",
                ]
                .contains(&heads[at])
        })
        .collect();
    let &column = judged.choose(random)?;
    let old = cells[column].clone();
    cells[column] = match heads[column] {
        "length" | "weight" | "capacity" | "light_weight" | "minimum_radius" => old
            .chars()
            .take_while(|c| !c.is_alphabetic() && *c != ' ')
            .collect(),
        "built" | "date" => format!("{old}x"),
        "cars_per_week" => format!("{old} or so"),
        "aar" => "QQ".to_owned(),
        _ => {
            let first = old.chars().next()?;
            format!("{first}{old}")
        }
    };
    let what = format!("`{old}` as `{}` under `{}`", cells[column], heads[column]);
    (cells[column] != old).then(|| (cells.join(","), what))
}
