//! A file per verb.

pub mod bill;
pub mod capacity;
pub mod chart;
pub mod check;
pub mod close;
pub mod crews;
pub mod day;
pub mod dispatch;
pub mod era;
pub mod explain;
pub mod fit;
pub mod helix;
pub mod import;
pub mod new;
pub mod orders;
pub mod plan;
pub mod plate;
pub mod print;
pub mod punctuality;
pub mod rating;
pub mod rehearse;
pub mod season;
pub mod serve;
pub mod switch;
pub mod timetable;
mod tour;
pub mod weigh;
pub mod why;

use crate::{
    args::{Args, Verb},
    outcome::Outcome,
};

/// Does what the command line asks.
pub fn run(args: &Args) -> Outcome {
    match &args.verb {
        None => tour::run(),
        Some(Verb::Bill(args)) => bill::run(args),
        Some(Verb::Capacity(args)) => capacity::run(args),
        Some(Verb::Crews(args)) => crews::run(args),
        Some(Verb::Orders(args)) => orders::run(args),
        Some(Verb::Punctuality(args)) => punctuality::run(args),
        Some(Verb::Check(args)) => check::run(args),
        Some(Verb::Close(args)) => close::run(args),
        Some(Verb::Chart(args)) => chart::run(args),
        Some(Verb::Day(args)) => day::run(args),
        Some(Verb::Dispatch(args)) => dispatch::run(args),
        Some(Verb::Explain(args)) => explain::run(args),
        Some(Verb::New(args)) => new::run(args),
        Some(Verb::Plan(args)) => plan::run(args),
        Some(Verb::Plate(args)) => plate::run(args),
        Some(Verb::Print(args)) => print::run(args),
        Some(Verb::Rating(args)) => rating::run(args),
        Some(Verb::Rehearse(args)) => rehearse::run(args),
        Some(Verb::Fit(args)) => fit::run(args),
        Some(Verb::Helix(args)) => helix::run(args),
        Some(Verb::Import(args)) => import::run(args),
        Some(Verb::Era(args)) => era::run(args),
        Some(Verb::Season(args)) => season::run(args),
        Some(Verb::Serve(args)) => serve::run(args),
        Some(Verb::Switch(args)) => switch::run(args),
        Some(Verb::Timetable(args)) => timetable::run(args),
        Some(Verb::Why(args)) => why::run(args),
        Some(Verb::Weigh(args)) => weigh::run(args),
    }
}
