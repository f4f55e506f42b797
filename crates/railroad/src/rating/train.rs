//! What one train may take over its way: the limits an operating day has to keep.

use engineering::{Profile, ids::LineId, profile::Going};
use mechanical::{
    Engine,
    rating::{self, Block, GradeProfile, Hardest, Reach, Slope, Stretch, hardest, reaches},
    tonnage::{Governs, Missing, Pulling, RatedFor, full_size, full_size_car, model_car, on_model},
    weight::room,
};
use model::units::{Actual, Weight};
use transportation::TrainId;

use super::{MOST_CARS, Slopes, grade_profile, rating_car};
use crate::{Railroad, checks::context::Context};

/// What a train may take.
#[derive(Debug, Clone, PartialEq)]
pub struct TrainLimits {
    /// The parts of its way, each on one line in one direction.
    pub legs: Vec<Leg>,
    /// How many rating cars it has room for, its engines taken off; if its length is limited.
    pub room: Option<u32>,
    /// The cars it is asked about: its own limit, or as many as it has room for.
    pub asked: u32,
    /// By what the models pull.
    pub model: Result<Taken, Missing>,
    /// By what the full-size engines would pull, in the season in force.
    pub full_size: Result<Taken, Missing>,
    /// Which of the two governs.
    pub governs: Governs,
    /// What a rated train must be able to do.
    pub rated_for: RatedFor,
}

impl TrainLimits {
    /// What governs.
    pub fn governing(&self) -> &Result<Taken, Missing> {
        match self.governs {
            Governs::Model => &self.model,
            Governs::FullSize => &self.full_size,
        }
    }
}

/// Part of a train's way, on one line.
#[derive(Debug, Clone, PartialEq)]
pub struct Leg {
    /// The line.
    pub line: LineId,
    /// Which way.
    pub going: Going,
    /// The line as the train meets it.
    pub profile: GradeProfile,
    /// The stretches it runs over.
    pub stretches: Vec<Stretch>,
    /// For each of them whether the helper is on.
    pub helped: Vec<bool>,
}

/// What a train may take by one of the two reckonings.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// Cars it starts with wherever it is stopped.
    pub starting: u32,
    /// Cars it keeps moving with.
    pub moving: u32,
    /// Weight of so many cars.
    pub weight: [Weight; 2],
    /// What keeps either from being one more: the leg and the hardest placing.
    pub limit: [Option<(usize, Hardest)>; 2],
    /// From station to station, leg by leg: cars that start, cars that keep moving.
    pub stretches: Vec<Vec<[u32; 2]>>,
    /// Where the train of the cars asked about could not start again: leg and reach of its front.
    pub no_stop: Vec<(usize, Reach)>,
    /// Where it would stall.
    pub stalls: Vec<(usize, Reach)>,
}

/// One reckoning of a train: engines ahead, cars, helper behind.
struct Team {
    lead: [rating::Engine; 2],
    helper: Option<[rating::Engine; 2]>,
    car: [Block; 2],
}

impl Team {
    fn new(engines: &[Pulling], helper: Option<&Pulling>, car: [Block; 2]) -> Self {
        let state = |which: usize| {
            let each = engines.iter().map(|engine| {
                if which == 0 {
                    engine.starting
                } else {
                    engine.moving
                }
            });
            let weight: Weight = each.clone().map(|engine| engine.block.weight).sum();
            let held: Weight = each
                .clone()
                .map(|engine| engine.block.weight * engine.block.rolling)
                .sum();
            rating::Engine {
                block: Block {
                    length: each.clone().map(|engine| engine.block.length).sum(),
                    weight,
                    rolling: if weight > Weight::ZERO {
                        held / weight
                    } else {
                        0.0
                    },
                },
                pull: each.map(|engine| engine.pull).sum(),
            }
        };
        Self {
            lead: [state(0), state(1)],
            helper: helper.map(|one| [one.starting, one.moving]),
            car,
        }
    }

