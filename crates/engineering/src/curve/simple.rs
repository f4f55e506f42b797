//! Simple curves: one arc between two tangents, as the field books have it.

/// An arc of a radius between tangents that part by an angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SimpleCurve {
    /// Radius, metres.
    pub radius: f64,
    /// Angle between the tangents, *I*, radians.
    pub angle: f64,
}

impl SimpleCurve {
    /// From the beginning of the curve to the intersection of the tangents: *T* = R·tan ½I.
    pub fn tangent(&self) -> f64 {
        self.radius * (0.5 * self.angle).tan()
    }

    /// From the intersection to the middle of the curve: *E* = R·exsec ½I.
    pub fn external(&self) -> f64 {
        self.radius * (1.0 / (0.5 * self.angle).cos() - 1.0)
    }

    /// From the middle of the long chord to that of the curve: *M* = R·vers ½I.
    pub fn mid_ordinate(&self) -> f64 {
        self.radius * (1.0 - (0.5 * self.angle).cos())
    }

    /// The long chord: *C* = 2R·sin ½I.
    pub fn long_chord(&self) -> f64 {
        2.0 * self.radius * (0.5 * self.angle).sin()
    }

    /// Along the arc.
    pub fn length(&self) -> f64 {
        self.radius * self.angle
    }
}

/// How far the middle of an arc stands off a string stretched between two of its points.
pub fn mid_ordinate(radius: f64, chord: f64) -> f64 {
    // As a quotient, since the difference of nearly equal lengths loses digits.
    let half = 0.5 * chord;
    half * half / (radius + (radius * radius - half * half).max(0.0).sqrt())
}

/// The radius of an arc whose middle stands `ordinate` off a string of `chord`.
pub fn radius_of_mid_ordinate(ordinate: f64, chord: f64) -> f64 {
    chord * chord / (8.0 * ordinate) + 0.5 * ordinate
}
