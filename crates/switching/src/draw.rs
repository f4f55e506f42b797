//! One drawing for each move, as a strip of SVG.
//!
//! Black on white only, so that it survives any printer, any copier and any eye: the engine is
//! solid, cars handled in the move are hatched with a heavy outline, other cars are plain. Track
//! is drawn out of scale along the town's own order from one end to the other.

use std::fmt::Write;

use crate::plan::{Handling, Leg, Plan, Side};
use crate::rates::Rates;
use crate::replay::{Picture, Refusal, replay};
use crate::town::{NodeKind, Port, Town, TrackEnd, TrackId};
use crate::words::describe;
use crate::work::Work;

const WIDTH: f64 = 760.0;
const MARGIN: f64 = 24.0;
const LANE: f64 = 34.0;
const CAR: f64 = 13.0;
const LINE: f64 = 15.0;

/// A strip: the town before the first move, then the town after each move, each with its words.
///
/// # Errors
/// If the plan is not legal: nothing is drawn that cannot be done.
pub fn strip(town: &Town, work: &Work, plan: &Plan, rates: &Rates) -> Result<String, Refusal> {
    let pictures = replay(town, work, plan)?;
    let words = describe(town, work, plan, rates)?;
    let shape = Shape::new(town);
    let mut frames = vec![];
    let total: f64 = words.iter().map(|w| w.time.seconds).sum();
    let head = format!(
        "{}: {} moves, about {}",
        town.name,
        plan.count(),
        minutes(total)
    );
    frames.push((
        head,
        vec!["The town before the first move.".to_string()],
        &pictures[0],
        vec![],
        None,
    ));
    let all = plan
        .moves
        .iter()
        .map(|m| (Some(&m.handling), &m.legs))
        .chain(plan.leaving.iter().map(|l| (None, &l.legs)));
    for (i, ((handling, legs), picture)) in all.zip(&pictures[1..]).enumerate() {
        let w = &words[i];
        let handled: Vec<u16> = match handling {
            Some(Handling::Couple { cars, .. } | Handling::SetOut { cars, .. }) => {
                cars.iter().map(|c| c.0).collect()
            }
            _ => vec![],
        };
        let head = format!("{}. {} ({})", i + 1, w.title, minutes(w.time.seconds));
        frames.push((head, w.steps.clone(), picture, handled, legs.last()));
    }
    let mut body = String::new();
    let mut y = 10.0;
    for (head, steps, picture, handled, leg) in frames {
        let lines: Vec<String> = steps.iter().flat_map(|s| wrap(s, 118)).collect();
        let text = LINE * (lines.len() as f64 + 1.4);
        let height = text + shape.height + 14.0;
        let _ = write!(
            body,
            "<g transform=\"translate(0 {y:.0})\"><rect x=\"4\" y=\"0\" width=\"{:.0}\" height=\"{height:.0}\" fill=\"none\" stroke=\"black\" stroke-width=\"0.6\"/>",
            WIDTH - 8.0
        );
        let _ = write!(
            body,
            "<text x=\"12\" y=\"17\" font-weight=\"bold\">{}</text>",
            escape(&head)
        );
        for (i, l) in lines.iter().enumerate() {
            let _ = write!(
                body,
                "<text x=\"12\" y=\"{:.0}\">{}</text>",
                17.0 + LINE * (i as f64 + 1.0),
                escape(l)
            );
        }
        let _ = write!(body, "<g transform=\"translate(0 {text:.0})\">");
        shape.tracks(town, &mut body);
        shape.cars(town, work, picture, &handled, &mut body);
        if let Some(leg) = leg {
            shape.arrow(town, work, picture, leg, &mut body);
        }
        body.push_str("</g></g>");
        y += height + 8.0;
    }
    let _ = write!(
        body,
        "<text x=\"12\" y=\"{:.0}\">Solid: engine. Hatched: cars handled in the move. Plain: other cars. Arrow: the last run of the train.</text>",
        y + 10.0
    );
    y += 20.0;
    Ok(format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH:.0} {y:.0}\" width=\"{WIDTH:.0}\" height=\"{y:.0}\" font-family=\"sans-serif\" font-size=\"11\" role=\"img\"><title>{}</title>{}<rect width=\"100%\" height=\"100%\" fill=\"white\"/>{body}</svg>\n",
        escape(&format!("Switching moves at {}", town.name)),
        hatching("hatch")
    ))
}

