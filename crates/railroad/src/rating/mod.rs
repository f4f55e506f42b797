//! Tonnage ratings: the engines of the roster on the lines of the way.
//!
//! Every engine class is rated over every line in both directions, by what the model pulls and by what the full-size engine
//! would, and for every season. Which of the two governs is the owner's choice; both are kept.

mod train;

pub(crate) use train::train_limits_in;
pub use train::{Leg, Taken, TrainLimits, train_limits};

use engineering::{
    Profile,
    ids::LineId,
    profile::{Going, SectionOf},
};
use mechanical::{
    Engine, EngineId, EngineKind, Tonnage,
    rating::{
        self, Adjusted, Block, Demands, GradeProfile, Hill, Limit, Momentum, Piece, Place, Rating,
        Reach, Slope, Stretch, adjusted, demands, hills, momentum, rated_weight, reaches,
    },
    resistance::{curve_share, velocity_head},
    tonnage::{
        Governs, Missing, Pulling, RatedFor, davis_car, full_size, full_size_car, model_car,
        on_model,
    },
    weight::weigh,
};
use model::{
    scale::Scale,
    units::{Actual, Speed, Weight},
};

use crate::{Railroad, identity::UnitsStyle};

/// Beyond so many cars nothing is rated, unless the owner's longest train has more.
const MOST_CARS: u32 = 60;

/// All ratings of a railroad.
#[derive(Debug, Clone, PartialEq)]
pub struct Sheet {
    /// Which reckoning governs.
    pub governs: Governs,
    /// What a rated train must be able to do.
    pub rated_for: RatedFor,
    /// Names of the seasons.
    pub seasons: Vec<String>,
    /// The one in force.
    pub season: usize,
    /// The car that ratings are counted in.
    pub car: RatingCar,
    /// Classes that can help, by the index that [`Help`](mechanical::rating::Help) names them with.
    pub helpers: Vec<String>,
    /// The lines, each in both directions.
    pub lines: Vec<LineRatings>,
}

/// The car that ratings are counted in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct RatingCar {
    /// Over the pulling faces.
    pub length: Actual,
    /// Weight of the model.
    pub model: Weight,
    /// Weight with its load, full size.
    pub full_size: Weight,
    /// How many cars of the roster it is the mean of; none if the owner or common practice says.
    pub of: usize,
}

/// The ratings over a line in one direction.
#[derive(Debug, Clone, PartialEq)]
pub struct LineRatings {
    /// The line.
    pub line: LineId,
    /// Its name.
    pub name: String,
    /// Which way.
    pub going: Going,
    /// The timetable's name for it.
    pub direction: String,
    /// The line as its trains meet it.
    pub profile: GradeProfile,
    /// The stretches from station to station.
    pub stretches: Vec<Stretch>,
    /// The engine classes, in the order of the roster.
    pub classes: Vec<ClassRatings>,
}

/// The ratings of an engine class.
#[derive(Debug, Clone, PartialEq)]
pub struct ClassRatings {
    /// Its class, or its number if it has none.
    pub class: String,
    /// The engines of the class that stand on the railroad.
    pub engines: Vec<EngineId>,
    /// By what the weakest of the models pulls.
    pub model: Result<Rated, Missing>,
    /// By what the full-size engine would pull, for each season.
    pub full_size: Vec<Result<Rated, Missing>>,
}

/// What an engine class may take.
#[derive(Debug, Clone, PartialEq)]
pub struct Rated {
    /// The engine.
    pub pulling: Pulling,
    /// The rating car: starting, moving.
    pub car: [Block; 2],
    /// What starts wherever it is stopped.
    pub starting: Rating,
    /// What keeps moving.
    pub moving: Rating,
    /// Weight of cars at the rating that counts, part of a car included.
    pub weight: Weight,
    /// The most cars for the longest train, if the owner limits it.
    pub car_limit: Option<u32>,
    /// From station to station: cars that start, cars that keep moving.
    pub stretches: Vec<[u32; 2]>,
    /// Where a full train wants help.
    pub hills: Vec<Hill>,
    /// Cars of that full train.
    pub full_train: u32,
    /// Full size, in the season in force: the cars, up to the full train, that get over by speed where the line allows it, and the places they do
    /// so. None if no more than keep moving.
    pub momentum: Option<(u32, Vec<MomentumGrade>)>,
}

