//! Over a change of grade the couplers of long cars part in height.

use model::{Rule, Severity};

use engineering::alignment::{GradeStep, Vertical};
use mechanical::fit::Body;
use model::{Diagnostics, units::Actual};

use super::{context::Context, swings::fine};

/// Over a change of grade the couplers of long cars part in height.
pub static RULE: Rule = Rule {
    code: "couplers-part-over-grade",
    severity: Severity::Warning,
    title: "Over a change of grade the couplers of long cars part in height.",
    explain: "Where the grade changes, the end of a long car stands above or below that of \
        the next, and knuckles slip over one another. Two of the longest cars are set, \
        coupled, at every place along the grade points of the alignment; their \
        couplers may differ by `coupler_difference` under `[limits]`, 3 in full size \
        if that is left out (what the Safety Appliance Acts allow in the height of \
        drawbars; from memory). A longer vertical curve takes it up.",
    fixture: r#"
--- alignments/house.toml
[[center_lines]]
track = "Alder / main"
begin = { at = ["1 ft", "2 ft"], bearing = 90 }
elements = [{ tangent = "14 ft" }]
grades = [{ elevation = "40 in" }, { at = "7 ft", elevation = "40 in" }, { elevation = "45 in" }]
"#,
    rendered: r#"
warning[couplers-part-over-grade]: at 7'-0" along `Alder / main` the couplers of two cars like SMR 101 stand 0.06 in (1.5 mm) apart in height; 0.03 in (0.9 mm) is the limit
 --> alignments/house.toml:5:38
  |
5 | grades = [{ elevation = "40 in" }, { at = "7 ft", elevation = "40 in" }, { elevation = "45 in" }]
  |                                      ^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^
  |
  = help: a vertical curve of 4 1/4" would do
"#,
    file: file!(),
};

pub(crate) fn check(context: &Context<'_>, out: &mut Diagnostics) {
    let located = &context.road.way.located;
    let Some((name, car)) = longest(context) else {
        return;
    };
    let limit = context.road.network.limits().plan.couplers.meters();
    for (line, _) in located.laid() {
        let described = &located.described[line];
        // Of heights from other pages the vertical curves are not known.
        if described.grades.len() < 3 {
            continue;
        }
        let Some(heights) = located.heights.get(line) else {
            continue;
        };
        for at in 1..heights.points().len().saturating_sub(1) {
            let part = apart(heights, at, car);
            if part <= limit + 1e-6 {
                continue;
            }
            let point = heights.points()[at];
            let step = described.grades.iter().min_by(|a, b| {
                let off = |step: &GradeStep| {
                    step.at
                        .map_or(f64::INFINITY, |s| (s.meters() - point.at).abs())
                };
                off(a).total_cmp(&off(b))
            });
            let message = format!(
                "at {} along `{}` the couplers of two cars like {name} stand {} apart in height; {} is the limit",
                context.show(Actual::from_meters(point.at)),
                described.name.value,
                fine(part),
                fine(limit)
            );
            let found = RULE.at(step.map_or(described.name.span, |step| step.span), message);
            out.push(match enough(heights, at, car, limit) {
                Some(length) => found.help(format!(
                    "a vertical curve of {} would do",
                    context.show(Actual::from_meters(length))
                )),
                None => found.help("spread the change of grade over several points"),
            });
        }
    }
}

/// Length over pulling faces and between truck centers, metres.
type Car = [f64; 2];

fn longest(context: &Context<'_>) -> Option<(String, Car)> {
    let cars = context
        .road
        .roster
        .cars
        .iter()
        .filter(|car| car.state.on_the_railroad());
    let sizes = cars.filter_map(|car| {
        let body = Body::car(car, context.scale());
        let size = [body.length?.meters(), body.truck_centers?.meters()];
        Some((body.name, size))
    });
    sizes.max_by(|a, b| a.1[0].total_cmp(&b.1[0]).then_with(|| b.0.cmp(&a.0)))
}

/// How far the couplers between two coupled cars part in height, at worst, about a grade point.
fn apart(heights: &Vertical, at: usize, car: Car) -> f64 {
    let [length, base] = car;
    let point = heights.points()[at];
    let reach = length + 0.5 * point.curve;
    // Height of a coupler of a car whose middle is at s; ahead of it or behind.
    let coupler = |s: f64, ahead: f64| {
        let [rear, front] = [s - 0.5 * base, s + 0.5 * base].map(|s| heights.elevation(s));
        let (rear, front) = (rear?, front?);
        Some(0.5 * (rear + front) + ahead * 0.5 * length * (front - rear) / base)
    };
    let steps = (2.0 * reach / (0.02 * length)).ceil().min(5000.0) as u32;
    (0..=steps)
        .filter_map(|step| {
            let between = point.at - reach + 2.0 * reach * f64::from(step) / f64::from(steps);
            let one = coupler(between - 0.5 * length, 1.0)?;
            let other = coupler(between + 0.5 * length, -1.0)?;
            Some((one - other).abs())
        })
        .fold(0.0, f64::max)
}

/// The shortest vertical curve at a grade point that keeps them together, if there is room for one.
fn enough(heights: &Vertical, at: usize, car: Car, limit: f64) -> Option<f64> {
    let with = |curve: f64| {
        let mut points = heights.points().to_vec();
        points[at].curve = curve;
        let changed = Vertical::new(points);
        (changed.points()[at].curve >= curve - 1e-9).then(|| apart(&changed, at, car))
    };
    let points = heights.points();
    let most = 2.0 * (points[at].at - points[at - 1].at).min(points[at + 1].at - points[at].at);
    let (mut low, mut high) = (points[at].curve, most);
    if with(most).is_none_or(|part| part > limit) {
        return None;
    }
    for _ in 0..30 {
        let middle = 0.5 * (low + high);
        if with(middle).is_some_and(|part| part <= limit) {
            high = middle;
        } else {
            low = middle;
        }
    }
    Some(high)
}
