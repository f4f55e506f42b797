//! `sawby bill`: the session's waybills, car orders, and what each train takes and leaves.

use std::{fmt::Write as _, process::ExitCode};

use engineering::ids::StationId;
use model::{
    date::DateStyle,
    time::{RailTime, TimeStyle},
    units::Actual,
};
use planning::bill::{Billed, NoBill, Options, Why, bill, opening, words};
use railroad::{
    Railroad,
    edit::{Desk, Edit},
};
use serde_json::{Value, json};
use traffic::{Bill, CarLoad, CarOrder, books::Books};
use transportation::{
    MadeUp,
    make_up::{CarMove, WhyLeft},
};

use super::rating::pick;
use crate::{
    args::Which,
    outcome::{Failure, Outcome, load, say},
};

/// What may stand after `bill`.
#[derive(Debug, clap::Args)]
pub struct BillArgs {
    #[command(flatten)]
    which: Which,
    /// Only this train.
    #[arg(long, value_name = "TRAIN", conflicts_with = "station")]
    train: Option<String>,
    /// Only this station.
    #[arg(long, value_name = "STATION")]
    station: Option<String>,
    /// The dice for loads and orders, which the folder does not say.
    #[arg(long, value_name = "NUMBER", default_value_t = 0)]
    seed: u64,
    /// Also say why each car was chosen and what was left.
    #[arg(long)]
    why: bool,
    /// Add the session's waybills to waybills.csv.
    #[arg(long, conflicts_with_all = ["example", "train", "station"])]
    write: bool,
    /// Print JSON for machines.
    #[arg(long)]
    json: bool,
}

pub(super) fn run(args: &BillArgs) -> Outcome {
    let loaded = load(&args.which)?;
    let railroad = &loaded.railroad;
    let books = opening(railroad, args.seed);
    let options = Options {
        seed: args.seed,
        ..Options::default()
    };
    let billed = bill(railroad, &books, &options).map_err(|NoBill::Refused(faults)| {
        Failure::misunderstood(format!("no plan can be shown: {}", faults.join("; ")))
    })?;
    let report = Report {
        railroad,
        books: &books,
        billed: &billed,
        why: args.why,
    };
    if args.json {
        say(&format!("{:#}\n", report.json()));
    } else if let Some(train) = &args.train {
        let known: Vec<&str> = billed
            .made_up
            .iter()
            .map(|made| report.symbol(made))
            .collect();
        let at = pick("freight train today", train, &known)?;
        say(&report.train(&billed.made_up[at]));
    } else if let Some(station) = &args.station {
        let known: Vec<&str> = railroad
            .way
            .stations()
            .map(|(_, page)| page.name.value.as_str())
            .collect();
        let at = pick("station", station, &known)?;
        say(&report.station(StationId(at as u32)));
    } else {
        say(&report.all());
    }
    if args.write {
        let count = write(args, &report)?;
        say(&format!("{count} waybills added to waybills.csv.\n"));
    }
    Ok(ExitCode::SUCCESS)
}

struct Report<'a> {
    railroad: &'a Railroad,
    books: &'a Books,
    billed: &'a Billed,
    why: bool,
}

