//! What stands on the plan.

use engineering::{
    Way,
    alignment::{Located, Of, StepWhat},
    curve::{Path, PieceKind, Place, Point},
    ids::TrackRef,
    room::BenchworkKind,
    station::{Hand, TrackUse},
};
use railroad::Railroad;

use super::Part;

/// Everything on the plan. Metres, *y* up.
#[derive(Debug, Clone, PartialEq)]
pub struct Facts {
    /// The railroad's name.
    pub railroad: String,
    /// What is drawn.
    pub title: String,
    /// Rooms.
    pub rooms: Vec<RoomFact>,
    /// Tracks.
    pub tracks: Vec<TrackFact>,
    /// Curves of mains and open line.
    pub curves: Vec<CurveFact>,
    /// Grades.
    pub grades: Vec<GradeFact>,
    /// Turnouts.
    pub turnouts: Vec<TurnoutFact>,
    /// Heights of the railhead at ends of center lines.
    pub heights: Vec<(Place, f64)>,
    /// Gauge of the track.
    pub gauge: f64,
}

/// A room.
#[derive(Debug, Clone, PartialEq)]
pub struct RoomFact {
    /// Its name.
    pub name: String,
    /// Its corners.
    pub corners: Vec<Point>,
    /// Openings in its walls.
    pub doors: Vec<([Point; 2], Option<String>)>,
    /// What stands in it: middle, radius, name.
    pub posts: Vec<(Point, f64, Option<String>)>,
    /// Benchwork: name, outline, whether and how people get through.
    pub benchwork: Vec<(String, Vec<Point>, BenchworkKind)>,
}

/// A track.
#[derive(Debug, Clone, PartialEq)]
pub struct TrackFact {
    /// Its name.
    pub name: String,
    /// Whether trains run on it: open line, mains and sidings.
    pub main: bool,
    /// Whether it is a station's main, and its name the station's.
    pub station: bool,
    /// Where its name may stand.
    pub label: Place,
    /// Its course.
    pub path: Path,
}

/// A curve.
#[derive(Debug, Clone, PartialEq)]
pub struct CurveFact {
    /// Its middle.
    pub at: Place,
    /// Radius, metres.
    pub radius: f64,
    /// Angle it turns, easements included, radians without sign.
    pub angle: f64,
    /// Length of the easements at its two ends, metres.
    pub easements: [f64; 2],
}

/// A stretch of even grade.
#[derive(Debug, Clone, PartialEq)]
pub struct GradeFact {
    /// Its middle, running up the hill.
    pub at: Place,
    /// Grade, rise over run, not negative.
    pub grade: f64,
}

/// A turnout.
#[derive(Debug, Clone, PartialEq)]
pub struct TurnoutFact {
    /// Its points, running toward the frog.
    pub at: Place,
    /// Its name.
    pub name: String,
    /// Frog number, if said.
    pub number: Option<f64>,
    /// 1 if it diverges to the left, −1 to the right.
    pub hand: f64,
}

/// Gathers what stands on the plan.
pub fn facts(railroad: &Railroad, part: Part) -> Facts {
    let way = &railroad.way;
    let located = &way.located;
    let mut facts = Facts {
        railroad: railroad.identity.name.clone(),
        title: match part {
            Part::All => "Room plan".to_owned(),
            Part::Station(id) => way.station(id).name.value.clone(),
            Part::Line(id) => way.line(id).name.value.clone(),
        },
        rooms: Vec::new(),
        tracks: Vec::new(),
        curves: Vec::new(),
        grades: Vec::new(),
        turnouts: Vec::new(),
        heights: Vec::new(),
        gauge: railroad.identity.scale.gauge.meters(),
    };
    for (line, path) in located.laid() {
        if shown(way, located, line, part) {
            add(&mut facts, way, line, path);
        }
    }
    for room in &way.rooms {
        let touched = facts.tracks.iter().any(|track| {
            track
                .path
                .places(0.1)
                .iter()
                .any(|(_, place)| engineering::room::inside(&room.corners, place.point()))
        });
        if part == Part::All || touched {
            facts.rooms.push(RoomFact {
                name: room.name.value.clone(),
                corners: room.corners.clone(),
                doors: room
                    .doors
                    .iter()
                    .map(|door| (door.ends, door.name.clone()))
                    .collect(),
                posts: room
                    .posts
                    .iter()
                    .map(|post| (post.at, post.radius, post.name.clone()))
                    .collect(),
                benchwork: room
                    .benchwork
                    .iter()
                    .map(|piece| (piece.name.value.clone(), piece.outline.clone(), piece.kind))
                    .collect(),
            });
        }
    }
    facts
}

fn shown(way: &Way, located: &Located, line: usize, part: Part) -> bool {
    match (part, located.described[line].of) {
        (Part::All, _) => true,
        (Part::Station(id), Some(Of::Track(track))) => track.station == id,
        (Part::Line(id), Some(Of::Open(open, _))) => open.line == id,
        (Part::Line(id), Some(Of::Track(track))) => way
            .station(track.station)
            .lines
            .iter()
            .any(|on| on.line == Some(id)),
        _ => false,
    }
}

