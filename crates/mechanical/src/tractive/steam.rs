//! Tractive effort of steam engines.

use model::units::{Prototype, Speed, Weight};

/// What the formula takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SteamEngine {
    /// Boiler pressure, pounds per square inch.
    pub pressure: f64,
    /// Bore of a cylinder.
    pub bore: Prototype,
    /// Stroke.
    pub stroke: Prototype,
    /// How many simple cylinders: 2, or 4 for most articulated engines.
    pub cylinders: u32,
    /// Diameter of the drivers.
    pub drivers: Prototype,
}

impl SteamEngine {
    /// Rated tractive effort, 0.85 P d² s / D for each pair of cylinders, the usual handbook formula. An engine built for
    /// limited cut-off gives less, and its record should say what.
    pub fn rated(&self) -> Weight {
        let pairs = f64::from(self.cylinders) / 2.0;
        Weight::from_pounds(
            pairs * 0.85 * self.pressure * self.bore.inches().powi(2) * self.stroke.inches()
                / self.drivers.inches(),
        )
    }

    /// How fast a piston moves, feet a minute.
    pub fn piston_speed(&self, speed: Speed) -> f64 {
        let turns = speed.mph() * 88.0 / (std::f64::consts::PI * self.drivers.feet());
        turns * 2.0 * self.stroke.feet()
    }

    /// Tractive effort at a speed.
    pub fn at(&self, speed: Speed) -> Weight {
        self.rated() * speed_factor(self.piston_speed(speed))
    }
}

/// Share of the rated tractive effort that is left at a piston speed in feet a minute: F. J. Cole's factors for superheated
/// steam (1914), from memory; straight lines between them, and constant power beyond.
pub fn speed_factor(piston_speed: f64) -> f64 {
    const FROM: f64 = 250.0;
    const STEP: f64 = 50.0;
    const FACTORS: [f64; 16] = [
        1.0, 0.954, 0.908, 0.863, 0.817, 0.772, 0.727, 0.680, 0.636, 0.592, 0.552, 0.517, 0.487,
        0.460, 0.435, 0.412,
    ];
    let at = (piston_speed - FROM) / STEP;
    if at <= 0.0 {
        return 1.0;
    }
    let last = FACTORS.len() - 1;
    if at >= last as f64 {
        return FACTORS[last] * (FROM + STEP * last as f64) / piston_speed;
    }
    let below = at.floor();
    let [low, high] = [FACTORS[below as usize], FACTORS[below as usize + 1]];
    low + (high - low) * (at - below)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tractive::factor_of_adhesion;

    fn engine(pressure: f64, bore: f64, stroke: f64, drivers: f64, engines: u32) -> SteamEngine {
        let inches = Prototype::from_inches;
        SteamEngine {
            pressure,
            bore: inches(bore),
            stroke: inches(stroke),
            drivers: inches(drivers),
            cylinders: 2 * engines,
        }
    }

    /// Published tractive efforts and factors of adhesion. The first is in the builders' data for the 1919 standard light
    /// Mikado; the second published rounded; the others are from memory, and the formula gives them back.
    #[test]
    fn published_engines() {
        for (pressure, bore, stroke, drivers, engines, computed, published, on_drivers, factor) in [
            (
                200.0, 26.0, 30.0, 63.0, 1, 54_723.8, 54_724.0, 220_000.0, 4.020,
            ),
            (
                190.0, 27.0, 32.0, 63.0, 1, 59_801.1, 60_000.0, 239_000.0, 3.997,
            ),
            (
                300.0, 23.75, 32.0, 68.0, 2, 135_375.0, 135_375.0, 540_000.0, 3.989,
            ),
            (
                280.0, 21.0, 32.0, 69.0, 2, 97_352.3, 97_350.0, 406_000.0, 4.170,
            ),
            (
                205.0, 27.0, 28.0, 80.0, 1, 44_459.9, 44_460.0, 201_830.0, 4.540,
            ),
            (
                245.0, 25.0, 34.0, 69.0, 1, 64_135.0, 64_135.0, 264_300.0, 4.121,
            ),
            (
                260.0, 22.5, 33.0, 67.0, 2, 110_211.4, 110_200.0, 471_000.0, 4.274,
            ),
            (
                195.0, 20.0, 24.0, 44.0, 1, 36_163.6, 36_200.0, 143_850.0, 3.978,
            ),
        ] {
            let found = engine(pressure, bore, stroke, drivers, engines).rated();
            assert!(
                (found.pounds() - computed).abs() < 0.06,
                "{} is not {computed}",
                found.pounds()
            );
            assert!(
                (found.pounds() / published - 1.0).abs() < 0.0035,
                "{} is not {published}",
                found.pounds()
            );
            let adhesion = factor_of_adhesion(Weight::from_pounds(on_drivers), found);
            assert!(
                (adhesion - factor).abs() < 6e-4,
                "{adhesion} is not {factor}"
            );
        }
    }

    #[test]
    fn pull_falls_with_speed_and_never_jumps() {
        let mikado = engine(200.0, 26.0, 30.0, 63.0, 1);
        assert_eq!(mikado.at(Speed::from_mph(2.0)), mikado.rated());
        let mut last = f64::INFINITY;
        for tenth in 0..800 {
            let pull = mikado.at(Speed::from_mph(f64::from(tenth) / 10.0)).pounds();
            assert!(
                pull <= last && (last.is_infinite() || last - pull < 600.0),
                "{tenth}: {pull} after {last}"
            );
            last = pull;
        }
    }
}