/// The town before the first move, then after each move (the train's leaving is the last of them), each a
/// drawing of its own without words: for pages that set the words themselves.
///
/// # Errors
/// If the plan is not legal: nothing is drawn that cannot be done.
pub fn frames(town: &Town, work: &Work, plan: &Plan) -> Result<Vec<String>, Refusal> {
    let pictures = replay(town, work, plan)?;
    let shape = Shape::new(town);
    let moves = plan
        .moves
        .iter()
        .map(|m| (Some(&m.handling), &m.legs))
        .chain(plan.leaving.iter().map(|l| (None, &l.legs)));
    let mut frames = Vec::with_capacity(pictures.len());
    let height = shape.height;
    for (at, (step, picture)) in std::iter::once(None)
        .chain(moves.map(Some))
        .zip(&pictures)
        .enumerate()
    {
        let mut body = String::new();
        shape.tracks(town, &mut body);
        let handled: Vec<u16> = match step {
            Some((Some(Handling::Couple { cars, .. } | Handling::SetOut { cars, .. }), _)) => {
                cars.iter().map(|c| c.0).collect()
            }
            _ => vec![],
        };
        shape.cars(town, work, picture, &handled, &mut body);
        if let Some(leg) = step.and_then(|(_, legs)| legs.last()) {
            shape.arrow(town, work, picture, leg, &mut body);
        }
        // Several of them may stand on one page: each has its own hatching.
        let hatch = format!("hatch-{at}");
        let body = body.replace("url(#hatch)", &format!("url(#{hatch})"));
        let title = match at {
            0 => format!("{} before the first move", escape(&town.name)),
            at => format!("{} after move {at}", escape(&town.name)),
        };
        frames.push(format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {WIDTH:.0} {height:.0}\" font-family=\"sans-serif\" font-size=\"11\" role=\"img\" aria-label=\"{title}\">{}{body}</svg>",
            hatching(&hatch),
        ));
    }
    Ok(frames)
}

fn hatching(id: &str) -> String {
    format!(
        "<defs><pattern id=\"{id}\" width=\"4\" height=\"4\" patternUnits=\"userSpaceOnUse\" patternTransform=\"rotate(45)\"><rect width=\"4\" height=\"4\" fill=\"white\"/><line x1=\"0\" y1=\"0\" x2=\"0\" y2=\"4\" stroke=\"black\" stroke-width=\"1.1\"/></pattern></defs>"
    )
}

fn minutes(seconds: f64) -> String {
    let m = (seconds / 60.0).round().max(1.0);
    if m < 1.5 {
        "1 minute".into()
    } else {
        format!("{m:.0} minutes")
    }
}

fn escape(s: &str) -> String {
    s.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
        .replace('"', "&quot;")
}

fn wrap(s: &str, width: usize) -> Vec<String> {
    let mut out = vec![String::new()];
    for word in s.split(' ') {
        let last = out.len() - 1;
        if !out[last].is_empty() && out[last].chars().count() + word.chars().count() >= width {
            out.push(word.into());
        } else {
            if !out[last].is_empty() {
                out[last].push(' ');
            }
            out[last].push_str(word);
        }
    }
    out
}

type Point = (f64, f64);

/// Where everything is drawn.
struct Shape {
    /// Each track as a broken line from its first end to its second.
    lines: Vec<Vec<Point>>,
    height: f64,
}

impl Shape {
    fn new(town: &Town) -> Self {
        let lines = match owner_lines(town) {
            Some(l) => l,
            None => laid_out(town),
        };
        let points = || lines.iter().flatten();
        let min = |f: fn(&Point) -> f64| points().map(f).fold(f64::MAX, f64::min);
        let max = |f: fn(&Point) -> f64| points().map(f).fold(f64::MIN, f64::max);
        let (x0, x1) = (min(|p| p.0), max(|p| p.0));
        let (y0, y1) = (min(|p| p.1), max(|p| p.1));
        let sx = (WIDTH - 2.0 * MARGIN - 16.0) / (x1 - x0).max(1.0);
        let lines = lines
            .iter()
            .map(|l| {
                l.iter()
                    .map(|p| (MARGIN + 8.0 + (p.0 - x0) * sx, MARGIN + (p.1 - y0)))
                    .collect()
            })
            .collect();
        Self {
            lines,
            height: y1 - y0 + 2.0 * MARGIN,
        }
    }

