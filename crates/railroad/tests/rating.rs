//! Ratings of whole railroads: against a simulation on the line as it is written, and how they follow a changed fact.

use engineering::{Profile, profile::Going};
use mechanical::rating::{Block, Limit};
use model::{diagnostic::Look, units::Actual};
use railroad::{
    Folder, Railroad, fixture, load,
    rating::{LineRatings, Rated, sheet, train_limits},
};

fn example() -> Railroad {
    load(&Folder::built_in("example").unwrap()).railroad
}

/// The line as it is drawn, met from either end, without the code that rates.
struct Line<'a> {
    drawn: &'a Profile,
    down: bool,
    /// What a curve adds: this over its radius in meters.
    curve_m: f64,
}

impl Line<'_> {
    /// Height of the railhead so far along the way of the train; level beyond what is known.
    fn height(&self, at: f64) -> f64 {
        let points = &self.drawn.points;
        let length = self.drawn.length.meters();
        let at = if self.down { length - at } else { at };
        let (first, last) = (points.first().unwrap(), points.last().unwrap());
        let at = at.clamp(first.at.meters(), last.at.meters());
        self.drawn
            .elevation(Actual::from_meters(at))
            .unwrap_or(last.elevation)
            .meters()
    }

    /// How much of a car from `rear` to `front` lies on curves, each by what it adds.
    fn curves(&self, front: f64, rear: f64) -> f64 {
        let length = self.drawn.length.meters();
        self.drawn
            .curves
            .iter()
            .map(|curve| {
                let [a, b] = curve.reach.map(Actual::meters);
                let (a, b) = if self.down {
                    (length - b, length - a)
                } else {
                    (a, b)
                };
                (front.min(b) - rear.max(a)).max(0.0) * self.curve_m / curve.radius.meters()
            })
            .sum()
    }

    /// What engine and cars, one by one, resist with; in kilograms.
    fn demand(&self, engine: &Block, car: &Block, cars: u32, front: f64) -> f64 {
        let mut at = front;
        let mut against = 0.0;
        for vehicle in std::iter::once(engine).chain((0..cars).map(|_| car)) {
            let rear = at - vehicle.length.meters();
            let grade = (self.height(at) - self.height(rear) + self.curves(at, rear)) / (at - rear);
            against += vehicle.weight.kg() * (vehicle.rolling + grade);
            at = rear;
        }
        against
    }
}

