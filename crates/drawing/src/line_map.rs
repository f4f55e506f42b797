//! The map of the lines: a dot for each station, in order but not to scale, and where lines join.
//!
//! The first main line lies across the sheet; every other line leaves the one it joins slantwise, into
//! the first row below where nothing is in its way. Names stand slanted over their dots, so that any
//! length of name finds room.

use engineering::line::LineKind;
use railroad::Railroad;

use crate::svg::{Anchor, Sheet, Stroke, Type};

const INK: &str = "#1b1b1b";
const BLUE: &str = "#1f4e79";
const NAME: Type = Type::plain(3.4, INK);
const LINE: Type = Type::bold(3.6, BLUE);
/// Between stations.
const STEP: f64 = 17.0;
/// Slope of names: 40 degrees.
const SLANT: f64 = 40.0;

/// A line of the map.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct MapLine {
    /// Its name.
    pub name: String,
    /// Its stations, by mile.
    pub stations: Vec<String>,
}

/// The lines, the main ones first.
pub fn facts(railroad: &Railroad) -> Vec<MapLine> {
    let mut lines: Vec<_> = railroad.way.lines().collect();
    lines.sort_by_key(|(_, line)| line.kind != LineKind::Main);
    lines
        .into_iter()
        .map(|(id, line)| MapLine {
            name: line.name.value.clone(),
            stations: railroad
                .way
                .line_stations(id)
                .iter()
                .map(|&at| railroad.way.station(at).name.value.clone())
                .collect(),
        })
        .filter(|line| !line.stations.is_empty())
        .collect()
}

/// A line laid out: its row, and the place of each station along it.
struct Laid<'a> {
    line: &'a MapLine,
    row: usize,
    /// Which station it shares with a line laid before, and where that is.
    joins: Option<(usize, f64, usize)>,
    /// Where each station is, millimetres from the first line's first.
    at: Vec<f64>,
    leftward: bool,
}

impl Laid<'_> {
    /// From where to where its dots and its slanted beginning are.
    fn reach(&self) -> [f64; 2] {
        let joins = self.joins.map(|(_, x, _)| x);
        let all = self.at.iter().copied().chain(joins);
        all.fold([f64::MAX, f64::MIN], |[low, high], x| {
            [low.min(x), high.max(x)]
        })
    }
}

/// Lays lines out one after another, each beside one already laid with which it shares a station.
fn lay(lines: &[MapLine]) -> Vec<Laid<'_>> {
    let mut laid: Vec<Laid<'_>> = vec![];
    let mut left: Vec<&MapLine> = lines.iter().collect();
    while !left.is_empty() {
        let joined = left
            .iter()
            .position(|line| find_joint(&laid, line).is_some());
        let line = left.remove(joined.unwrap_or(0));
        let count = line.stations.len();
        let mut new = Laid {
            line,
            row: 0,
            joins: find_joint(&laid, line),
            at: vec![],
            leftward: false,
        };
        match new.joins {
            None => new.at = (0..count).map(|at| STEP * at as f64).collect(),
            Some((shared, x, _)) => {
                // Toward where there is more room under the first line.
                let middle = 0.5 * laid[0].reach().iter().sum::<f64>();
                let way = if x > middle { -1.0 } else { 1.0 };
                // A line joined at its last station runs the other way round.
                let flip = if shared * 2 > count - 1 { -1.0 } else { 1.0 };
                new.leftward = way < 0.0;
                new.at = (0..count)
                    .map(|at| x + way * flip * STEP * (at as f64 - shared as f64))
                    .collect();
            }
        }
        let [low, high] = new.reach();
        let least = new.joins.map_or(0, |(_, _, row)| row + 1);
        new.row = (least..)
            .find(|&row| {
                laid.iter().filter(|other| other.row == row).all(|other| {
                    let [a, b] = other.reach();
                    high + STEP < a || low - STEP > b
                })
            })
            .unwrap_or(least);
        laid.push(new);
    }
    laid
}

