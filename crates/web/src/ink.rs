//! The drawing of a town for the screen: its tracks, spots, and what stands on them. Colours come from
//! the style sheet, so that it can be read in any light; every mark differs in shape too.

use std::fmt::Write as _;

use drawing::track_chart::{ChartStation, ChartTrack, TrackShape};
use engineering::station::{Control, Hand, TrackUse};
use model::units::Actual;

/// Width of the drawing; the style sheet scales it.
const WIDTH: f64 = 1000.0;
const MARGIN: f64 = 26.0;
const LANE: f64 = 52.0;

/// What stands on one track, in order from its low-mile end.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Standing {
    /// The track.
    pub track: String,
    /// What stands there: short words and the length on the model.
    pub pieces: Vec<Piece>,
}

/// A car or engine on a track.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Its name.
    pub name: String,
    /// What it is, in a word.
    pub kind: String,
    /// Its length on the model.
    pub length: Actual,
    /// Whether it is an engine.
    pub engine: bool,
    /// At which of the track's spots, if at one.
    pub spot: Option<usize>,
}

/// How a town is drawn.
#[derive(Debug, Clone, Copy, Default)]
pub struct How {
    /// Tracks and switches can be picked, moved and lengthened.
    pub editable: bool,
}

struct Paper<'a> {
    station: &'a ChartStation,
    /// Where the drawing begins and how long it is: tracks may reach beyond the station's ends.
    from: Actual,
    length: Actual,
    top: i32,
    svg: String,
}

/// The drawing, low miles at the left. `ends` are the names of the ways out, low and high.
pub fn town(station: &ChartStation, ends: [&str; 2], standing: &[Standing], how: How) -> String {
    let lanes = || station.tracks.iter().map(|track| track.lane);
    let (low, high) = (lanes().min().unwrap_or(0), lanes().max().unwrap_or(0));
    let height = f64::from(high - low + 1) * LANE + 44.0;
    let (from, to) = station.tracks.iter().flat_map(|track| track.reach).fold(
        (station.at, station.at + station.length),
        |(from, to), at| (from.min(at), to.max(at)),
    );
    let mut paper = Paper {
        station,
        from,
        length: to - from,
        top: high,
        svg: String::new(),
    };
    let svg = &mut paper.svg;
    let _ = write!(
        svg,
        r#"<svg class="town" viewBox="0 0 {WIDTH} {height}" role="{}" aria-label="The tracks of {}" data-start="{:.5}" data-metres="{:.5}" data-margin="{MARGIN}" data-width="{WIDTH}">"#,
        // A picture has nothing in it that can be picked.
        if how.editable { "group" } else { "img" },
        escape(&station.name),
        from.meters(),
        (to - from).meters(),
    );
    let main = paper.y(0);
    for (x, name, anchor, arrow) in [
        (2.0, ends[0], "start", "\u{2190} "),
        (WIDTH - 2.0, ends[1], "end", ""),
    ] {
        let after = if anchor == "end" { " \u{2192}" } else { "" };
        let _ = write!(
            paper.svg,
            r#"<text class="way-out" x="{x}" y="{:.1}" text-anchor="{anchor}">{arrow}{}{after}</text>"#,
            main - 12.0,
            escape(name),
        );
    }
    for track in &station.tracks {
        paper.track(track, how);
    }
    for standing in standing {
        if let Some(track) = station
            .tracks
            .iter()
            .find(|track| track.name == standing.track)
        {
            paper.standing(track, standing);
        }
    }
    paper.switches(how);
    paper.other();
    paper.svg.push_str("</svg>");
    paper.svg
}