fn each_rating(road: &Railroad, mut look: impl FnMut(&LineRatings, &str, &Rated, &Line<'_>)) {
    for line in &sheet(road).lines {
        let drawn = Profile::new(&road.way, &road.network, line.line);
        let track = Line {
            drawn: &drawn,
            down: line.going == Going::Down,
            curve_m: road.tonnage.rolling.curve_m,
        };
        for class in &line.classes {
            if let Ok(rated) = &class.model {
                look(line, &class.class, rated, &track);
            }
        }
    }
}

#[test]
fn every_rated_train_of_the_example_starts_wherever_it_stands_and_one_car_more_does_not() {
    let road = example();
    let mut looked = 0;
    each_rating(&road, |line, class, rated, track| {
        let engine = &rated.pulling.starting;
        let pull = engine.pull.kg();
        let (from, to) = (
            line.stretches[0].from.meters(),
            line.stretches.last().unwrap().to.meters(),
        );
        for at in 0..=400 {
            let front = from + (to - from) * f64::from(at) / 400.0;
            let demand = track.demand(&engine.block, &rated.car[0], rated.starting.cars, front);
            assert!(
                demand <= pull * (1.0 + 1e-7),
                "{} {class} at {front}",
                line.name
            );
        }
        if let Limit::Grade(hardest) = rated.starting.limit {
            let front = hardest.front.meters();
            let demand = track.demand(&engine.block, &rated.car[0], rated.starting.cars + 1, front);
            assert!(
                demand > pull * (1.0 - 1e-7),
                "{} {class} at {front}",
                line.name
            );
            looked += 1;
        }
    });
    assert!(looked >= 20, "{looked}");
}

#[test]
fn bad_weather_and_starting_never_rate_more() {
    let road = example();
    for line in &sheet(&road).lines {
        for class in &line.classes {
            let fair = class.full_size[0].as_ref().unwrap();
            for other in &class.full_size {
                let other = other.as_ref().unwrap();
                assert!(
                    other.starting.cars <= fair.starting.cars
                        && other.moving.cars <= fair.moving.cars
                );
            }
            let model = class.model.as_ref().unwrap();
            assert!(
                model.starting.cars <= model.moving.cars,
                "{} {}",
                line.name,
                class.class
            );
        }
    }
}

#[test]
fn a_train_is_rated_no_less_than_its_class_over_the_whole_line() {
    let road = example();
    let sheet = sheet(&road);
    let mut looked = 0;
    for (id, train) in road.service.train_ids() {
        let [engine] = train.engines.as_slice() else {
            continue;
        };
        let Some(limits) = train_limits(&road, id, None) else {
            continue;
        };
        let Ok(taken) = &limits.model else { continue };
        let engine = road
            .roster
            .engine(road.roster.find_engine(&engine.value).unwrap());
        for leg in &limits.legs {
            let line = sheet
                .lines
                .iter()
                .find(|line| line.line == leg.line && line.going == leg.going)
                .unwrap();
            let class = line
                .classes
                .iter()
                .find(|class| Some(&class.class) == engine.class.as_ref());
            if let (Some(class), [_]) = (class, limits.legs.as_slice()) {
                assert!(
                    taken.starting >= class.model.as_ref().unwrap().starting.cars,
                    "{}",
                    train.symbol.value
                );
                looked += 1;
            }
        }
    }
    assert!(looked >= 5, "{looked}");
}

/// One fact walked through: a district is laid steeper, and a helper appears, and it is the only thing that does.
#[test]
fn a_steeper_grade_brings_a_helper() {
    let road = |rise: &str| {
        let text = format!(
            r#"
--- tonnage.toml
train_cars = 12
--- lines/main.toml
name = "Main"

[[open]]
from = "Alder"
to = "Birch"
length = "20 ft"
elevation = ["40 in", "{rise}"]
--- stations/birch.toml
name = "Birch"
line = "Main"
mile = 4.5
elevation = "{rise}"

[tracks]
main = {{ from = "W", to = "E", length = "12 ft", use = "main" }}
siding = {{ from = "s1", to = "s2", length = "10 ft", use = "siding" }}

[switches]
s1 = {{ on = "main", at = "1 ft", points = "W", hand = "left", number = 6 }}
s2 = {{ on = "main", at = "11 ft", points = "E", hand = "right", number = 6 }}
--- engines.csv
number,kind,wheels,length,built,weight,drawbar_pull
12,steam,2-8-0,9 in,1912,11 oz,2.4 oz
14,steam,2-8-0,9 in,1913,11 oz,2.4 oz
"#
        );
        let loaded = load(&fixture::folder(&text));
        assert_eq!(loaded.report(Look::Plain), "", "{rise}");
        loaded.railroad
    };
    type Hill = (String, String, bool);
    let hills = |road: &Railroad| -> Vec<(String, Vec<Hill>)> {
        sheet(road)
            .lines
            .iter()
            .map(|line| {
                let rated = line.classes[0].model.as_ref().unwrap();
                let name = |at: usize| line.profile.places[at].name.clone();
                let hills = rated
                    .hills
                    .iter()
                    .map(|hill| (name(hill.on), name(hill.off), hill.help.is_some()));
                (line.direction.clone(), hills.collect())
            })
            .collect()
    };
    let easy = hills(&road("42 in"));
    assert_eq!(easy, [("east".into(), vec![]), ("west".into(), vec![])]);
    let steep = hills(&road("46.5 in"));
    let hill = ("Alder".to_owned(), "Birch".to_owned(), true);
    assert_eq!(
        steep,
        [("east".into(), vec![hill]), ("west".into(), vec![])]
    );
}

#[test]
fn the_owners_own_pulls_count_before_common_practice() {
    let with = |pulls: &str| load(&fixture::folder(pulls)).railroad.tonnage;
    let usual = with("");
    let measured = with(
        "--- test-pulls.csv\ncars,weight,pull,grade,radius\nten,40 oz,0.6 oz,,\nten,40 oz,1.4 oz,2 %,\nten,40 oz,1.0 oz,,30 in\nten,40 oz,1.02 oz,,30 in\n",
    );
    assert!((usual.rolling.rolling - 0.02).abs() < 1e-12);
    // 0.6 / 40, and 1.4 / 40 less 2 %.
    assert!(
        (measured.rolling.rolling - 0.015).abs() < 1e-9,
        "{}",
        measured.rolling.rolling
    );
    // 1.01 / 40 less 1.5 %, times 30 in.
    assert!((measured.rolling.curve_m - (1.01 / 40.0 - 0.015) * 30.0 * 0.0254).abs() < 1e-9);
    let found = measured.calibration.unwrap();
    assert_eq!(found.pulls, 4);
    assert!(
        found
            .rolling
            .standard_error
            .is_some_and(|error| error > 0.0)
    );
}