fn add(facts: &mut Facts, way: &Way, line: usize, path: &Path) {
    let located = &way.located;
    let described = &located.described[line];
    let track = match described.of {
        Some(Of::Track(track)) => Some(track),
        _ => None,
    };
    let usage = track.map(|track| way.track(track).usage);
    let main = usage.is_none_or(|usage| matches!(usage, TrackUse::Main | TrackUse::Siding));
    // A main bears the name of its station.
    let name = match track {
        Some(track) if usage == Some(TrackUse::Main) => {
            way.station(track.station).name.value.clone()
        }
        Some(track) => way.track(track).name.value.clone(),
        None => described.name.value.clone(),
    };
    // A main has its name off the middle, where its siding's stands; a spur near its end.
    let share = match usage {
        Some(TrackUse::Main) => 0.3,
        None | Some(TrackUse::Siding) => 0.5,
        Some(_) => 0.85,
    };
    let Some(label) = path.at(share * path.length()) else {
        return;
    };
    facts.tracks.push(TrackFact {
        name,
        main,
        station: usage == Some(TrackUse::Main),
        label,
        path: path.clone(),
    });
    curves(facts, path, usage);
    grades(facts, way, line, path);
    for end in [0.0, path.length()] {
        // A siding's and a spur's ends are those of their main.
        if (usage.is_none() || usage == Some(TrackUse::Main))
            && let (Some(place), Some(height)) = (path.at(end), located.elevation(line, end))
            && !facts
                .heights
                .iter()
                .any(|(other, _)| other.point().distance(place.point()) < 0.05)
        {
            facts.heights.push((place, height));
        }
    }
    for (element, step) in described.elements.iter().enumerate() {
        if let StepWhat::Turnout(turnout) = &step.what
            && let Some(laid) = &located.solved.lines[line]
            && let Some(place) = path.at(laid.reach[element][0])
        {
            let page = track.and_then(|track| {
                let station = way.station(track.station);
                station
                    .find_switch(&turnout.name.value)
                    .map(|id| &station.switches[id.index()])
            });
            let number = page
                .and_then(|page| page.number.map(|n| n.value))
                .or(turnout.number);
            let hand = page.map(|page| page.hand).or(turnout.hand);
            let trailing = match (page, track) {
                (Some(_), Some(track)) => !facing(way, track, &turnout.name.value),
                _ => turnout.trailing,
            };
            facts.turnouts.push(TurnoutFact {
                at: if trailing { place.reversed() } else { place },
                name: turnout.name.value.clone(),
                number,
                hand: if hand == Some(Hand::Right) { -1.0 } else { 1.0 },
            });
        }
    }
    // Switches of the station's page that no element names.
    if let Some(track) = track {
        for switch in &way.station(track.station).switches {
            let named = described.elements.iter().any(|step| {
                matches!(&step.what, StepWhat::Turnout(turnout) if turnout.name.value == switch.name.value)
            });
            if switch.track == Some(track.track)
                && !named
                && let Some(place) = switch.at.and_then(|at| path.at(at.meters()))
            {
                let ahead = facing(way, track, &switch.name.value);
                facts.turnouts.push(TurnoutFact {
                    at: if ahead { place } else { place.reversed() },
                    name: switch.name.value.clone(),
                    number: switch.number.map(|number| number.value),
                    hand: if switch.hand == Hand::Right {
                        -1.0
                    } else {
                        1.0
                    },
                });
            }
        }
    }
}

/// Whether a train along the track meets a switch's points first.
fn facing(way: &Way, track: TrackRef, name: &str) -> bool {
    way.located
        .plan
        .lines
        .iter()
        .zip(&way.located.described)
        .find_map(|(plan, described)| {
            use engineering::alignment::plan::{Begin, End};
            let Some(Of::Track(other)) = described.of else {
                return None;
            };
            let page = way.track(other);
            let station = way.station(track.station);
            let is = |meets| match meets {
                engineering::station::Meets::Switch(id) => {
                    other.station == track.station
                        && station.switches[id.index()].name.value == name
                }
                _ => false,
            };
            match (plan.begin, plan.end) {
                (Begin::Switch(diverging), _) if is(page.meets[0]) => Some(diverging.facing),
                (_, End::Switch(diverging)) if is(page.meets[1]) => Some(diverging.facing),
                _ => None,
            }
        })
        .unwrap_or(true)
}

fn curves(facts: &mut Facts, path: &Path, usage: Option<TrackUse>) {
    // Curves of sidings and spurs follow from their turnouts.
    if usage.is_some_and(|usage| usage != TrackUse::Main) {
        return;
    }
    let placed: Vec<_> = path.placed().collect();
    for (at, (start, piece)) in placed.iter().enumerate() {
        if piece.kind() != PieceKind::Arc {
            continue;
        }
        let spiral = |at: Option<usize>| {
            let (_, piece) = placed.get(at?)?;
            (piece.kind() == PieceKind::Spiral).then_some((piece.length, piece.turn().abs()))
        };
        let (before, after) = (spiral(at.checked_sub(1)), spiral(Some(at + 1)));
        let turned = |one: Option<(f64, f64)>| one.map_or(0.0, |(_, turn)| turn);
        if let Some(middle) = path.at(start + 0.5 * piece.length) {
            facts.curves.push(CurveFact {
                at: middle,
                radius: 1.0 / piece.curvature[0].abs(),
                angle: piece.turn().abs() + turned(before) + turned(after),
                easements: [before, after].map(|one| one.map_or(0.0, |(length, _)| length)),
            });
        }
    }
}

fn grades(facts: &mut Facts, way: &Way, line: usize, path: &Path) {
    let Some(heights) = way.located.heights.get(line) else {
        return;
    };
    for pair in heights.points().windows(2) {
        let grade = (pair[1].elevation - pair[0].elevation) / (pair[1].at - pair[0].at);
        // What cannot be told from level on the model is.
        if grade.abs() < 5e-4 {
            continue;
        }
        if let Some(place) = path.at(0.5 * (pair[0].at + pair[1].at)) {
            facts.grades.push(GradeFact {
                at: if grade > 0.0 { place } else { place.reversed() },
                grade: grade.abs(),
            });
        }
    }
}
