//! The whole way: lines, stations, scenes and power districts, and how to find them.

use std::collections::HashMap;

use model::{
    Spanned,
    text::{Reader, Record},
};

use crate::{
    alignment::{self, Located},
    ids::{LineId, OpenRef, StationId, TrackRef},
    line::{self, Line, OpenLine},
    power::{self, PowerDistrict},
    room::{self, Room},
    scene::{self, Scene},
    station::{self, Draft, Station, Track},
};

/// Finds things by name; of two with the same name, the first.
#[derive(Debug, Clone, PartialEq)]
pub struct Lookup<T>(HashMap<String, T>);

impl<T> Default for Lookup<T> {
    fn default() -> Self {
        Self(HashMap::new())
    }
}

impl<T: Copy> Lookup<T> {
    /// The thing of that very name.
    pub fn find(&self, name: &str) -> Option<T> {
        self.0.get(name).copied()
    }

    fn note(&mut self, name: &str, value: T) {
        self.0.entry(name.to_owned()).or_insert(value);
    }
}

/// The pages of way and structures, as read.
#[derive(Debug, Clone, Copy, Default)]
pub struct WayPages<'a> {
    /// `lines/*.toml`.
    pub lines: &'a [Record],
    /// `stations/*.toml`.
    pub stations: &'a [Record],
    /// `alignments/*.toml`.
    pub alignments: &'a [Record],
    /// `rooms/*.toml`.
    pub rooms: &'a [Record],
    /// `scenes.toml`.
    pub scenes: Option<&'a Record>,
    /// `power.toml`.
    pub power: Option<&'a Record>,
}

/// Way and structures of a railroad.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Way {
    /// Lines, in the order of their files.
    pub lines: Vec<Line>,
    /// Stations, in the order of their files.
    pub stations: Vec<Station>,
    /// Scenes, in the order written.
    pub scenes: Vec<Scene>,
    /// Power districts, in the order written.
    pub power: Vec<PowerDistrict>,
    /// Where the track lies: see [`Way::locate`].
    pub located: Located,
    /// The rooms it lies in.
    pub rooms: Vec<Room>,
    line_names: Lookup<LineId>,
    station_names: Lookup<StationId>,
    track_names: Lookup<TrackRef>,
    /// Stations of each line in the order of their miles.
    line_stations: Vec<Vec<StationId>>,
    open_between: HashMap<(LineId, StationId, StationId), u32>,
}

/// The name a page gives, or that of its file, so that what could be read can still be shown.
fn name(reader: &Reader<'_>, record: &Record) -> Spanned<String> {
    match record.text("name") {
        Some(name) => name.map(str::to_owned),
        None => {
            let path = &reader.sources.get(record.span.file).path;
            let file = path.rsplit('/').next().unwrap_or(path);
            let stem = file.rsplit_once('.').map_or(file, |(stem, _)| stem);
            Spanned {
                value: stem.to_owned(),
                span: record.span,
            }
        }
    }
}

impl Way {
    /// Builds everything from what was read; whatever could not be read is left out.
    pub fn build(reader: &mut Reader<'_>, pages: WayPages<'_>) -> Self {
        let mut way = Self::default();
        let line_names: Vec<_> = pages.lines.iter().map(|page| name(reader, page)).collect();
        for (at, name) in line_names.iter().enumerate() {
            way.line_names.note(&name.value, LineId::at(at));
        }
        let station_names: Vec<_> = pages
            .stations
            .iter()
            .map(|page| name(reader, page))
            .collect();
        for (at, name) in station_names.iter().enumerate() {
            way.station_names.note(&name.value, StationId::at(at));
        }
        way.lines = pages
            .lines
            .iter()
            .zip(line_names)
            .map(|(page, name)| line::build(page, name, &way.station_names))
            .collect();
        let joined = station::ends(&way.lines, pages.stations.len());
        for ((page, name), joined) in pages.stations.iter().zip(station_names).zip(&joined) {
            let draft = Draft::new(page, name, &way.line_names);
            way.stations
                .push(station::build(reader, draft, &way.lines, joined));
        }
        way.index();
        let mut described = Vec::new();
        for page in pages.alignments {
            let known = alignment::Known {
                lines: &way.line_names,
                stations: &way.station_names,
                tracks: &way.track_names,
                between: &|line, from, to| way.open_between(line, from, to),
            };
            described.extend(alignment::build(page, reader, &known));
        }
        way.located.described = described;
        way.rooms = pages
            .rooms
            .iter()
            .map(|page| room::build(page, name(reader, page), reader))
            .collect();
        way.scenes = pages
            .scenes
            .map(|page| scene::build(page, &way.station_names))
            .unwrap_or_default();
        way.power = pages
            .power
            .map(|page| power::build(page, &way.station_names, &way.track_names))
            .unwrap_or_default();
        way
    }