    fn tracks(&self, town: &Town, out: &mut String) {
        for (t, line) in town.tracks.iter().zip(&self.lines) {
            let d: Vec<String> = line
                .iter()
                .map(|p| format!("{:.1},{:.1}", p.0, p.1))
                .collect();
            let _ = write!(
                out,
                "<polyline points=\"{}\" fill=\"none\" stroke=\"black\" stroke-width=\"{}\"/>",
                d.join(" "),
                if t.main { 2.2 } else { 1.1 }
            );
            for (e, p) in [(0, line[0]), (1, line[line.len() - 1])] {
                let kind = town.nodes[t.ends[e].node.index()].kind;
                if kind == NodeKind::End {
                    let _ = write!(
                        out,
                        "<path d=\"M{:.1} {:.1}v10\" stroke=\"black\" stroke-width=\"2.5\"/>",
                        p.0,
                        p.1 - 5.0
                    );
                }
            }
        }
        // A name under the longest level piece of each place, the longest pieces first; a name that
        // would lie over another is left out, for the words name the place too.
        let mut names: Vec<(f64, Point, &str)> = Vec::new();
        for p in &town.places {
            let longest = p.tracks.iter().max_by_key(|t| {
                let l = &self.lines[t.index()];
                (l[l.len() - 1].0 - l[0].0).abs() as i64
            });
            let Some(t) = longest else { continue };
            let l = &self.lines[t.index()];
            let i = (1..l.len())
                .max_by(|&a, &b| {
                    let w = |i: usize| (l[i].0 - l[i - 1].0).abs();
                    w(a).total_cmp(&w(b))
                })
                .unwrap_or(1);
            let (a, b) = (l[i - 1], l[i.min(l.len() - 1)]);
            let at = (f64::midpoint(a.0, b.0), f64::midpoint(a.1, b.1) + 17.0);
            names.push(((a.0 - b.0).abs(), at, &p.name));
        }
        names.sort_by(|a, b| b.0.total_cmp(&a.0));
        let mut told: Vec<(Point, f64)> = Vec::new();
        for (_, at, name) in names {
            // About half the letters' height for each letter.
            let half = 2.3 * name.chars().count() as f64;
            let free = told.iter().all(|(other, width): &(Point, f64)| {
                (at.1 - other.1).abs() > 9.0 || (at.0 - other.0).abs() > half + width
            });
            if free {
                told.push((at, half));
                let _ = write!(
                    out,
                    "<text x=\"{:.1}\" y=\"{:.1}\" font-size=\"8\" text-anchor=\"middle\">{}</text>",
                    at.0,
                    at.1,
                    escape(name)
                );
            }
        }
    }

    /// A point on a track and the direction there, at a share of its length from its first end.
    fn on(&self, track: TrackId, share: f64) -> (Point, f64) {
        let l = &self.lines[track.index()];
        let len = |i: usize| ((l[i].0 - l[i - 1].0).powi(2) + (l[i].1 - l[i - 1].1).powi(2)).sqrt();
        let total: f64 = (1..l.len()).map(len).sum();
        let mut left = share.clamp(0.0, 1.0) * total;
        for i in 1..l.len() {
            if left <= len(i) || i + 1 == l.len() {
                let f = if len(i) > 0.0 {
                    (left / len(i)).min(1.0)
                } else {
                    0.0
                };
                let p = (
                    l[i - 1].0 + f * (l[i].0 - l[i - 1].0),
                    l[i - 1].1 + f * (l[i].1 - l[i - 1].1),
                );
                let angle = (l[i].1 - l[i - 1].1)
                    .atan2(l[i].0 - l[i - 1].0)
                    .to_degrees();
                return (p, angle);
            }
            left -= len(i);
        }
        (l[0], 0.0)
    }

