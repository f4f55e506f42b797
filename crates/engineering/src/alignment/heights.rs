//! Heights along center lines: from their own grade points, else from the railroad's pages.

use model::units::Actual;

use super::{Described, GradePoint, Located, Of, Vertical};
use crate::{Network, Way, ids::TrackRef, profile::node_levels};

/// The heights that a center line's own grade points give; nothing if it has none.
pub(super) fn own(described: &Described, length: f64) -> Option<Vertical> {
    let steps = &described.grades;
    let last = steps.len().checked_sub(1)?;
    let mut points: Vec<GradePoint> = Vec::new();
    for (at, step) in steps.iter().enumerate() {
        let place = match step.at {
            Some(place) => place.meters(),
            None if at == 0 => 0.0,
            None if at == last => length,
            None => continue,
        };
        let by_grade = || {
            let before = points.last()?;
            let grade = steps[at.checked_sub(1)?].grade?;
            Some(before.elevation + grade.ratio() * (place - before.at))
        };
        let Some(elevation) = step
            .elevation
            .map(|height| height.meters())
            .or_else(by_grade)
        else {
            continue;
        };
        points.push(GradePoint {
            at: place,
            elevation,
            curve: step.curve.map_or(0.0, Actual::meters),
        });
    }
    // The last grade may run on to the end.
    if let (Some(point), Some(grade)) = (points.last().copied(), steps[last].grade)
        && point.at < length - 1e-9
    {
        points.push(GradePoint {
            at: length,
            elevation: point.elevation + grade.ratio() * (length - point.at),
            curve: 0.0,
        });
    }
    // Where a rate of change is given, the curve's length follows from the change of grade.
    let straight = Vertical::new(points.clone());
    for (at, point) in points.iter_mut().enumerate() {
        let step = steps.iter().find(|step| {
            step.at
                .is_some_and(|place| (place.meters() - point.at).abs() < 1e-9)
        });
        if let Some(rate) = step.and_then(|step| step.change) {
            point.curve = straight.change(at).abs() / rate;
        }
    }
    Some(Vertical::new(points))
}

impl Way {
    /// Fills in the heights along alignments from the pages of stations and lines, where the alignments
    /// give none; `network` is that of the way after [`Way::locate`].
    pub fn level(&mut self, network: &Network) {
        let mut located = std::mem::take(&mut self.located);
        located.level(self, network);
        self.located = located;
    }
}

impl Located {
    /// Fills in the heights of center lines that give none of their own, by the pages of the stations
    /// and lines; `network` is that of the located way.
    fn level(&mut self, way: &Way, network: &Network) {
        let heights: Vec<Vertical> = (0..self.described.len())
            .map(|line| {
                let Some(length) = self.path(line).map(crate::curve::Path::length) else {
                    return Vertical::default();
                };
                let described = &self.described[line];
                own(described, length).unwrap_or_else(|| match described.of {
                    Some(Of::Track(track)) => of_track(way, network, track, length),
                    Some(Of::Open(open, _)) => of_open(way, open, length),
                    None => Vertical::default(),
                })
            })
            .collect();
        self.heights = heights;
    }

    /// Height of the railhead at a distance along a center line, metres above the floor.
    pub fn elevation(&self, line: usize, s: f64) -> Option<f64> {
        self.heights.get(line)?.elevation(s)
    }
}

fn point(at: f64, elevation: Actual) -> GradePoint {
    GradePoint {
        at,
        elevation: elevation.meters(),
        curve: 0.0,
    }
}

fn of_track(way: &Way, network: &Network, id: TrackRef, length: f64) -> Vertical {
    let levels = node_levels(way, network, id.station);
    let first = network
        .station_nodes(id.station)
        .next()
        .map_or(0, |node| node.0);
    let stretch = length / way.track(id).run().meters().max(1e-9);
    let mut points = Vec::new();
    let mut at = 0.0;
    for &edge in network.track_edges(id) {
        let edge = network.edge(edge);
        for (which, (node, _)) in edge.ends.iter().enumerate() {
            let s = at
                + if which == 1 {
                    edge.length.meters()
                } else {
                    0.0
                };
            if let Some(level) = levels[(node.0 - first) as usize] {
                points.push(point(s * stretch, level.elevation));
            }
        }
        at += edge.length.meters();
    }
    Vertical::new(points)
}

fn of_open(way: &Way, id: crate::ids::OpenRef, length: f64) -> Vertical {
    let open = way.open(id);
    let own = |which: usize| {
        let written = open.elevation.as_ref().map(|row| row[which].value);
        written.or_else(|| {
            way.station(open.ends[which].id?)
                .elevation
                .map(|height| height.value)
        })
    };
    let stretch = length / open.run().meters().max(1e-9);
    let mut points = Vec::new();
    points.extend(own(0).map(|height| point(0.0, height)));
    points.extend(
        open.profile
            .iter()
            .map(|[at, height]| point(at.meters() * stretch, height.value)),
    );
    points.extend(own(1).map(|height| point(length, height)));
    Vertical::new(points)
}
