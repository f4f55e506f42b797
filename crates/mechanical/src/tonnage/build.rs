//! What the owner rates by, from its pages.

use model::{
    text::{Reader, Record},
    units::Grade,
};

use super::{Governs, RatedFor, Tonnage};
use crate::{
    resistance::{Bearings, Formula, TestPull},
    tractive::Season,
};

impl Tonnage {
    /// From the record of `tonnage.toml`, if there is one, and the rows of `test-pulls.csv`.
    pub fn build(reader: &mut Reader<'_>, page: Option<&Record>, pulls: &[Record]) -> Self {
        let mut tonnage = Self::usual(reader.scale);
        if let Some(record) = page {
            tonnage.read(record);
        }
        for record in pulls {
            let (Some(cars), Some(pull)) = (record.weight("weight"), record.weight("pull")) else {
                continue;
            };
            tonnage.pulls.push(TestPull {
                cars: cars.value,
                grade: record
                    .grade("grade")
                    .map_or(Grade::LEVEL, |grade| grade.value),
                radius: record.radius("radius").map(|radius| radius.value),
                pull: pull.value,
            });
            tonnage.pull_spans.push(record.span);
        }
        tonnage.calibrate();
        tonnage
    }

    fn read(&mut self, record: &Record) {
        if let Some(governs) = Governs::read(record, "governs") {
            self.governs = governs.value;
        }
        if let Some(rated_for) = RatedFor::read(record, "rated_for") {
            self.rated_for = rated_for.value;
        }
        let seasons = record.named("seasons");
        if !seasons.is_empty() {
            self.seasons = seasons
                .iter()
                .map(|(name, season)| {
                    let number =
                        |key, usual| season.number(key).map_or(usual, |number| number.value);
                    Season::new(
                        name.value.clone(),
                        number("adhesion", 0.25),
                        number("pull", 1.0),
                    )
                })
                .collect();
        }
        if let Some(season) = record.text("season").filter(|_| record.written("season")) {
            match self.seasons.iter().position(|one| one.name == season.value) {
                Some(at) => self.season = at,
                None => self.unknown_season = Some(season.map(str::to_owned)),
            }
        }
        if let Some(speed) = record.speed("speed") {
            self.speed = speed.value;
        }
        if record
            .word("formula")
            .is_some_and(|word| word.value == "modified Davis")
        {
            self.formula = Formula::Modified;
        }
        if record
            .word("bearings")
            .is_some_and(|word| word.value == "roller")
        {
            self.bearings = Bearings::Roller;
        }
        for (at, key) in ["curve_resistance", "curve_starting"]
            .into_iter()
            .enumerate()
        {
            if let Some(pounds) = record.number(key) {
                self.curve_lb[at] = pounds.value;
            }
        }
        if let Some(rolling) = record
            .grade("rolling")
            .filter(|_| record.written("rolling"))
        {
            self.rolling.rolling = rolling.value.ratio();
            // A quarter more, as with the usual shares.
            self.rolling.starting = 1.25 * self.rolling.rolling;
        }
        if let Some(starting) = record
            .grade("starting")
            .filter(|_| record.written("starting"))
        {
            self.rolling.starting = starting.value.ratio();
        }
        if let Some(curve) = record.table("curve")
            && let (Some(radius), Some(drag)) = (curve.radius("radius"), curve.grade("drag"))
        {
            self.rolling.curve_m = radius.value.meters() * drag.value.ratio();
        }
        if let Some(pull) = record.number("pull") {
            self.rolling.pull_share = pull.value;
        }
        if let Some(load) = record.number("load") {
            self.load = load.value;
        }
        if let Some(car) = record.table("car") {
            self.car_length = car.length("length").map(|length| length.value);
            self.car_weight = car.weight("weight").map(|weight| weight.value);
            self.car_full_size = car.weight("full_size").map(|weight| weight.value);
        }
        self.train_cars = record
            .whole("train_cars")
            .and_then(|cars| u32::try_from(cars.value).ok());
    }
}
