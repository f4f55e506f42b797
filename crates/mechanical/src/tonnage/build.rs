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

#[cfg(test)]
mod tests {
    use model::{Sources, scale::Scale};

    use super::*;
    use crate::tonnage::{PAGE, PULLS_PAGE};

    fn build(page: &str, pulls: &str) -> Tonnage {
        let mut sources = Sources::default();
        let page = sources.add("tonnage.toml", page.as_bytes());
        let pulls = if pulls.is_empty() {
            "weight,pull\n"
        } else {
            pulls
        };
        let pulls = sources.add("test-pulls.csv", pulls.as_bytes());
        let mut reader = Reader::new(&sources, Scale::new(87.1).unwrap());
        let page = reader.toml(&PAGE, page);
        let pulls = reader.csv(&PULLS_PAGE, pulls);
        let tonnage = Tonnage::build(&mut reader, Some(&page), &pulls);
        assert!(reader.out.into_sorted().is_empty());
        tonnage
    }

    #[test]
    fn an_empty_page_changes_nothing() {
        assert_eq!(build("", ""), Tonnage::usual(Scale::new(87.1).unwrap()));
    }

    #[test]
    fn every_key_is_heard() {
        let tonnage = build(
            r#"
governs = "full size"
rated_for = "moving"
season = "leaves"
speed = "12 mph"
formula = "modified Davis"
bearings = "roller"
curve_resistance = 0.7
curve_starting = 2
rolling = "3 %"
pull = 0.3
load = 0.5
car = { length = "7 in", weight = "4 oz", full_size = "60 tons" }
curve = { radius = "30 in", drag = "1.2 %" }
train_cars = 9
[seasons.leaves]
adhesion = 0.1
pull = 0.9
"#,
            "",
        );
        assert_eq!(
            (tonnage.governs, tonnage.rated_for),
            (Governs::FullSize, RatedFor::Moving)
        );
        assert_eq!(tonnage.seasons, [Season::new("leaves", 0.1, 0.9)]);
        assert_eq!(
            (tonnage.season, tonnage.train_cars, tonnage.curve_lb),
            (0, Some(9), [0.7, 2.0])
        );
        assert_eq!(
            (tonnage.formula, tonnage.bearings),
            (Formula::Modified, Bearings::Roller)
        );
        assert!((tonnage.speed.mph() - 12.0).abs() < 1e-9);
        let rolling = tonnage.rolling;
        assert!(
            (rolling.rolling - 0.03).abs() < 1e-12 && (rolling.starting - 0.0375).abs() < 1e-12
        );
        assert!((rolling.curve_m - 0.012 * 30.0 * 0.0254).abs() < 1e-12);
        assert_eq!((rolling.pull_share, tonnage.load), (0.3, 0.5));
        assert!(
            tonnage.car_length.is_some()
                && tonnage.car_weight.is_some()
                && tonnage.car_full_size.is_some()
        );
    }

    #[test]
    fn test_pulls_count_before_what_is_written() {
        let tonnage = build(
            "rolling = \"3 %\"\nstarting = \"3.5 %\"\n",
            "weight,pull\n40 oz,0.6 oz\n40 oz,0.64 oz\n",
        );
        assert!((tonnage.rolling.rolling - 0.0155).abs() < 1e-9);
        // What starting takes more stays as written.
        assert!((tonnage.rolling.starting - 0.0205).abs() < 1e-9);
    }
}