    fn index(&mut self) {
        let mut between = HashMap::new();
        for (id, open) in self.opens() {
            if let [Some(from), Some(to)] = [open.ends[0].id, open.ends[1].id] {
                between.entry((id.line, from, to)).or_insert(id.open);
            }
        }
        self.open_between = between;
        let mut line_stations = vec![Vec::new(); self.lines.len()];
        for (at, station) in self.stations.iter().enumerate() {
            let id = StationId::at(at);
            for (track_id, track) in station.tracks() {
                let name = format!("{} / {}", station.name.value, track.name.value);
                self.track_names.note(
                    &name,
                    TrackRef {
                        station: id,
                        track: track_id,
                    },
                );
            }
            for on in &station.lines {
                if let (Some(line), Some(mile)) = (on.line, on.mile) {
                    line_stations[line.index()].push((mile.value, id));
                }
            }
        }
        self.line_stations = line_stations
            .into_iter()
            .map(|mut stations| {
                stations.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
                stations.into_iter().map(|(_, id)| id).collect()
            })
            .collect();
    }

    /// A line.
    pub fn line(&self, id: LineId) -> &Line {
        &self.lines[id.index()]
    }

    /// A station.
    pub fn station(&self, id: StationId) -> &Station {
        &self.stations[id.index()]
    }

    /// A track.
    pub fn track(&self, id: TrackRef) -> &Track {
        self.station(id.station).track(id.track)
    }

    /// A district of open line.
    pub fn open(&self, id: OpenRef) -> &OpenLine {
        &self.line(id.line).open[id.open as usize]
    }

    /// The line of a name.
    pub fn find_line(&self, name: &str) -> Option<LineId> {
        self.line_names.find(name)
    }

    /// The station of a name.
    pub fn find_station(&self, name: &str) -> Option<StationId> {
        self.station_names.find(name)
    }

    /// The track of a name, written `Station / track`.
    pub fn find_track(&self, name: &str) -> Option<TrackRef> {
        self.track_names.find(name)
    }

    /// `Station / track`.
    pub fn track_name(&self, id: TrackRef) -> String {
        let station = self.station(id.station);
        format!(
            "{} / {}",
            station.name.value,
            station.track(id.track).name.value
        )
    }

    /// Lines with their ids.
    pub fn lines(&self) -> impl Iterator<Item = (LineId, &Line)> {
        self.lines
            .iter()
            .enumerate()
            .map(|(at, line)| (LineId::at(at), line))
    }

    /// Stations with their ids.
    pub fn stations(&self) -> impl Iterator<Item = (StationId, &Station)> {
        self.stations
            .iter()
            .enumerate()
            .map(|(at, station)| (StationId::at(at), station))
    }

    /// Districts of open line with their ids.
    pub fn opens(&self) -> impl Iterator<Item = (OpenRef, &OpenLine)> {
        self.lines().flat_map(|(line, page)| {
            page.open.iter().enumerate().map(move |(at, open)| {
                (
                    OpenRef {
                        line,
                        open: at as u32,
                    },
                    open,
                )
            })
        })
    }

    /// The stations of a line in the order of their miles, those without a readable mile left out.
    pub fn line_stations(&self, line: LineId) -> &[StationId] {
        &self.line_stations[line.index()]
    }

    /// The first district of a line that leads from one station up the line to another.
    pub fn open_between(&self, line: LineId, low: StationId, high: StationId) -> Option<OpenRef> {
        let open = *self.open_between.get(&(line, low, high))?;
        Some(OpenRef { line, open })
    }
}
