//! Turnouts: lateral to either hand, equilateral, three-way; in straight track or along any center line.

use super::{
    Build, FrogStyle, Junction, Leg, Plan, PointStyle, Proportions, Route, Side, Solved, Wanted,
    plan::{Amount, Axis, Draft, Feed, Offset, TRY_THE_GAUGE},
    ties::TieTable,
};
use crate::{
    clearance::frog_angle,
    curve::{Path, Piece, Place},
};

/// What every plan is built by.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Style {
    /// Proportions, clearances, rail.
    pub build: Build,
    /// How frogs are fed.
    pub feed: Feed,
    /// Ties.
    pub ties: TieTable,
}

/// Where a turnout lies: the center line of its straight route and the distance along it of the points.
#[derive(Debug, Clone, PartialEq)]
pub struct Site {
    /// The center line, which runs the way the points are faced.
    pub line: Path,
    /// Where the points are, metres.
    pub points: f64,
}

impl Site {
    /// In straight track, the points at the origin.
    pub fn straight() -> Self {
        Self::curved(0.0)
    }

    /// On a track that may begin and end near the points: it is taken to go on straight.
    pub fn on(track: &Path, points: f64) -> Self {
        let Some((begin, end)) = track.begin().zip(track.end()) else {
            return Self::straight();
        };
        let reach = 3.0;
        let mut before = Piece::tangent(begin.reversed(), reach).reversed();
        before.heading = begin.heading;
        let mut line = Path::new([before]);
        for piece in track.pieces() {
            line.push(*piece);
        }
        line.push(Piece::tangent(end, reach));
        Self {
            line,
            points: points + reach,
        }
    }

    /// On a curve of a curvature, 1/m, positive to the left.
    pub fn curved(curvature: f64) -> Self {
        // Less than half way round, so that nothing is near it twice.
        let [back, ahead] = [1.0, 2.0].map(|turn| (turn / curvature.abs().max(1e-9)).min(FAR));
        let before = Piece::arc(Place::new(0.0, 0.0, std::f64::consts::PI), back, -curvature);
        let after = Piece::arc(Place::new(0.0, 0.0, 0.0), ahead, curvature);
        let mut before = before.reversed();
        before.heading -= std::f64::consts::TAU;
        Self {
            line: Path::new([before, after]),
            points: back,
        }
    }
}

/// How far a site reaches before its points and beyond, metres: more than any turnout is long.
const FAR: f64 = 50.0;

/// One side of a turnout, fitted.
pub(super) struct Fitted {
    pub(super) leg: Leg,
    pub(super) solved: Solved,
    /// Distances along the leg of points and heel, where points of a turnout that curves all the way
    /// are given the length over which they spread.
    pub(super) points: [f64; 2],
}

impl Style {
    /// How far track goes on before the points.
    pub(super) fn before(&self) -> f64 {
        let size = self
            .ties
            .size(self.build.clearances.gauge, self.build.ratio);
        4.0 * size.spacing
    }

    /// How far beyond the theoretical point of frog tracks part by more than ties are long.
    fn beyond(&self, number: f64) -> f64 {
        let gauge = self.build.clearances.gauge;
        let size = self.ties.size(gauge, self.build.ratio);
        number * (1.1 * size.length - gauge) + 5.0 * size.spacing
    }

    /// Fits one side to a center line.
    pub(super) fn fit(
        &self,
        site: &Site,
        proportions: &Proportions,
        side: Side,
        number: f64,
        share: f64,
    ) -> Result<Fitted, String> {
        let gauge = self.build.clearances.gauge;
        let mut given = proportions.given;
        given.across *= share;
        given.heel *= share;
        given.thickness *= share;
        given.angle *= share;
        let wanted = Wanted {
            given,
            half_gauge: 0.5 * gauge,
            side: side.sign(),
            point: site.points,
            beyond: [proportions.heel, self.beyond(number) - proportions.heel],
            curved_frog: self.build.frog == FrogStyle::Curved && self.build.cast.is_none(),
        };
        let (leg, solved) = wanted.fit(&site.line)?;
        let mut points = [leg.marks[0], leg.marks[1]];
        if given.points <= 0.0 {
            let spread = share * self.build.spread();
            points[1] = points[0] + (2.0 * leg.radius * spread).sqrt();
        }
        Ok(Fitted {
            leg,
            solved,
            points,
        })
    }

