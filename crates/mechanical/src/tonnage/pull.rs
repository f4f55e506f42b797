//! What each engine pulls, from its record.

use std::fmt;

use model::units::{Actual, Prototype, Speed, Weight};

use super::Tonnage;
use crate::{
    Engine, EngineKind,
    engine::Wheels,
    rating::{self, Block},
    resistance::{CarClass, Davis, from_lb_per_ton},
    tractive::{Season, SteamEngine, from_horsepower},
};

/// An engine ready to be rated: itself and its pull when it starts and at the rated speed.
#[derive(Debug, Clone, PartialEq)]
pub struct Pulling {
    /// When it starts.
    pub starting: rating::Engine,
    /// At the rated speed.
    pub moving: rating::Engine,
    /// What had to be taken from common practice for want of a record.
    pub assumed: Vec<&'static str>,
}

/// What an engine's record lacks to be rated.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Missing(pub &'static str);

impl fmt::Display for Missing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "its record lacks {}", self.0)
    }
}

/// The model of an engine: what it was measured to pull, or else the usual share of its weight.
///
/// # Errors
/// If neither its pull nor its weight is recorded, or its length is not.
pub fn on_model(engine: &Engine, tonnage: &Tonnage) -> Result<Pulling, Missing> {
    let length = engine.length.ok_or(Missing("length"))?.value;
    let measured = engine.drawbar_pull.map(|pull| pull.value);
    let weighed = engine.weight.map(|weight| weight.value);
    let mut assumed = Vec::new();
    let (weight, pull) = match (weighed, measured) {
        (Some(weight), Some(pull)) => (weight, pull),
        (Some(weight), None) => {
            assumed.push("its pull by its weight");
            (weight, weight * tonnage.rolling.pull_share)
        }
        (None, Some(pull)) => {
            assumed.push("its weight by its pull");
            (pull / tonnage.rolling.pull_share, pull)
        }
        (None, None) => return Err(Missing("drawbar_pull and weight")),
    };
    // A spring scale shows what is left of the pull when the engine has moved itself on the level.
    let block = Block {
        length,
        weight,
        rolling: 0.0,
    };
    let rated = rating::Engine { block, pull };
    Ok(Pulling {
        starting: rated,
        moving: rated,
        assumed,
    })
}

/// The full-size engine: what its cylinders or horsepower give, as far as its drivers hold.
///
/// # Errors
/// If too little of it is recorded to tell.
pub fn full_size(engine: &Engine, tonnage: &Tonnage, season: &Season) -> Result<Pulling, Missing> {
    let length = engine.length.ok_or(Missing("length"))?.value;
    let mut assumed = Vec::new();
    let alone = engine.engine_weight.ok_or(Missing("engine_weight"))?.value;
    let wheels = engine.wheel_arrangement();
    let tender = match (&engine.tender_weight, engine.kind.map(|kind| kind.value)) {
        (Some(tender), _) => tender.value,
        (None, Some(EngineKind::Steam)) if !tank_engine(engine) => {
            // Common practice, no source; the standard light Mikado's was 0.63.
            assumed.push("its tender at 0.6 of its weight");
            alone * 0.6
        }
        _ => Weight::ZERO,
    };
    let weight = alone + tender;
    let on_drivers = match engine.weight_on_drivers {
        Some(weight) => weight.value,
        None if all_driven(wheels.as_ref()) => alone,
        None => return Err(Missing("weight_on_drivers")),
    };
    let effort = |speed: Speed| -> Result<Weight, Missing> {
        let by_power = engine.horsepower.map(|power| from_horsepower(power, speed));
        let by_steam = steam(engine).map(|steam| {
            // A written tractive effort is that of a stand, and falls with speed like any other.
            let rated = engine
                .tractive_effort
                .map_or(steam.rated(), |written| written.value);
            rated * crate::tractive::speed_factor(steam.piston_speed(speed))
        });
        let written = engine.tractive_effort.map(|written| written.value);
        let made = match (by_steam, written, by_power) {
            (Some(steam), _, _) => steam,
            (None, Some(written), Some(power)) => written.min(power),
            (None, Some(written), None) => written,
            (None, None, Some(power)) => power,
            (None, None, None) => {
                return Err(Missing(
                    "cylinders, pressure and drivers, tractive_effort, or horsepower",
                ));
            }
        };
        Ok(made.min(season.holds(on_drivers)) * season.pull)
    };
    let axles = axles(wheels.as_ref(), tender > Weight::ZERO);
    let rolling =
        Davis::usual(tonnage.formula, CarClass::Engine, weight, axles).share(tonnage.speed);
    let starting = from_lb_per_ton(tonnage.bearings.starting_lb_per_ton());
    let rated = |rolling: f64, pull: Weight| rating::Engine {
        block: Block {
            length,
            weight,
            rolling,
        },
        pull,
    };
    Ok(Pulling {
        starting: rated(starting, effort(Speed::ZERO)?),
        moving: rated(rolling, effort(tonnage.speed)?),
        assumed,
    })
}