    /// A point along a row of tracks (track, passed forward), at a distance from its start.
    fn along(&self, town: &Town, row: &[(TrackId, bool)], at: f64) -> (Point, f64) {
        let mut left = at;
        for (i, &(t, forward)) in row.iter().enumerate() {
            let len = f64::from(town.tracks[t.index()].length);
            if left <= len || i + 1 == row.len() {
                let share = if len > 0.0 { left / len } else { 0.5 };
                let (p, a) = self.on(t, if forward { share } else { 1.0 - share });
                return (p, a);
            }
            left -= len;
        }
        ((0.0, 0.0), 0.0)
    }

    /// One vehicle between two distances along a row of tracks.
    #[allow(clippy::too_many_arguments)] // all of one drawing primitive
    fn vehicle(
        &self,
        town: &Town,
        row: &[(TrackId, bool)],
        from: f64,
        to: f64,
        look: Look,
        label: &str,
        out: &mut String,
    ) {
        let (a, _) = self.along(town, row, from);
        let (b, _) = self.along(town, row, to);
        let (mid, _) = self.along(town, row, f64::midpoint(from, to));
        let w = ((a.0 - b.0).powi(2) + (a.1 - b.1).powi(2)).sqrt().max(4.0) - 1.2;
        let mut angle = (b.1 - a.1).atan2(b.0 - a.0).to_degrees();
        if angle.abs() > 90.0 {
            angle += 180.0;
        }
        let (fill, stroke, ink) = match look {
            Look::Engine => ("black", 1.0, "white"),
            Look::Handled => ("url(#hatch)", 2.2, "black"),
            Look::Plain => ("white", 0.9, "black"),
        };
        let _ = write!(
            out,
            "<g transform=\"translate({:.1} {:.1}) rotate({angle:.0})\"><rect x=\"{:.1}\" y=\"{:.1}\" width=\"{w:.1}\" height=\"{CAR}\" fill=\"{fill}\" stroke=\"black\" stroke-width=\"{stroke}\"/>",
            mid.0,
            mid.1,
            -w / 2.0,
            -CAR / 2.0
        );
        // No number is better than one that cannot be read.
        if label.chars().count() as f64 * 4.2 <= w {
            // A white plate keeps the number readable on hatching.
            let width = label.chars().count() as f64 * 4.4 + 1.0;
            if look == Look::Handled {
                let _ = write!(
                    out,
                    "<rect x=\"{:.1}\" y=\"-4\" width=\"{width:.1}\" height=\"8\" fill=\"white\"/>",
                    -width / 2.0
                );
            }
            let _ = write!(
                out,
                "<text y=\"2.8\" font-size=\"7.5\" text-anchor=\"middle\" fill=\"{ink}\">{}</text>",
                escape(label)
            );
        }
        out.push_str("</g>");
    }