    /// The train of so many cars, and its pull.
    fn train(&self, state: usize, cars: u32, helped: bool) -> (Vec<Block>, Weight) {
        let lead = self.lead[state];
        let mut blocks = vec![lead.block];
        if cars > 0 {
            blocks.push(self.car[state].times(cars));
        }
        match self.helper.filter(|_| helped) {
            Some(helper) => {
                blocks.push(helper[state].block);
                (blocks, lead.pull + helper[state].pull)
            }
            None => (blocks, lead.pull),
        }
    }

    fn taken(&self, legs: &[Leg], slopes: &[[&Slope; 2]], asked: u32, most: u32) -> Taken {
        let mut each: Vec<Vec<[u32; 2]>> = Vec::new();
        let mut limit: [Option<(usize, Hardest)>; 2] = [None, None];
        let mut least = [most; 2];
        for (at, leg) in legs.iter().enumerate() {
            let mut row = Vec::new();
            for (stretch, &helped) in leg.stretches.iter().zip(&leg.helped) {
                row.push([0, 1].map(|state: usize| {
                    let slope = slopes[at][state];
                    let failed = (0..=most).find_map(|cars| {
                        let (blocks, pull) = self.train(state, cars, helped);
                        let found = hardest(slope, &blocks, stretch.from, stretch.to);
                        rating::exceeds(found.demand, pull).then_some((cars, found))
                    });
                    let cars = failed.map_or(most, |(cars, _)| cars.saturating_sub(1));
                    if let Some((_, found)) = failed
                        && (limit[state].is_none() || cars < least[state])
                    {
                        limit[state] = Some((at, found));
                        least[state] = cars;
                    }
                    cars
                }));
            }
            each.push(row);
        }
        let weight = |state: usize| self.car[state].weight * f64::from(least[state]);
        Taken {
            starting: least[0],
            moving: least[1],
            weight: [weight(0), weight(1)],
            limit,
            stretches: each,
            no_stop: self.reaches(legs, slopes, asked, 0),
            stalls: self.reaches(legs, slopes, asked, 1),
        }
    }

    fn reaches(
        &self,
        legs: &[Leg],
        slopes: &[[&Slope; 2]],
        cars: u32,
        state: usize,
    ) -> Vec<(usize, Reach)> {
        let mut all: Vec<(usize, Reach)> = Vec::new();
        for (at, leg) in legs.iter().enumerate() {
            for (stretch, &helped) in leg.stretches.iter().zip(&leg.helped) {
                let (blocks, pull) = self.train(state, cars, helped);
                for reach in reaches(slopes[at][state], &blocks, pull, stretch.from, stretch.to) {
                    all.push((at, reach));
                }
            }
        }
        all
    }
}

/// What a train may take; `None` if it has no way. `cars` are those it is asked about, instead of its own limit.
pub fn train_limits(railroad: &Railroad, id: TrainId, cars: Option<u32>) -> Option<TrainLimits> {
    train_limits_in(railroad, &Context::new(railroad), id, cars)
}

