//! Center lines from their descriptions: a pure function.
//!
//! Each is laid from its beginning, element by element. One that follows, leaves or accompanies another
//! is solved after it; so when a control point moves, only what depends on it is solved again
//! ([`resolve`]), in the same order and with the same result as if all were.

mod close;
mod connect;
mod lay;
mod parallel;
#[cfg(test)]
mod tests;

pub use connect::{Connection, Eased, connect};
pub use parallel::beside;

use super::plan::{Begin, CenterLine, Diverging, Element, End, Plan, Spot};
use crate::{
    clearance,
    curve::{Path, Piece, Place, wrapped},
};

/// A solved plan.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Solved {
    /// For each center line what became of it; nothing where it depends on one that could not be laid.
    pub lines: Vec<Option<Laid>>,
    /// What could not be done as asked.
    pub faults: Vec<Fault>,
    /// The order in which they were solved; those that wait for one another in a circle are not in it.
    order: Vec<usize>,
}

/// A center line in place.
#[derive(Debug, Clone, PartialEq)]
pub struct Laid {
    /// Its course.
    pub path: Path,
    /// Where each element begins and ends, from the beginning. A curve's easements are part of it.
    pub reach: Vec<[f64; 2]>,
    /// How it meets its end, if it has one.
    pub closure: Option<Closure>,
}

/// How a center line meets the end that was set for it.
#[derive(Debug, Clone, PartialEq)]
pub struct Closure {
    /// The misfit as described, before anything was adjusted.
    pub before: Misfit,
    /// What is left of it.
    pub after: Misfit,
    /// Elements that were changed, each with its value as described and as solved: a length, a radius,
    /// or an angle in radians, whichever it was given by.
    pub adjusted: Vec<(usize, f64, f64)>,
}

/// By how much an end is missed.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Misfit {
    /// Too short by so many metres, along the direction of arrival; too long if negative.
    pub short: f64,
    /// So many metres to the left of the end; to the right if negative.
    pub left: f64,
    /// Turned by so much too far to the left, radians.
    pub turned: f64,
}

impl Misfit {
    fn new(reached: Place, goal: Place) -> Self {
        let off = reached.point() - goal.point();
        Self {
            short: -off.dot(goal.ahead()),
            left: off.dot(goal.left()),
            turned: wrapped(reached.heading - goal.heading),
        }
    }

    /// How far the end is missed, metres.
    pub fn distance(&self) -> f64 {
        self.short.hypot(self.left)
    }

    /// Whether rails could be joined across it: within half a millimetre and a twentieth of a degree
    /// (what a track worker takes up by hand; common practice, no source).
    pub fn closes(&self) -> bool {
        self.distance() <= 5e-4 && self.turned.abs() <= 0.05f64.to_radians()
    }
}

/// What could not be done.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fault {
    /// The center line.
    pub line: usize,
    /// The element, if it is one's.
    pub element: Option<usize>,
    /// What.
    pub kind: FaultKind,
}

/// Kinds of faults.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum FaultKind {
    /// It waits for itself: after, beside or from a line that in turn depends on it.
    Circle,
    /// The line it depends on could not be laid.
    Orphan(usize),
    /// The easements turn or measure more than the whole curve: by how much the curve is too short,
    /// in metres. They were shortened.
    Easements(f64),
    /// A curve of this length would be less than nothing.
    Negative,
    /// The connection cannot be made; the largest radius with which it could, if there is one.
    Connect(Option<f64>),
    /// It connects, but with so much tangent between reverse curves.
    Between(f64),
    /// There is no room to become parallel: so many metres are wanting.
    Parallel(f64),
    /// The parallel would lie at or beyond the center of the other line's curve.
    TooFarInside,
    /// A spot beyond the end of the line it is on: by how much.
    BeyondEnd(f64),
    /// There is nothing to connect to.
    NoEnd,
    /// It does not meet its end.
    Open(Misfit),
}

/// Lays all center lines of a plan.
pub fn solve(plan: &Plan) -> Solved {
    let order = order(plan);
    let mut solved = Solved {
        lines: vec![None; plan.lines.len()],
        faults: Vec::new(),
        order,
    };
    for at in 0..plan.lines.len() {
        if !solved.order.contains(&at) {
            solved.faults.push(Fault {
                line: at,
                element: None,
                kind: FaultKind::Circle,
            });
        }
    }
    for at in solved.order.clone() {
        lay(plan, &mut solved, at);
    }
    solved
}

/// Solves again what depends on the `changed` center lines of a plan that was `before` solved with the
/// same lines and the same dependencies. Gives what [`solve`] would, and which lines were laid anew.
pub fn resolve(plan: &Plan, before: &Solved, changed: &[usize]) -> (Solved, Vec<usize>) {
    let mut stale = vec![false; plan.lines.len()];
    for &line in changed {
        stale[line] = true;
    }
    let mut again = Vec::new();
    for &at in &before.order {
        stale[at] |= depends(&plan.lines[at]).into_iter().any(|on| stale[on]);
        if stale[at] {
            again.push(at);
        }
    }
    let mut solved = before.clone();
    solved.faults.retain(|fault| !again.contains(&fault.line));
    for &at in &again {
        lay(plan, &mut solved, at);
    }
    // As they would stand after solving everything: those in a circle first, then in order.
    let mut place = vec![0; plan.lines.len()];
    for (index, &at) in solved.order.iter().enumerate() {
        place[at] = index + 1;
    }
    solved.faults.sort_by_key(|fault| {
        (
            place[fault.line],
            if place[fault.line] == 0 {
                fault.line
            } else {
                0
            },
        )
    });
    (solved, again)
}

