//! What moves a train: a model in a crew's hands, or full-size engines against full-size resistance.

use mechanical::{
    Engine, Tonnage,
    tonnage::{Governs, davis_car, full_size},
};
use model::units::{Speed, Weight};

use super::motion::Power;

/// How fast a crew gains speed and takes it off, scale miles an hour a second. Common practice, no source;
/// from a stand to 25 mph in eight seconds.
const MODEL_GAIN: f64 = 3.0;
const MODEL_BRAKE: f64 = 4.0;
/// What full-size brakes take off: freight, passenger, miles an hour a second. Common practice, no source.
const FREIGHT_BRAKE: f64 = 0.5;
const PASSENGER_BRAKE: f64 = 1.0;
const MPH: f64 = 0.447_04;

/// What moves and stops one train.
#[derive(Debug, Clone, PartialEq)]
pub struct Pace {
    /// What moves it.
    pub power: Power,
    /// What stops it, m/s².
    pub brake: f64,
}

/// The pace of a train with these engines and so many tons behind them. Where the models' pull governs, or
/// too little of the engines is recorded, it is that of a model in a crew's hands.
pub fn pace(tonnage: &Tonnage, engines: &[&Engine], tons: f64, passenger: bool) -> Pace {
    let model = Pace {
        power: Power::Even(MODEL_GAIN * MPH),
        brake: MODEL_BRAKE * MPH,
    };
    if tonnage.governs == Governs::Model || engines.is_empty() {
        return model;
    }
    let brake = if passenger {
        PASSENGER_BRAKE
    } else {
        FREIGHT_BRAKE
    };
    match shares(tonnage, engines, tons) {
        Some(shares) => Pace {
            power: Power::Table(shares),
            brake: brake * MPH,
        },
        None => model,
    }
}

/// Pull less resistance as a share of the train's weight, at each speed of a [`Power::Table`].
fn shares(tonnage: &Tonnage, engines: &[&Engine], tons: f64) -> Option<Vec<f64>> {
    let season = tonnage.seasons.get(tonnage.season)?;
    // Cars of 40 tons, a mixed train's mean; what they weigh each hardly changes the sum.
    let cars = Weight::from_short_tons(tons.max(0.0));
    let car = Weight::from_short_tons(40.0);
    let fastest = (80.0 * MPH / Power::STEP) as usize;
    let mut shares = Vec::with_capacity(fastest + 1);
    for at in 0..=fastest {
        let speed = Speed::from_mph(at as f64 * Power::STEP / MPH);
        let mut asked = tonnage.clone();
        asked.speed = speed;
        let mut pull = Weight::ZERO;
        let mut weight = cars;
        let mut held = cars * davis_car(&asked, car).share(speed);
        for engine in engines {
            let rated = full_size(engine, &asked, season).ok()?;
            let rated = if at == 0 {
                rated.starting
            } else {
                rated.moving
            };
            pull += rated.pull;
            weight += rated.block.weight;
            held += rated.block.weight * rated.block.rolling;
        }
        shares.push((pull - held) / weight);
    }
    // Once it rolls a train is not held by its starting resistance.
    if let [first, second, ..] = shares[..] {
        shares[0] = first.max(second);
    }
    Some(shares)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The standard light 2-8-2 of 1918 has 54,724 lb of tractive effort (published) and weighs 238.7 tons with its
    /// tender: on one percent it takes 1950 tons behind the tender at 25 lb a ton. With the resistance of
    /// Davis (General Electric Review, October 1926) instead of a flat 5 lb a ton, and the pull that is left at a
    /// speed, it takes such a train at a few miles an hour and no more.
    #[test]
    fn a_light_mikado_on_one_percent() {
        let folder = railroad::Folder::built_in("example").unwrap();
        let loaded = railroad::load(&folder);
        let mut tonnage = loaded.railroad.tonnage.clone();
        tonnage.governs = Governs::FullSize;
        let id = loaded.railroad.roster.find_engine("401").unwrap();
        let engine = loaded.railroad.roster.engine(id);
        let balance = |tons: f64, grade: f64| {
            let Power::Table(shares) = pace(&tonnage, &[engine], tons, false).power else {
                panic!("full size gives a table");
            };
            let over = shares.iter().take_while(|share| **share > grade).count();
            over as f64 * Power::STEP / MPH
        };
        let (heavy, light) = (balance(1900.0, 0.01), balance(800.0, 0.01));
        assert!((1.0..16.0).contains(&heavy), "{heavy}");
        assert!(light > heavy + 8.0, "{light} {heavy}");
        assert!(balance(800.0, 0.0) > 40.0);
    }
}