/// A grade passed by speed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MomentumGrade {
    /// Where.
    pub reach: Reach,
    /// The speed it takes at its foot.
    pub speed: Speed,
    /// The height that speed climbs.
    pub momentum: Momentum,
}

impl Rated {
    /// The rating that counts.
    pub fn rating(&self, rated_for: RatedFor) -> &Rating {
        match rated_for {
            RatedFor::Starting => &self.starting,
            RatedFor::Moving => &self.moving,
        }
    }
}

impl ClassRatings {
    /// The rating that governs.
    pub fn governing(&self, sheet: &Sheet) -> &Result<Rated, Missing> {
        match sheet.governs {
            Governs::Model => &self.model,
            Governs::FullSize => &self.full_size[sheet.season],
        }
    }
}

/// A line as trains going one way meet it: its pieces, and its stations as places. Country of unknown height counts as level.
pub fn grade_profile(railroad: &Railroad, profile: &Profile, going: Going) -> GradeProfile {
    let mut pieces = Vec::new();
    let mut at = Actual::ZERO;
    let level = |length: Actual| Piece {
        length,
        grade: model::units::Grade::LEVEL,
        radius: None,
    };
    for piece in profile.grades(railroad.network.limits()) {
        if piece.reach[0] > at {
            pieces.push(level(piece.reach[0] - at));
        }
        pieces.push(Piece {
            length: piece.length(),
            grade: piece.grade,
            radius: piece.radius,
        });
        at = piece.reach[1];
    }
    if profile.length > at {
        pieces.push(level(profile.length - at));
    }
    let places = profile
        .sections
        .iter()
        .filter_map(|section| match section.what {
            SectionOf::Station(station) => Some(Place {
                name: railroad.way.station(station).name.value.clone(),
                from: section.reach[0],
                to: section.reach[1],
            }),
            SectionOf::Open(_) => None,
        })
        .collect();
    let up = GradeProfile { pieces, places };
    match going {
        Going::Up => up,
        Going::Down => up.reversed(),
    }
}

/// The slopes of a line for trains that start and for trains that move, of the model and full size.
struct Slopes {
    model: Slope,
    full_size: [Slope; 2],
}

impl Slopes {
    fn new(profile: &GradeProfile, tonnage: &Tonnage, scale: Scale) -> Self {
        let full_size = |pounds: f64| {
            Slope::new(profile, move |radius| {
                curve_share(scale.to_prototype(radius), pounds)
            })
        };
        let rolling = tonnage.rolling;
        Self {
            model: Slope::new(profile, |radius| rolling.curve(radius)),
            full_size: [
                full_size(tonnage.curve_lb[1]),
                full_size(tonnage.curve_lb[0]),
            ],
        }
    }
}

