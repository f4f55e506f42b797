//! Rail sections by code: the height in thousandths of an inch.

const THOU: f64 = 2.54e-5;

/// A rail section, metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RailSection {
    /// Height in thousandths of an inch.
    pub code: u16,
    /// Width of the head.
    pub head: f64,
    /// Width of the base.
    pub base: f64,
}

/// Widths of head and base in thousandths of an inch. From memory and rounded: makers differ, and
/// whoever files to the hundredth of a millimetre measures the rail in hand.
const SECTIONS: &[(u16, f64, f64)] = &[
    (40, 17.0, 38.0),
    (55, 24.0, 50.0),
    (70, 30.0, 65.0),
    (83, 35.0, 80.0),
    (100, 42.0, 95.0),
    (125, 55.0, 115.0),
    (148, 65.0, 130.0),
    (172, 75.0, 150.0),
    (250, 105.0, 220.0),
    (332, 140.0, 300.0),
];

impl RailSection {
    /// The section of a code; those between the listed ones in proportion.
    pub fn of_code(code: u16) -> Self {
        let c = f64::from(code);
        let at = SECTIONS
            .partition_point(|(listed, ..)| *listed < code)
            .clamp(1, SECTIONS.len() - 1);
        let ((a, head_a, base_a), (b, head_b, base_b)) = (SECTIONS[at - 1], SECTIONS[at]);
        let share = (c - f64::from(a)) / f64::from(b - a);
        Self {
            code,
            head: (head_a + share * (head_b - head_a)) * THOU,
            base: (base_a + share * (base_b - base_a)) * THOU,
        }
    }

    /// The listed section that is nearest to 6 full-size inches high at a proportion of one to
    /// `ratio`: main track of middling weight. Common practice, no source.
    pub fn usual(ratio: f64) -> Self {
        let wanted = 6000.0 / ratio;
        let nearest = SECTIONS
            .iter()
            .min_by(|a, b| {
                let off = |code: u16| (f64::from(code) / wanted).ln().abs();
                off(a.0).total_cmp(&off(b.0))
            })
            .map_or(83, |section| section.0);
        Self::of_code(nearest)
    }

    /// Height, metres.
    pub fn height(&self) -> f64 {
        f64::from(self.code) * THOU
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sections_by_scale_and_between() {
        assert_eq!(RailSection::usual(87.1).code, 70);
        assert_eq!(RailSection::usual(160.0).code, 40);
        assert_eq!(RailSection::usual(48.0).code, 125);
        let between = RailSection::of_code(91);
        assert!(between.head > 35.0 * THOU && between.head < 42.0 * THOU);
        assert!((between.height() - 91.0 * THOU).abs() < 1e-12);
    }
}
