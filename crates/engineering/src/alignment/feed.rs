//! What follows from the alignment is given to tracks and open line: nothing is typed twice.

use model::{Spanned, units::Actual};

use super::{Governs, Located, Of, StepWhat, compile::compile, heights, solve};
use crate::{
    Limits, Way,
    curve::{Path, Piece, PieceKind},
    line::{Curve, Turn},
    station::{Meets, TrackEnd},
};

/// How far tape and alignment may differ before it is said: a quarter of an inch, or half a per cent
/// of the length if that is more (what a tape along track is good for; common practice, no source).
pub(crate) fn tolerance(length: Actual) -> Actual {
    Actual::from_inches(0.25).max(length * 0.005)
}

impl Way {
    /// Solves the alignments, and gives the tracks and open line they are of their lengths, curves,
    /// heights and the places of their switches; where the tape governs, those stay as measured.
    pub fn locate(&mut self, limits: &Limits) {
        let described = std::mem::take(&mut self.located.described);
        if described.is_empty() {
            return;
        }
        let mut located = compile(self, described, limits);
        located.solved = solve::solve(&located.plan);
        for line in 0..located.described.len() {
            if located.described[line].governs == Governs::Alignment {
                self.feed(&mut located, line);
            } else {
                located.taped[line] = self.tape(&located, line);
            }
        }
        self.fouling(&located, limits);
        self.located = located;
    }

    fn tape(&self, located: &Located, line: usize) -> Option<Spanned<Actual>> {
        match located.described[line].of? {
            Of::Track(track) => self.track(track).length,
            Of::Open(open, _) => self.open(open).length,
        }
    }

    fn feed(&mut self, located: &mut Located, line: usize) {
        located.taped[line] = self.tape(located, line);
        let Some(laid) = located.solved.lines[line].clone() else {
            return;
        };
        let described = &located.described[line];
        let length = Spanned {
            value: Actual::from_meters(laid.path.length()),
            span: described.name.span,
        };
        let curves = curves(located, line, &laid.path);
        let mut moved = Vec::new();
        match described.of {
            Some(Of::Track(id)) => {
                let station = &mut self.stations[id.station.index()];
                for (element, step) in described.elements.iter().enumerate() {
                    let at = Spanned {
                        value: Actual::from_meters(laid.reach[element][0]),
                        span: step.span,
                    };
                    match &step.what {
                        StepWhat::Turnout(turnout) => {
                            let switch = station.switches.iter_mut().find(|switch| {
                                switch.name.value == turnout.name.value
                                    && switch.track == Some(id.track)
                            });
                            if let Some(switch) = switch {
                                if let Some(tape) = switch.at {
                                    moved.push((line, element, turnout.name.value.clone(), tape));
                                }
                                switch.at = Some(at);
                            }
                        }
                        StepWhat::Crossing(name) => {
                            let crossing = station
                                .crossings
                                .iter_mut()
                                .find(|one| one.name.value == name.value);
                            if let Some(crossing) = crossing
                                && let Some(which) = crossing
                                    .tracks
                                    .iter()
                                    .position(|track| *track == Some(id.track))
                                && let Some(places) = &mut crossing.at
                            {
                                moved.push((line, element, name.value.clone(), places[which]));
                                places[which] = at;
                            }
                        }
                        _ => {}
                    }
                }
                let track = &mut station.tracks[id.track.index()];
                track.length = Some(length);
                track.radius = None;
                track.curves = curves;
                if let Some(heights) = heights::own(described, laid.path.length()) {
                    let ends = [0.0, laid.path.length()].map(|s| heights.elevation(s));
                    if let [Some(a), Some(b)] = ends {
                        let span = described.grades[0].span;
                        track.elevation = Some([a, b].map(|height| Spanned {
                            value: Actual::from_meters(height),
                            span,
                        }));
                    }
                }
            }
            Some(Of::Open(id, 1)) => {
                let open = &mut self.lines[id.line.index()].open[id.open as usize];
                open.length = Some(length);
                open.curves = curves;
                if let Some(heights) = heights::own(described, laid.path.length()) {
                    let spanned = |value: f64| Spanned {
                        value: Actual::from_meters(value),
                        span: described.grades[0].span,
                    };
                    let ends = [0.0, laid.path.length()].map(|s| heights.elevation(s));
                    if let [Some(a), Some(b)] = ends {
                        open.elevation = Some([spanned(a), spanned(b)]);
                        let inner = heights.points().iter();
                        open.profile = inner
                            .filter(|point| point.at > 1e-6 && point.at < laid.path.length() - 1e-6)
                            .map(|point| [spanned(point.at), spanned(point.elevation)])
                            .collect();
                    }
                }
            }
            _ => {}
        }
        located.switch_tapes.extend(moved);
    }