impl Paper<'_> {
    fn x(&self, at: Actual) -> f64 {
        let part = if self.length > Actual::ZERO {
            (at - self.from) / self.length
        } else {
            0.5
        };
        MARGIN + part * (WIDTH - 2.0 * MARGIN)
    }

    fn y(&self, lane: i32) -> f64 {
        f64::from(self.top - lane) * LANE + 34.0
    }

    fn track(&mut self, track: &ChartTrack, how: How) {
        let class = match track.usage {
            TrackUse::Main => "main",
            TrackUse::Siding | TrackUse::ArrivalDeparture => "siding",
            _ => "other",
        };
        let (a, b) = (self.x(track.reach[0]), self.x(track.reach[1]));
        let y = self.y(track.lane);
        let course = self.course(track);
        let mut path = String::new();
        for (at, (x, y)) in course.iter().enumerate() {
            let _ = write!(path, "{}{x:.1} {y:.1}", if at == 0 { "M" } else { "L" });
        }
        let name = escape(&track.name);
        let title = format!(
            "{name}: {} track, holds {} cars",
            track.usage.word(),
            track.cars
        );
        if how.editable {
            let _ = write!(
                self.svg,
                r#"<g class="track {class}" data-track="{name}" tabindex="0" role="button" aria-label="{title}"><title>{title}</title><path class="reach" d="{path}"/><path class="rail" d="{path}"/></g>"#
            );
        } else {
            let _ = write!(
                self.svg,
                r#"<g class="track {class}"><title>{title}</title><path class="rail" d="{path}"/></g>"#
            );
        }
        if track.slopes {
            return;
        }
        for (shape, x) in [(track.ends[0], a), (track.ends[1], b)] {
            match shape {
                TrackShape::Bumper => {
                    let _ = write!(
                        self.svg,
                        r#"<path class="bumper" d="M{x:.1} {:.1}v12"/>"#,
                        y - 6.0
                    );
                }
                TrackShape::Nowhere => {
                    let _ = write!(
                        self.svg,
                        r#"<text class="unknown" x="{x:.1}" y="{:.1}">?</text>"#,
                        y + 6.0
                    );
                }
                _ => {}
            }
        }
        for (at, spot) in track.spots.iter().enumerate() {
            let x = self.spot(track, at);
            let _ = write!(
                self.svg,
                r#"<g class="spot"><title>{}</title><path d="M{:.1} {:.1}h14"/></g>"#,
                escape(spot),
                x - 7.0,
                y + 9.0
            );
        }
        let text = format!("{} \u{b7} {}", track.name, track.cars);
        let room = b - a;
        if room > 30.0 {
            let text = if room > 7.0 * text.chars().count() as f64 {
                &text
            } else {
                &track.name
            };
            // Under the track, where no switch has its name.
            let half = 3.2 * text.chars().count() as f64;
            let free = |x: &f64| {
                self.station.switches.iter().all(|switch| {
                    switch.lane != track.lane || (self.x(switch.at) - x).abs() > half + 10.0
                })
            };
            let middle = f64::midpoint(a, b);
            let x = [0.5, 0.4, 0.6, 0.3, 0.7, 0.2, 0.8]
                .map(|part| a + part * room)
                .into_iter()
                .find(free)
                .unwrap_or(middle);
            let _ = write!(
                self.svg,
                r#"<text class="name" x="{x:.1}" y="{:.1}" text-anchor="middle">{}</text>"#,
                y + 22.0,
                escape(text),
            );
        }
    }

    /// Spots are shared out over the part of the track away from its switch.
    fn spot(&self, track: &ChartTrack, at: usize) -> f64 {
        let (a, b) = (self.x(track.reach[0]), self.x(track.reach[1]));
        let (low, high) = match track.ends {
            [TrackShape::Bumper, _] => (a + (b - a) * 0.04, a + (b - a) * 0.72),
            _ => (a + (b - a) * 0.28, b - (b - a) * 0.04),
        };
        low + (high - low) * (at as f64 + 0.5) / track.spots.len().max(1) as f64
    }

    fn standing(&mut self, track: &ChartTrack, standing: &Standing) {
        let (a, b) = (self.x(track.reach[0]), self.x(track.reach[1]));
        let y = self.y(track.lane);
        let per_metre = (WIDTH - 2.0 * MARGIN) / self.length.meters().max(0.01);
        let lengths: Vec<f64> = standing
            .pieces
            .iter()
            .map(|piece| piece.length.meters() * per_metre)
            .collect();
        let total: f64 = lengths.iter().sum();
        // Cars stand against the bumper where there is one, else in the middle.
        let mut x = match track.ends {
            [TrackShape::Bumper, _] => a + 3.0,
            [_, TrackShape::Bumper] => b - total - 3.0,
            _ => f64::midpoint(a, b) - total / 2.0,
        };
        for (piece, length) in standing.pieces.iter().zip(lengths) {
            let at = match piece.spot {
                Some(spot) => self.spot(track, spot) - length / 2.0,
                None => x,
            };
            x += length;
            let class = if piece.engine { "engine" } else { "car" };
            let _ = write!(
                self.svg,
                r#"<g class="{class}"><title>{}, {}</title><rect x="{:.1}" y="{:.1}" width="{:.1}" height="11"/></g>"#,
                escape(&piece.name),
                escape(&piece.kind),
                at + 0.7,
                y - 5.5,
                (length - 1.4).max(1.0),
            );
        }
    }

    fn switches(&mut self, how: How) {
        for switch in &self.station.switches {
            let (x, y) = (self.x(switch.at), self.y(switch.lane));
            let to = if switch.toward_high { 11.0 } else { -11.0 };
            let class = if switch.control == Control::Hand {
                "by-hand"
            } else {
                "by-power"
            };
            let name = escape(&switch.name);
            let number = switch
                .number
                .map_or(String::new(), |number| format!(", No. {number}"));
            let title = format!("switch {name}, {}{number}", switch.hand.word());
            let wedge = format!(
                "M{x:.1} {:.1}L{:.1} {y:.1}L{x:.1} {:.1}z",
                y - 5.0,
                x + to,
                y + 5.0
            );
            if how.editable {
                let _ = write!(
                    self.svg,
                    r#"<g class="switch {class}" data-switch="{name}" tabindex="0" role="button" aria-label="{title}"><title>{title}</title><rect class="reach" x="{:.1}" y="{:.1}" width="28" height="28"/><path d="{wedge}"/></g>"#,
                    x - 14.0,
                    y - 14.0,
                );
            } else {
                let _ = write!(
                    self.svg,
                    r#"<g class="switch {class}"><title>{title}</title><path d="{wedge}"/></g>"#
                );
            }
            let up = (switch.hand == Hand::Left) == switch.toward_high;
            let _ = write!(
                self.svg,
                r#"<text class="switch-name" x="{x:.1}" y="{:.1}" text-anchor="middle">{name}</text>"#,
                if up { y + 16.0 } else { y - 9.0 },
            );
        }
    }

    fn other(&mut self) {
        for table in &self.station.turntables {
            let (x, y) = (self.x(table.at), self.y(table.lane));
            let _ = write!(
                self.svg,
                r#"<g class="turntable"><title>{}, {} stalls</title><circle cx="{x:.1}" cy="{y:.1}" r="14"/><path d="M{:.1} {y:.1}h28"/></g>"#,
                escape(&table.name),
                table.stalls,
                x - 14.0,
            );
        }
        for (name, at, lane) in &self.station.crossings {
            let (x, y) = (self.x(*at), self.y(*lane));
            let _ = write!(
                self.svg,
                r#"<g class="crossing"><title>{}</title><path d="M{:.1} {:.1}l16 16m0 -16l-16 16"/></g>"#,
                escape(name),
                x - 8.0,
                y - 8.0,
            );
        }
    }

    /// The corners of a track's line: it leaves its switch at a slope and runs level on its own lane.
    fn course(&self, track: &ChartTrack) -> Vec<(f64, f64)> {
        let (a, b) = (self.x(track.reach[0]), self.x(track.reach[1]));
        let y = self.y(track.lane);
        let lane = |shape: TrackShape| match shape {
            TrackShape::Switch { lane } => lane,
            // Of two tracks joined end to end the one farther from the main slopes to the other.
            TrackShape::Joint { lane } if lane.abs() < track.lane.abs() => lane,
            _ => track.lane,
        };
        let [from, to] = track.ends.map(|shape| self.y(lane(shape)));
        if track.slopes {
            return vec![(a, from), (b, to)];
        }
        let room = match track.switches {
            Some([first, last]) => [self.x(first) - a - 8.0, b - self.x(last) - 8.0],
            None => [f64::INFINITY; 2],
        };
        let run = |rise: f64, room: f64| (rise.abs() * 0.5).min((b - a) * 0.45).min(room.max(2.0));
        let mut course = vec![(a, from)];
        if (from - y).abs() > 0.1 {
            course.push((a + run(from - y, room[0]), y));
        }
        if (to - y).abs() > 0.1 {
            course.push((b - run(to - y, room[1]), y));
        }
        course.push((b, to));
        course
    }
}

