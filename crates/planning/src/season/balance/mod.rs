//! The week in expectation: which flows can be sustained at all, and what stops the others.
//!
//! Loads go by one of the quickest dozen of their routes, empties by any chain of trains, and chance has
//! no part: every limit is held on the mean of many weeks. So it says what no luck and no skill can mend,
//! and a season, which has queues, does worse. What is limited:
//!
//! * a flow by what is offered in the railroad's month;
//! * the empties of a kind at a station: what is loaded or sent away is unloaded there or comes;
//! * the cars of a kind: each is loaded, rides, waits for trains (half the time between two runs of the
//!   first, the timetable at changes), and is unloaded or away;
//! * a train's legs: length, cars and tons of all its runs;
//! * a shipper's spots: a load keeps one from the train that sets its car out to the one that pulls it;
//! * staging and interchange tracks: cars that stand there for those beyond.
//!
//! Not limited: yard tracks, blocks, crews. A spot at which a car is unloaded and loaded again without
//! being moved does better than reckoned here, and so do two shippers with one spot whose trains suit each
//! other. A load counts for more, the higher its priority; among choices that carry the same loads the one that
//! takes least of the cars' time is given. `traffic::balance` judges it.

mod build;
mod routes;
mod solve;
mod spots;

use engineering::ids::StationId;
use mechanical::CarKind;
use railroad::Railroad;
use traffic::balance::Programme;

use super::{Options, plan::Plan, report};
use build::{Built, Column, Fleet};

/// What is limited.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Limit {
    /// What is offered on a lane.
    Offered {
        /// Number of the lane.
        lane: usize,
    },
    /// The empties of a fleet at a station.
    Empties {
        /// Number of the fleet.
        fleet: usize,
        /// The station.
        station: StationId,
    },
    /// The time of a fleet's cars.
    Fleet {
        /// Number of the fleet.
        fleet: usize,
    },
    /// A train's length after a call.
    Length {
        /// Number of the call.
        call: usize,
    },
    /// Its number of cars.
    Cars {
        /// Number of the call.
        call: usize,
    },
    /// Its tons.
    Tons {
        /// Number of the call.
        call: usize,
    },
    /// The spots of a shipper.
    Spots {
        /// Number of its place.
        place: usize,
    },
    /// The tracks of a staging yard.
    Staging {
        /// The yard.
        station: StationId,
    },
    /// The tracks on which another road's cars are exchanged.
    Interchange {
        /// Where.
        station: StationId,
    },
}

/// How far something limited is used.
#[derive(Debug, Clone, PartialEq)]
pub struct LimitUse {
    /// What.
    pub limit: Limit,
    /// In words.
    pub words: String,
    /// The part that is used; 1 is all.
    pub used: f64,
    /// Whether more of it would let more loads be carried.
    pub binds: bool,
}

/// How a flow fares on the mean.
#[derive(Debug, Clone, PartialEq)]
pub struct FlowBalance {
    /// Number of the lane, as in the season's report.
    pub lane: usize,
    /// Who ships it; for a load from beyond the line, who receives it.
    pub who: String,
    /// What.
    pub commodity: String,
    /// In which kind of car.
    pub kind: CarKind,
    /// From where to where.
    pub way: String,
    /// Loads offered a week.
    pub offered: f64,
    /// Loads a week that can be sustained.
    pub sustained: f64,
    /// Why not more, in words, what counts most first. None if all can be sustained.
    pub reasons: Vec<String>,
}

impl FlowBalance {
    /// Loads a week that cannot be sustained: nothing if it is less than the solver can tell from
    /// nothing.
    pub fn short(&self) -> f64 {
        let short = self.offered - self.sustained;
        if short > 1e-5 * self.offered.max(1.0) {
            short
        } else {
            0.0
        }
    }
}

/// A week in expectation.
#[derive(Debug, Clone, PartialEq)]
pub struct Balance {
    /// The flows offered in the railroad's month, in the order of the shippers' page.
    pub flows: Vec<FlowBalance>,
    /// What is used to nine tenths and more, the fullest first.
    pub limits: Vec<LimitUse>,
    /// The programme.
    pub programme: Programme,
    /// The choice: proven by the prices to be best.
    pub numbers: Vec<f64>,
    /// The prices of the programme's rows.
    pub prices: Vec<f64>,
}

