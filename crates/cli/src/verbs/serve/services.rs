//! What the office can have done, from the departments that do it.

use engineering::ids::StationId;
use planning::{
    bill::words,
    orders::territory::of_day,
    town::{
        Dice, Facts, Pace, Planned, Sessions, Visit, end_name, model_rates, solve, visits_at, work,
    },
};
use railroad::Railroad;
use session::{Opening, Sources};
use switching::{Answer, Objective, Options, describe, frames};
use transportation::{
    day::DayPlan,
    order::{clearance_sheet, order_sheet},
};
use web::services::{
    BillWords, DayAnswer, DayAsk, OpeningAsk, OrderSheet, OrdersAnswer, Progress, Services,
    SessionBooks, Sorry, SwitchAsk, SwitchMove, SwitchPlan,
};

use crate::args::Which;

mod press;
mod studies;

/// Arrangements looked at for one town: well under a second.
const BUDGET: u64 = 150_000;

/// The table handed to the office.
pub fn services(which: &Which) -> Services {
    Services {
        works: Some(Box::new(|railroad, station| {
            visits_at(railroad, station)
                .iter()
                .map(|visit| visit.train)
                .collect()
        })),
        switch: Some(Box::new(switch)),
        day: Some(Box::new(day)),
        books: Some(Box::new(books)),
        orders: Some(Box::new(orders)),
        opening: Some(Box::new(opening)),
        press: Some(press::press(which)),
        replan: Some(Box::new(super::replan::replan)),
        studies: studies::studies(),
    }
}

/// What a session begins with: the whole way from the folder to a plan, as `sawby day` goes it.
pub(in crate::verbs) fn opening(
    railroad: &Railroad,
    ask: &OpeningAsk,
    _: &Progress,
) -> Result<Opening, Sorry> {
    let planned = crate::verbs::day::Session::plan(railroad, &planning::day::Options::default())
        .map_err(|no_day| sorry(no_day.to_string()))?;
    let books = planning::bill::opening(railroad, 0);
    let (made, bills) = planned
        .billed
        .as_ref()
        .map_or((&[][..], &[][..]), |billed| {
            (&billed.made_up, &billed.bills)
        });
    let territory = of_day(railroad, &planned.planned);
    let style = railroad.identity.clock_face.style();
    let orders = planning::orders::orders(&territory, &Default::default(), style);
    let from = Sources {
        railroad,
        plan: &planned.planned.plan,
        made_up: made,
        bills,
        books: &books,
        orders: Some((&territory, &orders.orders)),
    };
    Ok(session::opening(from, &ask.name))
}

/// Rounds of the solver: for the day's plan, and while a train is being dragged.
const ROUNDS: [u64; 2] = [12, 1];

fn day(railroad: &Railroad, ask: &DayAsk, progress: &Progress) -> Result<DayAnswer, Sorry> {
    let rounds = ROUNDS[usize::from(ask.quick)];
    let options = planning::day::Options {
        seed: ask.seed,
        rounds,
        ..Default::default()
    };
    let planned = planning::day::day(
        railroad,
        &options,
        &[],
        &|| progress.stopped(),
        &mut |report| {
            progress.done(report.rounds as f64 / rounds as f64);
        },
    )
    .map_err(|no_day| sorry(no_day.to_string()))?;
    let station = |id| railroad.way.station(id).name.value.as_str();
    let mut remarks = Vec::new();
    for (symbol, place) in &planned.too_long {
        remarks.push(format!(
            "Train {symbol} fits on no track at {}.",
            station(*place)
        ));
    }
    for (train, why) in &planned.left_out {
        let symbol = &railroad.service.train(*train).symbol.value;
        remarks.push(format!("Train {symbol} is left out: {why}."));
    }
    Ok(DayAnswer {
        plan: planned.plan,
        proven: planned.proven,
        remarks,
    })
}

