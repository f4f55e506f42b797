//! Reading `stl/1`, with everything that is wrong said at once.

use serde::de::DeserializeOwned;
use serde_json::Value;

use super::{Line, LineTrain, Segment, Station};
use crate::validate::LARGEST;

/// One thing wrong with a line.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum LineFault {
    /// The text is not JSON.
    #[error("line {line}, column {column}: this is not JSON: {what}")]
    Syntax {
        /// Counted from 1.
        line: usize,
        /// Counted from 1.
        column: usize,
        /// What the JSON reader says.
        what: String,
    },
    /// Not of this form.
    #[error("`format` is {found}, expected \"stl/1\"")]
    Format {
        /// What is there.
        found: String,
    },
    /// A part that cannot be read.
    #[error("{place}: {what}")]
    Shape {
        /// Which part.
        place: String,
        /// What is wrong, from the reader.
        what: String,
    },
    /// A number out of range.
    #[error("{place}: `{field}` is {found}, expected a whole number from {least} to {LARGEST}")]
    Range {
        /// Where.
        place: String,
        /// Which.
        field: &'static str,
        /// The number.
        found: i64,
        /// The least allowed.
        least: i64,
    },
    /// Segments and stations that do not match.
    #[error("{segments} segments for {stations} stations, expected one between each two")]
    SegmentCount {
        /// How many segments.
        segments: usize,
        /// How many stations.
        stations: usize,
    },
    /// Two trains of one name.
    #[error("trains {first} and {second} are both called `{id}`")]
    SameName {
        /// The name.
        id: String,
        /// Index of the first.
        first: usize,
        /// Index of the second.
        second: usize,
    },
    /// A train that goes nowhere.
    #[error("train `{train}` has no stops")]
    NoStops {
        /// Which train.
        train: String,
    },
    /// A direction other than 1 and -1.
    #[error("train `{train}`: `dir` is {found}, expected 1 or -1")]
    Direction {
        /// Which train.
        train: String,
        /// What is there.
        found: i8,
    },
    /// A station that does not exist.
    #[error("train `{train}`, stop {stop}: there is no station {found}, the last is {last}")]
    NoSuchStation {
        /// Which train.
        train: String,
        /// Which of its stops.
        stop: usize,
        /// The station's index.
        found: usize,
        /// The last station's index.
        last: usize,
    },
    /// Stops that are not neighbours in the train's direction.
    #[error(
        "train `{train}`, stop {stop}: station {found} after station {before}, expected the next one in direction {dir}"
    )]
    NotNext {
        /// Which train.
        train: String,
        /// Which of its stops.
        stop: usize,
        /// The station before.
        before: usize,
        /// The station found.
        found: usize,
        /// The train's direction.
        dir: i8,
    },
    /// Running times that do not match the blocks.
    #[error(
        "train `{train}`, stop {stop}: {found} running times, expected {expected} (one for each block to the next stop)"
    )]
    RunCount {
        /// Which train.
        train: String,
        /// Which of its stops.
        stop: usize,
        /// How many there are.
        found: usize,
        /// How many blocks there are; 0 at the last stop.
        expected: usize,
    },
    /// A train too long for every track where it must be.
    #[error("train `{train}` (length {length}) fits no track of station `{station}`{}; the longest is {longest}", if *stands { " where it must stand" } else { "" })]
    FitsNowhere {
        /// Which train.
        train: String,
        /// Its length.
        length: i64,
        /// Which station.
        station: String,
        /// Whether it must stand there.
        stands: bool,
        /// The longest track.
        longest: i64,
    },
}

/// Reads a line.
///
/// # Errors
/// Everything that is wrong with it, at once; how trains and stations agree is only looked into once
/// every part can be read.
pub fn read_line(text: &str) -> Result<Line, Vec<LineFault>> {
    let value: Value = serde_json::from_str(text).map_err(|e| {
        vec![LineFault::Syntax {
            line: e.line(),
            column: e.column(),
            what: e
                .to_string()
                .split(" at line ")
                .next()
                .unwrap_or_default()
                .to_owned(),
        }]
    })?;
    if value.get("format").and_then(Value::as_str) != Some("stl/1") {
        let found = value
            .get("format")
            .map_or_else(|| "missing".to_owned(), Value::to_string);
        return Err(vec![LineFault::Format { found }]);
    }
    let mut faults = Vec::new();
    let line = Line {
        name: part(&value, "name", &mut faults).unwrap_or_default(),
        horizon: part(&value, "horizon", &mut faults).unwrap_or_default(),
        stations: parts::<Station>(&value, "stations", "station", &mut faults),
        segments: parts::<Segment>(&value, "segments", "segment", &mut faults),
        trains: parts::<LineTrain>(&value, "trains", "train", &mut faults),
    };
    if faults.is_empty() {
        line.look_over(&mut faults);
    }
    if faults.is_empty() {
        Ok(line)
    } else {
        Err(faults)
    }
}

fn shape(place: &str, what: &impl ToString) -> LineFault {
    LineFault::Shape {
        place: place.to_owned(),
        what: what.to_string(),
    }
}