fn steam(engine: &Engine) -> Option<SteamEngine> {
    let cylinders = engine.cylinder_sizes()?;
    Some(SteamEngine {
        pressure: engine.pressure?.value,
        bore: Prototype::from_inches(cylinders.bore_in),
        stroke: Prototype::from_inches(cylinders.stroke_in),
        cylinders: u32::from(cylinders.count),
        drivers: engine
            .drivers
            .map(|drivers| drivers.value)
            .filter(|drivers| *drivers > Prototype::ZERO)?,
    })
}

fn tank_engine(engine: &Engine) -> bool {
    engine
        .wheels
        .as_ref()
        .is_some_and(|wheels| wheels.value.trim().to_uppercase().ends_with('T'))
}

fn all_driven(wheels: Option<&Wheels>) -> bool {
    match wheels {
        Some(Wheels::Trucks(trucks)) => trucks
            .iter()
            .all(|truck| truck.bytes().all(|letter| letter.is_ascii_uppercase())),
        Some(Wheels::Whyte(wheels)) => wheels.first() == Some(&0) && wheels.last() == Some(&0),
        None => false,
    }
}

/// Axles of engine and tender; four of an engine whose wheels are not known, and four of a tender.
fn axles(wheels: Option<&Wheels>, tender: bool) -> u32 {
    let own = match wheels {
        Some(Wheels::Whyte(wheels)) => wheels.iter().map(|&count| u32::from(count) / 2).sum(),
        Some(wheels @ Wheels::Trucks(trucks)) => {
            let idle: u32 = trucks
                .iter()
                .flat_map(|truck| truck.bytes())
                .filter(u8::is_ascii_digit)
                .map(|digit| u32::from(digit - b'0'))
                .sum();
            wheels.driven_axles() + idle
        }
        None => 4,
    };
    own + if tender { 4 } else { 0 }
}

/// The formula for a freight car of such a weight, full size.
pub fn davis_car(tonnage: &Tonnage, weight: Weight) -> Davis {
    Davis::usual(tonnage.formula, CarClass::Freight, weight, 4)
}

/// A full-size car of such a length on the model and weight with its load: when it starts, and at the rated speed.
pub fn full_size_car(tonnage: &Tonnage, length: Actual, weight: Weight) -> [Block; 2] {
    let davis = davis_car(tonnage, weight);
    [
        Block {
            length,
            weight,
            rolling: from_lb_per_ton(tonnage.bearings.starting_lb_per_ton()),
        },
        Block {
            length,
            weight,
            rolling: davis.share(tonnage.speed),
        },
    ]
}

/// The model of a car: when it starts, and moving.
pub fn model_car(tonnage: &Tonnage, length: Actual, weight: Weight) -> [Block; 2] {
    let rolling = tonnage.rolling;
    [
        Block {
            length,
            weight,
            rolling: rolling.starting,
        },
        Block {
            length,
            weight,
            rolling: rolling.rolling,
        },
    ]
}

#[cfg(test)]
mod tests {
    use model::{Sources, scale::Scale, text::Reader};

    use super::*;
    use crate::{Roster, engine};