    /// Where tracks begin to be clear of those they leave, by the true distance between the two center
    /// lines rather than by the frog number.
    fn fouling(&mut self, located: &Located, limits: &Limits) {
        for (line, path) in located.laid() {
            let Some(Of::Track(id)) = located.described[line].of else {
                continue;
            };
            let meets = self.track(id).meets;
            for end in [TrackEnd::From, TrackEnd::To] {
                let Meets::Switch(switch) = meets[end.index()] else {
                    continue;
                };
                let at = &self.station(id.station).switches[switch.index()];
                let number = limits.number(at.number.map(|number| number.value));
                let Some(on) = at.track else { continue };
                let host = located.find(Of::Track(crate::ids::TrackRef { track: on, ..id }));
                let Some(host) = host.and_then(|host| located.path(host)) else {
                    continue;
                };
                let course = if end == TrackEnd::From {
                    path.clone()
                } else {
                    path.reversed()
                };
                let lead = limits.lead(number).meters();
                let clear = clear_at(&course, host, lead, limits.track_centers.meters());
                let track = &mut self.stations[id.station.index()].tracks[id.track.index()];
                track.clear[end.index()] = clear.map(Actual::from_meters);
            }
        }
    }
}

/// The first distance along a course, beyond the lead, at which it is as far from a host as tracks are
/// apart; nothing if it never is.
fn clear_at(course: &Path, host: &Path, lead: f64, apart: f64) -> Option<f64> {
    // Lengths are rounded when they are written down.
    let apart = apart - 1e-4;
    let distance = |s: f64| Some(host.nearest(course.at(s)?.point())?.1);
    let step = 0.02;
    let mut low = lead;
    while low < course.length() {
        let high = (low + step).min(course.length());
        if distance(high)? >= apart {
            let (mut a, mut b) = (low, high);
            for _ in 0..40 {
                let middle = 0.5 * (a + b);
                if distance(middle)? >= apart {
                    b = middle;
                } else {
                    a = middle;
                }
            }
            return Some(b);
        }
        low = high;
        if high >= course.length() {
            break;
        }
    }
    None
}

/// The curves of a center line, half of each easement counted to the arc: so long would it be of one
/// radius and turn as far.
fn curves(located: &Located, line: usize, path: &Path) -> Vec<Curve> {
    let placed: Vec<(f64, &Piece)> = path.placed().collect();
    let half = |at: Option<usize>| {
        let (_, piece) = placed.get(at?)?;
        (piece.kind() == PieceKind::Spiral).then_some(0.5 * piece.length)
    };
    placed
        .iter()
        .enumerate()
        .filter(|(_, (_, piece))| piece.kind() == PieceKind::Arc)
        .map(|(at, (start, piece))| {
            let k = piece.curvature[0];
            let before = half(at.checked_sub(1)).unwrap_or(0.0);
            let after = half(Some(at + 1)).unwrap_or(0.0);
            let span = located.span_at(line, start + 0.5 * piece.length);
            let spanned = |value: f64| Spanned {
                value: Actual::from_meters(value),
                span,
            };
            Curve {
                span,
                reach: Some([
                    spanned(start - before),
                    spanned(start + piece.length + after),
                ]),
                radius: Some(spanned(1.0 / k.abs())),
                turn: Some(if k > 0.0 { Turn::Left } else { Turn::Right }),
            }
        })
        .collect()
}