/// The session billed and played through, so that pages can say where every car is at any time of it.
fn books(railroad: &Railroad, seed: &u64, _: &Progress) -> Result<SessionBooks, Sorry> {
    let opening = planning::bill::opening(railroad, *seed);
    let options = planning::bill::Options {
        seed: *seed,
        ..Default::default()
    };
    let billed = planning::bill::bill(railroad, &opening, &options)
        .map_err(|no_bill| sorry(no_bill.to_string()))?;
    let closed = planning::close::close(railroad, &opening, &billed, &[])
        .map_err(|refused| sorry(refused.to_string()))?;
    let words = billed
        .bills
        .iter()
        .zip(&billed.why)
        .map(|(bill, why)| BillWords {
            contents: words::contents(bill, *why),
            from: words::stand(railroad, &bill.from),
            to: words::stand(railroad, &bill.to),
            why: words::why(railroad, *why),
            mind: bill
                .restrictions
                .iter()
                .map(|one| one.words(|at| words::time(railroad, at)))
                .collect(),
        })
        .collect();
    let left = billed
        .left
        .iter()
        .map(|left| (left.car, left.station, words::why_left(railroad, left)))
        .collect();
    Ok(SessionBooks {
        opening,
        movements: closed.movements,
        bills: billed.bills,
        words,
        made_up: billed.made_up,
        left,
        amiss: closed.amiss,
    })
}

fn orders(railroad: &Railroad, plan: &DayPlan, _: &Progress) -> Result<OrdersAnswer, Sorry> {
    let territory = planning::orders::territory::territory(railroad, plan);
    let style = railroad.identity.clock_face.style();
    let paper = planning::orders::orders(&territory, &Default::default(), style);
    let fewest = if paper.is_fewest() {
        "no choice among the kinds of orders considered needs fewer (proven)".to_owned()
    } else {
        format!("at least {} are needed", paper.at_least)
    };
    let worth = vec![format!(
        "Where the timetable alone would not do: {}. Orders that see to it: {}; {fewest}.",
        paper.needs,
        paper.orders.len()
    )];
    let findings = paper
        .findings
        .iter()
        .map(|finding| finding.sentence.clone());
    Ok(OrdersAnswer {
        orders: paper
            .orders
            .iter()
            .map(|order| OrderSheet {
                number: order.number,
                form: order.body.form().word().to_owned(),
                sentence: order.body.sentence(&territory, style),
                sheet: order_sheet(&territory, order, style),
            })
            .collect(),
        clearances: paper
            .clearances
            .iter()
            .map(|clearance| clearance_sheet(&territory, clearance, style))
            .collect(),
        worth,
        faults: paper.undelivered.iter().cloned().chain(findings).collect(),
    })
}

fn sorry(what: impl Into<String>) -> Sorry {
    Sorry {
        what: what.into(),
        help: None,
    }
}

fn switch(railroad: &Railroad, ask: &SwitchAsk, progress: &Progress) -> Result<SwitchPlan, Sorry> {
    let sessions = Sessions::new(railroad, ask.station);
    let visit = *sessions
        .visits
        .get(ask.train)
        .ok_or_else(|| sorry("No such train works this town"))?;
    let dice = ask.session.map_or(Dice::today(0), Dice::typical);
    let facts = sessions.facts(ask.train, dice);
    let town = sessions.town(&visit, &facts);
    let compiled = work(&town, &visit, &facts).map_err(|wrong| sorry(wrong.to_string()))?;
    let rates = model_rates(railroad.identity.scale.scale, &Pace::default());
    let options = Options {
        objective: if ask.fastest {
            Objective::Time
        } else {
            Objective::Moves
        },
        node_budget: BUDGET,
        rates,
    };
    let planned = solve(&compiled, &options, &|| progress.stopped()).map_err(|wrong| {
        let all: Vec<String> = wrong.iter().map(ToString::to_string).collect();
        sorry(format!(
            "It cannot be worked as it stands: {}",
            all.join("; ")
        ))
    })?;
    let trains = sessions.visits.iter().map(|visit| visit.train).collect();
    let task = task(railroad, ask.station, &visit, &facts);
    let left = planned
        .left
        .iter()
        .map(|left| {
            let car = &planned.asked.work.cars[left.car.index()].name;
            let what = if left.carried {
                "is carried on"
            } else {
                "is left as it stands"
            };
            format!("{car} {what}: {}.", left.why)
        })
        .collect();
    let mut plan = SwitchPlan {
        trains,
        task,
        worth: Vec::new(),
        left,
        before: String::new(),
        moves: Vec::new(),
    };
    answer(railroad, &planned, &options, &mut plan)?;
    Ok(plan)
}