/// The car that ratings are counted in: what the owner says, else the mean of the freight cars in service, else common
/// practice: 44 ft over the pulling faces, the weight of RP-20.1 and 50 tons.
pub fn rating_car(railroad: &Railroad) -> RatingCar {
    let tonnage = &railroad.tonnage;
    let scale = &railroad.identity.scale;
    let freight: Vec<_> = railroad
        .roster
        .cars
        .iter()
        .filter(|car| {
            car.state == mechanical::CarState::InService
                && car.kind.is_some_and(|kind| kind.carries_freight())
        })
        .collect();
    let mean = |values: Vec<f64>| {
        (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
    };
    let length = tonnage
        .car_length
        .or_else(|| {
            mean(
                freight
                    .iter()
                    .filter_map(|car| Some(car.length?.meters()))
                    .collect(),
            )
            .map(Actual::from_meters)
        })
        .unwrap_or_else(|| {
            scale
                .scale
                .to_actual(model::units::Prototype::from_feet(44.0))
        });
    let model = tonnage
        .car_weight
        .or_else(|| {
            mean(
                freight
                    .iter()
                    .filter_map(|car| Some(car.weight?.kg()))
                    .collect(),
            )
            .map(Weight::from_kg)
        })
        .or_else(|| weigh(scale, length, None).map(|weighed| weighed.target))
        .unwrap_or(Weight::from_ounces(4.0));
    let full_size = tonnage
        .car_full_size
        .or_else(|| {
            let loaded = |car: &&mechanical::Car| {
                Some((car.light_weight?.value + car.capacity?.value * tonnage.load).kg())
            };
            mean(freight.iter().filter_map(loaded).collect()).map(Weight::from_kg)
        })
        .unwrap_or(Weight::from_short_tons(50.0));
    RatingCar {
        length,
        model,
        full_size,
        of: freight.len(),
    }
}

/// All ratings.
pub fn sheet(railroad: &Railroad) -> Sheet {
    sheet_of(railroad, |_, _| true)
}

/// The ratings of some lines and engines.
pub fn sheet_of(railroad: &Railroad, wanted: impl Fn(LineId, Option<&Engine>) -> bool) -> Sheet {
    let tonnage = &railroad.tonnage;
    let car = rating_car(railroad);
    let classes = classes(railroad);
    let mut lines = Vec::new();
    for (line, named) in railroad.way.lines().filter(|(line, _)| wanted(*line, None)) {
        let drawn = Profile::new(&railroad.way, &railroad.network, line);
        for going in [Going::Up, Going::Down] {
            let profile = grade_profile(railroad, &drawn, going);
            let work = Work::new(railroad, &drawn, &profile, going, car, &classes);
            let rated = classes
                .iter()
                .filter(|(_, engines)| {
                    engines
                        .iter()
                        .any(|id| wanted(line, Some(railroad.roster.engine(*id))))
                })
                .map(|(class, engines)| work.class(class, engines))
                .collect();
            lines.push(LineRatings {
                line,
                name: named.name.value.clone(),
                going,
                direction: named.directions[usize::from(going == Going::Up)].clone(),
                stretches: profile.stretches(),
                classes: rated,
                profile,
            });
        }
    }
    Sheet {
        governs: tonnage.governs,
        rated_for: tonnage.rated_for,
        seasons: tonnage
            .seasons
            .iter()
            .map(|season| season.name.clone())
            .collect(),
        season: tonnage.season,
        helpers: classes.iter().map(|(class, _)| class.clone()).collect(),
        car,
        lines,
    }
}

/// Engine classes with those of their engines that stand on the railroad, in the order of the roster.
fn classes(railroad: &Railroad) -> Vec<(String, Vec<EngineId>)> {
    let mut classes: Vec<(String, Vec<EngineId>)> = Vec::new();
    for (id, engine) in railroad.roster.engine_ids() {
        if !engine.state.on_the_railroad() {
            continue;
        }
        let name = engine
            .class
            .clone()
            .unwrap_or_else(|| engine.number.value.clone());
        match classes.iter_mut().find(|(class, _)| *class == name) {
            Some((_, engines)) => engines.push(id),
            None => classes.push((name, vec![id])),
        }
    }
    classes
}

/// Which classes help: those that some train has as a helper, or, if no train has one, all but motor cars.
fn helper_classes(railroad: &Railroad, classes: &[(String, Vec<EngineId>)]) -> Vec<bool> {
    let named: Vec<EngineId> = railroad
        .service
        .trains
        .iter()
        .filter_map(|train| {
            railroad
                .roster
                .find_engine(&train.helper.as_ref()?.engine.as_ref()?.value)
        })
        .collect();
    classes
        .iter()
        .map(|(_, engines)| match named.as_slice() {
            [] => engines.iter().all(|id| {
                railroad
                    .roster
                    .engine(*id)
                    .kind
                    .is_none_or(|kind| kind.value != EngineKind::GasElectric)
            }),
            named => engines.iter().any(|id| named.contains(id)),
        })
        .collect()
}

/// What rating the engines over one line in one direction takes.
struct Work<'a> {
    railroad: &'a Railroad,
    drawn: &'a Profile,
    profile: &'a GradeProfile,
    going: Going,
    slopes: Slopes,
    stretches: Vec<Stretch>,
    car: RatingCar,
    /// The classes that can help, by their index.
    model_helpers: Vec<(usize, Pulling)>,
    /// By season.
    full_size_helpers: Vec<Vec<(usize, Pulling)>>,
}