impl Report<'_> {
    fn name(&self, station: StationId) -> &str {
        &self.railroad.way.station(station).name.value
    }

    fn symbol(&self, made: &MadeUp) -> &str {
        &self.railroad.service.train(made.train).symbol.value
    }

    fn time(&self, at: RailTime) -> String {
        words::time(self.railroad, at)
    }

    fn bill(&self, moved: &CarMove) -> Option<(&Bill, Why)> {
        let at = self
            .billed
            .bills
            .iter()
            .position(|bill| bill.no == moved.bill)?;
        Some((&self.billed.bills[at], self.billed.why[at]))
    }

    /// `CVBE 101 boxcar, lumber, to Osgrove via Farholt`, and what the crew must mind.
    fn car(&self, moved: &CarMove) -> [String; 5] {
        let car = self.railroad.roster.car(moved.car);
        let kind = car.kind.map_or("car", |kind| kind.value.word());
        let (contents, to, mind) = match self.bill(moved) {
            Some((bill, why)) => {
                let mind: Vec<String> = bill
                    .restrictions
                    .iter()
                    .map(|one| one.words(|at| self.time(at)))
                    .collect();
                (
                    words::contents(bill, why),
                    words::stand(self.railroad, &bill.to),
                    mind.join("; "),
                )
            }
            None => (String::new(), String::new(), String::new()),
        };
        [car.name.value.clone(), kind.to_owned(), contents, to, mind]
    }

    fn place(&self, station: StationId, moved: &CarMove) -> String {
        let page = self.railroad.way.station(station);
        let Some(track) = moved.track else {
            return if moved.off_spot {
                "the yard, for want of room at its spot".to_owned()
            } else {
                String::new()
            };
        };
        let track = page.track(track);
        moved
            .spot
            .and_then(|spot| track.spots.get(spot))
            .map_or_else(|| track.name.value.clone(), |spot| spot.value.clone())
    }

    fn train(&self, made: &MadeUp) -> String {
        let train = self.railroad.service.train(made.train);
        let mut text = String::new();
        let name = train
            .name
            .as_ref()
            .map_or_else(String::new, |name| format!(" ({name})"));
        let (first, last) = (&made.works[0], &made.works[made.works.len() - 1]);
        let most = made.hauls.iter().max_by_key(|haul| haul.cars);
        let size = most.map_or_else(String::new, |haul| {
            if haul.cars == 0 {
                return ": no cars".to_owned();
            }
            let mut size = format!(": {} cars at most", haul.cars);
            let longest = made
                .hauls
                .iter()
                .map(|haul| haul.length)
                .fold(Actual::ZERO, Actual::max);
            let _ = write!(size, ", {}", self.railroad.identity.units.show(longest));
            if let Some(allowed) = haul.allowed.length {
                let _ = write!(size, " of {}", self.railroad.identity.units.show(allowed));
            }
            size
        });
        let _ = writeln!(
            text,
            "Train {}{name}, {} to {}{size}.",
            train.symbol.value,
            self.name(first.station),
            self.name(last.station)
        );
        for (at, work) in made.works.iter().enumerate() {
            if work.set_out.is_empty() && work.pick_up.is_empty() && at > 0 {
                continue;
            }
            let call = self.billed.facts.trains[made.train.index()]
                .as_ref()
                .and_then(|train| train.calls.get(at));
            let when = call.map_or_else(String::new, |call| {
                if at == 0 {
                    format!(", leaves {}", self.time(call.leave))
                } else {
                    format!(", {}", self.time(call.arrive))
                }
            });
            let _ = writeln!(text, "  {}{when}", self.name(work.station));
            let mut rows = vec![];
            let whole = at + 1 == made.works.len();
            let plain = work
                .set_out
                .iter()
                .filter(|moved| whole && moved.spot.is_none() && !moved.off_spot)
                .count();
            if plain > 0 {
                let cars = if plain == 1 { "car" } else { "cars" };
                let _ = writeln!(text, "    leaves {plain} {cars}");
            }
            for (moves, verb) in [(&work.set_out, "sets out"), (&work.pick_up, "picks up")] {
                for moved in moves {
                    if verb == "sets out" && whole && moved.spot.is_none() && !moved.off_spot {
                        continue;
                    }
                    let [car, kind, contents, to, mut mind] = self.car(moved);
                    if verb == "sets out" {
                        mind.clear();
                    }
                    let place = self.place(work.station, moved);
                    let to = if verb == "sets out" && !place.is_empty() {
                        if moved.off_spot {
                            format!("in {place}")
                        } else {
                            format!("at {place}")
                        }
                    } else if verb == "picks up"
                        && !place.is_empty()
                        && (at > 0
                            || train
                                .from_track
                                .as_ref()
                                .is_some_and(|track| track.value != place))
                    {
                        format!("from {place}; to {to}")
                    } else {
                        format!("to {to}")
                    };
                    let block = if verb == "picks up" {
                        moved.block.clone()
                    } else {
                        String::new()
                    };
                    rows.push([verb.to_owned(), car, kind, contents, to, block, mind]);
                }
            }
            text.push_str(&indent(&super::rating::columns(&rows)));
        }
        for left in &made.left {
            let _ = writeln!(
                text,
                "  left: {} at {}: {}",
                self.railroad.roster.car(left.car).name.value,
                self.name(left.station),
                words::why_left(self.railroad, left)
            );
        }
        text
    }

    fn station(&self, station: StationId) -> String {
        let mut text = format!("{}\n", self.name(station));
        let mut rows = vec![];
        let mut calls: Vec<(RailTime, usize, usize)> = vec![];
        for (number, made) in self.billed.made_up.iter().enumerate() {
            for (at, work) in made.works.iter().enumerate() {
                if work.station == station
                    && let Some(train) = &self.billed.facts.trains[made.train.index()]
                {
                    calls.push((train.calls[at].arrive, number, at));
                }
            }
        }
        calls.sort_unstable();
        for (when, number, at) in calls {
            let made = &self.billed.made_up[number];
            let work = &made.works[at];
            for (moves, verb) in [(&work.set_out, "sets out"), (&work.pick_up, "picks up")] {
                for moved in moves {
                    let [car, kind, contents, to, mind] = self.car(moved);
                    rows.push([
                        self.time(when),
                        self.symbol(made).to_owned(),
                        verb.to_owned(),
                        self.place(station, moved),
                        car,
                        format!("{kind}, {contents}"),
                        to,
                        mind,
                    ]);
                }
            }
        }
        for moved in self
            .billed
            .yard_moves
            .iter()
            .filter(|moved| moved.from.station == station)
        {
            let track = self.railroad.way.track(moved.to);
            rows.push([
                String::new(),
                String::new(),
                "moved to".to_owned(),
                moved
                    .spot
                    .and_then(|spot| track.spots.get(spot))
                    .map_or_else(|| track.name.value.clone(), |spot| spot.value.clone()),
                self.railroad.roster.car(moved.car).name.value.clone(),
                String::new(),
                String::new(),
                String::new(),
            ]);
        }
        if rows.is_empty() {
            text.push_str("  no work\n");
        }
        text.push_str(&super::rating::columns(&rows));
        for left in self
            .billed
            .left
            .iter()
            .filter(|left| left.station == station)
        {
            if matches!(
                left.why,
                WhyLeft::Spotted | WhyLeft::Waiting | WhyLeft::Loading
            ) && !self.why
            {
                continue;
            }
            let _ = writeln!(
                text,
                "  {} stays: {}",
                self.railroad.roster.car(left.car).name.value,
                words::why_left(self.railroad, left)
            );
        }
        text
    }

    fn head(&self) -> String {
        let date = self
            .railroad
            .identity
            .date
            .and_then(|date| date.value.plus_days(i32::try_from(self.books.day).ok()?))
            .map_or_else(String::new, |date| {
                format!(", {}", date.show(DateStyle::Full))
            });
        let rides: usize = self.billed.made_up.iter().map(MadeUp::cars).sum();
        let moved = self
            .billed
            .bills
            .iter()
            .filter(|bill| bill.legs.iter().any(|leg| leg.day == 0))
            .count();
        let arrive = moved
            - self
                .billed
                .left
                .iter()
                .filter(|left| {
                    self.billed
                        .bill_of(left.car)
                        .is_some_and(|bill| bill.legs.iter().any(|leg| leg.day == 0))
                })
                .count();
        let wanted: u32 = self.billed.orders.iter().map(|order| order.count).sum();
        let short: u32 = self
            .billed
            .orders
            .iter()
            .filter_map(|order| order.short.as_ref())
            .map(|short| short.lacking)
            .sum();
        let [cost, bound] = self.billed.routing_cost;
        let gap = if cost == bound {
            "no plan costs less: proven".to_owned()
        } else {
            format!(
                "proven within {:.1} % of the least cost",
                100.0 * (cost - bound) as f64 / (bound.max(1)) as f64
            )
        };
        format!(
            "{}{date}.\n{} waybills; {moved} cars move, in {rides} rides, and {arrive} of them arrive; {} are moved within their station.\n{wanted} empties ordered, {short} not found. Routes: {gap}.\n",
            self.railroad.identity.name,
            self.billed.bills.len(),
            self.billed.yard_moves.len(),
        )
    }

    fn all(&self) -> String {
        let mut text = self.head();
        for made in &self.billed.made_up {
            text.push('\n');
            text.push_str(&self.train(made));
        }
        let orders: Vec<[String; 3]> = self
            .billed
            .orders
            .iter()
            .filter_map(|order| {
                let short = order.short.as_ref()?;
                let flow = self.railroad.traffic.flow(order.flow);
                let who = flow
                    .shipper_name
                    .as_ref()
                    .map_or("a shipper", |name| &name.value);
                let what = flow
                    .commodity
                    .as_ref()
                    .map_or("freight", |what| &what.value);
                Some([
                    format!("{who}, {} of {} for {what}", short.lacking, order.count),
                    short.words.clone(),
                    format!("to mend it: {}", short.mend),
                ])
            })
            .collect();
        if !orders.is_empty() {
            text.push_str("\nOrders not filled:\n");
            for [what, words, mend] in orders {
                let _ = writeln!(text, "  {what}: {words}; {mend}.");
            }
        }
        let mut held: Vec<String> = vec![];
        for left in &self.billed.left {
            let quiet = matches!(
                left.why,
                WhyLeft::Spotted | WhyLeft::Waiting | WhyLeft::Loading | WhyLeft::NextSession(_)
            );
            if quiet && !self.why {
                continue;
            }
            held.push(format!(
                "  {} at {}: {}",
                self.railroad.roster.car(left.car).name.value,
                self.name(left.station),
                words::why_left(self.railroad, left)
            ));
        }
        if !held.is_empty() {
            text.push_str("\nLeft:\n");
            text.push_str(&held.join("\n"));
            text.push('\n');
        }
        if self.why && !self.billed.orders.is_empty() {
            text.push_str("\nCar orders:\n");
            for order in &self.billed.orders {
                text.push_str(&self.order(order));
            }
        }
        if self.why {
            text.push_str("\nWhy each car:\n");
            for (bill, why) in self.billed.bills.iter().zip(&self.billed.why) {
                let _ = writeln!(
                    text,
                    "  {} to {}: {}; {}",
                    self.railroad.roster.car(bill.car).name.value,
                    words::stand(self.railroad, &bill.to),
                    words::why(self.railroad, *why),
                    if bill.route.is_empty() {
                        "no train"
                    } else {
                        &bill.route
                    },
                );
            }
        }
        text
    }

    /// An order, and when each of its cars gets there.
    fn order(&self, order: &CarOrder) -> String {
        let flow = self.railroad.traffic.flow(order.flow);
        let who = flow
            .shipper_name
            .as_ref()
            .map_or("a shipper", |name| &name.value);
        let what = flow
            .commodity
            .as_ref()
            .map_or("freight", |what| &what.value);
        let cars: Vec<String> = order
            .filled
            .iter()
            .map(|&car| {
                let name = &self.railroad.roster.car(car).name.value;
                let comes = match self.billed.bill_of(car) {
                    None => "is there".to_owned(),
                    Some(bill) => match bill.legs.last() {
                        Some(leg) if leg.day == 0 => format!("comes by {}", leg.train),
                        Some(leg) if leg.day == 1 => format!("comes next session by {}", leg.train),
                        Some(leg) => format!("comes in {} sessions by {}", leg.day, leg.train),
                        None if self.billed.yard_moves.iter().any(|moved| moved.car == car) => {
                            "is at the station and is moved to it".to_owned()
                        }
                        None => "waits for room".to_owned(),
                    },
                };
                format!("{name} {comes}")
            })
            .collect();
        format!(
            "  {who}, {} {} for {what}: {}\n",
            order.count,
            order.kind.word(),
            if cars.is_empty() {
                "none".to_owned()
            } else {
                cars.join(", ")
            }
        )
    }

    fn json(&self) -> Value {
        let clock = |at: RailTime| at.show(TimeStyle::TwentyFour).to_string();
        let car = |id: mechanical::CarId| self.railroad.roster.car(id).name.value.clone();
        let moved = |station: StationId, moved: &CarMove| {
            json!({
                "car": car(moved.car),
                "waybill": moved.bill.0,
                "block": moved.block,
                "track": moved.track.map(|track| {
                    self.railroad.way.station(station).track(track).name.value.clone()
                }),
                "spot": moved.track.zip(moved.spot).map(|(track, spot)| {
                    self.railroad.way.station(station).track(track).spots[spot].value.clone()
                }),
                "off_spot": moved.off_spot,
            })
        };
        let bills: Vec<Value> = self
            .billed
            .bills
            .iter()
            .zip(&self.billed.why)
            .map(|(bill, why)| {
                json!({
                    "number": bill.no.0,
                    "car": car(bill.car),
                    "from": words::stand(self.railroad, &bill.from),
                    "to": words::stand(self.railroad, &bill.to),
                    "state": bill.state.word(),
                    "commodity": bill.commodity,
                    "priority": bill.priority,
                    "restrictions": bill.restrictions.iter()
                        .map(|one| one.words(clock)).collect::<Vec<_>>(),
                    "why": words::why(self.railroad, *why),
                    "legs": bill.legs.iter().map(|leg| json!({
                        "session": leg.day,
                        "train": leg.train,
                        "from": self.name(leg.from),
                        "to": self.name(leg.to),
                        "block": leg.block,
                    })).collect::<Vec<_>>(),
                })
            })
            .collect();
        let trains: Vec<Value> = self
            .billed
            .made_up
            .iter()
            .map(|made| {
                let facts = self.billed.facts.trains[made.train.index()].as_ref();
                json!({
                    "train": self.symbol(made),
                    "works": made.works.iter().enumerate().map(|(at, work)| json!({
                        "station": self.name(work.station),
                        "arrive": facts.map(|train| clock(train.calls[at].arrive)),
                        "leave": facts.map(|train| clock(train.calls[at].leave)),
                        "sets_out": work.set_out.iter().map(|one| moved(work.station, one)).collect::<Vec<_>>(),
                        "picks_up": work.pick_up.iter().map(|one| moved(work.station, one)).collect::<Vec<_>>(),
                    })).collect::<Vec<_>>(),
                    "hauls": made.hauls.iter().map(|haul| json!({
                        "from": self.name(haul.from),
                        "to": self.name(haul.to),
                        "cars": haul.cars,
                        "inches": super::rating::round(haul.length.inches()),
                        "tons": super::rating::round(haul.tons),
                        "of_inches": haul.allowed.length.map(|length| super::rating::round(length.inches())),
                        "of_cars": haul.allowed.cars,
                        "of_tons": haul.allowed.tons,
                        "governs": haul.governs.map(transportation::make_up::Limit::word),
                    })).collect::<Vec<_>>(),
                    "left": made.left.iter().map(|left| json!({
                        "car": car(left.car), "why": words::why_left(self.railroad, left),
                    })).collect::<Vec<_>>(),
                })
            })
            .collect();
        let orders: Vec<Value> = self
            .billed
            .orders
            .iter()
            .map(|order| {
                let flow = self.railroad.traffic.flow(order.flow);
                json!({
                    "shipper": flow.shipper_name.as_ref().map(|name| name.value.clone()),
                    "commodity": flow.commodity.as_ref().map(|what| what.value.clone()),
                    "kind": order.kind.word(),
                    "count": order.count,
                    "session": order.wanted,
                    "filled": order.filled.iter().map(|id| car(*id)).collect::<Vec<_>>(),
                    "short": order.short.as_ref().map(|short| json!({
                        "lacking": short.lacking, "why": short.words, "mend": short.mend,
                    })),
                })
            })
            .collect();
        json!({
            "session": self.billed.day,
            "waybills": bills,
            "orders": orders,
            "trains": trains,
            "within_stations": self.billed.yard_moves.iter().map(|moved| json!({
                "car": car(moved.car),
                "from": self.railroad.way.track_name(moved.from),
                "to": self.railroad.way.track_name(moved.to),
                "spot": moved.spot.map(|spot| {
                    self.railroad.way.track(moved.to).spots[spot].value.clone()
                }),
            })).collect::<Vec<_>>(),
            "left": self.billed.left.iter().map(|left| json!({
                "car": car(left.car),
                "station": self.name(left.station),
                "why": words::why_left(self.railroad, left),
            })).collect::<Vec<_>>(),
            "routing": { "cost": self.billed.routing_cost[0], "bound": self.billed.routing_cost[1] },
        })
    }
}