    fn cars(&self, town: &Town, work: &Work, pic: &Picture, handled: &[u16], out: &mut String) {
        let length = |i: u16| item_length(work, i);
        let look = |i: u16| {
            if i as usize >= work.cars.len() {
                Look::Engine
            } else if handled.contains(&i) {
                Look::Handled
            } else {
                Look::Plain
            }
        };
        let label = |i: u16| -> String {
            match work.cars.get(i as usize) {
                // The number is what people look for on the side of a car.
                Some(c) => c
                    .name
                    .rsplit(' ')
                    .next()
                    .unwrap_or(&c.name)
                    .chars()
                    .take(6)
                    .collect(),
                None => "E".into(),
            }
        };
        for (p, list) in pic.places.iter().enumerate() {
            let place = &town.places[p];
            let id = crate::town::PlaceId(p as u16);
            let dirs = town.place_directions(id).unwrap_or_default();
            let row: Vec<(TrackId, bool)> = place.tracks.iter().copied().zip(dirs).collect();
            let total = town.place_length(id);
            // Loose cars are drawn away from the train, or at the bumper.
            let first = place.tracks[0];
            let last = place.tracks[place.tracks.len() - 1];
            let dead = |t: TrackId| {
                town.tracks[t.index()]
                    .ends
                    .iter()
                    .any(|e| town.nodes[e.node.index()].kind == NodeKind::End)
            };
            let touches = |t: TrackId| pic.tracks.contains(&t);
            let to_end_1 = if dead(last) && place.tracks.len() == 1 {
                let fwd = row[0].1;
                let far = town.tracks[last.index()].ends[usize::from(fwd)];
                town.nodes[far.node.index()].kind == NodeKind::End
            } else if touches(last) || touches(first) {
                // The train reaches in from one side; which one shows in the tracks next to it.
                let outside = |t: TrackId| {
                    pic.tracks.iter().any(|x| {
                        !place.tracks.contains(x)
                            && town.tracks[x.index()].ends.iter().any(|e| {
                                town.tracks[t.index()]
                                    .ends
                                    .iter()
                                    .any(|f| town.joined(*e, *f))
                            })
                    })
                };
                let front_end = town.tracks[first.index()].ends[usize::from(!row[0].1)];
                place.tracks.len() > 1 && outside(first) || {
                    pic.tracks.iter().any(|x| {
                        !place.tracks.contains(x)
                            && town.tracks[x.index()]
                                .ends
                                .iter()
                                .any(|e| town.joined(*e, front_end))
                    })
                }
            } else {
                dead(last)
            };
            // Positions: marked cars where they are, loose ones packed in the gaps between.
            let mut at: Vec<u32> = vec![0; list.len()];
            let mut i = 0;
            let mut from = 0;
            while i < list.len() {
                let mut j = i;
                while j < list.len() && list[j].1.is_none() {
                    j += 1;
                }
                let until = if j < list.len() {
                    list[j].1.unwrap_or(total)
                } else {
                    total
                };
                let sum: u32 = list[i..j].iter().map(|x| length(x.0)).sum();
                let mut x = if to_end_1 {
                    until.saturating_sub(sum).max(from)
                } else {
                    from
                };
                for k in i..j {
                    at[k] = x;
                    x += length(list[k].0);
                }
                if j < list.len() {
                    at[j] = until;
                    from = until + length(list[j].0);
                }
                i = j + 1;
            }
            for (&(item, _), &x) in list.iter().zip(&at) {
                let (a, b) = (f64::from(x), f64::from(x + length(item)));
                self.vehicle(town, &row, a, b, look(item), &label(item), out);
            }
        }
        let row = row_of(town, &pic.tracks, Some(pic.ahead));
        let mut x = pic.front_at;
        for &item in &pic.train {
            let (a, b) = (f64::from(x), f64::from(x + length(item)));
            self.vehicle(town, &row, a, b, look(item), &label(item), out);
            x += length(item);
        }
    }

    /// An arrow beside the train in the direction of its last run.
    fn arrow(&self, town: &Town, work: &Work, pic: &Picture, leg: &Leg, out: &mut String) {
        let row = row_of(town, &pic.tracks, Some(pic.ahead));
        let length: u32 = pic.train.iter().map(|&i| item_length(work, i)).sum();
        let a = self.along(town, &row, f64::from(pic.front_at)).0;
        let b = self.along(town, &row, f64::from(pic.front_at + length)).0;
        let (from, to) = if leg.leading == Side::Front {
            (b, a)
        } else {
            (a, b)
        };
        let len = ((to.0 - from.0).powi(2) + (to.1 - from.1).powi(2))
            .sqrt()
            .max(1.0);
        let (dx, dy) = ((to.0 - from.0) / len, (to.1 - from.1) / len);
        let tail = (
            f64::midpoint(a.0, b.0) - 14.0 * dx,
            a.1.min(b.1) - 12.0 - 14.0 * dy,
        );
        let tip = (tail.0 + 28.0 * dx, tail.1 + 28.0 * dy);
        let side = |s: f64| {
            (
                tip.0 - 7.0 * dx - s * 4.0 * dy,
                tip.1 - 7.0 * dy + s * 4.0 * dx,
            )
        };
        let (p, q) = (side(1.0), side(-1.0));
        let _ = write!(
            out,
            "<path d=\"M{:.1} {:.1}L{:.1} {:.1}\" stroke=\"black\" stroke-width=\"1.4\"/><path d=\"M{:.1} {:.1}L{:.1} {:.1}L{:.1} {:.1}z\"/>",
            tail.0, tail.1, tip.0, tip.1, tip.0, tip.1, p.0, p.1, q.0, q.1
        );
    }
}