/// The lines a line depends on.
fn depends(line: &CenterLine) -> Vec<usize> {
    let mut on = Vec::new();
    match line.begin {
        Begin::After(other) | Begin::Back(other) => on.push(other),
        Begin::Switch(diverging) => on.push(diverging.line),
        Begin::At(_) => {}
    }
    match line.end {
        End::Before(other) => on.push(other),
        End::Switch(diverging) => on.push(diverging.line),
        End::Free | End::At(_) | End::Start => {}
    }
    on.extend(line.elements.iter().filter_map(|element| match element {
        Element::Parallel { line, .. } => Some(*line),
        _ => None,
    }));
    on
}

/// An order in which each line comes after those it depends on; of several the earliest written first.
fn order(plan: &Plan) -> Vec<usize> {
    let count = plan.lines.len();
    let needs: Vec<Vec<usize>> = plan.lines.iter().map(depends).collect();
    let mut waiting: Vec<usize> = needs.iter().map(Vec::len).collect();
    let mut wanted_by = vec![Vec::new(); count];
    for (at, needs) in needs.iter().enumerate() {
        for &on in needs {
            wanted_by[on].push(at);
        }
    }
    let mut ready: std::collections::BTreeSet<usize> =
        (0..count).filter(|at| waiting[*at] == 0).collect();
    let mut order = Vec::with_capacity(count);
    while let Some(at) = ready.pop_first() {
        order.push(at);
        for &other in &wanted_by[at] {
            waiting[other] -= 1;
            if waiting[other] == 0 {
                ready.insert(other);
            }
        }
    }
    order
}

/// The curve of a turnout's diverging side, from the points to abreast of the point of frog: of the
/// lead 2·g·N and the radius 2·g·N² that turns by the frog angle (Searles, *Field Engineering*), laid
/// along whatever curve the other side has.
fn lead(points: Place, hand: f64, number: f64, gauge: f64) -> Piece {
    let radius = 2.0 * gauge * number * number;
    let length = radius * clearance::frog_angle(number).radians();
    Piece::arc(points, length, points.curvature + hand / radius)
}

/// The curve of a turnout in another line.
fn turnout(plan: &Plan, solved: &Solved, diverging: Diverging) -> Result<Piece, FaultKind> {
    let host = solved.lines[diverging.line]
        .as_ref()
        .ok_or(FaultKind::Orphan(diverging.line))?;
    let s = match diverging.at {
        Spot::Distance(s) => s,
        Spot::Element(element) => host.reach[element][0],
    };
    let beyond = (s - host.path.length()).max(-s);
    if beyond > 1e-9 {
        return Err(FaultKind::BeyondEnd(beyond));
    }
    let place = host.path.at(s).ok_or(FaultKind::Orphan(diverging.line))?;
    let points = if diverging.facing {
        place
    } else {
        place.reversed()
    };
    Ok(lead(points, diverging.hand, diverging.number, plan.gauge))
}

fn lay(plan: &Plan, solved: &mut Solved, at: usize) {
    let mut faults = Vec::new();
    let laid = try_lay(plan, solved, at, &mut faults);
    let laid = laid.map_err(|kind| {
        faults.push((None, kind));
    });
    solved
        .faults
        .extend(faults.into_iter().map(|(element, kind)| Fault {
            line: at,
            element,
            kind,
        }));
    solved.lines[at] = laid.ok();
}

type Faults = Vec<(Option<usize>, FaultKind)>;

fn try_lay(
    plan: &Plan,
    solved: &Solved,
    at: usize,
    faults: &mut Faults,
) -> Result<Laid, FaultKind> {
    let line = &plan.lines[at];
    let other = |other: usize| {
        let laid = solved.lines[other]
            .as_ref()
            .ok_or(FaultKind::Orphan(other))?;
        let ends = laid.path.begin().zip(laid.path.end());
        ends.ok_or(FaultKind::Orphan(other))
    };
    let mut head = Vec::new();
    let begin = match line.begin {
        Begin::At(place) => place,
        Begin::After(after) => other(after)?.1,
        Begin::Back(back) => other(back)?.0.reversed(),
        Begin::Switch(diverging) => {
            let piece = turnout(plan, solved, diverging)?;
            head.push(piece);
            piece.end()
        }
    };
    let mut tail = None;
    let goal = match line.end {
        End::Free => None,
        End::At(place) => Some(place),
        End::Before(before) => Some(other(before)?.0),
        End::Start => Some(begin),
        End::Switch(diverging) => {
            let piece = turnout(plan, solved, diverging)?.reversed();
            tail = Some(piece);
            Some(piece.begin())
        }
    };
    let job = lay::Job {
        plan,
        solved,
        line,
        begin,
        goal,
    };
    let (mut chain, closure) = close::close(&job, faults);
    if let Some(closure) = &closure
        && !closure.after.closes()
    {
        faults.push((None, FaultKind::Open(closure.after)));
    }
    // Distances count from the points, as those of a station's track do.
    let lead: f64 = head.iter().map(|piece| piece.length).sum();
    for reach in &mut chain.reach {
        *reach = reach.map(|s| s + lead);
    }
    head.append(&mut chain.pieces);
    head.extend(tail);
    Ok(Laid {
        path: Path::new(head),
        reach: chain.reach,
        closure,
    })
}
