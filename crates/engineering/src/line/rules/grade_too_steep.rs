//! A grade is steeper than the limit.

use model::{Rule, Severity};

use model::units::{Actual, Grade, GradeStyle};

use crate::{check::Check, ids::TrackRef, profile::node_levels, station::TrackUse};

/// A grade is steeper than the limit.
pub static RULE: Rule = Rule {
    code: "grade-too-steep",
    severity: Severity::Warning,
    title: "A grade is steeper than the limit.",
    explain: "The limit is the `grade` of the line, or that under `[limits]` in `railroad.toml`. \
        Lengthen the climb, lower its top, or raise the limit and accept shorter trains.",
    fixture: r#"
--- lines/main.toml
name = "Main"
grade = "1 %"

[[open]]
from = "Alder"
to = "Birch"
length = "10 ft"
elevation = ["40 in", "42 in"]
"#,
    rendered: r#"
warning[grade-too-steep]: the open line climbs 2" in 10'-0": 1.67% where 1.00% is the limit
 --> lines/main.toml:8:24
  |
8 | elevation = ["40 in", "42 in"]
  |                        ^^^^^
  |
  = help: in that length the limit allows 1 1/4"
"#,
    file: file!(),
};

/// To the hundredth of a percent, so that a grade just above its limit does not print as the limit.
const STYLE: GradeStyle = GradeStyle::Percent { decimals: 2 };

/// What rounding of lengths as written may add to a grade.
const ROUNDING: f64 = 5e-5;

pub(crate) fn check(check: &mut Check<'_>) {
    open_lines(check);
    stations(check);
}

fn open_lines(check: &mut Check<'_>) {
    let way = check.way;
    for (id, open) in way.opens() {
        let Some(limit) = way.line(id.line).grade.or(check.limits.grade) else { continue };
        let Some([from, to]) = open.elevation else { continue };
        let begin = (Actual::ZERO, from);
        let points = open.profile.iter().map(|[at, elevation]| (at.value, *elevation));
        let points: Vec<_> = std::iter::once(begin).chain(points).chain([(open.run(), to)]).collect();
        for pair in points.windows(2) {
            let run = pair[1].0 - pair[0].0;
            let rise = pair[1].1.value - pair[0].1.value;
            let Some(grade) = Grade::of_actual(rise, run).filter(|_| run > Actual::ZERO) else { continue };
            if grade.ratio().abs() <= limit.ratio() + ROUNDING {
                continue;
            }
            let climb = if rise > Actual::ZERO { "climbs" } else { "falls" };
            check.out.push(
                RULE.at(
                    pair[1].1.span,
                    format!(
                        "the open line {climb} {} in {}: {} where {} is the limit",
                        check.show(rise.abs()),
                        check.show(run),
                        Grade::from_ratio(grade.ratio().abs()).show(STYLE),
                        limit.show(STYLE)
                    ),
                )
                .help(format!("in that length the limit allows {}", check.show(run * limit.ratio()))),
            );
        }
    }
}

fn stations(check: &mut Check<'_>) {
    let (way, network) = (check.way, check.network);
    for (id, station) in way.stations() {
        let limit = station.line().and_then(|line| way.line(line).grade).or(check.limits.grade);
        let Some(limit) = limit else { continue };
        // Where everything lies at one height nothing can be steep.
        let level = station.elevation.is_some()
            && station.elevations.is_empty()
            && station.tracks.iter().all(|track| track.elevation.is_none());
        if level {
            continue;
        }
        let levels = node_levels(way, network, id);
        let first = network.station_nodes(id).next().map_or(0, |node| node.0);
        for (track_id, track) in station.tracks() {
            if track.usage == TrackUse::Tail {
                continue;
            }
            let edges = network.track_edges(TrackRef { station: id, track: track_id });
            let worst = edges
                .iter()
                .filter_map(|edge| {
                    let edge = network.edge(*edge);
                    let [low, high] =
                        edge.ends.map(|(node, _)| levels[(node.0 - first) as usize].map(|level| level.elevation));
                    Grade::of_actual(high? - low?, edge.length).filter(|_| edge.length > Actual::ZERO)
                })
                .map(|grade| grade.ratio().abs())
                .fold(0.0, f64::max);
            if worst <= limit.ratio() + ROUNDING {
                continue;
            }
            let place = track.elevation.map_or(track.name.span, |ends| ends[0].span);
            check.out.push(
                RULE.at(
                    place,
                    format!(
                        "the track `{}` of {} lies on {} where {} is the limit",
                        track.name.value,
                        station.name.value,
                        Grade::from_ratio(worst).show(STYLE),
                        limit.show(STYLE)
                    ),
                )
                .help(format!(
                    "over its whole length it may rise {}",
                    check.show(track.run() * limit.ratio())
                )),
            );
        }
    }
}
