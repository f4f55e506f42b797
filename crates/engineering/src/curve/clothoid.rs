//! How far one comes along a curve whose curvature changes evenly.

use kurbo::Vec2;

/// The displacement after `length` along a curve that begins at the origin along the x axis with
/// `curvature`, which changes by `sharpness` (1/m²) for each metre:
/// the integral of (cos φ, sin φ) with φ = k·u + ½·c·u² for u from 0 to `length`.
///
/// Arcs and tangents by formula. For a spiral the integrand is expanded about the middle of the
/// stretch, where it obeys f′ = i(κ + c·u)·f, so that its Taylor coefficients follow from one another:
/// aₙ₊₁ = i(κ·aₙ + c·aₙ₋₁)/(n + 1). The even ones alone survive the integration. The series converges
/// everywhere; a long spiral is parted so that no part turns by much more than a radian from its
/// middle, which keeps all terms small and the sum good to the last few bits.
pub fn travel(curvature: f64, sharpness: f64, length: f64) -> Vec2 {
    let turn = length * (curvature + 0.5 * sharpness * length);
    if (sharpness * length * length).abs() < 1e-15 {
        // A chord of the arc, at half the angle.
        let half = 0.5 * turn;
        return Vec2::from_angle(half) * (length * sinc(half));
    }
    let sharpest = curvature.abs().max((curvature + sharpness * length).abs());
    let parts = (0.5 * length.abs() * sharpest).ceil().clamp(1.0, 1e6);
    let step = length / parts;
    let mut sum = Vec2::ZERO;
    for part in 0..parts as u32 {
        let middle = (f64::from(part) + 0.5) * step;
        let heading = middle * (curvature + 0.5 * sharpness * middle);
        let inner = series(curvature + sharpness * middle, sharpness, 0.5 * step);
        sum += rotate(inner, Vec2::from_angle(heading));
    }
    sum
}

/// The integral of exp i(κu + ½cu²) from −h to h.
fn series(curvature: f64, sharpness: f64, half: f64) -> Vec2 {
    let (a, b) = (curvature * half, sharpness * half * half);
    // Terms aₙhⁿ: the one before the last, and the last.
    let (mut before, mut last) = (Vec2::ZERO, Vec2::new(1.0, 0.0));
    let mut sum = last;
    for n in 1..80u32 {
        let next = quarter_turn(last * a + before * b) / f64::from(n);
        (before, last) = (last, next);
        if n % 2 == 0 {
            let term = last / f64::from(n + 1);
            sum += term;
            if term.hypot2() < 1e-36 && before.hypot2() < 1e-34 {
                break;
            }
        }
    }
    sum * (2.0 * half)
}

/// sin x / x.
pub(super) fn sinc(x: f64) -> f64 {
    if x.abs() < 1e-4 {
        1.0 - x * x / 6.0
    } else {
        x.sin() / x
    }
}

fn quarter_turn(v: Vec2) -> Vec2 {
    Vec2::new(-v.y, v.x)
}

/// `v` turned by the angle of the unit vector `by`.
pub(super) fn rotate(v: Vec2, by: Vec2) -> Vec2 {
    Vec2::new(v.x * by.x - v.y * by.y, v.x * by.y + v.y * by.x)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// C(x) and S(x), Abramowitz and Stegun, *Handbook of Mathematical Functions*, table 7.7 (the
    /// digits from memory; the quadrature test of this module does not depend on them).
    #[test]
    fn fresnel_integrals() {
        for (x, c, s) in [
            (0.5, 0.492_344_2, 0.064_732_4),
            (1.0, 0.779_893_4, 0.438_259_1),
            (2.0, 0.488_253_4, 0.343_415_7),
        ] {
            let got = travel(0.0, std::f64::consts::PI, x);
            assert!(
                (got.x - c).abs() < 1e-7 && (got.y - s).abs() < 1e-7,
                "{x}: {got:?}"
            );
        }
    }
}
