//! How far a car's sides swing on a curve.

use model::units::Actual;

/// How far the sides of a car stand beyond those it has on straight track.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Overhang {
    /// Toward the center of the curve, at mid-body.
    pub inside: Actual,
    /// Away from it, at the corners.
    pub outside: Actual,
}

/// The overhang of a car of such a body, truck centers and width on a curve of such a radius: the chord between the truck
/// centers lies R − √(R² − (B/2)²) inside the curve, and the outer corners as far from its center as the sides of a right
/// triangle make them. `None` if the trucks do not fit on the curve.
pub fn overhang(
    body: Actual,
    truck_centers: Actual,
    width: Actual,
    radius: Actual,
) -> Option<Overhang> {
    let [body, base, width, radius] = [body, truck_centers, width, radius].map(Actual::meters);
    let square = radius * radius - base * base / 4.0;
    if square <= 0.0 {
        return None;
    }
    let inside = radius - square.sqrt();
    let corner = (radius - inside + width / 2.0).hypot(body / 2.0);
    Some(Overhang {
        inside: Actual::from_meters(inside),
        outside: Actual::from_meters((corner - radius - width / 2.0).max(0.0)),
    })
}

/// How far apart two tracks must be on a curve, if so far would do on straight track: the outer track's car swings in at its
/// middle where the inner track's swings out at its ends.
pub fn track_centers(straight: Actual, outer: Overhang, inner: Overhang) -> Actual {
    straight + outer.inside + inner.outside
}

#[cfg(test)]
mod tests {
    use super::*;

    /// From the two formulas, reckoned apart from this code, for usual car sizes; the mid-body shift is also about B² / 8R, as
    /// handbooks have it.
    #[test]
    fn swings_of_usual_cars() {
        for (radius, base, body, width, inside, rough, outside) in [
            (30.0, 8.1975, 11.7107, 1.3777, 0.28131, 0.27999, 0.27731),
            (24.0, 8.1975, 11.7107, 1.3777, 0.35258, 0.34999, 0.34191),
            (24.0, 4.2365, 5.5798, 1.3777, 0.09366, 0.09348, 0.06406),
            (18.0, 4.2365, 5.5798, 1.3777, 0.12507, 0.12464, 0.08340),
            (15.0, 4.4625, 6.3750, 0.7500, 0.16688, 0.16595, 0.16357),
            (478.339, 59.5, 85.0, 10.0, 0.92604, 0.92514, 0.94244),
        ] {
            let inches = Actual::from_inches;
            let swing =
                overhang(inches(body), inches(base), inches(width), inches(radius)).unwrap();
            assert!(
                (swing.inside.inches() - inside).abs() < 1e-4,
                "{}",
                swing.inside.inches()
            );
            assert!(
                (swing.outside.inches() - outside).abs() < 1e-4,
                "{}",
                swing.outside.inches()
            );
            assert!((base * base / (8.0 * radius) - rough).abs() < 1e-4);
            let centers = track_centers(inches(2.0), swing, swing);
            assert!((centers.inches() - 2.0 - inside - outside).abs() < 2e-4);
        }
        assert_eq!(
            overhang(
                Actual::from_inches(9.0),
                Actual::from_inches(8.0),
                Actual::from_inches(1.0),
                Actual::from_inches(4.0)
            ),
            None
        );
    }
}
