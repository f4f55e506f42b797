//! Cost as a function of a start time: piecewise linear, with jumps, never falling.

use crate::Time;

/// From `from` on (until the next piece) the cost is `value + slope * (t - from)`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Piece {
    from: Time,
    value: i64,
    slope: i64,
}

/// A piecewise linear cost; zero before its first piece.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Curve(Vec<Piece>);

/// Pieces beyond this number are merged downwards: the curve stays a lower bound.
const MOST_PIECES: usize = 24;

impl Curve {
    /// Nothing, whenever it happens.
    pub(crate) fn is_zero(&self) -> bool {
        self.0.is_empty()
    }

    /// `slope * max(0, t - threshold) + jump * [t >= threshold]`.
    pub(crate) fn delay(threshold: Time, slope: i64, jump: i64) -> Self {
        Self(vec![Piece {
            from: threshold,
            value: jump,
            slope,
        }])
    }

    /// The cost of a start at `t`.
    #[inline]
    pub(crate) fn at(&self, t: Time) -> i64 {
        for piece in self.0.iter().rev() {
            if t >= piece.from {
                return piece
                    .value
                    .saturating_add(piece.slope.saturating_mul(t - piece.from));
            }
        }
        0
    }

    fn line(&self, t: Time) -> (i64, i64) {
        for piece in self.0.iter().rev() {
            if t >= piece.from {
                return (
                    piece
                        .value
                        .saturating_add(piece.slope.saturating_mul(t - piece.from)),
                    piece.slope,
                );
            }
        }
        (0, 0)
    }

    fn corners(&self, other: &Self) -> Vec<Time> {
        let mut corners: Vec<Time> = self.0.iter().chain(&other.0).map(|p| p.from).collect();
        corners.sort_unstable();
        corners.dedup();
        corners
    }

    fn push(&mut self, piece: Piece) {
        let (value, slope) = self.line(piece.from);
        if (value, slope) != (piece.value, piece.slope) {
            self.0.push(piece);
        }
    }

    /// Both costs together.
    pub(crate) fn plus(&self, other: &Self) -> Self {
        if self.is_zero() {
            return other.clone();
        }
        let mut sum = Self::default();
        for t in self.corners(other) {
            let (a, b) = (self.line(t), other.line(t));
            sum.push(Piece {
                from: t,
                value: a.0.saturating_add(b.0),
                slope: a.1.saturating_add(b.1),
            });
        }
        sum
    }

    /// Whichever is less at each time.
    pub(crate) fn min(&self, other: &Self) -> Self {
        if self == other {
            return self.clone();
        }
        let mut least = Self::default();
        let corners = self.corners(other);
        for (i, &t) in corners.iter().enumerate() {
            let until = corners.get(i + 1).copied();
            let (mut a, mut b) = (self.line(t), other.line(t));
            if (b.0, b.1) < (a.0, a.1) {
                std::mem::swap(&mut a, &mut b);
            }
            least.push(Piece {
                from: t,
                value: a.0,
                slope: a.1,
            });
            // `a` is lower here but steeper: the other takes over at the first whole time where it is lower.
            if a.1 > b.1 {
                let ahead = (b.0 - a.0) / (a.1 - b.1) + 1;
                if until.is_none_or(|until| t + ahead < until) {
                    least.push(Piece {
                        from: t + ahead,
                        value: b.0.saturating_add(b.1.saturating_mul(ahead)),
                        slope: b.1,
                    });
                }
            }
        }
        while least.0.len() > MOST_PIECES {
            // Dropping a late piece must not raise the curve: flatten the one before it.
            least.0.pop();
            if let Some(piece) = least.0.last_mut() {
                piece.slope = 0;
            }
        }
        least
    }

    /// The cost of starting at `t` when what it stands for starts at `max(t + duration, earliest)`.
    pub(crate) fn before(&self, duration: Time, earliest: Time) -> Self {
        let mut shifted = Self::default();
        let (value, slope) = self.line(earliest);
        let flat_until = earliest - duration;
        if value != 0 {
            shifted.0.push(Piece {
                from: Time::MIN / 4,
                value,
                slope: 0,
            });
        }
        if slope != 0 {
            shifted.push(Piece {
                from: flat_until,
                value,
                slope,
            });
        }
        for piece in &self.0 {
            if piece.from > earliest {
                shifted.push(Piece {
                    from: piece.from - duration,
                    ..*piece
                });
            }
        }
        shifted
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn delay_costs_after_its_threshold() {
        let curve = Curve::delay(10, 3, 5);
        assert_eq!([curve.at(9), curve.at(10), curve.at(12)], [0, 5, 11]);
    }

    #[test]
    fn sums_and_minima_agree_with_the_values() {
        let curves = [
            Curve::delay(10, 3, 0),
            Curve::delay(12, 1, 7),
            Curve::delay(0, 1, 0).plus(&Curve::delay(20, 5, 1)),
            Curve::default(),
        ];
        for a in &curves {
            for b in &curves {
                let (sum, least) = (a.plus(b), a.min(b));
                for t in -5..60 {
                    assert_eq!(sum.at(t), a.at(t) + b.at(t));
                    assert_eq!(least.at(t), a.at(t).min(b.at(t)), "{a:?} {b:?} at {t}");
                }
            }
            for t in -5..60 {
                assert_eq!(a.before(4, 15).at(t), a.at((t + 4).max(15)));
            }
        }
    }
}
