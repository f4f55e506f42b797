//! A line as a train meets it: grades, curves and places, in the direction of travel.

use model::units::{Actual, Grade};

/// Part of a line with one grade and one curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Its length on the model.
    pub length: Actual,
    /// Its grade in the direction of travel; up is positive.
    pub grade: Grade,
    /// Its radius; straight if none.
    pub radius: Option<Actual>,
}

/// A place along the line, from one end of it to the other in the direction of travel.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// What it is called.
    pub name: String,
    /// Where it begins.
    pub from: Actual,
    /// Where it ends.
    pub to: Actual,
}

/// A line as a train meets it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct GradeProfile {
    /// The pieces, one after the other.
    pub pieces: Vec<Piece>,
    /// The places, in the order they are passed.
    pub places: Vec<Place>,
}

/// From one place to the next: the train's front is past the far end of the first and not past the far end of the second.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Index of the place it leaves.
    pub leaves: usize,
    /// Index of the place it comes to.
    pub reaches: usize,
    /// Where the front of the train is when it leaves.
    pub from: Actual,
    /// Where the front of the train is at last.
    pub to: Actual,
}

impl GradeProfile {
    /// Its whole length.
    pub fn length(&self) -> Actual {
        self.pieces.iter().map(|piece| piece.length).sum()
    }

    /// The same line met from the other end.
    #[must_use]
    pub fn reversed(&self) -> Self {
        let length = self.length();
        Self {
            pieces: self
                .pieces
                .iter()
                .rev()
                .map(|piece| Piece {
                    grade: piece.grade.reversed(),
                    ..*piece
                })
                .collect(),
            places: self
                .places
                .iter()
                .rev()
                .map(|place| Place {
                    name: place.name.clone(),
                    from: length - place.to,
                    to: length - place.from,
                })
                .collect(),
        }
    }

    /// The stretches from place to place; together they hold the front of a train from leaving the first place to standing
    /// in the last, and no two share more than a point.
    pub fn stretches(&self) -> Vec<Stretch> {
        self.places
            .windows(2)
            .enumerate()
            .map(|(at, pair)| Stretch {
                leaves: at,
                reaches: at + 1,
                from: pair[0].to,
                to: pair[1].to,
            })
            .collect()
    }

    /// The piece at a point, and where it begins.
    pub fn piece_at(&self, at: Actual) -> Option<(Piece, Actual)> {
        let mut begins = Actual::ZERO;
        for piece in &self.pieces {
            if at < begins + piece.length {
                return Some((*piece, begins));
            }
            begins += piece.length;
        }
        None
    }

    /// The place that holds a point or comes last before it, and how far past its end the point lies (zero within).
    pub fn last_place(&self, at: Actual) -> Option<(&Place, Actual)> {
        let place = self.places.iter().rev().find(|place| place.from <= at)?;
        Some((place, (at - place.to).max(Actual::ZERO)))
    }
}