#[derive(Clone, Copy, PartialEq)]
enum Look {
    Engine,
    Handled,
    Plain,
}

fn item_length(work: &Work, i: u16) -> u32 {
    match work.cars.get(i as usize) {
        Some(c) => c.length,
        None if i as usize == work.cars.len() => work.train.engine.length,
        None => work.spare.as_ref().map_or(0, |s| s.engine.length),
    }
}

/// Tracks in a row with the way each is passed, from the front.
fn row_of(town: &Town, tracks: &[TrackId], ahead: Option<TrackEnd>) -> Vec<(TrackId, bool)> {
    for first in [true, false] {
        let t = &town.tracks[tracks[0].index()];
        // Passed forward, it is entered at its first end.
        if tracks.len() == 1 && ahead.is_some_and(|a| a != t.ends[usize::from(!first)]) {
            continue;
        }
        let mut row = vec![(tracks[0], first)];
        let mut near = t.ends[usize::from(first)];
        for &x in &tracks[1..] {
            let t = &town.tracks[x.index()];
            let Some(n) = (0..2).find(|&n| town.joined(near, t.ends[n])) else {
                break;
            };
            row.push((x, n == 0));
            near = t.ends[1 - n];
        }
        if row.len() == tracks.len() {
            return row;
        }
    }
    tracks.iter().map(|&t| (t, true)).collect()
}

/// Straight lines between the owner's points, if every node has one.
fn owner_lines(town: &Town) -> Option<Vec<Vec<Point>>> {
    town.tracks
        .iter()
        .map(|t| {
            let at = |e: TrackEnd| town.nodes[e.node.index()].xy;
            Some(vec![at(t.ends[0])?, at(t.ends[1])?])
        })
        .collect()
}

