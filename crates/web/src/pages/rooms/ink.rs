//! The plan for the screen. Colours come from the style sheet; widths of lines and sizes of letters do not
//! grow with the drawing. Metres, *y* up, become centimetres, *y* down.

use std::fmt::Write as _;

use engineering::{
    alignment::{Located, Of, StepWhat, plan::End, solve::Solved},
    curve::{Path, PieceKind, Place, Point},
    room::BenchworkKind,
    station::TrackUse,
};
use railroad::Railroad;

use crate::{ink::escape, show};

/// How the plan is shown.
#[derive(Debug)]
pub struct Look<'a> {
    /// The center line that is picked.
    pub picked: Option<usize>,
    /// Those laid anew when it moves.
    pub again: &'a [usize],
    /// Its control points: name, what it is, where, and whether it moves freely.
    pub controls: &'a [(String, String, Place, bool)],
    /// Courses to show faintly: those before the move.
    pub before: Option<&'a Solved>,
}

/// Room around everything, centimetres.
const MARGIN: f64 = 14.0;

struct Sheet {
    low: Point,
    high: Point,
    svg: String,
}

impl Sheet {
    fn x(&self, at: Point) -> f64 {
        (at.x - self.low.x) * 100.0 + MARGIN
    }

    fn y(&self, at: Point) -> f64 {
        (self.high.y - at.y) * 100.0 + MARGIN
    }

    fn corners(&self, points: &[Point]) -> String {
        let each: Vec<String> = points
            .iter()
            .map(|point| format!("{:.1},{:.1}", self.x(*point), self.y(*point)))
            .collect();
        each.join(" ")
    }

    /// A course as the corners of a line that leaves it nowhere by more than half a millimetre.
    fn course(&self, path: &Path) -> String {
        let mut d = String::new();
        let mut put = |at: Point| {
            let letter = if d.is_empty() { 'M' } else { 'L' };
            let _ = write!(d, "{letter}{:.1} {:.1}", self.x(at), self.y(at));
        };
        for (at, piece) in path.pieces().iter().enumerate() {
            if at == 0 {
                put(piece.at(0.0).point());
            }
            let parts = match piece.kind() {
                PieceKind::Tangent => 1.0,
                _ => (piece.length / 0.06).ceil().clamp(1.0, 2000.0),
            };
            for part in 1..=parts as u32 {
                put(piece.at(piece.length * f64::from(part) / parts).point());
            }
        }
        d
    }
}