/// A price below this is nothing.
const NOTHING: f64 = 1e-4;

/// From which part of a limit's use on it is told.
const TOLD: f64 = 0.9;

/// Reckons a week in expectation. Only `connection` of the options matters: how long a car needs from
/// one train to the next.
///
/// # Errors
/// If the programme is beyond the solver, or the judge does not accept its answer.
pub fn balance(railroad: &Railroad, options: &Options) -> Result<Balance, String> {
    let plan = Plan::new(railroad, options);
    let built = build::build(&plan);
    let solved = solve::solve(&built.programme)?;
    let (fleets, _) = build::fleets(&plan);
    let speaks = Speaks {
        railroad,
        plan: &plan,
        built: &built,
        fleets: &fleets,
        numbers: &solved.numbers,
        prices: &solved.prices,
        terms: terms(&built.programme),
    };
    let mut sustained = vec![0.0; plan.lanes.len()];
    for (column, number) in built.columns.iter().zip(&solved.numbers) {
        if let Column::Load { lane } = column {
            sustained[*lane] += number;
        }
    }
    let flows = (0..plan.lanes.len())
        .filter(|&lane| built.offered[lane] > 0.0)
        .map(|lane| {
            let mut flow = FlowBalance {
                lane,
                who: report::lane_who(railroad, &plan, lane),
                commodity: plan.lanes[lane].lane.commodity.clone(),
                kind: plan.lanes[lane].lane.kind,
                way: report::lane_way(railroad, &plan, lane),
                offered: built.offered[lane],
                sustained: sustained[lane].min(built.offered[lane]),
                reasons: vec![],
            };
            if flow.short() > 0.0 {
                flow.reasons = speaks.reasons(lane);
            } else {
                flow.sustained = flow.offered;
            }
            flow
        })
        .collect();
    let limits = speaks.limits();
    Ok(Balance {
        flows,
        limits,
        programme: built.programme,
        numbers: solved.numbers,
        prices: solved.prices,
    })
}

/// For each column the rows in which it stands.
fn terms(programme: &Programme) -> Vec<Vec<(usize, f64)>> {
    let mut out = vec![vec![]; programme.gain.len()];
    for (at, row) in programme.rows.iter().enumerate() {
        for &(column, each) in &row.terms {
            out[column].push((at, each));
        }
    }
    out
}

/// The answer in words.
struct Speaks<'a> {
    railroad: &'a Railroad,
    plan: &'a Plan,
    built: &'a Built,
    fleets: &'a [Fleet],
    numbers: &'a [f64],
    prices: &'a [f64],
    terms: Vec<Vec<(usize, f64)>>,
}