/// A drawing worked out from the connections: along the page in one direction of travel, each
/// chain of straight-through track on a lane of its own.
fn laid_out(town: &Town) -> Vec<Vec<Point>> {
    let n = town.tracks.len();
    // One direction of travel for every track, as far as it can be kept.
    let mut forward: Vec<Option<bool>> = vec![None; n];
    for first in 0..n {
        if forward[first].is_some() {
            continue;
        }
        let mut open = vec![(first, true)];
        while let Some((t, f)) = open.pop() {
            if forward[t].is_some() {
                continue;
            }
            forward[t] = Some(f);
            for (e, end) in town.tracks[t].ends.iter().enumerate() {
                for (u, other) in town.tracks.iter().enumerate() {
                    for (g, there) in other.ends.iter().enumerate() {
                        if (u, g) != (t, e) && town.joined(*end, *there) {
                            // Leaving by end e, entering by end g: same sense if e != g.
                            open.push((u, if e == g { !f } else { f }));
                        }
                    }
                }
            }
        }
    }
    let ends = |t: usize| {
        let e = town.tracks[t].ends;
        if forward[t].unwrap_or(true) {
            (e[0].node, e[1].node)
        } else {
            (e[1].node, e[0].node)
        }
    };
    // Along: longest way from the start; short tracks get room for a label, long ones are cut.
    let mut x = vec![0.0f64; town.nodes.len()];
    for _ in 0..town.nodes.len() {
        for t in 0..n {
            let (a, b) = ends(t);
            let len = f64::from(town.tracks[t].length);
            let w = if len == 0.0 {
                8.0
            } else {
                len.clamp(60.0, 700.0)
            };
            if x[a.index()] + w > x[b.index()] && x[b.index()] < 1e5 {
                x[b.index()] = x[a.index()] + w;
            }
        }
    }
    // Spurs against the direction of travel end just where their length puts them.
    for t in 0..n {
        let (a, b) = ends(t);
        if town.nodes[a.index()].kind == NodeKind::End {
            x[a.index()] = x[b.index()] - f64::from(town.tracks[t].length).clamp(60.0, 700.0);
        }
    }
    // Chains: the main together, then straight through normal legs.
    let mut chain: Vec<usize> = (0..n).collect();
    let find = |chain: &Vec<usize>, mut t: usize| {
        while chain[t] != t {
            t = chain[t];
        }
        t
    };
    for t in 0..n {
        for u in 0..n {
            let through = town.tracks[t].ends.iter().any(|a| {
                town.tracks[u].ends.iter().any(|b| {
                    town.joined(*a, *b)
                        && a.port != Port::Reverse
                        && b.port != Port::Reverse
                        && town.tracks[t].main == town.tracks[u].main
                })
            });
            if t != u && (through || (town.tracks[t].main && town.tracks[u].main)) {
                let (a, b) = (find(&chain, t), find(&chain, u));
                chain[a.max(b)] = a.min(b);
            }
        }
    }
    let roots: Vec<usize> = (0..n).map(|t| find(&chain, t)).collect();
    let base = (0..n)
        .find(|&t| town.tracks[t].main)
        .map_or(roots[0], |t| roots[t]);
    // Lanes: the base on 0, others as near as they fit, each beyond the chain it leaves from.
    let span = |c: usize| {
        (0..n)
            .filter(|&t| roots[t] == c)
            .fold((f64::MAX, f64::MIN), |s, t| {
                let (a, b) = ends(t);
                let (p, q) = (x[a.index()], x[b.index()]);
                (s.0.min(p.min(q)), s.1.max(p.max(q)))
            })
    };
    let mut lane: Vec<Option<i32>> = vec![None; n];
    lane[base] = Some(0);
    let mut order: Vec<usize> = (0..n).filter(|&t| roots[t] == t && t != base).collect();
    let mut progress = true;
    while progress && !order.is_empty() {
        progress = false;
        for k in 0..order.len() {
            let c = order[k];
            let parent = (0..n).filter(|&t| roots[t] == c).find_map(|t| {
                (0..n).find_map(|u| {
                    let meets = town.tracks[t]
                        .ends
                        .iter()
                        .any(|a| town.tracks[u].ends.iter().any(|b| town.joined(*a, *b)));
                    if meets && roots[u] != c {
                        lane[roots[u]]
                    } else {
                        None
                    }
                })
            });
            let Some(p) = parent else { continue };
            let (lo, hi) = span(c);
            let free = |l: i32| {
                !(0..n).any(|d| {
                    roots[d] == d && lane[d] == Some(l) && {
                        let s = span(d);
                        lo < s.1 + 20.0 && s.0 < hi + 20.0
                    }
                })
            };
            let tries: Vec<i32> = match p {
                0 => (1..20).flat_map(|l| [-l, l]).collect(),
                p => (1..20).map(|l| p + l * p.signum()).collect(),
            };
            lane[c] = tries.into_iter().find(|&l| free(l)).or(Some(p + 1));
            order.remove(k);
            progress = true;
            break;
        }
    }
    for c in order {
        lane[c] = Some(1);
    }
    // A node lies on the lane of its points (or its only) track.
    let node_y = |node: crate::town::NodeId| {
        let at = (0..n).find_map(|t| {
            town.tracks[t]
                .ends
                .iter()
                .find(|e| e.node == node && matches!(e.port, Port::Points | Port::Through))
                .map(|_| t)
        });
        f64::from(at.and_then(|t| lane[roots[t]]).unwrap_or(0)) * LANE
    };
    (0..n)
        .map(|t| {
            let track = &town.tracks[t];
            let y = f64::from(lane[roots[t]].unwrap_or(0)) * LANE;
            let [a, b] = track.ends.map(|e| (x[e.node.index()], node_y(e.node)));
            let sign = if b.0 >= a.0 { 1.0 } else { -1.0 };
            let slope = ((b.0 - a.0).abs() / 3.0).min(50.0) * sign;
            let mut line = vec![a];
            if (a.1 - y).abs() > 0.1 {
                line.push((a.0 + slope, y));
            }
            if (b.1 - y).abs() > 0.1 {
                line.push((b.0 - slope, y));
            }
            line.push(b);
            line
        })
        .collect()
}