/// A text within SVG.
pub fn escape(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

#[cfg(test)]
mod tests {
    use drawing::track_chart;
    use railroad::{Folder, load};

    use super::*;

    #[test]
    fn every_track_switch_and_car_is_drawn_where_it_is() {
        let loaded = load(&Folder::built_in("example").unwrap());
        let railroad = &loaded.railroad;
        let line = railroad.way.find_line("Main Line").unwrap();
        let facts = track_chart::facts(railroad, line);
        let station = facts
            .stations
            .iter()
            .find(|s| s.name == "Sandrill")
            .unwrap();
        let standing = [Standing {
            track: "mill".into(),
            pieces: vec![Piece {
                name: "CVBE 1".into(),
                kind: "boxcar".into(),
                length: Actual::from_mm(140.0),
                engine: false,
                spot: Some(0),
            }],
        }];
        let svg = town(station, ["west", "east"], &standing, How { editable: true });
        for track in &station.tracks {
            assert!(
                svg.contains(&format!("data-track=\"{}\"", track.name)),
                "{}",
                track.name
            );
        }
        for switch in &station.switches {
            assert!(
                svg.contains(&format!("data-switch=\"{}\"", switch.name)),
                "{}",
                switch.name
            );
        }
        assert!(svg.contains("<title>CVBE 1, boxcar</title>"));
        assert!(!svg.contains("style=") && !svg.contains("fill="));
        // No point lies off the paper.
        for number in svg
            .split(" x=\"")
            .skip(1)
            .filter_map(|rest| rest.split('"').next())
        {
            let x: f64 = number.parse().unwrap();
            assert!((-20.0..=1020.0).contains(&x), "{x}");
        }
    }
}