impl Speaks<'_> {
    fn station(&self, id: StationId) -> &str {
        &self.railroad.way.station(id).name.value
    }

    fn fleet(&self, fleet: usize) -> String {
        let fleet = &self.fleets[fleet];
        match fleet.pool {
            Some(_) => format!("{} in its pool", fleet.kind),
            None => fleet.kind.to_string(),
        }
    }

    /// A train and where it goes next from a call.
    fn leg(&self, call: usize) -> String {
        let ways = &self.plan.ways;
        let this = &ways.calls[call];
        let next = ways.trains[this.train].calls[this.nth + 1];
        format!(
            "train {} from {} to {}",
            self.plan.trains[this.train].name,
            self.station(this.station),
            self.station(ways.calls[next].station)
        )
    }

    fn words(&self, limit: &Limit) -> String {
        match *limit {
            Limit::Offered { lane } => {
                format!(
                    "what is offered of {}",
                    self.plan.lanes[lane].lane.commodity
                )
            }
            Limit::Empties { fleet, station } => {
                format!(
                    "empties of the kind `{}` at {}",
                    self.fleet(fleet),
                    self.station(station)
                )
            }
            Limit::Fleet { fleet } => {
                format!("the number of cars of the kind `{}`", self.fleet(fleet))
            }
            Limit::Length { call } => format!("the length of {}", self.leg(call)),
            Limit::Cars { call } => format!("the number of cars in {}", self.leg(call)),
            Limit::Tons { call } => format!("the tons of {}", self.leg(call)),
            Limit::Spots { place } => {
                let place = &self.plan.places[place];
                format!(
                    "the {} of {} at {}",
                    match place.holds {
                        1 => "one spot".to_owned(),
                        spots => format!("{spots} spots"),
                    },
                    place.name,
                    self.railroad.way.track_name(place.track)
                )
            }
            Limit::Staging { station } => {
                format!("the staging tracks of {}", self.station(station))
            }
            Limit::Interchange { station } => {
                format!("the interchange tracks of {}", self.station(station))
            }
        }
    }

    /// Why a lane's loads are not all carried: what the cheapest of its routes pays for. An empty is paid
    /// for where it comes from.
    fn reasons(&self, lane: usize) -> Vec<String> {
        let cost = |column: usize| -> f64 {
            let paid: f64 = self.terms[column]
                .iter()
                .map(|&(row, each)| each * self.prices[row])
                .sum();
            paid - self.built.programme.gain[column]
        };
        let best = (0..self.built.columns.len())
            .filter(|&column| self.built.columns[column] == Column::Load { lane })
            .min_by(|&a, &b| cost(a).total_cmp(&cost(b)));
        let Some(best) = best else {
            return vec![
                "no chain of trains brings it there, or none ever serves its spot".to_owned(),
            ];
        };
        let mut paid = vec![0.0; self.prices.len()];
        self.pay(best, 1.0, &mut paid, &mut vec![]);
        let mut rows: Vec<usize> = (0..paid.len()).filter(|&row| paid[row] > NOTHING).collect();
        rows.sort_by(|&a, &b| paid[b].total_cmp(&paid[a]));
        let most = rows.first().map_or(0.0, |&row| paid[row]);
        rows.retain(|&row| paid[row] > 0.05 * most);
        rows.into_iter()
            .map(|row| self.words(&self.built.limits[row]))
            .collect()
    }

    /// Adds what a column pays to each row.
    fn pay(&self, column: usize, share: f64, paid: &mut [f64], passed: &mut Vec<usize>) {
        for &(row, each) in &self.terms[column] {
            let price = each * self.prices[row] * share;
            let Limit::Empties { fleet, station } = self.built.limits[row] else {
                paid[row] += price;
                continue;
            };
            if each < 0.0 || price <= NOTHING {
                continue;
            }
            // Where the empties come from that are used there, if any come.
            let brought = (0..self.built.columns.len()).find(|&other| {
                self.numbers[other] > NOTHING
                    && self.built.columns[other] == Column::Empty { to: station, fleet }
            });
            match brought.filter(|_| !passed.contains(&row)) {
                Some(other) => {
                    passed.push(row);
                    self.pay(other, share, paid, passed);
                }
                None => paid[row] += price,
            }
        }
    }

    fn limits(&self) -> Vec<LimitUse> {
        let mut out = vec![];
        for (at, row) in self.built.programme.rows.iter().enumerate() {
            let limit = &self.built.limits[at];
            if matches!(limit, Limit::Offered { .. } | Limit::Empties { .. }) {
                continue;
            }
            let taken: f64 = row
                .terms
                .iter()
                .map(|&(column, each)| each * self.numbers[column])
                .sum();
            let used = if row.limit > 0.0 {
                taken / row.limit
            } else {
                f64::from(u8::from(taken > NOTHING))
            };
            let binds = self.prices[at] > NOTHING;
            if used >= TOLD || binds {
                out.push(LimitUse {
                    limit: limit.clone(),
                    words: self.words(limit),
                    used,
                    binds,
                });
            }
        }
        // A train's legs that are equally full are told once.
        out.dedup_by(|a, b| a.words == b.words);
        out.sort_by(|a, b| b.used.total_cmp(&a.used));
        out
    }
}