impl<'a> Work<'a> {
    fn new(
        railroad: &'a Railroad,
        drawn: &'a Profile,
        profile: &'a GradeProfile,
        going: Going,
        car: RatingCar,
        classes: &[(String, Vec<EngineId>)],
    ) -> Self {
        let tonnage = &railroad.tonnage;
        let mut stretches = profile.stretches();
        if stretches.is_empty() {
            stretches.push(Stretch {
                leaves: 0,
                reaches: 0,
                from: Actual::ZERO,
                to: profile.length(),
            });
        }
        // A helper is whatever engine of its class is at hand: the first stands for all.
        let used = helper_classes(railroad, classes);
        let first = || {
            classes
                .iter()
                .enumerate()
                .filter(|(at, _)| used[*at])
                .filter_map(|(at, (_, engines))| {
                    Some((at, railroad.roster.engine(*engines.first()?)))
                })
        };
        Self {
            slopes: Slopes::new(profile, tonnage, railroad.identity.scale.scale),
            stretches,
            model_helpers: first()
                .filter_map(|(at, engine)| Some((at, on_model(engine, tonnage).ok()?)))
                .collect(),
            full_size_helpers: tonnage
                .seasons
                .iter()
                .map(|season| {
                    first()
                        .filter_map(|(at, engine)| {
                            Some((at, full_size(engine, tonnage, season).ok()?))
                        })
                        .collect()
                })
                .collect(),
            railroad,
            drawn,
            profile,
            going,
            car,
        }
    }

    fn class(&self, class: &str, ids: &[EngineId]) -> ClassRatings {
        let tonnage = &self.railroad.tonnage;
        let engines: Vec<&Engine> = ids
            .iter()
            .map(|id| self.railroad.roster.engine(*id))
            .collect();
        // A class is rated by its weakest engine: the dispatcher may get any of them.
        let weakest = engines
            .iter()
            .map(|engine| on_model(engine, tonnage))
            .reduce(|a, b| match (a, b) {
                (Ok(a), Ok(b)) => Ok(if b.moving.pull < a.moving.pull { b } else { a }),
                (Ok(one), Err(_)) | (Err(_), Ok(one)) => Ok(one),
                (Err(one), Err(_)) => Err(one),
            })
            .unwrap_or(Err(Missing("everything")));
        let cars = model_car(tonnage, self.car.length, self.car.model);
        let model = weakest.map(|pulling| {
            let slopes = [&self.slopes.model, &self.slopes.model];
            let demands = self.demands(
                slopes,
                &pulling,
                &cars,
                [[pulling.starting.pull; 2], [pulling.moving.pull; 2]],
            );
            self.rated(slopes, pulling, cars, &demands, &self.model_helpers)
        });
        let cars = full_size_car(tonnage, self.car.length, self.car.full_size);
        let slopes = [&self.slopes.full_size[0], &self.slopes.full_size[1]];
        let by_season: Vec<Result<(&Engine, Pulling), Missing>> = tonnage
            .seasons
            .iter()
            .map(|season| {
                engines
                    .iter()
                    .map(|engine| Ok((*engine, full_size(engine, tonnage, season)?)))
                    .reduce(|a, b| match (&a, &b) {
                        (Ok((_, one)), Ok((_, two))) if two.moving.pull < one.moving.pull => b,
                        (Err(_), Ok(_)) => b,
                        _ => a,
                    })
                    .unwrap_or(Err(Missing("everything")))
            })
            .collect();
        let known = by_season.iter().flatten().map(|(_, pulling)| pulling);
        let spread = |pull: fn(&Pulling) -> Weight| {
            known
                .clone()
                .map(pull)
                .fold(None, |range: Option<[Weight; 2]>, pull| {
                    Some(range.map_or([pull; 2], |[least, most]| [least.min(pull), most.max(pull)]))
                })
        };
        // One reckoning of the demands serves all seasons: only the pull differs.
        let demands = match (
            known.clone().next(),
            spread(|p| p.starting.pull),
            spread(|p| p.moving.pull),
        ) {
            (Some(pulling), Some(starting), Some(moving)) => {
                Some(self.demands(slopes, pulling, &cars, [starting, moving]))
            }
            _ => None,
        };
        let full_size = by_season
            .into_iter()
            .enumerate()
            .map(|(season, pulling)| {
                let (engine, pulling) = pulling?;
                let demands = demands.as_ref().ok_or(Missing("everything"))?;
                let helpers = &self.full_size_helpers[season];
                let mut rated = self.rated(slopes, pulling, cars, demands, helpers);
                // Only the season in force is worth the search.
                if season == tonnage.season {
                    rated.momentum = self.momentum(slopes[1], &rated, engine, season);
                }
                Ok(rated)
            })
            .collect();
        ClassRatings {
            class: class.to_owned(),
            engines: ids.to_vec(),
            model,
            full_size,
        }
    }

