//! How far the longest cars swing, for the checks of alignments.

use mechanical::fit::Body;
use model::units::Actual;

use super::context::Context;

/// The car of the railroad whose sides swing farthest on a curve; nothing if no car's size is known.
pub(super) fn widest_swing(context: &Context<'_>) -> Option<Body> {
    let scale = context.scale();
    // Which car it is hardly depends on the radius, if it is one that all of them can run on.
    let radius = context
        .road
        .identity
        .limits
        .radius
        .unwrap_or(Actual::from_meters(0.76));
    let reach = |body: &Body| {
        body.swing(radius).map_or(0.0, |swing| {
            (body.width + swing.inside + swing.outside).meters()
        })
    };
    let cars = context
        .road
        .roster
        .cars
        .iter()
        .filter(|car| car.state.on_the_railroad());
    cars.map(|car| Body::car(car, scale))
        .filter(|body| body.body.is_some() && body.truck_centers.is_some())
        .max_by(|a, b| {
            reach(a)
                .total_cmp(&reach(b))
                .then_with(|| b.name.cmp(&a.name))
        })
}

/// How far a car stands beyond its straight-track side, to the left or to the right, where the track
/// has this curvature (to the left positive). On an easement that of the place is taken.
pub(super) fn swing(body: &Body, curvature: f64, left: bool) -> f64 {
    if curvature.abs() < 1e-6 {
        return 0.0;
    }
    let swing = body.swing(Actual::from_meters(1.0 / curvature.abs()));
    swing.map_or(0.0, |swing| {
        let inside = (curvature > 0.0) == left;
        if inside { swing.inside } else { swing.outside }.meters()
    })
}

/// A small length, in inches and millimetres.
pub(super) fn fine(metres: f64) -> String {
    let length = Actual::from_meters(metres);
    format!("{:.2} in ({:.1} mm)", length.inches(), length.mm())
}