    /// The through route, from a little before the points to where tracks have parted.
    fn host(&self, site: &Site, reach: [f64; 2]) -> Path {
        site.line.part(reach[0], reach[1])
    }
}

/// The route that turns off: the site as far as where the leg leaves it, then the leg.
pub(super) fn diverging(name: &str, host: &Path, from: f64, fitted: &Fitted) -> Route {
    let leaves = fitted.leg.leaves - from;
    if fitted.solved.switch_angle > 0.0 {
        let mut route = Route::smooth(name, host.clone());
        route.bend(fitted.leg.path.clone(), [leaves, 0.0]);
        return route;
    }
    let mut path = host.part(0.0, leaves);
    for piece in fitted.leg.path.pieces() {
        path.push(*piece);
    }
    Route::smooth(name, path)
}

/// Two places of a leg as points of the plan.
pub(super) fn junction(through: usize, diverging: usize, side: Side, fitted: &Fitted) -> Junction {
    let at = |s: f64| {
        let place = fitted
            .leg
            .path
            .at(s)
            .unwrap_or_else(|| Place::new(0.0, 0.0, 0.0));
        place.point()
    };
    Junction {
        through,
        diverging,
        side,
        facing: true,
        point: at(fitted.points[0]),
        heel: at(fitted.points[1]),
    }
}

pub(super) fn hand_word(side: Side) -> &'static str {
    match side {
        Side::Left => "left",
        Side::Right => "right",
    }
}

/// A turnout that leaves its track to one side.
///
/// # Errors
/// What does not fit together.
pub fn lateral(style: &Style, number: f64, side: Side, site: &Site) -> Result<Plan, String> {
    let proportions = style.build.proportions(number)?;
    let fitted = style.fit(site, &proportions, side, number, 1.0)?;
    let from = site.points - style.before();
    let to = site.points + fitted.solved.lead + style.beyond(number);
    let host = style.host(site, [from, to]);
    let routes = vec![
        Route::smooth("straight", host.clone()),
        diverging("diverging", &host, from, &fitted),
    ];
    let mut plan = Draft {
        title: format!("turnout No. {number}, {} hand", hand_word(side)),
        build: &style.build,
        feed: style.feed,
        tie_table: style.ties,
        routes,
        junctions: vec![junction(0, 1, side, &fitted)],
        frog: (number, [proportions.given.toe, proportions.heel]),
        axes: vec![Axis {
            line: host.clone(),
            reach: [0.0, to - from],
            routes: vec![0, 1],
            head_blocks: vec![(style.before(), -side.sign())],
        }],
    }
    .finish();
    let curvature = site
        .line
        .at(site.points)
        .map_or(0.0, |place| place.curvature);
    facts(&mut plan, style, number, &proportions, &fitted);
    if curvature.abs() > 1e-9 {
        plan.fact(
            "radius of the through track",
            Amount::Length(1.0 / curvature.abs()),
        );
        let inside = curvature * side.sign() > 0.0;
        plan.notes.push(if inside {
            "Curved with its track: the diverging track leaves to the inside.".into()
        } else {
            "Curved against its track: the diverging track leaves to the outside.".into()
        });
        plan.title = format!(
            "curved turnout No. {number}, {} hand{}",
            hand_word(side),
            if inside { "" } else { ", to the outside" }
        );
    }
    plan.offsets = offsets(&fitted, &host, side, &style.build);
    Ok(plan)
}

