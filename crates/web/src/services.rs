//! What the office can have done for it, as a table of functions. Whoever serves the office fills it
//! in; so a solver can change without this crate being built again.

use std::sync::{
    Arc,
    atomic::{AtomicBool, AtomicU32, Ordering},
};

use engineering::ids::StationId;
use mechanical::CarId;
use model::time::RailTime;
use railroad::Railroad;
use session::{NewPlan, Opening, OrderText, RealMillis, State};
use traffic::{
    Bill,
    books::{Books, Movement},
};
use transportation::{MadeUp, TrainId, day::DayPlan};

/// Why a service gives no answer: what is wrong, and what to do.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Sorry {
    /// What is wrong, as a sentence.
    pub what: String,
    /// What to do about it.
    pub help: Option<String>,
}

/// How far a long work is, and whether it is to stop. Shared between the worker and the pages.
#[derive(Debug, Default)]
pub struct Progress {
    part: AtomicU32,
    stop: AtomicBool,
}

impl Progress {
    /// Notes that a part, from 0 to 1, is done.
    pub fn done(&self, part: f64) {
        let part = (part.clamp(0.0, 1.0) * 1000.0).round() as u32;
        self.part.store(part, Ordering::Relaxed);
    }

    /// The part done, from 0 to 1.
    pub fn part(&self) -> f64 {
        f64::from(self.part.load(Ordering::Relaxed)) / 1000.0
    }

    /// Asks the worker to stop with what it has.
    pub fn stop(&self) {
        self.stop.store(true, Ordering::Relaxed);
    }

    /// Whether it was asked to stop.
    pub fn stopped(&self) -> bool {
        self.stop.load(Ordering::Relaxed)
    }
}

/// Which town is to be switched, for which train, with which cars.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SwitchAsk {
    /// The town.
    pub station: StationId,
    /// Which of the trains that work it, in the order of [`SwitchPlan::trains`].
    pub train: usize,
    /// A typical session drawn by these dice; none: the cars where they stand today.
    pub session: Option<u64>,
    /// Fewest minutes instead of fewest moves.
    pub fastest: bool,
}

/// How a train works a town.
#[derive(Debug, Clone, PartialEq)]
pub struct SwitchPlan {
    /// The trains that work the town.
    pub trains: Vec<TrainId>,
    /// What is to be done, a sentence each.
    pub task: Vec<String>,
    /// What the answer is worth: moves, minutes, whether fewer are possible.
    pub worth: Vec<String>,
    /// What cannot be done, and why.
    pub left: Vec<String>,
    /// The town before the first move, as an SVG drawing.
    pub before: String,
    /// The moves.
    pub moves: Vec<SwitchMove>,
}

/// One move.
#[derive(Debug, Clone, PartialEq)]
pub struct SwitchMove {
    /// What is done, in a few words.
    pub title: String,
    /// Step by step.
    pub steps: Vec<String>,
    /// Seconds on the wall clock, by estimate.
    pub seconds: f64,
    /// The town afterwards, as an SVG drawing.
    pub drawing: String,
}

/// How a day is to be planned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DayAsk {
    /// Seed of all chance.
    pub seed: u64,
    /// A good answer at once rather than a better one later: while a train is being dragged.
    pub quick: bool,
}

/// A planned day.
#[derive(Debug, Clone, PartialEq)]
pub struct DayAnswer {
    /// The plan.
    pub plan: DayPlan,
    /// Whether no plan is better, class by class.
    pub proven: bool,
    /// What the plan could not take into account, a sentence each.
    pub remarks: Vec<String>,
}

/// The session that comes next, billed: what every car does, from its beginning to its end.
#[derive(Debug, Clone)]
pub struct SessionBooks {
    /// Where every car is before the session.
    pub opening: Books,
    /// What happens to cars, in order of time.
    pub movements: Vec<Movement>,
    /// The waybills.
    pub bills: Vec<Bill>,
    /// For each of them what it says.
    pub words: Vec<BillWords>,
    /// What each train takes and leaves.
    pub made_up: Vec<MadeUp>,
    /// Cars that stay, where, and why.
    pub left: Vec<(CarId, StationId, String)>,
    /// What does not come out as billed.
    pub amiss: Vec<String>,
}

impl SessionBooks {
    /// Where every car is at a time of the session.
    pub fn at(&self, time: RailTime) -> Books {
        let mut books = self.opening.clone();
        for movement in self.movements.iter().filter(|one| one.when.time <= time) {
            // Every movement was entered once already when the session was played.
            let _ = books.apply(movement);
        }
        books
    }

    /// A car's waybill and what it says.
    pub fn bill(&self, car: CarId) -> Option<(&Bill, &BillWords)> {
        let at = self.bills.iter().position(|bill| bill.car == car)?;
        Some((&self.bills[at], &self.words[at]))
    }
}

/// What a waybill says.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct BillWords {
    /// What is in the car, or what it is for.
    pub contents: String,
    /// From where.
    pub from: String,
    /// To where.
    pub to: String,
    /// Why it moves.
    pub why: String,
    /// What crews must mind.
    pub mind: Vec<String>,
}

