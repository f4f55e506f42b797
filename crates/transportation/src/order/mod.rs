//! Train orders: what they say, to whom, and where they are delivered; clearances; and the judge that
//! replays them under the rules.

pub mod judge;
pub mod territory;
mod words;

use model::time::{RailSpan, RailTime};

pub use territory::{District, DistrictNo, Place, PlaceNo, Run, RunNo, Territory, Visit};
pub use words::{clearance_sheet, order_sheet};

model::words! {
    /// The standard form of an order, by its letter.
    ///
    /// Letters and effects as in the US Army's TM 55-200 and its train-order subcourse (TR 6386);
    /// the wording of our orders is our own.
    pub enum Form {
        A = "A", "fixes meeting points of opposing trains";
        B = "B", "directs a train to pass or to run ahead of another";
        C = "C", "gives a train right over an opposing train";
        E = "E", "changes the times by which others go: run late, wait";
        G = "G", "creates an extra train";
        H = "H", "creates a work extra";
        J = "J", "holds a train";
        K = "K", "annuls a schedule";
        L = "L", "annuls an order";
        M = "M", "annuls a part of an order";
        P = "P", "puts an order in place of another";
    }
}

/// What an order says.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Body {
    /// A: a train meets others, each at its place.
    Meet {
        /// The train.
        train: RunNo,
        /// Whom it meets and where.
        others: Vec<(RunNo, PlaceNo)>,
    },
    /// B: a train runs ahead of others, each between two places.
    Ahead {
        /// Who goes first.
        first: RunNo,
        /// Who follows, from where to where.
        seconds: Vec<(RunNo, PlaceNo, PlaceNo)>,
    },
    /// C: a train has right over an opposing one between two places.
    RightOver {
        /// Who has right.
        first: RunNo,
        /// Over whom.
        over: RunNo,
        /// From where, as the first train runs.
        from: PlaceNo,
        /// To where.
        to: PlaceNo,
    },
    /// E: a train runs late.
    RunLate {
        /// The train.
        train: RunNo,
        /// By how much.
        late: RailSpan,
        /// From where.
        from: PlaceNo,
        /// To where.
        to: PlaceNo,
    },
    /// E: a train waits at places until a time.
    Wait {
        /// The train.
        train: RunNo,
        /// Where, and until when.
        at: Vec<(PlaceNo, RailTime)>,
    },
    /// G: a train runs extra.
    Extra {
        /// The train.
        train: RunNo,
        /// From where.
        from: PlaceNo,
        /// To where.
        to: PlaceNo,
    },
    /// H: a train works extra within limits.
    WorkExtra {
        /// The train.
        train: RunNo,
        /// From when to when.
        hours: [RailTime; 2],
        /// Between which places.
        limits: [PlaceNo; 2],
    },
    /// J: an operator holds a train.
    Hold {
        /// The train.
        train: RunNo,
        /// Where.
        at: PlaceNo,
    },
    /// K: a schedule is annulled.
    AnnulSchedule {
        /// The train.
        train: RunNo,
    },
    /// L: an order is annulled.
    AnnulOrder {
        /// Its number.
        number: u32,
    },
    /// M: a part of an order is annulled; what else it says holds on.
    AnnulPart {
        /// The order's number.
        number: u32,
        /// What no longer holds: one or more of what the order says of one train, alike in form.
        part: Box<Body>,
    },
    /// P: an order is put in place of another, whose number is never used again.
    InsteadOf {
        /// The number of the order that falls.
        number: u32,
        /// What holds instead.
        body: Box<Body>,
    },
}

impl Body {
    /// The letter of its form.
    pub fn form(&self) -> Form {
        match self {
            Self::Meet { .. } => Form::A,
            Self::Ahead { .. } => Form::B,
            Self::RightOver { .. } => Form::C,
            Self::RunLate { .. } | Self::Wait { .. } => Form::E,
            Self::Extra { .. } => Form::G,
            Self::WorkExtra { .. } => Form::H,
            Self::Hold { .. } => Form::J,
            Self::AnnulSchedule { .. } => Form::K,
            Self::AnnulOrder { .. } => Form::L,
            Self::AnnulPart { .. } => Form::M,
            Self::InsteadOf { .. } => Form::P,
        }
    }

    /// What it says, in the least parts that can be annulled: each meet, each train run ahead of, each wait.
    pub fn parts(&self) -> Vec<Body> {
        match self {
            Self::Meet { train, others } => others
                .iter()
                .map(|&other| Self::Meet {
                    train: *train,
                    others: vec![other],
                })
                .collect(),
            Self::Ahead { first, seconds } => seconds
                .iter()
                .map(|&second| Self::Ahead {
                    first: *first,
                    seconds: vec![second],
                })
                .collect(),
            Self::Wait { train, at } => at
                .iter()
                .map(|&one| Self::Wait {
                    train: *train,
                    at: vec![one],
                })
                .collect(),
            Self::InsteadOf { body, .. } => body.parts(),
            body => vec![body.clone()],
        }
    }
}

/// To whom a copy goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum To {
    /// Conductor and engineer of a train.
    Train(RunNo),
    /// The operator of an office.
    Operator,
}

/// One copy of an order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Delivery {
    /// To whom.
    pub to: To,
    /// At which office.
    pub at: PlaceNo,
    /// The last office at which it is still in time.
    pub last: PlaceNo,
    /// Whether the crew signs for it (Form 31) because it restricts the train; else Form 19.
    pub signed: bool,
}

/// An order.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Order {
    /// Its number, from 1 each day.
    pub number: u32,
    /// When it is made complete at all offices.
    pub complete: RailTime,
    /// What it says.
    pub body: Body,
    /// Who gets it.
    pub copies: Vec<Delivery>,
}

/// The paper by which a train may pass an office, with the orders it gets there.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clearance {
    /// The train.
    pub train: RunNo,
    /// The office.
    pub at: PlaceNo,
    /// When the train is there by the plan.
    pub time: RailTime,
    /// The numbers of the orders delivered with it, in order.
    pub orders: Vec<u32>,
}

/// The clearances of a day: one for every train where it begins, and one wherever it gets orders.
pub fn clearances(territory: &Territory, orders: &[Order]) -> Vec<Clearance> {
    let mut all = Vec::new();
    for (no, run) in territory.numbered() {
        if !run.runs {
            continue;
        }
        for (at, visit) in run.visits.iter().enumerate() {
            let mut numbers: Vec<u32> = orders
                .iter()
                .filter(|order| {
                    order
                        .copies
                        .iter()
                        .any(|copy| copy.to == To::Train(no) && copy.at == visit.place)
                })
                .map(|order| order.number)
                .collect();
            numbers.sort_unstable();
            let first_time_here = run.visit_at(visit.place, 0) == Some(at);
            if (at == 0 || !numbers.is_empty()) && first_time_here {
                all.push(Clearance {
                    train: no,
                    at: visit.place,
                    time: visit.leave,
                    orders: numbers,
                });
            }
        }
    }
    all.sort_by_key(|clearance| (clearance.time, clearance.train));
    all
}