    fn demands(
        &self,
        slopes: [&Slope; 2],
        pulling: &Pulling,
        cars: &[Block; 2],
        pulls: [[Weight; 2]; 2],
    ) -> [Vec<Demands>; 2] {
        let most = self.most_cars();
        [
            demands(
                slopes[0],
                &pulling.starting.block,
                &cars[0],
                most,
                &self.stretches,
                pulls[0],
            ),
            demands(
                slopes[1],
                &pulling.moving.block,
                &cars[1],
                most,
                &self.stretches,
                pulls[1],
            ),
        ]
    }

    fn most_cars(&self) -> u32 {
        let longest = self.railroad.identity.limits.train_length;
        longest.map_or(MOST_CARS, |longest| {
            MOST_CARS.max((longest / self.car.length).ceil() as u32)
        })
    }

    fn rated(
        &self,
        slopes: [&Slope; 2],
        pulling: Pulling,
        cars: [Block; 2],
        demands: &[Vec<Demands>; 2],
        helpers: &[(usize, Pulling)],
    ) -> Rated {
        let tonnage = &self.railroad.tonnage;
        let each: [Vec<Rating>; 2] = [
            demands[0]
                .iter()
                .map(|demands| demands.rating(pulling.starting.pull))
                .collect(),
            demands[1]
                .iter()
                .map(|demands| demands.rating(pulling.moving.pull))
                .collect(),
        ];
        let [starting, moving] = [0, 1].map(|state: usize| worst(&each[state]));
        let (state, rating) = match tonnage.rated_for {
            RatedFor::Starting => (0, starting),
            RatedFor::Moving => (1, moving),
        };
        let engine = if state == 0 {
            pulling.starting
        } else {
            pulling.moving
        };
        let (from, to) = (
            self.stretches[0].from,
            self.stretches[self.stretches.len() - 1].to,
        );
        let weight = rated_weight(slopes[state], &engine, &cars[state], &rating, from, to);
        let longest = self.railroad.identity.limits.train_length;
        let car_limit = longest.map(|longest| {
            mechanical::weight::room(longest, engine.block.length, self.car.length, Actual::ZERO)
                .cars as u32
        });
        let best = each[state]
            .iter()
            .map(|rating| rating.cars)
            .max()
            .unwrap_or(0);
        let full_train = tonnage.train_cars.or(car_limit).unwrap_or(best);
        let engines: Vec<rating::Engine> = helpers
            .iter()
            .map(|(_, helper)| {
                if state == 0 {
                    helper.starting
                } else {
                    helper.moving
                }
            })
            .collect();
        let mut found = Vec::new();
        if rating.cars < full_train {
            let slope = slopes[state];
            found = hills(
                self.profile,
                slope,
                &engine,
                &cars[state],
                full_train,
                &engines,
            );
            for help in found.iter_mut().filter_map(|hill| hill.help.as_mut()) {
                help.helper = helpers[help.helper].0;
            }
        }
        Rated {
            starting,
            moving,
            weight,
            car_limit,
            stretches: each[0]
                .iter()
                .zip(&each[1])
                .map(|(start, run)| [start.cars, run.cars])
                .collect(),
            hills: found,
            full_train,
            momentum: None,
            car: cars,
            pulling,
        }
    }

