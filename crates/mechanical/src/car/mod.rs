//! Cars: the car record, its page, and what can be wrong with it.

mod build;
mod designation;
mod kind;
mod marks;
mod page;
pub(crate) mod rules;

pub use designation::{Class, Designation, Form};
pub use kind::{CarKind, CarState, RunningBoard, Underframe};
pub use marks::{canonical_car_name, canonical_marks, canonical_number, car_name};
pub use page::PAGE;

use crate::Context;
use crate::log::LogEntry;
use model::{
    Span, Spanned,
    date::{Date, PartialDate},
    units::{Actual, Prototype, Weight},
};

/// Which car of a [`Roster`](crate::Roster).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CarId(pub u32);

impl CarId {
    /// Its place in [`Roster::cars`](crate::Roster::cars).
    pub const fn index(self) -> usize {
        self.0 as usize
    }
}

/// A car, as its row of the car record says. What was left out or could not be read is `None`.
#[derive(Debug, Clone, PartialEq)]
pub struct Car {
    /// The row.
    pub span: Span,
    /// Marks and number, `SMR 101`; the place is that of the number.
    pub name: Spanned<String>,
    /// Reporting marks, in capitals.
    pub marks: Spanned<String>,
    /// Number, without a spreadsheet's commas.
    pub number: String,
    /// Mechanical designation.
    pub designation: Option<Spanned<Designation>>,
    /// What kind of car.
    pub kind: Option<Spanned<CarKind>>,
    /// Over the pulling faces, on the model.
    pub length: Option<Spanned<Actual>>,
    /// Inside length, full size.
    pub inside_length: Option<Spanned<Prototype>>,
    /// Extreme height, full size.
    pub height: Option<Spanned<Prototype>>,
    /// Nominal capacity, full size.
    pub capacity: Option<Spanned<Weight>>,
    /// Light weight, full size.
    pub light_weight: Option<Spanned<Weight>>,
    /// When built.
    pub built: Option<Spanned<PartialDate>>,
    /// When last rebuilt.
    pub rebuilt: Option<Spanned<PartialDate>>,
    /// When first painted as the model is.
    pub painted: Option<Spanned<PartialDate>>,
    /// When it left service.
    pub retired: Option<Spanned<PartialDate>>,
    /// Truck sides, as written.
    pub truck: Option<Spanned<String>>,
    /// Brake valve, as written.
    pub brake: Option<Spanned<String>>,
    /// Underframe.
    pub underframe: Option<Spanned<Underframe>>,
    /// Running board.
    pub running_board: Option<Spanned<RunningBoard>>,
    /// Home road, if written.
    pub home_road: Option<Spanned<String>>,
    /// Weight of the model.
    pub weight: Option<Spanned<Weight>>,
    /// Couplers of the model, as written.
    pub couplers: Option<String>,
    /// Wheels of the model, as written.
    pub wheels: Option<String>,
    /// Whether it can be used.
    pub state: CarState,
    /// Where it stands before the first session, `Station / track`.
    pub at: Option<Spanned<String>>,
    /// The pool it is assigned to.
    pub pool: Option<String>,
    /// Length over the end sills, full size.
    pub outside_length: Option<Spanned<Prototype>>,
    /// Extreme width, full size.
    pub width: Option<Spanned<Prototype>>,
    /// Distance between truck centers, full size.
    pub truck_centers: Option<Spanned<Prototype>>,
    /// Log of its repairs.
    pub log: Vec<Spanned<LogEntry>>,
    /// Its photograph.
    pub photo: Option<String>,
    /// The owner's note.
    pub note: Option<String>,
}

impl Car {
    /// Whether its trucks have arch-bar sides.
    pub fn has_arch_bar_trucks(&self) -> bool {
        self.truck.as_ref().is_some_and(|truck| {
            let letters: String = truck
                .value
                .chars()
                .filter(|c| c.is_alphanumeric())
                .collect::<String>()
                .to_lowercase();
            letters.contains("archbar")
        })
    }

    /// Whether it has K brakes: `K`, `KC`, `KD`, `K-2`.
    pub fn has_k_brakes(&self) -> bool {
        self.brake.as_ref().is_some_and(|brake| {
            let first = brake
                .value
                .split_whitespace()
                .next()
                .unwrap_or_default()
                .to_uppercase();
            let first = first.split(['-', '/']).next().unwrap_or_default();
            matches!(first, "K" | "KC" | "KD")
                || (first.starts_with('K') && first[1..].bytes().all(|b| b.is_ascii_digit()))
        })
    }

    /// Whether it belongs to another road or owner, as its marks say.
    pub fn is_foreign(&self, context: &Context) -> bool {
        !self.marks.is_empty() && !context.own_marks.contains(&self.marks.value)
    }

    /// Whether the car exists on a day as the model shows it: built, painted so, and not retired.
    /// What the record does not say counts for the car.
    pub fn exists_on(&self, day: Date) -> bool {
        let begun = |date: &Option<Spanned<PartialDate>>| {
            date.as_ref().is_none_or(|date| date.value.first() <= day)
        };
        begun(&self.built)
            && begun(&self.rebuilt)
            && begun(&self.painted)
            && self
                .retired
                .as_ref()
                .is_none_or(|retired| retired.value.last() >= day)
    }
}
