//! A track with the turnouts that lie on it.

use super::{
    Amount, Junction, Plan, Route, Side, Site, Style,
    plan::{Axis, Draft},
    turnouts::{diverging, junction},
};
use crate::curve::Path;

/// A turnout on a track.
#[derive(Debug, Clone, PartialEq)]
pub struct OnTrack {
    /// Its name.
    pub name: String,
    /// Where its points are, metres along the track.
    pub at: f64,
    /// Whether they are faced on the way along the track.
    pub facing: bool,
    /// To which hand it diverges, seen from its points.
    pub side: Side,
    /// Frog number.
    pub number: f64,
}

/// A track with its turnouts, each as far as its diverging track has ties of its own.
///
/// # Errors
/// What does not fit together, and at which turnout.
pub fn along(
    style: &Style,
    title: impl Into<String>,
    track: &Path,
    turnouts: &[OnTrack],
) -> Result<Plan, String> {
    let length = track.length();
    let back = track.reversed();
    let mut routes = vec![Route::smooth("track", track.clone())];
    let mut junctions: Vec<Junction> = Vec::new();
    let mut head_blocks = Vec::new();
    let mut facts = Vec::new();
    let mut frog = (1.0, [0.0; 2]);
    for one in turnouts {
        let wrong = |error: String| format!("switch {}: {error}", one.name);
        let host = if one.facing { track } else { &back };
        let at = if one.facing { one.at } else { length - one.at };
        let site = Site::on(host, at);
        let proportions = style.build.proportions(one.number).map_err(wrong)?;
        let fitted = style
            .fit(&site, &proportions, one.side, one.number, 1.0)
            .map_err(wrong)?;
        if one.number > frog.0 {
            frog = (one.number, [proportions.given.toe, proportions.heel]);
        }
        // Of the track itself as much as there is before the points.
        let from = site.points - style.before().min(at);
        let stretch = site
            .line
            .part(from, site.points + fitted.solved.lead + style.before());
        let mut route = diverging(&one.name, &stretch, from, &fitted);
        let index = routes.len();
        let mut joint = junction(0, index, one.side, &fitted);
        if !one.facing {
            route = route.reversed();
            joint.facing = false;
            joint.side = one.side.other();
        }
        head_blocks.push((one.at, -joint.side.sign()));
        routes.push(route);
        junctions.push(joint);
        facts.push((
            format!(
                "{}: No. {}, points from the beginning of the track",
                one.name, one.number
            ),
            one.at,
        ));
        facts.push((
            format!("{}: lead, points to theoretical point of frog", one.name),
            fitted.solved.lead,
        ));
    }
    if frog.1[0] <= 0.0 {
        frog = (
            6.0,
            [0.2, 0.21].map(|share| 6.0 * share * style.build.clearances.gauge),
        );
    }
    let all = (0..routes.len()).collect();
    let mut plan = Draft {
        title: title.into(),
        build: &style.build,
        feed: style.feed,
        tie_table: style.ties,
        routes,
        junctions,
        frog,
        axes: vec![Axis {
            line: track.clone(),
            reach: [0.0, length],
            routes: all,
            head_blocks,
        }],
    }
    .finish();
    plan.fact("length of the track", Amount::Length(length));
    for (what, metres) in facts {
        plan.fact(what, Amount::Length(metres));
    }
    plan.clearance_facts();
    Ok(plan)
}