/// As [`train_limits`], with what checks know of all trains.
pub(crate) fn train_limits_in(
    railroad: &Railroad,
    context: &Context<'_>,
    id: TrainId,
    cars: Option<u32>,
) -> Option<TrainLimits> {
    let train = &railroad.service.trains[id.index()];
    let way = context.way_of(id)?;
    let tonnage = &railroad.tonnage;
    let car = rating_car(railroad);
    let helper = train.helper.as_ref();
    let find = |name: &model::Spanned<String>| railroad.roster.find_engine(&name.value);
    let helper_engine =
        helper.and_then(|helper| Some(railroad.roster.engine(find(helper.engine.as_ref()?)?)));
    let place = |name: Option<&model::Spanned<String>>| {
        let station = railroad.way.find_station(&name?.value)?;
        way.stations.iter().position(|one| *one == station)
    };
    let helped =
        helper.and_then(|helper| Some((place(helper.from.as_ref())?, place(helper.to.as_ref())?)));
    let legs = legs(railroad, &way.stations, &way.opens, helped);
    let engines: Vec<&Engine> = train
        .engines
        .iter()
        .filter_map(find)
        .map(|id| railroad.roster.engine(id))
        .collect();
    let longest = train
        .max_length
        .map(|length| length.value)
        .or(railroad.identity.limits.train_length);
    let room = longest.map(|longest| {
        let taken: Actual = engines
            .iter()
            .filter_map(|engine| engine.length)
            .map(|length| length.value)
            .sum();
        room(longest, taken, car.length, Actual::ZERO).cars as u32
    });
    let own = train
        .max_cars
        .and_then(|cars| u32::try_from(cars.value).ok());
    let asked = cars.or(own).or(room).unwrap_or(0);
    let most = MOST_CARS.max(asked);
    let slopes: Vec<Slopes> = legs
        .iter()
        .map(|leg| Slopes::new(&leg.profile, tonnage, railroad.identity.scale.scale))
        .collect();
    let take = |pulls: &dyn Fn(&Engine) -> Result<Pulling, Missing>,
                blocks: [Block; 2],
                slopes: &[[&Slope; 2]]| {
        if engines.is_empty() {
            return Err(Missing("an engine"));
        }
        let lead = engines
            .iter()
            .map(|engine| pulls(engine))
            .collect::<Result<Vec<_>, _>>()?;
        let helper = helper_engine.map(pulls).transpose()?;
        Ok(Team::new(&lead, helper.as_ref(), blocks).taken(&legs, slopes, asked, most))
    };
    let model_slopes: Vec<[&Slope; 2]> = slopes.iter().map(|slopes| [&slopes.model; 2]).collect();
    let full_slopes: Vec<[&Slope; 2]> = slopes
        .iter()
        .map(|slopes| [&slopes.full_size[0], &slopes.full_size[1]])
        .collect();
    let season = &tonnage.seasons[tonnage.season];
    let model = take(
        &|engine| on_model(engine, tonnage),
        model_car(tonnage, car.length, car.model),
        &model_slopes,
    );
    let full_size = take(
        &|engine| full_size(engine, tonnage, season),
        full_size_car(tonnage, car.length, car.full_size),
        &full_slopes,
    );
    Some(TrainLimits {
        legs,
        room,
        asked,
        model,
        full_size,
        governs: tonnage.governs,
        rated_for: tonnage.rated_for,
    })
}

/// The way of a train cut where it passes from line to line, with its helper on from one station to another.
fn legs(
    railroad: &Railroad,
    stations: &[engineering::ids::StationId],
    opens: &[crate::checks::context::Step],
    helped: Option<(usize, usize)>,
) -> Vec<Leg> {
    let mut legs = Vec::new();
    let mut at = 0;
    while at < opens.len() {
        let (line, up) = (opens[at].open.line, opens[at].up);
        let steps = opens[at..]
            .iter()
            .take_while(|step| step.open.line == line && step.up == up)
            .count();
        let going = if up { Going::Up } else { Going::Down };
        let drawn = Profile::new(&railroad.way, &railroad.network, line);
        let profile = grade_profile(railroad, &drawn, going);
        let name = |station| railroad.way.station(station).name.value.as_str();
        let place = |station| {
            profile
                .places
                .iter()
                .position(|place| place.name == name(station))
        };
        let mut stretches = Vec::new();
        let mut helpers = Vec::new();
        for step in at..at + steps {
            if let (Some(leaves), Some(reaches)) =
                (place(stations[step]), place(stations[step + 1]))
            {
                stretches.push(Stretch {
                    leaves,
                    reaches,
                    from: profile.places[leaves].to,
                    to: profile.places[reaches].to,
                });
                helpers.push(helped.is_some_and(|(on, off)| on <= step && step < off));
            }
        }
        legs.push(Leg {
            line,
            going,
            profile,
            stretches,
            helped: helpers,
        });
        at += steps;
    }
    legs
}
