//! Where each piece of equipment may go: turntables, wyes, curves, tunnels, and beside each other on double track.

use engineering::{
    ids::{LineId, TrackRef},
    station::TrackUse,
};
use mechanical::fit::{Body, Fit, track_centers};
use model::units::Actual;

use crate::Railroad;

/// What a place asks of equipment.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Asks {
    /// To stand on a turntable.
    Turntable,
    /// To stand on the tail of a wye.
    Tail,
    /// To go around a curve.
    Curve,
    /// To go under something.
    Height,
    /// To go between something.
    Width,
    /// To pass another of its kind on the other track.
    Passing,
}

impl Asks {
    /// In a word or two.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Turntable => "turntable",
            Self::Tail => "wye tail",
            Self::Curve => "curve",
            Self::Height => "clear height",
            Self::Width => "clear width",
            Self::Passing => "passing on a curve",
        }
    }
}

/// A place, and what it has to give.
#[derive(Debug, Clone, PartialEq)]
pub struct Spot {
    /// Where: `Kellander / turntable`.
    pub place: String,
    /// The line it is on, if it is on the running tracks of one.
    pub lines: Vec<LineId>,
    /// What it asks.
    pub asks: Asks,
    /// What it has: length, radius, height, width or track centers.
    pub has: Option<Actual>,
    /// The curve it lies on.
    pub radius: Option<Actual>,
}

impl Spot {
    /// Whether a piece of equipment fits.
    pub fn takes(&self, body: &Body) -> Fit {
        match self.asks {
            Asks::Turntable => body.on_turntable(self.has),
            Asks::Tail => body.on_tail(self.has),
            Asks::Curve => body.around(self.has),
            Asks::Height => body.under(self.has),
            Asks::Width => body.between(self.has, self.radius),
            Asks::Passing => {
                let swing = self.radius.and_then(|radius| body.swing(radius));
                Fit::of(
                    self.has,
                    swing.map(|swing| track_centers(body.width, swing, swing)),
                )
            }
        }
    }
}

/// Every place that could be too tight for something, in the order of lines and stations.
pub fn spots(railroad: &Railroad) -> Vec<Spot> {
    let way = &railroad.way;
    let mut spots = Vec::new();
    for (id, line) in way.lines() {
        for open in &line.open {
            let end = |which: usize| {
                open.ends[which]
                    .station
                    .as_ref()
                    .map_or("?", |name| name.value.as_str())
            };
            let between = format!("{} to {}", end(0), end(1));
            let on = |at: Actual| {
                open.curves
                    .iter()
                    .filter(|curve| {
                        curve
                            .reach
                            .as_ref()
                            .is_some_and(|[from, to]| from.value <= at && at <= to.value)
                    })
                    .filter_map(|curve| curve.radius.map(|radius| radius.value))
                    .min_by(Actual::total_cmp)
            };
            let sharpest = open
                .curves
                .iter()
                .filter_map(|curve| curve.radius.map(|radius| radius.value))
                .min_by(Actual::total_cmp);
            let spot = |place: String, asks, has, radius| Spot {
                place,
                lines: vec![id],
                asks,
                has,
                radius,
            };
            if sharpest.is_some() {
                spots.push(spot(between.clone(), Asks::Curve, sharpest, sharpest));
                if open.tracks.value == 2 {
                    let centers = Some(railroad.network.limits().track_centers);
                    spots.push(spot(between.clone(), Asks::Passing, centers, sharpest));
                }
            }
            for structure in &open.structures {
                let name = structure.name.as_deref().unwrap_or(structure.kind.word());
                let place = format!("{name}, {between}");
                let radius = structure.at.and_then(|at| on(at.value));
                if let Some(height) = structure.height {
                    spots.push(spot(
                        place.clone(),
                        Asks::Height,
                        Some(height.value),
                        radius,
                    ));
                }
                if let Some(width) = structure.width {
                    spots.push(spot(place, Asks::Width, Some(width.value), radius));
                }
            }
        }
    }
    for (station, page) in way.stations() {
        for table in &page.turntables {
            spots.push(Spot {
                place: format!("{} / {}", page.name.value, table.name.value),
                lines: Vec::new(),
                asks: Asks::Turntable,
                has: table.length.map(|length| length.value),
                radius: None,
            });
        }
        for (track_id, track) in page.tracks() {
            let id = TrackRef {
                station,
                track: track_id,
            };
            let place = way.track_name(id);
            if track.usage == TrackUse::Tail {
                spots.push(Spot {
                    place: place.clone(),
                    lines: Vec::new(),
                    asks: Asks::Tail,
                    has: Some(railroad.network.usable(way, id).length),
                    radius: None,
                });
            }
            if let Some(radius) = track.sharpest() {
                let lines = if track.usage == TrackUse::Main {
                    page.lines.iter().filter_map(|on| on.line).collect()
                } else {
                    Vec::new()
                };
                spots.push(Spot {
                    place,
                    lines,
                    asks: Asks::Curve,
                    has: Some(radius.value),
                    radius: Some(radius.value),
                });
            }
        }
    }
    spots
}

/// The engines and cars that stand on the railroad, engines first.
pub fn bodies(railroad: &Railroad) -> Vec<Body> {
    let scale = railroad.identity.scale.scale;
    let engines = railroad
        .roster
        .engines
        .iter()
        .filter(|engine| engine.state.on_the_railroad());
    let cars = railroad
        .roster
        .cars
        .iter()
        .filter(|car| car.state.on_the_railroad());
    engines
        .map(|engine| Body::engine(engine, scale))
        .chain(cars.map(|car| Body::car(car, scale)))
        .collect()
}

/// The lines on which nothing is known to stop a piece of equipment.
pub fn lines_for(railroad: &Railroad, spots: &[Spot], body: &Body) -> Vec<LineId> {
    let mut stopped = vec![false; railroad.way.lines.len()];
    for spot in spots {
        // A train that is alone passes nothing.
        let open = spot.lines.iter().any(|line| !stopped[line.index()]);
        if open && spot.asks != Asks::Passing && spot.takes(body).fails() {
            for line in &spot.lines {
                stopped[line.index()] = true;
            }
        }
    }
    railroad
        .way
        .lines()
        .map(|(line, _)| line)
        .filter(|line| !stopped[line.index()])
        .collect()
}