    /// How many cars get over by speed where grade stops them, at no more than the speed the line allows at the foot.
    ///
    /// The pull and the resistance of the highest speed on the line count all the way, though both ease as a train slows; so
    /// what is said to get over does.
    fn momentum(
        &self,
        slope: &Slope,
        rated: &Rated,
        engine: &Engine,
        season: usize,
    ) -> Option<(u32, Vec<MomentumGrade>)> {
        let tonnage = &self.railroad.tonnage;
        let scale = self.railroad.identity.scale.scale;
        let fastest = self
            .drawn
            .speeds
            .iter()
            .filter_map(|piece| piece.freight)
            .reduce(Speed::max)?;
        let mut fast = tonnage.clone();
        fast.speed = fastest.max(tonnage.speed);
        let engine = full_size(engine, &fast, &fast.seasons[season]).ok()?.moving;
        let car = full_size_car(&fast, self.car.length, self.car.full_size)[1];
        let (from, to) = (
            self.stretches[0].from,
            self.stretches[self.stretches.len() - 1].to,
        );
        let ten = Speed::from_mph(10.0);
        let mut found = None;
        let mut cars = rated.moving.cars + 1;
        while rated.moving.moves_itself && cars <= rated.full_train {
            let blocks = [engine.block, car.times(cars)];
            let mut grades = Vec::new();
            for reach in reaches(slope, &blocks, engine.pull, from, to) {
                let momentum = momentum(&reach);
                // The rated speed is still to be kept at the top.
                let height = scale.to_prototype(momentum.lift) + velocity_head(tonnage.speed);
                let speed = ten * (height / velocity_head(ten)).sqrt();
                if self
                    .allowed(reach.from)
                    .is_none_or(|allowed| allowed < speed)
                {
                    return found;
                }
                grades.push(MomentumGrade {
                    reach,
                    speed,
                    momentum,
                });
            }
            found = Some((cars, grades));
            cars += 1;
        }
        found
    }

    /// The speed allowed where the front of a train is.
    fn allowed(&self, front: Actual) -> Option<Speed> {
        let at = match self.going {
            Going::Up => front,
            Going::Down => self.drawn.length - front,
        };
        self.drawn
            .speeds
            .iter()
            .find(|piece| piece.reach[0] <= at && at <= piece.reach[1])
            .and_then(|piece| piece.freight)
    }
}

/// The lowest of some ratings; of two as low, the first.
fn worst(each: &[Rating]) -> Rating {
    each.iter()
        .copied()
        .reduce(|worst, rating| {
            let less = (rating.moves_itself, rating.cars) < (worst.moves_itself, worst.cars);
            let grade = rating.cars == worst.cars
                && worst.limit == Limit::Length
                && rating.limit != Limit::Length;
            if less || grade { rating } else { worst }
        })
        .unwrap_or(Rating {
            cars: 0,
            limit: Limit::Length,
            moves_itself: false,
        })
}

/// The ruling grade in its parts, shares under the whole train: the grade itself, and what curves add.
pub fn ruling_parts(
    line: &LineRatings,
    rated: &Rated,
    rating: &Rating,
    mean: f64,
    front: Actual,
) -> [f64; 2] {
    let bare = Slope::new(&line.profile, |_| 0.0);
    let length =
        rated.pulling.moving.block.length + rated.car[1].length * f64::from(rating.cars + 1);
    let grade = bare.mean(front.meters(), (front - length).meters());
    [grade, mean - grade]
}

