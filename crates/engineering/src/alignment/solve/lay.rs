//! One element after another.

use super::{
    FaultKind, Faults, Plan, Solved,
    connect::{Eased, connect},
    lead, parallel,
};
use crate::{
    alignment::plan::{CenterLine, Element, Measure},
    curve::{Piece, Place, wrapped},
};

/// A center line to be laid.
pub(super) struct Job<'a> {
    pub(super) plan: &'a Plan,
    pub(super) solved: &'a Solved,
    pub(super) line: &'a CenterLine,
    /// Where its elements begin: beyond the lead of a turnout.
    pub(super) begin: Place,
    /// Where they are to end.
    pub(super) goal: Option<Place>,
}

/// Pieces laid, and where each element begins and ends.
#[derive(Debug, Clone, Default)]
pub(super) struct Chain {
    pub(super) pieces: Vec<Piece>,
    pub(super) reach: Vec<[f64; 2]>,
    length: f64,
}

impl Chain {
    fn push(&mut self, piece: Piece) {
        if piece.length > 0.0 {
            self.length += piece.length;
            self.pieces.push(piece);
        }
    }

    /// Where it has come to.
    pub(super) fn end(&self, begin: Place) -> Place {
        self.pieces.last().map_or(begin, Piece::end)
    }
}

/// Lays the elements of a job, given in place of the line's own.
pub(super) fn run(job: &Job<'_>, elements: &[Element], faults: &mut Faults) -> Chain {
    let mut chain = Chain::default();
    for (at, element) in elements.iter().enumerate() {
        let from = chain.length;
        let here = chain.end(job.begin);
        let last = elements[at + 1..]
            .iter()
            .all(|next| matches!(next, Element::Mark));
        let mut fault = |kind| faults.push((Some(at), kind));
        match *element {
            Element::Mark => {}
            Element::Tangent { length, .. } => {
                if length < 0.0 {
                    fault(FaultKind::Negative);
                }
                chain.push(Piece::tangent(here, length.max(0.0)));
            }
            Element::Diverge { turn, number } => {
                chain.push(lead(here, turn, number, job.plan.gauge));
            }
            Element::Curve {
                turn,
                radius,
                by,
                easements,
                ..
            } => {
                let neighbors = [at.checked_sub(1), Some(at + 1)]
                    .map(|at| compound(turn, at.and_then(|at| elements.get(at))));
                let curve = Curve {
                    turn,
                    radius,
                    easements,
                    neighbors,
                };
                for piece in curve.lay(here, by, &mut fault) {
                    chain.push(piece);
                }
            }
            Element::Connect {
                radius,
                easement,
                between,
                to,
            } => {
                let Some(goal) = to.or(job.goal.filter(|_| last)) else {
                    fault(FaultKind::NoEnd);
                    chain.reach.push([from, chain.length]);
                    continue;
                };
                match connect(here, goal, Eased { radius, easement }, between) {
                    Some(connection) => {
                        if connection
                            .between
                            .is_some_and(|tangent| tangent < between - 1e-9)
                        {
                            fault(FaultKind::Between(connection.between.unwrap_or(0.0)));
                        }
                        for piece in connection.pieces {
                            chain.push(piece);
                        }
                    }
                    None => {
                        fault(FaultKind::Connect(largest(
                            here, goal, radius, easement, between,
                        )));
                        // Something to look at: straight toward it.
                        let ray = goal.point() - here.point();
                        chain.push(Piece::tangent(
                            Place::new(here.x, here.y, ray.atan2()),
                            ray.hypot(),
                        ));
                    }
                }
            }
            Element::Parallel {
                line,
                left,
                radius,
                length,
            } => {
                let host = job.solved.lines[line].as_ref().map(|laid| &laid.path);
                let goal = job.goal.filter(|_| last && length.is_none());
                let along = host
                    .ok_or(FaultKind::Orphan(line))
                    .and_then(|host| parallel::along(host, left, here, goal, radius, length));
                match along {
                    Ok(pieces) => pieces.into_iter().for_each(|piece| chain.push(piece)),
                    Err(kind) => fault(kind),
                }
            }
        }
        chain.reach.push([from, chain.length]);
    }
    chain
}