fn indent(text: &str) -> String {
    text.lines().fold(String::new(), |mut out, line| {
        let _ = writeln!(out, "  {line}");
        out
    })
}

/// Adds a row for each car that moves in the session.
fn write(args: &BillArgs, report: &Report<'_>) -> Result<usize, Failure> {
    let mut desk = Desk::open(&args.which.folder)?;
    let mut count = 0;
    for bill in &report.billed.bills {
        let Some(train) = bill.legs.iter().rfind(|leg| leg.day == 0) else {
            continue;
        };
        let from = match bill.from.beyond {
            None => report.name(bill.from.station).to_owned(),
            Some(_) => words::stand(report.railroad, &bill.from),
        };
        let to = match (&bill.to.beyond, bill.flow) {
            (Some(beyond), _) if beyond != "home" => words::stand(report.railroad, &bill.to),
            _ => report.name(bill.to.station).to_owned(),
        };
        let date = bill
            .written
            .map_or_else(String::new, |date| date.show(DateStyle::Iso).to_string());
        let mut values = vec![
            ("date", date),
            (
                "car",
                report.railroad.roster.car(bill.car).name.value.clone(),
            ),
            ("from", from),
            ("to", to),
            ("train", train.train.clone()),
        ];
        if bill.state == CarLoad::Loaded {
            values.push(("commodity", bill.commodity.clone().unwrap_or_default()));
        } else {
            values.push(("state", CarLoad::Empty.word().to_owned()));
        }
        let edit = Edit::AddRow {
            file: "waybills.csv".to_owned(),
            values: values
                .into_iter()
                .map(|(key, value)| (key.to_owned(), value))
                .collect(),
        };
        let proposal = desk
            .propose(&edit)
            .map_err(|refusal| Failure::misunderstood(refusal.to_string()))?;
        desk.make(proposal)
            .map_err(|error| Failure::misunderstood(error.to_string()))?;
        count += 1;
    }
    Ok(count)
}