/// A turnout whose tracks turn alike, one to each side.
///
/// # Errors
/// What does not fit together.
pub fn equilateral(style: &Style, number: f64, site: &Site) -> Result<Plan, String> {
    let proportions = style.build.proportions(number)?;
    let left = style.fit(site, &proportions, Side::Left, number, 0.5)?;
    let right = style.fit(site, &proportions, Side::Right, number, 0.5)?;
    let from = site.points - style.before();
    let to = site.points + left.solved.lead + style.beyond(number);
    let host = style.host(site, [from, to]);
    let routes = vec![
        diverging("left", &host, from, &left),
        diverging("right", &host, from, &right),
    ];
    let mut plan = Draft {
        title: format!("equilateral turnout No. {number}"),
        build: &style.build,
        feed: style.feed,
        tie_table: style.ties,
        routes,
        junctions: vec![junction(1, 0, Side::Left, &left)],
        frog: (number, [proportions.given.toe, proportions.heel]),
        axes: vec![Axis {
            line: host.clone(),
            reach: [0.0, to - from],
            routes: vec![0, 1],
            head_blocks: vec![(style.before(), -1.0)],
        }],
    }
    .finish();
    facts(&mut plan, style, number, &proportions, &left);
    plan.notes.push(
        "Each track turns by half the frog angle; offsets are from the stock rail's own tangent."
            .into(),
    );
    plan.offsets = offsets(&left, &host, Side::Left, &style.build);
    Ok(plan)
}

/// Two turnouts laid into each other: one track goes on, one leaves to each side. The second pair of
/// points begins `stagger` metres beyond the first; if none is given, half a tie beyond their heel.
///
/// # Errors
/// What does not fit together.
pub fn three_way(
    style: &Style,
    number: f64,
    first: Side,
    stagger: Option<f64>,
    site: &Site,
) -> Result<Plan, String> {
    let proportions = style.build.proportions(number)?;
    let one = style.fit(site, &proportions, first, number, 1.0)?;
    let size = style
        .ties
        .size(style.build.clearances.gauge, style.build.ratio);
    let least = one.points[1] - one.points[0];
    let stagger = stagger.unwrap_or(least + 2.0 * size.spacing);
    if stagger < least {
        return Err(format!(
            "the second points would lie among the first: they are {:.1} mm long, the stagger is {:.1} mm",
            least * 1000.0,
            stagger * 1000.0
        ));
    }
    let second_site = Site {
        points: site.points + stagger,
        ..site.clone()
    };
    let two = style.fit(&second_site, &proportions, first.other(), number, 1.0)?;
    let from = site.points - style.before();
    let to = second_site.points + two.solved.lead + style.beyond(number);
    let host = style.host(site, [from, to]);
    let routes = vec![
        Route::smooth("straight", host.clone()),
        diverging(hand_word(first), &host, from, &one),
        diverging(hand_word(first.other()), &host, from, &two),
    ];
    let mut plan = Draft {
        title: format!(
            "three-way turnout No. {number}, {} hand first",
            hand_word(first)
        ),
        build: &style.build,
        feed: style.feed,
        tie_table: style.ties,
        routes,
        junctions: vec![
            junction(0, 1, first, &one),
            junction(0, 2, first.other(), &two),
        ],
        frog: (number, [proportions.given.toe, proportions.heel]),
        axes: vec![Axis {
            line: host.clone(),
            reach: [0.0, to - from],
            routes: vec![0, 1, 2],
            head_blocks: vec![
                (style.before(), -first.sign()),
                (style.before() + stagger, first.sign()),
            ],
        }],
    }
    .finish();
    facts(&mut plan, style, number, &proportions, &one);
    plan.fact("second points beyond the first", Amount::Length(stagger));
    plan.offsets = offsets(&one, &host, first, &style.build);
    plan.notes.push(TRY_THE_GAUGE.into());
    Ok(plan)
}