fn part<T: DeserializeOwned>(root: &Value, field: &str, faults: &mut Vec<LineFault>) -> Option<T> {
    let Some(value) = root.get(field) else {
        faults.push(shape(field, &"missing"));
        return None;
    };
    T::deserialize(value)
        .map_err(|e| faults.push(shape(field, &e)))
        .ok()
}

fn parts<T: DeserializeOwned>(
    root: &Value,
    field: &str,
    each: &str,
    faults: &mut Vec<LineFault>,
) -> Vec<T> {
    let items: Vec<Value> = part(root, field, faults).unwrap_or_default();
    let mut read = Vec::new();
    for (i, item) in items.iter().enumerate() {
        match T::deserialize(item) {
            Ok(item) => read.push(item),
            Err(e) => {
                let name = item
                    .get("name")
                    .or_else(|| item.get("id"))
                    .and_then(Value::as_str);
                let place = match name {
                    Some(name) => format!("{each} {i} (`{name}`)"),
                    None => format!("{each} {i}"),
                };
                faults.push(shape(&place, &e));
            }
        }
    }
    read
}

impl Line {
    /// The segment between two neighbouring stations.
    pub(super) fn segment(a: usize, b: usize) -> usize {
        a.min(b)
    }

    fn look_over(&self, faults: &mut Vec<LineFault>) {
        let mut range = |place: &str, field, found, least| {
            if !(least..=LARGEST).contains(&found) {
                faults.push(LineFault::Range {
                    place: place.to_owned(),
                    field,
                    found,
                    least,
                });
            }
        };
        range("the line", "horizon", self.horizon, 0);
        for station in &self.stations {
            range(
                &format!("station `{}`", station.name),
                "clear",
                station.clear,
                0,
            );
        }
        for (g, segment) in self.segments.iter().enumerate() {
            let place = format!("segment {g}");
            range(&place, "clear", segment.clear, 0);
            range(
                &place,
                "blocks",
                i64::try_from(segment.blocks).unwrap_or(i64::MAX),
                1,
            );
            range(&place, "tracks", i64::from(segment.tracks), 1);
        }
        for train in &self.trains {
            let place = format!("train `{}`", train.id);
            range(&place, "release", train.release, 0);
            for (k, stop) in train.stops.iter().enumerate() {
                let place = format!("train `{}`, stop {k}", train.id);
                range(&place, "dwell", stop.dwell, 0);
                range(&place, "weight", stop.weight, 0);
                stop.due
                    .into_iter()
                    .for_each(|v| range(&place, "due", v, 0));
                stop.earliest_dep
                    .into_iter()
                    .for_each(|v| range(&place, "earliest_dep", v, 0));
                stop.run
                    .iter()
                    .flatten()
                    .for_each(|&v| range(&place, "run", v, 0));
            }
        }
        if self.segments.len() + 1 != self.stations.len() {
            let (segments, stations) = (self.segments.len(), self.stations.len());
            faults.push(LineFault::SegmentCount { segments, stations });
            return;
        }
        for (t, train) in self.trains.iter().enumerate() {
            if let Some(first) = self.trains[..t]
                .iter()
                .position(|other| other.id == train.id)
            {
                let id = train.id.clone();
                faults.push(LineFault::SameName {
                    id,
                    first,
                    second: t,
                });
            }
            self.look_over_train(train, faults);
        }
    }

    fn look_over_train(&self, train: &LineTrain, faults: &mut Vec<LineFault>) {
        let id = || train.id.clone();
        if train.stops.is_empty() {
            faults.push(LineFault::NoStops { train: id() });
        }
        if !matches!(train.dir, 1 | -1) {
            faults.push(LineFault::Direction {
                train: id(),
                found: train.dir,
            });
            return;
        }
        for (k, stop) in train.stops.iter().enumerate() {
            let Some(station) = self.stations.get(stop.station) else {
                faults.push(LineFault::NoSuchStation {
                    train: id(),
                    stop: k,
                    found: stop.station,
                    last: self.stations.len() - 1,
                });
                continue;
            };
            if !station
                .tracks
                .iter()
                .any(|track| train.may_use(stop, track).is_some())
            {
                faults.push(LineFault::FitsNowhere {
                    train: id(),
                    length: train.length,
                    station: station.name.clone(),
                    stands: stop.dwell > 0,
                    longest: station.tracks.iter().map(|t| t.length).max().unwrap_or(0),
                });
            }
            let mut expected = 0;
            if let Some(next) = train.stops.get(k + 1) {
                if stop.station.checked_add_signed(isize::from(train.dir)) != Some(next.station) {
                    faults.push(LineFault::NotNext {
                        train: id(),
                        stop: k + 1,
                        before: stop.station,
                        found: next.station,
                        dir: train.dir,
                    });
                    continue;
                }
                let Some(segment) = self.segments.get(Self::segment(stop.station, next.station))
                else {
                    // The next station does not exist, which is said in its turn.
                    continue;
                };
                expected = segment.blocks;
            }
            let found = stop.run.as_ref().map_or(0, Vec::len);
            if found != expected {
                faults.push(LineFault::RunCount {
                    train: id(),
                    stop: k,
                    found,
                    expected,
                });
            }
        }
    }
}