/// The first station of a line that a line already laid has too: its number, where, and in which row.
fn find_joint(laid: &[Laid<'_>], line: &MapLine) -> Option<(usize, f64, usize)> {
    laid.iter().find_map(|other| {
        other
            .line
            .stations
            .iter()
            .zip(&other.at)
            .find_map(|(name, &x)| {
                let shared = line.stations.iter().position(|own| own == name)?;
                Some((shared, x, other.row))
            })
    })
}

/// Draws the map; nothing for a railroad without stations. It is as large as its names need.
pub fn draw(lines: &[MapLine]) -> Option<String> {
    let laid = lay(lines);
    let first = laid.first()?;
    let (sine, cosine) = SLANT.to_radians().sin_cos();
    let longest = lines
        .iter()
        .flat_map(|line| &line.stations)
        .map(|name| NAME.width(name))
        .fold(0.0, f64::max);
    let rise = longest * sine + 8.0;
    let row = rise + 12.0;
    let [mut low, mut high] = first.reach();
    for one in &laid {
        let [a, b] = one.reach();
        let lean = longest * cosine + 4.0;
        let title = LINE.width(&one.line.name);
        low = low.min(if one.leftward { a - lean } else { a }).min(a);
        high = high.max(if one.leftward { b } else { b + lean });
        high = high.max(a + title);
    }
    let margin = 6.0;
    let place = |x: f64, at: usize| (x - low + margin, rise + row * at as f64 + margin);
    let rows = laid.iter().map(|one| one.row).max()?;
    let size = (
        high - low + 2.0 * margin,
        rise + row * rows as f64 + 16.0 + margin,
    );
    let names: Vec<&str> = lines.iter().map(|line| line.name.as_str()).collect();
    let mut sheet = Sheet::new(size.0, size.1, format!("Map: {}", names.join(", ")));
    let track = Stroke::solid(BLUE, 1.1);
    for one in &laid {
        // The shared station is drawn by the line it belongs to; from it this one slants into its row.
        let own: Vec<usize> = (0..one.at.len())
            .filter(|&at| one.joins.is_none_or(|(shared, _, _)| shared != at))
            .collect();
        if let Some((shared, x, joined_row)) = one.joins {
            for side in [-1_isize, 1] {
                if let Some(&next) = shared
                    .checked_add_signed(side)
                    .and_then(|at| one.at.get(at))
                {
                    let knee = x + (next - x) * 0.35;
                    sheet.path(
                        &[
                            place(x, joined_row),
                            place(knee, one.row),
                            place(next, one.row),
                        ],
                        track,
                        None,
                    );
                }
            }
        }
        for pair in own.windows(2).filter(|pair| pair[1] == pair[0] + 1) {
            sheet.line(
                place(one.at[pair[0]], one.row),
                place(one.at[pair[1]], one.row),
                track,
            );
        }
        for at in own {
            let dot = place(one.at[at], one.row);
            sheet.circle(dot, 1.3, Stroke::solid(INK, 0.5), "#ffffff");
            let (anchor, degrees, dx) = if one.leftward {
                (Anchor::End, SLANT, -1.2)
            } else {
                (Anchor::Start, -SLANT, 1.2)
            };
            let name = &one.line.stations[at];
            sheet.slanted((dot.0 + dx, dot.1 - 2.4), name, NAME, anchor, degrees);
        }
        let begin = one.at.iter().copied().fold(f64::MAX, f64::min);
        let (x, y) = place(begin, one.row);
        sheet.text((x, y + 7.0), &one.line.name, LINE, Anchor::Start);
    }
    Some(sheet.finish())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(name: &str, stations: &[&str]) -> MapLine {
        MapLine {
            name: name.into(),
            stations: stations.iter().map(|&name| name.to_owned()).collect(),
        }
    }

    #[test]
    fn every_station_is_drawn_once() {
        let lines = [
            line("Main", &["A", "B", "C", "D", "E"]),
            line("Branch", &["B", "X", "Y"]),
            line("Spur", &["Z", "D"]),
            line("Beyond", &["Y", "Q"]),
            line("Alone", &["P", "R"]),
        ];
        let svg = draw(&lines).unwrap();
        assert_eq!(svg.matches("<circle").count(), 11);
        for name in ["A", "X", "Z", "Q", "P"] {
            assert_eq!(svg.matches(&format!(">{name}</text>")).count(), 1, "{name}");
        }
        assert_eq!(draw(&[]), None);
    }

    #[test]
    fn lines_that_would_cover_each_other_have_rows_of_their_own() {
        let lines = [
            line("Main", &["A", "B", "C", "D"]),
            line("One", &["A", "E", "F"]),
            line("Two", &["B", "G", "H"]),
        ];
        let laid = lay(&lines);
        for (at, one) in laid.iter().enumerate() {
            for other in &laid[at + 1..] {
                let ([a, b], [c, d]) = (one.reach(), other.reach());
                assert!(one.row != other.row || b < c || d < a);
            }
        }
    }

    #[test]
    fn the_example_is_on_its_map() {
        let folder = railroad::Folder::built_in("example").unwrap();
        let railroad = railroad::load(&folder).railroad;
        let svg = draw(&facts(&railroad)).unwrap();
        let on_lines = |station: &engineering::station::Station| !station.lines.is_empty();
        let count = railroad.way.stations.iter().filter(|s| on_lines(s)).count();
        assert_eq!(svg.matches("<circle").count(), count);
    }
}