/// The plan of a railroad whose center lines lie so.
pub fn draw(railroad: &Railroad, located: &Located, look: &Look) -> String {
    let way = &railroad.way;
    let mut points: Vec<Point> = way
        .rooms
        .iter()
        .flat_map(|room| room.corners.iter().copied())
        .collect();
    // The sheet stays as large as it was while something is dragged.
    let now = way.located.laid().map(|(_, path)| path);
    for bounds in now.filter_map(Path::bounds) {
        points.push(Point::new(bounds.x0, bounds.y0));
        points.push(Point::new(bounds.x1, bounds.y1));
    }
    let least = |part: fn(&Point) -> f64| points.iter().map(part).fold(f64::INFINITY, f64::min);
    let most = |part: fn(&Point) -> f64| points.iter().map(part).fold(f64::NEG_INFINITY, f64::max);
    let mut sheet = Sheet {
        low: Point::new(least(|p| p.x), least(|p| p.y)),
        high: Point::new(most(|p| p.x), most(|p| p.y)),
        svg: String::new(),
    };
    let width = (sheet.high.x - sheet.low.x) * 100.0 + 2.0 * MARGIN;
    let height = (sheet.high.y - sheet.low.y) * 100.0 + 2.0 * MARGIN;
    let _ = write!(
        sheet.svg,
        r#"<svg class="plan" viewBox="0 0 {width:.1} {height:.1}" role="group" aria-label="Plan of the rooms">"#
    );
    rooms(&mut sheet, railroad);
    if let Some(before) = look.before {
        for line in look.again {
            if let Some(Some(laid)) = before.lines.get(*line) {
                let d = sheet.course(&laid.path);
                let _ = write!(sheet.svg, r#"<path class="ghost" d="{d}"/>"#);
            }
        }
    }
    for (line, path) in located.laid() {
        track(&mut sheet, railroad, located, look, line, path);
    }
    for (line, path) in located.laid() {
        turnouts(&mut sheet, located, line, path);
    }
    for (line, path) in located.laid() {
        missed(&mut sheet, located, line, path);
    }
    for (line, path) in located.laid() {
        name(&mut sheet, railroad, located, look, line, path);
    }
    for (id, label, place, free) in look.controls {
        let (x, y) = (sheet.x(place.point()), sheet.y(place.point()));
        let label = escape(label);
        let heading = place.heading;
        let kind = if *free { "free" } else { "along" };
        let _ = write!(
            sheet.svg,
            r#"<g class="control {kind}" data-point="{id}" data-heading="{heading:.5}" tabindex="0" role="button" aria-label="{label}"><title>{label}</title><circle class="reach" cx="{x:.1}" cy="{y:.1}" r="16"/><circle class="ring" cx="{x:.1}" cy="{y:.1}" r="6"/></g>"#
        );
    }
    sheet.svg.push_str("</svg>");
    sheet.svg
}

fn rooms(sheet: &mut Sheet, railroad: &Railroad) {
    for room in &railroad.way.rooms {
        for piece in &room.benchwork {
            let class = match piece.kind {
                BenchworkKind::Fixed => "bench",
                _ => "bench opens",
            };
            let corners = sheet.corners(&piece.outline);
            let name = escape(&piece.name.value);
            let _ = write!(
                sheet.svg,
                r#"<polygon class="{class}" points="{corners}"><title>{name}</title></polygon>"#
            );
        }
        let corners = sheet.corners(&room.corners);
        let _ = write!(sheet.svg, r#"<polygon class="wall" points="{corners}"/>"#);
        for door in &room.doors {
            let corners = sheet.corners(&door.ends);
            let name = escape(door.name.as_deref().unwrap_or("door"));
            let _ = write!(
                sheet.svg,
                r#"<polyline class="door" points="{corners}"><title>{name}</title></polyline>"#
            );
        }
        for post in &room.posts {
            let (x, y) = (sheet.x(post.at), sheet.y(post.at));
            let radius = post.radius * 100.0;
            let name = escape(post.name.as_deref().unwrap_or("post"));
            let _ = write!(
                sheet.svg,
                r#"<circle class="post" cx="{x:.1}" cy="{y:.1}" r="{radius:.1}"><title>{name}</title></circle>"#
            );
        }
    }
}

/// The use of the track a center line is that of; none for open line and what is no track yet.
fn usage(railroad: &Railroad, located: &Located, line: usize) -> Option<TrackUse> {
    match located.described[line].of {
        Some(Of::Track(track)) => Some(railroad.way.track(track).usage),
        _ => None,
    }
}

fn track(
    sheet: &mut Sheet,
    railroad: &Railroad,
    located: &Located,
    look: &Look,
    line: usize,
    path: &Path,
) {
    let mut class = match usage(railroad, located, line) {
        None | Some(TrackUse::Main) => "course main".to_owned(),
        Some(_) => "course".to_owned(),
    };
    if look.picked == Some(line) {
        class.push_str(" picked");
    } else if look.again.contains(&line) {
        class.push_str(" again");
    }
    let name = &located.described[line].name.value;
    let d = sheet.course(path);
    let length = railroad
        .identity
        .units
        .show(model::units::Actual::from_meters(path.length()));
    let _ = write!(
        sheet.svg,
        r#"<a class="{class}" href="/rooms?line={}" aria-label="{}, {}"><title>{}</title><path class="reach" d="{d}"/><path class="rail" d="{d}"/></a>"#,
        show::escape(name),
        escape(name),
        escape(&length),
        escape(name),
    );
}

fn turnouts(sheet: &mut Sheet, located: &Located, line: usize, path: &Path) {
    let Some(laid) = &located.solved.lines[line] else {
        return;
    };
    for (at, step) in located.described[line].elements.iter().enumerate() {
        if let StepWhat::Turnout(turnout) = &step.what
            && let Some(place) = laid.reach.get(at).and_then(|reach| path.at(reach[0]))
        {
            let (x, y) = (sheet.x(place.point()), sheet.y(place.point()));
            let name = escape(&turnout.name.value);
            let _ = write!(
                sheet.svg,
                r#"<circle class="points" cx="{x:.1}" cy="{y:.1}" r="2.2"><title>turnout {name}</title></circle>"#
            );
        }
    }
}

/// A line from where a course ends to where it should.
fn missed(sheet: &mut Sheet, located: &Located, line: usize, path: &Path) {
    let Some(laid) = &located.solved.lines[line] else {
        return;
    };
    let open = laid
        .closure
        .as_ref()
        .is_some_and(|closure| !closure.after.closes());
    let goal = match located.plan.lines[line].end {
        End::At(place) => Some(place),
        End::Start => path.begin(),
        End::Before(other) => located.path(other).and_then(Path::begin),
        End::Free | End::Switch(_) => None,
    };
    if let (true, Some(end), Some(goal)) = (open, path.end(), goal) {
        let corners = sheet.corners(&[end.point(), goal.point()]);
        let (x, y) = (sheet.x(end.point()), sheet.y(end.point()));
        let _ = write!(
            sheet.svg,
            r#"<g class="missed"><title>It misses its end</title><polyline points="{corners}"/><circle cx="{x:.1}" cy="{y:.1}" r="8"/></g>"#
        );
    }
}

/// Mains bear the name of their station, and a picked track its own.
fn name(
    sheet: &mut Sheet,
    railroad: &Railroad,
    located: &Located,
    look: &Look,
    line: usize,
    path: &Path,
) {
    let text = match (located.described[line].of, usage(railroad, located, line)) {
        _ if look.picked == Some(line) => located.described[line].name.value.clone(),
        (Some(Of::Track(track)), Some(TrackUse::Main)) => {
            railroad.way.station(track.station).name.value.clone()
        }
        _ => return,
    };
    let Some(place) = path.at(0.3 * path.length()) else {
        return;
    };
    // On the side away from the middle of the sheet there is more room.
    let aside = place.point() + place.left() * 0.16;
    let (x, y) = (sheet.x(aside), sheet.y(aside));
    let middle = (sheet.high.x - sheet.low.x) * 50.0 + MARGIN;
    let anchor = if x > middle { "end" } else { "start" };
    let _ = write!(
        sheet.svg,
        r#"<text x="{x:.1}" y="{y:.1}" text-anchor="{anchor}">{}</text>"#,
        escape(&text)
    );
}
