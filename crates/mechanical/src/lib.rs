//! Engines and cars: their records, and whether they are right for the date.
//!
//! Knows no track and no train: what crosses departments takes plain numbers here and is asked in
//! `railroad`.

pub mod car;
pub mod engine;
pub mod era;
pub mod fit;
pub mod import;
pub mod log;
pub mod rating;
pub mod resistance;
pub mod tonnage;
pub mod tractive;
pub mod weight;

pub use car::{Car, CarId, CarKind, CarState, Designation};
pub use engine::{Engine, EngineId, EngineKind};
pub use tonnage::Tonnage;

use std::collections::HashMap;

use model::{
    Diagnostics, Rule, Spanned,
    date::{Date, PartialDate},
    scale::Scale,
    text::{Page, Reader, Record},
};

/// The pages of this department.
pub static PAGES: &[&Page] = &[
    &car::PAGE,
    &engine::PAGE,
    &tonnage::PAGE,
    &tonnage::PULLS_PAGE,
];

/// The diagnostics of this department, in lists: of cars, of engines, of ratings.
pub const RULES: &[&[&Rule]] = &[
    car::rules::RULES,
    engine::rules::RULES,
    tonnage::rules::RULES,
];

/// All cars and engines.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Roster {
    /// The cars, in the order of their page.
    pub cars: Vec<Car>,
    /// The engines, in the order of their page.
    pub engines: Vec<Engine>,
    car_ids: HashMap<String, CarId>,
    engine_ids: HashMap<String, EngineId>,
}

impl Roster {
    /// Builds the roster from the rows of its pages. What is wrong goes to the reader.
    pub fn build(reader: &mut Reader<'_>, cars: &[Record], engines: &[Record]) -> Self {
        let cars: Vec<Car> = cars
            .iter()
            .map(|record| Car::build(record, reader))
            .collect();
        let engines: Vec<Engine> = engines
            .iter()
            .map(|record| Engine::build(record, reader))
            .collect();
        // Of two things of one name the first has it; the second is reported.
        let mut car_ids = HashMap::with_capacity(cars.len());
        for (at, car) in cars.iter().enumerate() {
            car_ids
                .entry(car.name.value.clone())
                .or_insert(CarId(at as u32));
        }
        let mut engine_ids = HashMap::with_capacity(engines.len());
        for (at, engine) in engines.iter().enumerate() {
            engine_ids
                .entry(engine.number.value.clone())
                .or_insert(EngineId(at as u32));
        }
        Self {
            cars,
            engines,
            car_ids,
            engine_ids,
        }
    }

    /// A car.
    pub fn car(&self, id: CarId) -> &Car {
        &self.cars[id.index()]
    }

    /// An engine.
    pub fn engine(&self, id: EngineId) -> &Engine {
        &self.engines[id.index()]
    }

    /// The car of this name, `SMR 101`.
    pub fn find_car(&self, name: &str) -> Option<CarId> {
        self.car_ids.get(name).copied()
    }

    /// The engine of this number.
    pub fn find_engine(&self, number: &str) -> Option<EngineId> {
        self.engine_ids.get(number).copied()
    }

    /// The engines with their ids.
    pub fn engine_ids(&self) -> impl Iterator<Item = (EngineId, &Engine)> {
        self.engines
            .iter()
            .enumerate()
            .map(|(at, engine)| (EngineId(at as u32), engine))
    }

    /// The cars with their ids.
    pub fn car_ids(&self) -> impl Iterator<Item = (CarId, &Car)> {
        self.cars
            .iter()
            .enumerate()
            .map(|(at, car)| (CarId(at as u32), car))
    }
}

/// The date by which cars and engines are judged, and how far the owner stretches it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Era {
    /// The modelled day.
    pub date: Option<Spanned<Date>>,
    /// Equipment may be as it was from this day on.
    pub from: Option<Spanned<PartialDate>>,
    /// Equipment may be as it was up to this day; up to the modelled one if there is none.
    pub to: Option<Spanned<PartialDate>>,
}

impl Era {
    /// The last day from which equipment may come, and where it is written.
    pub fn latest(&self) -> Option<Spanned<Date>> {
        let day = self.date;
        match (self.to, day) {
            (Some(to), _) => Some(to.map(|to| to.last())),
            (None, day) => day,
        }
    }

    /// The first day from which equipment may come, and where it is written: the modelled day if
    /// the owner does not stretch it.
    pub fn earliest(&self) -> Option<Spanned<Date>> {
        self.from
            .map(|from| from.map(|from| from.first()))
            .or(self.date)
    }
}

/// What the records are judged by.
#[derive(Debug, Clone, PartialEq)]
pub struct Context {
    /// The date.
    pub era: Era,
    /// The railroad's scale.
    pub scale: Scale,
    /// The railroad's own reporting marks, in capitals.
    pub own_marks: Vec<String>,
    /// Whose interchange rules hold.
    pub country: era::Country,
}

impl Context {
    /// What the owner allows, if the modelled day is known.
    pub fn allowed(&self) -> Option<era::Allowed> {
        Some(era::Allowed {
            day: self.era.date?.value,
            earliest: self.era.earliest()?.value,
            latest: self.era.latest()?.value,
            country: self.country,
        })
    }
}

/// Looks for all that is wrong within the records.
pub fn check(roster: &Roster, tonnage: &Tonnage, context: &Context, out: &mut Diagnostics) {
    tonnage::rules::check(tonnage, out);
    for car in &roster.cars {
        car::rules::check(car, context, out);
    }
    for engine in &roster.engines {
        engine::rules::check(engine, context, out);
    }
    engine::rules::check_all(&roster.engines, out);
}

/// Pounds for a message: `169,000 lb`.
pub(crate) fn pounds(pounds: f64) -> String {
    let digits = format!("{:.0}", pounds.abs());
    let mut text = String::new();
    for (at, digit) in digits.chars().enumerate() {
        if at > 0 && (digits.len() - at).is_multiple_of(3) {
            text.push(',');
        }
        text.push(digit);
    }
    text + " lb"
}

#[cfg(test)]
mod tests {
    #[test]
    fn pounds_are_parted_in_threes() {
        let read = |pounds| super::pounds(pounds);
        assert_eq!(read(169_000.0), "169,000 lb");
        assert_eq!(read(999.6), "1,000 lb");
        assert_eq!(read(12.0), "12 lb");
    }
}