/// The adjusted rating of a full-size engine at the placing that rules when it moves.
pub fn adjusted_rating(railroad: &Railroad, line: &LineRatings, rated: &Rated) -> Option<Adjusted> {
    let Limit::Grade(hardest) = rated.moving.limit else {
        return None;
    };
    let tonnage = &railroad.tonnage;
    let slopes = Slopes::new(&line.profile, tonnage, railroad.identity.scale.scale);
    let slope = &slopes.full_size[1];
    let engine = rated.pulling.moving;
    let front = hardest.front.meters();
    let own = rating::demand(slope, &[engine.block], front);
    let rear = front - engine.block.length.meters();
    let cars = (rated.car[1].length * f64::from(rated.moving.cars + 1)).meters();
    let grade = slope.mean(rear, rear - cars);
    adjusted(
        engine.pull - own,
        &davis_car(tonnage, rated.car[1].weight),
        tonnage.speed,
        grade,
    )
}

/// How many cars the scatter of the test pulls leaves possible, fewest and most: the rating with the cars' resistance at the
/// ruling placing twice its standard error more and less. `None` without pulls enough to tell.
pub fn spread(
    railroad: &Railroad,
    line: &LineRatings,
    rated: &Rated,
    rated_for: RatedFor,
) -> Option<[u32; 2]> {
    let rating = rated.rating(rated_for);
    let Limit::Grade(hardest) = rating.limit else {
        return None;
    };
    let found = railroad.tonnage.calibration.as_ref()?;
    let [_, curves] = ruling_parts(line, rated, rating, hardest.mean, hardest.front);
    let curve_m = railroad.tonnage.rolling.curve_m;
    let radius = (curves > 0.0 && curve_m > 0.0).then(|| Actual::from_meters(curve_m / curves));
    let error = 2.0 * found.at(radius).standard_error?;
    let car = rated.car[usize::from(rated_for == RatedFor::Moving)];
    let each = car.rolling + hardest.mean;
    let scaled = |each_then: f64| f64::from(rating.cars) * each / each_then;
    let most = if each - error > 0.0 {
        scaled(each - error).floor() as u32
    } else {
        self::MOST_CARS
    };
    Some([scaled(each + error).floor() as u32, most.max(rating.cars)])
}

/// Where a train of so many cars behind one engine of a class could not start again: reaches of its front.
pub fn no_stops(
    railroad: &Railroad,
    governs: Governs,
    line: &LineRatings,
    rated: &Rated,
    cars: u32,
) -> Vec<Reach> {
    let slopes = Slopes::new(
        &line.profile,
        &railroad.tonnage,
        railroad.identity.scale.scale,
    );
    let slope = match governs {
        Governs::Model => &slopes.model,
        Governs::FullSize => &slopes.full_size[0],
    };
    let (Some(first), Some(last)) = (line.stretches.first(), line.stretches.last()) else {
        return Vec::new();
    };
    let blocks = [rated.pulling.starting.block, rated.car[0].times(cars)];
    reaches(
        slope,
        &blocks,
        rated.pulling.starting.pull,
        first.from,
        last.to,
    )
}

/// What a curve adds to the grade by one of the two reckonings, for a moving train: a share of weight.
pub fn drag(railroad: &Railroad, governs: Governs, radius: Actual) -> f64 {
    let tonnage = &railroad.tonnage;
    match governs {
        Governs::Model => tonnage.rolling.curve(radius),
        Governs::FullSize => {
            let scale = railroad.identity.scale.scale;
            curve_share(scale.to_prototype(radius), tonnage.curve_lb[0])
        }
    }
}

/// A place along a line in words: `3'-6" past Stirrup Wells`, or `10" into it`.
pub fn place_words(railroad: &Railroad, profile: &GradeProfile, at: Actual) -> String {
    let show = |length: Actual| match railroad.identity.units {
        UnitsStyle::FeetAndInches if length < Actual::from_feet(1.0) => {
            UnitsStyle::Inches.show(length)
        }
        units => units.show(length),
    };
    let least = Actual::from_mm(1.0);
    match profile.last_place(at) {
        Some((place, past)) if past > least => format!("{} past {}", show(past), place.name),
        Some((place, _)) if at - place.from > least => {
            format!("{} into {}", show(at - place.from), place.name)
        }
        Some((place, _)) => format!("at {}", place.name),
        None => format!("{} from the end of the line", show(at)),
    }
}
