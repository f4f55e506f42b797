//! The sharpest curves of lines and of trains' ways, as far as curves are written.

use engineering::{
    Way,
    ids::{LineId, StationId},
    station::TrackUse,
};
use model::{Spanned, units::Actual};

use super::context::TrainWay;

type Sharpest = Option<Spanned<Actual>>;

/// The sharpest curve of each station's mains and of each district of open line.
pub(super) struct Curves {
    stations: Vec<Sharpest>,
    opens: Vec<Vec<Sharpest>>,
    lines: Vec<Sharpest>,
}

fn sharper(a: Sharpest, b: Sharpest) -> Sharpest {
    match (a, b) {
        (Some(a), Some(b)) => Some(if b.value < a.value { b } else { a }),
        (one, None) | (None, one) => one,
    }
}

impl Curves {
    pub(super) fn new(way: &Way) -> Self {
        let stations: Vec<Sharpest> = way
            .stations
            .iter()
            .map(|page| {
                let mains = page
                    .tracks
                    .iter()
                    .filter(|track| track.usage == TrackUse::Main);
                mains
                    .map(engineering::station::Track::sharpest)
                    .fold(None, sharper)
            })
            .collect();
        let opens: Vec<Vec<Sharpest>> = way
            .lines
            .iter()
            .map(|line| {
                let of = |open: &engineering::line::OpenLine| {
                    open.curves
                        .iter()
                        .map(|curve| curve.radius)
                        .fold(None, sharper)
                };
                line.open.iter().map(of).collect()
            })
            .collect();
        let lines = way
            .lines()
            .map(|(id, _)| {
                let of_stations = way.line_stations(id).iter().map(|s| stations[s.index()]);
                of_stations
                    .chain(opens[id.index()].iter().copied())
                    .fold(None, sharper)
            })
            .collect();
        Self {
            stations,
            opens,
            lines,
        }
    }

    /// On a line, its stations' mains included.
    pub(super) fn of_line(&self, line: LineId) -> Sharpest {
        self.lines[line.index()]
    }

    /// On a train's way.
    pub(super) fn on(&self, way: &TrainWay) -> Sharpest {
        let station = |id: &StationId| self.stations[id.index()];
        let stations = way.stations.iter().map(station);
        let opens = way
            .opens
            .iter()
            .map(|step| self.opens[step.open.line.index()][step.open.open as usize]);
        stations.chain(opens).fold(None, sharper)
    }
}