/// The dimensions of a turnout.
pub(super) fn facts(
    plan: &mut Plan,
    style: &Style,
    number: f64,
    proportions: &Proportions,
    fitted: &Fitted,
) {
    let build = &style.build;
    let solved = &fitted.solved;
    let given = &proportions.given;
    let half = 0.5 * build.clearances.gauge;
    plan.fact("frog number", Amount::Number(number));
    plan.fact(
        "frog angle, 2·atan(1/2N)",
        Amount::Angle(frog_angle(number).radians()),
    );
    plan.fact(
        "lead, points to theoretical point of frog (PF)",
        Amount::Length(solved.lead),
    );
    plan.fact(
        "lead, points to blunt point of frog",
        Amount::Length(solved.lead + plan.frogs.first().map_or(0.0, |frog| frog.blunt)),
    );
    plan.fact(
        "length of points, tip (PS) to heel",
        Amount::Length(fitted.points[1] - fitted.points[0]),
    );
    if solved.switch_angle > 0.0 {
        plan.fact("switch angle", Amount::Angle(solved.switch_angle));
    } else {
        let radius = if solved.point_radius.is_finite() {
            solved.point_radius
        } else {
            solved.radius
        };
        plan.fact("radius of points, gauge line", Amount::Length(radius));
    }
    let spread = if given.points > 0.0 {
        given.heel
    } else {
        build.spread()
    };
    plan.fact("spread at heel of points", Amount::Length(spread));
    plan.fact("throw of points", Amount::Length(build.clearances.throw()));
    plan.fact(
        "closure radius, outer gauge line",
        Amount::Length(solved.radius),
    );
    plan.fact(
        "closure radius, center line",
        Amount::Length(solved.radius - half),
    );
    plan.fact(
        "length of closure curve, outer gauge line",
        Amount::Length(solved.arc),
    );
    for (which, tangent) in ["heel", "toe"].iter().zip(given.tangents) {
        if tangent > 0.0 {
            plan.fact(
                format!("tangent at the {which} of the closure"),
                Amount::Length(tangent),
            );
        }
    }
    plan.fact("frog, theoretical point to toe", Amount::Length(given.toe));
    plan.fact(
        "frog, theoretical point to heel",
        Amount::Length(proportions.heel),
    );
    plan.clearance_facts();
    if proportions.spread_widened {
        plan.notes.push(
            "The scale heel spread would not let a wheel of this standard by: it has been widened."
                .into(),
        );
    }
    if build.points == PointStyle::Curved || given.points <= 0.0 {
        plan.notes
            .push("Curved points: bend the rail to the radius before planing it.".into());
    }
}

/// Where the curved closure rail lies from the stock rail on the same side of the points.
pub(super) fn offsets(fitted: &Fitted, host: &Path, side: Side, build: &Build) -> Vec<Offset> {
    let half = 0.5 * build.clearances.gauge;
    let stock = Route::smooth("", host.clone()).line(-side.sign() * half);
    let leg = &fitted.leg;
    let [tip, heel] = fitted.points;
    let (end, frog) = (leg.marks[2], leg.marks[3]);
    let mut places: Vec<(String, f64)> = vec![
        ("points (PS)".into(), tip),
        ("middle of points".into(), 0.5 * (tip + heel)),
        ("heel of points".into(), heel),
    ];
    for (name, share) in [
        ("first quarter", 0.25),
        ("middle", 0.5),
        ("third quarter", 0.75),
    ] {
        places.push((format!("closure, {name}"), heel + share * (end - heel)));
    }
    if end < frog - 1e-9 {
        places.push(("toe of frog, end of curve".into(), end));
    }
    places.push(("theoretical point of frog (PF)".into(), frog));
    let at = |s: f64| {
        let there = leg.path.at(s)?;
        Some(stock.project(there.point() - there.left() * (side.sign() * half)))
    };
    let Some((zero, _)) = at(tip) else {
        return Vec::new();
    };
    places
        .into_iter()
        .filter_map(|(place, s)| {
            let (along, aside) = at(s)?;
            Some(Offset {
                place,
                along: stock.length_between(zero, along),
                aside: aside.abs(),
            })
        })
        .collect()
}