/// The curvature of the neighboring curve of the same hand, which this one joins without a tangent.
fn compound(turn: f64, neighbor: Option<&Element>) -> Option<f64> {
    match neighbor {
        Some(Element::Curve {
            turn: other,
            radius,
            ..
        }) if *other == turn => Some(turn / radius),
        _ => None,
    }
}

/// The largest radius with which a connection can be made, if any can.
fn largest(here: Place, goal: Place, radius: f64, easement: f64, between: f64) -> Option<f64> {
    let fits = |radius: f64| {
        let eased = Eased {
            radius,
            easement: easement.min(radius),
        };
        connect(here, goal, eased, between).is_some_and(|found| {
            found
                .between
                .is_none_or(|tangent| tangent >= between - 1e-9)
        })
    };
    let mut low = (1..=20)
        .map(|n| radius * f64::from(20 - n) / 20.0)
        .find(|r| *r > 0.0 && fits(*r))?;
    let mut high = low + radius / 20.0;
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        if fits(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(low)
}

/// A curve with its easements.
struct Curve {
    turn: f64,
    radius: f64,
    easements: [f64; 2],
    /// Curvatures of the curves it is compounded with.
    neighbors: [Option<f64>; 2],
}

impl Curve {
    fn lay(&self, here: Place, by: Measure, fault: &mut impl FnMut(FaultKind)) -> Vec<Piece> {
        let k = self.turn / self.radius;
        // Into a compound curve one spiral leads from the one curvature to the other, shorter in
        // proportion: it belongs to the second. Curves of the same radius need none.
        let from = self.neighbors[0].unwrap_or(0.0);
        let share = |from: f64| (k - from).abs() / k.abs().max(from.abs());
        let mut lengths = [
            self.easements[0]
                * if self.neighbors[0].is_some() {
                    share(from)
                } else {
                    1.0
                },
            if self.neighbors[1].is_some() {
                0.0
            } else {
                self.easements[1]
            },
        ];
        let turned =
            |lengths: [f64; 2]| 0.5 * lengths[0] * (k + from).abs() + 0.5 * lengths[1] * k.abs();
        let whole = match by {
            Measure::Angle(angle) => angle,
            Measure::Heading(heading) => {
                let angle = wrapped((heading - here.heading) * self.turn);
                if angle <= 1e-12 {
                    angle + std::f64::consts::TAU
                } else {
                    angle
                }
            }
            // A length is turned into the angle it gives with these easements.
            Measure::Length(length) => {
                let arc = length - lengths[0] - lengths[1];
                if arc < 0.0 {
                    let part = (length / (lengths[0] + lengths[1])).max(0.0);
                    fault(FaultKind::Easements(-arc));
                    lengths = lengths.map(|l| l * part);
                }
                turned(lengths) + arc.max(0.0) * k.abs()
            }
        };
        if whole < 0.0 {
            fault(FaultKind::Negative);
            return Vec::new();
        }
        let mut arc = (whole - turned(lengths)) * self.radius;
        if arc < -1e-12 {
            fault(FaultKind::Easements(-arc));
            let part = whole / turned(lengths);
            lengths = lengths.map(|l| l * part);
            arc = 0.0;
        }
        let mut pieces = Vec::with_capacity(3);
        let mut at = here;
        for (length, curvature) in [
            (lengths[0], [from, k]),
            (arc.max(0.0), [k, k]),
            (lengths[1], [k, 0.0]),
        ] {
            if length > 0.0 {
                let piece = Piece::spiral(at, length, curvature);
                at = piece.end();
                pieces.push(piece);
            }
        }
        pieces
    }
}
