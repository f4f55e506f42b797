//! A chain of pieces.

use kurbo::{Point, Rect};

use super::{Piece, Place, wrapped};

/// A chain of pieces, each beginning where the one before ends.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Path {
    pieces: Vec<Piece>,
    /// Distance from the beginning at which each piece begins, and the whole length.
    starts: Vec<f64>,
}

/// How far a joint between two pieces is from being smooth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jump {
    /// Distance from the beginning of the path, metres.
    pub at: f64,
    /// How far apart the two ends are, metres.
    pub gap: f64,
    /// Kink: the difference of heading, radians to the left.
    pub kink: f64,
    /// Difference of curvature, 1/m.
    pub curvature: f64,
}

impl Path {
    /// A chain of pieces as they are; those without length are left out.
    pub fn new(pieces: impl IntoIterator<Item = Piece>) -> Self {
        let mut path = Self::default();
        for piece in pieces {
            path.push(piece);
        }
        path
    }

    /// Adds a piece at the end.
    pub fn push(&mut self, piece: Piece) {
        if piece.length > 0.0 {
            if self.starts.is_empty() {
                self.starts.push(0.0);
            }
            self.starts.push(self.length() + piece.length);
            self.pieces.push(piece);
        }
    }

    /// The pieces.
    pub fn pieces(&self) -> &[Piece] {
        &self.pieces
    }

    /// The pieces with the distance at which each begins.
    pub fn placed(&self) -> impl Iterator<Item = (f64, &Piece)> {
        self.starts.iter().copied().zip(&self.pieces)
    }

    /// The distance from the beginning at which a piece begins.
    ///
    /// # Panics
    /// If there is no such piece.
    pub fn start_of(&self, piece: usize) -> f64 {
        self.starts[piece]
    }

    /// The whole length, metres.
    pub fn length(&self) -> f64 {
        self.starts.last().copied().unwrap_or(0.0)
    }

    /// Whether there is nothing of it.
    pub fn is_empty(&self) -> bool {
        self.pieces.is_empty()
    }

    /// The piece at a distance and how far along it that is; at a joint the piece that begins there.
    pub fn piece_at(&self, s: f64) -> Option<(usize, f64)> {
        let last = self.pieces.len().checked_sub(1)?;
        let at = self
            .starts
            .partition_point(|start| *start <= s)
            .saturating_sub(1)
            .min(last);
        Some((at, s - self.starts[at]))
    }

    /// The place at a distance from the beginning; beyond the ends it goes on as it is.
    pub fn at(&self, s: f64) -> Option<Place> {
        self.piece_at(s)
            .map(|(piece, along)| self.pieces[piece].at(along))
    }

    /// Where it begins.
    pub fn begin(&self) -> Option<Place> {
        self.pieces.first().map(Piece::begin)
    }

    /// Where it ends.
    pub fn end(&self) -> Option<Place> {
        self.pieces.last().map(Piece::end)
    }

    /// The same points from the end to the beginning.
    #[must_use]
    pub fn reversed(&self) -> Self {
        Self::new(self.pieces.iter().rev().map(Piece::reversed))
    }

    /// From `a` to `b` metres of it, as far as it reaches.
    #[must_use]
    pub fn part(&self, a: f64, b: f64) -> Self {
        Self::new(self.placed().filter_map(|(start, piece)| {
            let (from, to) = ((a - start).max(0.0), (b - start).min(piece.length));
            (to > from).then(|| piece.part(from, to))
        }))
    }

    /// What is not smooth at each of its joints.
    pub fn joints(&self) -> impl Iterator<Item = Jump> + '_ {
        self.pieces
            .windows(2)
            .zip(&self.starts[1..])
            .map(|(pair, &at)| {
                let (end, begin) = (pair[0].end(), pair[1].begin());
                Jump {
                    at,
                    gap: end.point().distance(begin.point()),
                    kink: wrapped(begin.heading - end.heading),
                    curvature: begin.curvature - end.curvature,
                }
            })
    }

    /// Its point nearest to another: the distance along it, and how far apart they are.
    pub fn nearest(&self, to: Point) -> Option<(f64, f64)> {
        let mut best: Option<(f64, f64)> = None;
        for (start, piece) in self.placed() {
            // A piece none of whose points can be nearer is passed over.
            if best.is_some_and(|(_, distance)| outside(piece.bounds(), to) > distance) {
                continue;
            }
            let (s, distance) = piece.nearest(to);
            if best.is_none_or(|(_, other)| distance < other) {
                best = Some((start + s, distance));
            }
        }
        best
    }

    /// A rectangle that holds it.
    pub fn bounds(&self) -> Option<Rect> {
        self.pieces
            .iter()
            .map(Piece::bounds)
            .reduce(|a, b| a.union(b))
    }

    /// Places along it, at most `step` metres apart, at every joint and at both ends, each with its
    /// distance from the beginning.
    pub fn places(&self, step: f64) -> Vec<(f64, Place)> {
        let mut places = Vec::new();
        for (start, piece) in self.placed() {
            let parts = (piece.length / step).ceil().clamp(1.0, 1e6) as u32;
            for part in 0..parts {
                let s = piece.length * f64::from(part) / f64::from(parts);
                places.push((start + s, piece.at(s)));
            }
        }
        if let Some(end) = self.end() {
            places.push((self.length(), end));
        }
        places
    }
}

/// How far a point is outside a rectangle.
pub(super) fn outside(bounds: Rect, point: Point) -> f64 {
    let x = (bounds.x0 - point.x).max(point.x - bounds.x1).max(0.0);
    let y = (bounds.y0 - point.y).max(point.y - bounds.y1).max(0.0);
    x.hypot(y)
}
