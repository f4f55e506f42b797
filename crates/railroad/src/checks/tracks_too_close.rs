//! Two tracks are too close for cars to pass.

use model::{Rule, Severity};

use std::collections::BTreeMap;

use engineering::alignment::near::Spots;
use model::{Diagnostics, units::Actual};

use super::{
    context::Context,
    swings::{fine, swing, widest_swing},
};

/// Two tracks are too close for cars to pass.
pub static RULE: Rule = Rule {
    code: "tracks-too-close",
    severity: Severity::Warning,
    title: "Two tracks are too close for cars to pass.",
    explain: "On a curve the middle of a car swings inward and its corners outward, so that \
        tracks that do on the straight no longer do. Between the sides of the longest \
        car on the one and the longest on the other there must be room, `car_gap` \
        under `[limits]`; 1 ft full size if that is left out (common practice, no \
        source). The swing is reckoned from the body, truck centers and width of that \
        car, everywhere along both tracks but within the clearance point of the \
        turnout that joins them.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
name = "outer"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [{ tangent = "2 ft" }, { left = "24 in", angle = 90 }, { tangent = "2 ft" }]

[[center_lines]]
name = "inner"
begin = { at = ["1 ft", "2 ft 1 5/8 in"], bearing = 90 }
elements = [{ parallel = "outer", centers = "1 5/8 in" }]
"#,
    rendered: r#"
warning[tracks-too-close]: `outer` and `inner` are 1.62 in (41.3 mm) apart where SMR 101 passing another like it needs 1.73 in (43.9 mm)
 --> alignments/house.toml:9:15
  |
4 | elements = [{ tangent = "2 ft" }, { left = "24 in", angle = 90 }, { tangent = "2 ft" }]
  |                                     -------------------------- beside this
...
9 | elements = [{ parallel = "outer", centers = "1 5/8 in" }]
  |               ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ 0.10 in (2.6 mm) wanting, at 4'-3 1/2" along it
  |
  = help: set them farther apart there, or keep such cars off one of them
"#,
    file: file!(),
};

pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let way = &context.road.way;
    let located = &way.located;
    let Some(body) = widest_swing(context) else {
        return;
    };
    if located.described.len() < 2 {
        return;
    }
    let limits = context.road.network.limits();
    let gap = limits.plan.between_cars.meters();
    let side = (body.width.meters() * 2.5).max(limits.track_centers.meters());
    let spots = Spots::new(way, limits, 0.025, side);
    let mut worst: BTreeMap<(usize, usize), Worst> = BTreeMap::new();
    for spot in spots.spots() {
        for near in spots.near(spot) {
            // Each pair once.
            if near.other.line < spot.line || !spots.apart(spot, &near.other) {
                continue;
            }
            let heights = [spot, &near.other].map(|spot| located.elevation(spot.line, spot.s));
            if let [Some(a), Some(b)] = heights
                && (a - b).abs() > limits.plan.overhead.meters() / 3.0
            {
                continue;
            }
            let to_right =
                (spot.place.point() - near.other.place.point()).dot(near.other.place.left()) < 0.0;
            let one = swing(&body, spot.place.curvature, near.left);
            let other = swing(&body, near.other.place.curvature, !to_right);
            let needed = body.width.meters() + gap + one + other;
            let short = needed - near.apart;
            if short < 1e-4 {
                continue;
            }
            let entry = worst.entry((spot.line, near.other.line)).or_insert(Worst {
                short: 0.0,
                at: [0.0; 2],
                apart: 0.0,
                needed: 0.0,
            });
            if short > entry.short {
                *entry = Worst {
                    short,
                    at: [spot.s, near.other.s],
                    apart: near.apart,
                    needed,
                };
            }
        }
    }
    for ((one, other), worst) in worst {
        let show = |metres: f64| fine(metres);
        let name = |line: usize| &located.described[line].name.value;
        let message = format!(
            "`{}` and `{}` are {} apart where {} passing another like it needs {}",
            name(one),
            name(other),
            show(worst.apart),
            body.name,
            show(worst.needed)
        );
        out.push(
            RULE.at(located.span_at(other, worst.at[1]), message)
                .label(format!(
                    "{} wanting, at {} along it",
                    show(worst.short),
                    context.show(Actual::from_meters(worst.at[1]))
                ))
                .also(located.span_at(one, worst.at[0]), "beside this")
                .help("set them farther apart there, or keep such cars off one of them"),
        );
    }
}

struct Worst {
    short: f64,
    at: [f64; 2],
    apart: f64,
    needed: f64,
}
