//! What may stand on the command line.

use std::path::PathBuf;

use clap::{Parser, Subcommand};

use crate::verbs;

/// Build, work and run a model railroad as a railroad.
///
/// Without a verb: the main job on the example railroad.
#[derive(Debug, Parser)]
#[command(
    name = "sawby",
    version,
    after_help = "Exit codes: 0 all is well; 1 something is wrong with the railroad or there is no \
                  plan; 2 the command line was not understood; 3 a file could not be read or written."
)]
pub struct Args {
    /// What to do.
    #[command(subcommand)]
    pub verb: Option<Verb>,
}

/// The verbs.
#[derive(Debug, Subcommand)]
pub enum Verb {
    /// Bill a session: waybills, car orders filled, what each train takes and leaves.
    Bill(verbs::bill::BillArgs),
    /// Say everything about a railroad folder that does not hold together.
    Check(verbs::check::CheckArgs),
    /// Say what the line will carry, and what each improvement would be worth.
    Capacity(verbs::capacity::CapacityArgs),
    /// Close a session: where every car stands now, written back to the folder.
    Close(verbs::close::CloseArgs),
    /// Draw the track chart of each line.
    Chart(verbs::chart::ChartArgs),
    /// Plan the operating day: every train, every meet, and why each wait.
    Day(verbs::day::DayArgs),
    /// Solve a dispatching problem from a file: trains, what they need, what lateness costs.
    Dispatch(verbs::dispatch::DispatchArgs),
    /// Say which cars and engines are right for the date, and why others are not.
    Era(verbs::era::EraArgs),
    /// Say where each car and engine may go: curves, turntables, wyes, tunnels.
    Fit(verbs::fit::FitArgs),
    /// Explain a diagnostic by its code.
    Explain(verbs::explain::ExplainArgs),
    /// Reckon a helix or a return loop, and compare alternatives.
    Helix(verbs::helix::HelixArgs),
    /// Bring in cars or engines from somebody else's spreadsheet, or track from measured points.
    Import(verbs::import::ImportArgs),
    /// Call the crews: jobs, people, who learns from whom.
    Crews(verbs::crews::CrewsArgs),
    /// Write the orders by which the day's trains run, and judge them.
    Orders(verbs::orders::OrdersArgs),
    /// Say how punctual the day stays when not everything goes as planned.
    Punctuality(verbs::punctuality::PunctualityArgs),
    /// Start a railroad folder that checks clean.
    New(verbs::new::NewArgs),
    /// Draw the plan of the rooms: walls, benchwork, track, curves and grades.
    Plan(verbs::plan::PlanArgs),
    /// Draw a turnout, crossing, curve, or a station's switches at full size to lay rail on.
    Plate(verbs::plate::PlateArgs),
    /// Print what a session needs on paper: timetable, packets, waybills, switch lists, orders and more.
    Print(verbs::print::PrintArgs),
    /// Rate what each engine may take over each line.
    Rating(verbs::rating::RatingArgs),
    /// Play a whole session with simulated crews, over HTTP, against the office as it is served.
    Rehearse(verbs::rehearse::RehearseArgs),
    /// Play many sessions before a car is moved: what fills, who starves, what breaks first.
    Season(verbs::season::SeasonArgs),
    /// Open the railroad's office: its documents in a browser, read and edited there.
    Serve(verbs::serve::ServeArgs),
    /// Plan the switching of a town, move by move; or review the towns over many sessions.
    Switch(verbs::switch::SwitchArgs),
    /// Print the day's times by line and direction, kept as written or built anew.
    Timetable(verbs::timetable::TimetableArgs),
    /// Say why a train waits.
    Why(verbs::why::WhyArgs),
    /// Weigh cars against the recommended practice, sum trains, and say how many cars a track holds.
    Weigh(verbs::weigh::WeighArgs),
}

/// Which railroad.
#[derive(Debug, clap::Args)]
pub struct Which {
    /// The railroad folder.
    #[arg(default_value = ".", value_name = "FOLDER")]
    pub folder: PathBuf,
    /// The example railroad that comes with the program.
    #[arg(long, conflicts_with = "folder")]
    pub example: bool,
}