    fn engines(rows: &str) -> Vec<Engine> {
        let mut sources = Sources::default();
        let head = "number,kind,wheels,drivers,cylinders,pressure,engine_weight,tender_weight,weight_on_drivers,\
                    tractive_effort,horsepower,length,drawbar_pull,weight";
        let file = sources.add("engines.csv", format!("{head}\n{rows}").as_bytes());
        let mut reader = Reader::new(&sources, Scale::new(87.1).unwrap());
        let records = reader.csv(&engine::PAGE, file);
        let roster = Roster::build(&mut reader, &[], &records);
        let faults = reader.out.into_sorted();
        assert!(faults.is_empty(), "{faults:?}");
        roster.engines
    }

    fn usual() -> Tonnage {
        Tonnage::usual(Scale::new(87.1).unwrap())
    }

    const MIKADO: &str =
        "1,steam,2-8-2,63 in,26 x 30,200,292000 lb,185400 lb,220000 lb,,,11 in,4 oz,16 oz";

    /// The standard light Mikado of 1919: 54,724 lb, which a quarter of 220,000 lb on drivers holds and the 18 % of wet rail
    /// do not: 39,600 lb. 477,400 lb with its tender.
    #[test]
    fn adhesion_governs_on_wet_rail_only() {
        let engine = &engines(MIKADO)[0];
        let tonnage = usual();
        let pull = |season: &Season| full_size(engine, &tonnage, season).unwrap();
        let dry = pull(&tonnage.seasons[0]);
        assert!((dry.starting.pull.pounds() - 54_723.8).abs() < 0.1);
        assert!((dry.starting.block.weight.pounds() - 477_400.0).abs() < 1e-6);
        assert!(dry.moving.pull < dry.starting.pull && dry.assumed.is_empty());
        assert!((pull(&tonnage.seasons[1]).starting.pull.pounds() - 39_600.0).abs() < 1e-6);
        let cold = pull(&Season::new("cold", 0.25, 0.8));
        assert!((cold.starting.pull / dry.starting.pull - 0.8).abs() < 1e-12);
    }

    #[test]
    fn what_is_assumed_and_what_is_missing_is_said() {
        let rows = "2,steam,2-8-0,57 in,23 x 30,185,214000 lb,,189000 lb,,,10 in,,12.5 oz\n\
                    3,diesel,B-B,,,,198000 lb,,,49500 lb,600,6 in,,\n\
                    4,diesel,A1A-A1A,,,,315000 lb,,,,2000,10 in,3 oz,";
        let engines = engines(rows);
        let tonnage = usual();
        let fair = &tonnage.seasons[0];
        let steam = full_size(&engines[0], &tonnage, fair).unwrap();
        assert_eq!(steam.assumed, ["its tender at 0.6 of its weight"]);
        assert!((steam.moving.block.weight.pounds() - 1.6 * 214_000.0).abs() < 1e-6);
        let model = on_model(&engines[0], &tonnage).unwrap();
        assert!(
            (model.moving.pull.ounces() - 0.22 * 12.5).abs() < 1e-9 && model.assumed.len() == 1
        );
        // All its weight is on drivers; at 10 mph horsepower limits it, at a stand the tractive effort written.
        let diesel = full_size(&engines[1], &tonnage, fair).unwrap();
        assert!((diesel.starting.pull.pounds() - 49_500.0).abs() < 1e-6);
        assert!((diesel.moving.pull.pounds() - 375.0 * 0.82 * 600.0 / 10.0).abs() < 1e-6);
        assert_eq!(
            on_model(&engines[1], &tonnage),
            Err(Missing("drawbar_pull and weight"))
        );
        assert_eq!(
            full_size(&engines[2], &tonnage, fair),
            Err(Missing("weight_on_drivers"))
        );
        let guessed = on_model(&engines[2], &tonnage).unwrap();
        assert!((guessed.moving.block.weight.ounces() - 3.0 / 0.22).abs() < 1e-9);
    }

    #[test]
    fn axles_are_counted() {
        let count = |wheels: &str, tender| axles(Wheels::parse(wheels).as_ref(), tender);
        assert_eq!(
            (
                count("2-8-2", true),
                count("0-6-0", false),
                count("B-B", false)
            ),
            (10, 3, 4)
        );
        assert_eq!(count("A1A-A1A", false), 6);
    }
}
