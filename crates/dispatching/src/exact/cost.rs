//! Nondecreasing cost of a start time, in linear pieces, and what is left of it once a part of it
//! has been counted in a bound.

/// `value + slope * (t - at)` from `at` on, until the next piece begins; zero before the first.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Piece {
    at: i64,
    value: i64,
    slope: i64,
}

/// A nonnegative, nondecreasing function of time, zero early enough.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(super) struct CostFn {
    pieces: Vec<Piece>,
}

impl CostFn {
    /// `slope` per unit beyond `at`, nothing before.
    pub fn ramp(at: i64, slope: i64) -> CostFn {
        CostFn {
            pieces: vec![Piece {
                at,
                value: 0,
                slope,
            }],
        }
    }

    pub fn is_zero(&self) -> bool {
        self.pieces.iter().all(|p| p.value == 0 && p.slope == 0)
    }

    /// Adds `coeff * max(0, t - threshold) + increment * [t >= threshold]`.
    pub fn add(&mut self, threshold: i64, coeff: i64, increment: i64) {
        let value = self.eval(threshold);
        let slope = self.slope(threshold);
        let i = self.pieces.partition_point(|p| p.at < threshold);
        if self.pieces.get(i).is_none_or(|p| p.at != threshold) {
            self.pieces.insert(
                i,
                Piece {
                    at: threshold,
                    value,
                    slope,
                },
            );
        }
        for p in &mut self.pieces[i..] {
            p.value += increment + coeff * (p.at - threshold);
            p.slope += coeff;
        }
    }

    fn slope(&self, t: i64) -> i64 {
        let i = self.pieces.partition_point(|p| p.at <= t);
        if i == 0 { 0 } else { self.pieces[i - 1].slope }
    }

    pub fn eval(&self, t: i64) -> i64 {
        let i = self.pieces.partition_point(|p| p.at <= t);
        if i == 0 {
            return 0;
        }
        let p = self.pieces[i - 1];
        p.value.saturating_add(p.slope.saturating_mul(t - p.at))
    }

    /// The latest time that costs at most `c` (which is not negative); `None` if every time does.
    pub fn latest_within(&self, c: i64) -> Option<i64> {
        for (i, p) in self.pieces.iter().enumerate() {
            if p.value > c {
                return Some(p.at - 1);
            }
            if p.slope > 0 {
                let t = p.at + (c - p.value) / p.slope;
                if self.pieces.get(i + 1).is_none_or(|q| t + 1 < q.at) {
                    return Some(t);
                }
            }
        }
        None
    }

    /// The first time that costs at least `c` (more than nothing); `None` if none does.
    pub fn first_reaching(&self, c: i64) -> Option<i64> {
        self.latest_within(c - 1).map(|t| t + 1)
    }

    /// What [`CostFn::without`] takes away: from nothing up to `part` at `t`.
    pub fn part(&self, t: i64, part: i64) -> CostFn {
        let cap = self.eval(t) - part;
        let mut pieces = Vec::new();
        if let Some(from) = self.first_reaching(cap + 1)
            && from < t
        {
            let (value, slope) = (self.eval(from) - cap, self.slope(from));
            pieces.push(Piece {
                at: from,
                value,
                slope,
            });
            for p in &self.pieces {
                if p.at > from && p.at < t {
                    pieces.push(Piece {
                        value: p.value - cap,
                        ..*p
                    });
                }
            }
        }
        pieces.push(Piece {
            at: t,
            value: part,
            slope: 0,
        });
        CostFn { pieces }
    }

    /// What is left when a bound has counted `part` for "starts at `t` or later": the largest
    /// nondecreasing function that, with `part` added from `t` on, nowhere exceeds this one.
    /// `part` is at most `eval(t)`.
    pub fn without(&self, t: i64, part: i64) -> CostFn {
        let cap = self.eval(t) - part;
        debug_assert!(cap >= 0);
        let slope_at_t = self.slope(t);
        let mut pieces = Vec::with_capacity(self.pieces.len() + 2);
        for (i, p) in self.pieces.iter().enumerate() {
            if p.at >= t {
                break;
            }
            if p.value >= cap {
                pieces.push(Piece {
                    at: p.at,
                    value: cap,
                    slope: 0,
                });
                break;
            }
            pieces.push(*p);
            if p.slope > 0 {
                let meets = p.at + (cap - p.value + p.slope - 1) / p.slope;
                let end = self.pieces.get(i + 1).map_or(t, |q| q.at.min(t));
                if meets < end {
                    if meets > p.at {
                        pieces.push(Piece {
                            at: meets,
                            value: cap,
                            slope: 0,
                        });
                    }
                    break;
                }
            }
        }
        pieces.push(Piece {
            at: t,
            value: cap,
            slope: slope_at_t,
        });
        for p in &self.pieces {
            if p.at > t {
                pieces.push(Piece {
                    at: p.at,
                    value: p.value - part,
                    slope: p.slope,
                });
            }
        }
        CostFn { pieces }
    }
}

#[cfg(test)]
mod tests {
    use super::CostFn;

    #[test]
    fn a_term_is_what_the_definition_says() {
        let mut f = CostFn::default();
        f.add(10, 2, 5);
        f.add(4, 1, 0);
        f.add(10, 0, 3);
        for t in 0..40 {
            let want = 2 * (t - 10i64).max(0) + if t >= 10 { 8 } else { 0 } + (t - 4i64).max(0);
            assert_eq!(f.eval(t), want, "at {t}");
        }
        for c in 0..60 {
            let latest = f.latest_within(c).expect("rises without end");
            assert!(
                f.eval(latest) <= c && f.eval(latest + 1) > c,
                "within {c}: {latest}"
            );
        }
    }

    #[test]
    fn what_is_left_is_the_largest_that_fits() {
        let mut f = CostFn::default();
        f.add(3, 2, 1);
        f.add(9, 0, 6);
        f.add(14, 3, 0);
        for t in 4..20 {
            for part in 0..=f.eval(t) {
                let g = f.without(t, part);
                let h = g.without(t + 3, g.eval(t + 3) / 2);
                for (a, b, u, cut) in [(&f, &g, t, part), (&g, &h, t + 3, g.eval(t + 3) / 2)] {
                    for x in 0..30 {
                        let room = |y: i64| a.eval(y) - if y >= u { cut } else { 0 };
                        let want = (x..40).map(room).min().expect("not empty");
                        assert_eq!(b.eval(x), want, "t {u} part {cut} at {x}");
                        if cut > 0 {
                            let gone = a.part(u, cut).eval(x);
                            assert_eq!(a.eval(x), want + gone, "t {u} part {cut} at {x}");
                        }
                    }
                }
            }
        }
    }
}