/// The orders of a planned day.
#[derive(Debug, Clone, PartialEq)]
pub struct OrdersAnswer {
    /// The orders as sheets of text.
    pub orders: Vec<OrderSheet>,
    /// The clearances as sheets of text.
    pub clearances: Vec<String>,
    /// What they are worth: how many are needed at least, what the judge says.
    pub worth: Vec<String>,
    /// What cannot be delivered in time, and what the judge found.
    pub faults: Vec<String>,
}

/// One order.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderSheet {
    /// Its number.
    pub number: u32,
    /// The letter of its form.
    pub form: String,
    /// What it says, in a sentence.
    pub sentence: String,
    /// The sheet as it is handed out.
    pub sheet: String,
}

/// What is to be printed.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PrintAsk {
    /// The document's name.
    pub what: String,
    /// The train, job, station or person for whom; everybody if none.
    pub whom: Option<String>,
    /// On A4 instead of letter paper.
    pub a4: bool,
    /// In large print.
    pub large: bool,
    /// On half sheets.
    pub half: bool,
}

/// The printed documents.
pub struct Press {
    /// Name and what it is.
    pub documents: Vec<(String, String)>,
    /// Prints one as a PDF.
    pub print: Service<PrintAsk, Vec<u8>>,
}

/// A work that may take minutes, by the name of its document.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Study {
    /// In the address: `season`.
    pub name: &'static str,
    /// Its heading.
    pub title: &'static str,
    /// What it tells, in a sentence.
    pub about: &'static str,
    /// Numbers it asks for: name, label, usual value.
    pub asks: &'static [(&'static str, &'static str, u64)],
}

/// A table of a report: its heading, the heads of its columns, its rows.
pub type ReportTable = (String, Vec<String>, Vec<Vec<String>>);

/// A chart of a report: its heading, its unit, and a bar for each name.
pub type ReportChart = (String, String, Vec<(String, f64)>);

/// What a study found.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Report {
    /// In sentences.
    pub words: Vec<String>,
    /// Tables. Cells that are figures are set as such.
    pub tables: Vec<ReportTable>,
    /// Charts.
    pub charts: Vec<ReportChart>,
}

/// Does a study: the railroad, the numbers asked for, and how far it is.
pub type StudyWork = fn(&Railroad, &[u64], &Progress) -> Result<Report, Sorry>;

/// A session to be worked out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpeningAsk {
    /// What it is to be called.
    pub name: String,
}

/// From where a new plan is to be made.
#[derive(Debug, Clone)]
pub struct ReplanAsk {
    /// The session as it is.
    pub state: Arc<State>,
    /// Real time.
    pub now: RealMillis,
}

/// A new plan for the rest of a session.
#[derive(Debug, Clone, PartialEq)]
pub struct Replanned {
    /// The plan as it goes into the journal.
    pub plan: NewPlan,
    /// What changes, a sentence each.
    pub changes: Vec<String>,
    /// Why, a sentence each.
    pub reasons: Vec<String>,
    /// Where it goes against orders already out, a sentence each.
    pub against: Vec<String>,
    /// Orders that are to go out with it, and to which trains.
    pub orders: Vec<(OrderText, Vec<String>)>,
}

type Service<Ask, Answer> =
    Box<dyn Fn(&Railroad, &Ask, &Progress) -> Result<Answer, Sorry> + Send + Sync>;

/// Says which trains work a town.
type Workers = Box<dyn Fn(&Railroad, StationId) -> Vec<TrainId> + Send + Sync>;

/// The table. What is left out is not offered.
#[derive(Default)]
pub struct Services {
    /// The trains that work a town.
    pub works: Option<Workers>,
    /// Plans the switching of a town.
    pub switch: Option<Service<SwitchAsk, SwitchPlan>>,
    /// Plans the operating day.
    pub day: Option<Service<DayAsk, DayAnswer>>,
    /// Bills the session that comes next; asked for with the dice for what the folder does not say.
    pub books: Option<Service<u64, SessionBooks>>,
    /// Prints documents.
    pub press: Option<Press>,
    /// Writes the orders of a planned day.
    pub orders: Option<Service<DayPlan, OrdersAnswer>>,
    /// Works out what a session begins with: cars billed, trains made up, the day planned.
    pub opening: Option<Service<OpeningAsk, Opening>>,
    /// Plans the rest of a session from where everything is.
    pub replan: Option<Service<ReplanAsk, Replanned>>,
    /// Long works.
    pub studies: Vec<(Study, StudyWork)>,
}

impl std::fmt::Debug for Services {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Services")
            .field("works", &self.works.is_some())
            .field("switch", &self.switch.is_some())
            .field("day", &self.day.is_some())
            .field("books", &self.books.is_some())
            .field("press", &self.press.is_some())
            .field("orders", &self.orders.is_some())
            .field("opening", &self.opening.is_some())
            .field("replan", &self.replan.is_some())
            .field("studies", &self.studies.len())
            .finish()
    }
}