/// The moves with their words and drawings, and what they are worth.
fn answer(
    railroad: &Railroad,
    planned: &Planned,
    options: &Options,
    plan: &mut SwitchPlan,
) -> Result<(), Sorry> {
    let solved = match &planned.answer {
        Answer::Solved(solved) => solved,
        Answer::Impossible(reasons) => {
            plan.worth
                .push("The town cannot be worked from this side.".into());
            plan.left
                .extend(reasons.iter().map(|reason| format!("{reason}.")));
            return Ok(());
        }
        Answer::GaveUp { bound, .. } => {
            plan.worth.push(format!(
                "No plan was found among the arrangements looked at; any takes at least {bound} \
                 moves (proven)."
            ));
            return Ok(());
        }
    };
    let (town, work) = (&planned.asked.town.town, &planned.asked.work);
    let refused = |refusal: switching::Refusal| {
        sorry(format!(
            "The plan did not pass the replay, so it is not shown: {refusal}"
        ))
    };
    let words = describe(town, work, &solved.plan, &options.rates).map_err(refused)?;
    let mut drawings = frames(town, work, &solved.plan)
        .map_err(refused)?
        .into_iter();
    plan.before = drawings.next().unwrap_or_default();
    plan.moves = words
        .into_iter()
        .zip(drawings)
        .map(|(words, drawing)| SwitchMove {
            title: words.title,
            steps: words.steps,
            seconds: words.time.seconds,
            drawing,
        })
        .collect();
    let minutes = solved.time.seconds / 60.0;
    let clock = railroad.identity.clock;
    plan.worth.push(format!(
        "{} moves, about {:.0} minutes on the wall and {:.0} by the railroad's clock.{}",
        solved.moves,
        minutes.max(1.0),
        minutes * clock,
        match (solved.proven, options.objective) {
            (true, Objective::Moves) => " Fewer moves are not possible.".to_owned(),
            (true, Objective::Time) => " Fewer minutes are not possible, by the rates.".to_owned(),
            (false, Objective::Moves) => format!(
                " Whether fewer would do is not proven: at least {} are needed.",
                solved.bound
            ),
            (false, Objective::Time) => " Whether fewer minutes would do is not proven.".to_owned(),
        }
    ));
    Ok(())
}

/// Who comes from where, with what to do, in the words of the command line.
fn task(railroad: &Railroad, station: StationId, visit: &Visit, facts: &Facts) -> Vec<String> {
    let end = |end| end_name(railroad, station, end);
    let train = &railroad.service.train(visit.train).symbol.value;
    let way = match visit.leave {
        Some(leave) if leave == visit.enter => "going back that way".to_owned(),
        Some(leave) => format!("going on {}", end(leave)),
        None => "staying here".to_owned(),
    };
    let mut words = String::new();
    crate::verbs::switch::task(&mut words, railroad, visit, facts);
    std::iter::once(format!(
        "Train {train} comes from the {}, {way}.",
        end(visit.enter)
    ))
    .chain(words.lines().map(|line| line.trim().to_owned()))
    .filter(|line| !line.is_empty())
    .collect()
}
