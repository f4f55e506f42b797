//! Chains, codes and sorting plans.

use crate::town::Length;

/// A car to be sorted, in inbound order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Inbound {
    /// Which outbound train.
    pub train: usize,
    /// Its block in that train, 0 first on the outbound track (deepest).
    pub block: u32,
    /// Length of the car.
    pub length: Length,
}

/// Which codes may be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Every car is pulled at most once.
    Once,
    /// Every car is pulled at most twice.
    Triangular,
    /// As often as it pays (with enough tracks this is the geometric or binary method).
    Geometric,
}

impl Method {
    fn allows(self, code: u64) -> bool {
        match self {
            Self::Once => code.count_ones() <= 1,
            Self::Triangular => code.count_ones() <= 2,
            Self::Geometric => true,
        }
    }
}

/// For each car, which chain of its train it belongs to; and the number of chains of each train.
///
/// A chain is a stretch of the outbound train whose cars already follow one another inbound. Cars
/// of one block may come in any order, which a chain makes use of: the cars of a block that still
/// follow join the chain, the others begin the next. Taking as much as possible each time is
/// best, since it never leaves the next chain further along the inbound order.
pub fn chains(inbound: &[Inbound]) -> (Vec<u32>, Vec<u32>) {
    let trains = inbound.iter().map(|c| c.train + 1).max().unwrap_or(0);
    let mut chain_of = vec![0; inbound.len()];
    let mut counts = vec![0; trains];
    for (train, count) in counts.iter_mut().enumerate() {
        let mut blocks: Vec<u32> = inbound
            .iter()
            .filter(|c| c.train == train)
            .map(|c| c.block)
            .collect();
        blocks.sort_unstable();
        blocks.dedup();
        // Nothing of the present chain lies at or after this inbound position.
        let mut next = 0;
        let mut chain = 0;
        for b in blocks {
            let cars: Vec<usize> = (0..inbound.len())
                .filter(|&i| inbound[i].train == train && inbound[i].block == b)
                .collect();
            let wraps = cars.iter().any(|&i| i < next);
            for &i in &cars {
                chain_of[i] = chain + u32::from(i < next);
            }
            let last = cars.iter().rev().copied().find(|&i| !wraps || i < next);
            next = last.map_or(next, |i| i + 1);
            chain += u32::from(wraps);
        }
        *count = if inbound.iter().any(|c| c.train == train) {
            chain + 1
        } else {
            0
        };
    }
    (chain_of, counts)
}

/// Whether a car that took part in pull `from` (0: the arrival) can next take part in pull `to`,
/// when tracks are pulled in turn: its track must not be pulled in between.
fn reachable(from: u32, to: u32, tracks: u32) -> bool {
    to > from && to - from <= tracks
}

fn code_fits(code: u64, pulls: u32, tracks: u32) -> bool {
    let mut at = 0;
    for i in 1..=pulls {
        if code >> (i - 1) & 1 == 1 {
            if !reachable(at, i, tracks) {
                return false;
            }
            at = i;
        }
    }
    true
}

/// How many different codes there are with so many pulls and sorting tracks (the outbound tracks
/// not counted), the tracks being pulled in turn.
///
/// A track can only be loaded for its own next pull, so a car that takes part in pull *i* can next
/// take part in pulls *i*+1 to *i*+w. With w at least h that is 2^h; with one track h + 1; with
/// two the Fibonacci numbers less one. Counts saturate.
pub fn codes(pulls: u32, tracks: u32, method: Method) -> u64 {
    // by[k][j]: codes whose last pull is j and that have k pulls.
    let h = pulls as usize;
    let most = match method {
        Method::Once => 1,
        Method::Triangular => 2,
        Method::Geometric => h,
    };
    let mut last = vec![0u64; h + 1];
    last[0] = 1;
    let mut total = 1u64;
    for _ in 0..most.min(h) {
        let mut next = vec![0u64; h + 1];
        for (j, slot) in next.iter_mut().enumerate().skip(1) {
            for (i, n) in last.iter().enumerate().take(j) {
                if reachable(i as u32, j as u32, tracks) {
                    *slot = slot.saturating_add(*n);
                }
            }
        }
        total = next.iter().fold(total, |t, n| t.saturating_add(*n));
        last = next;
    }
    total
}

/// Fewest pulls that give so many codes, or `None` if no number of pulls does.
pub fn pulls_needed(codes_wanted: u64, tracks: u32, method: Method) -> Option<u32> {
    if codes_wanted <= 1 {
        return Some(0);
    }
    if tracks == 0 {
        return None;
    }
    let mut before = 1;
    for h in 1..=4096 {
        let n = codes(h, tracks, method);
        if n >= codes_wanted {
            return Some(h);
        }
        if n == before {
            return None;
        }
        before = n;
    }
    None
}

/// For each number of sorting tracks from 1 to `most`, the fewest pulls for so many chains:
/// tracks against pulls.
pub fn trade_off(chains: u64, most: u32, method: Method) -> Vec<(u32, Option<u32>)> {
    (1..=most)
        .map(|w| (w, pulls_needed(chains, w, method)))
        .collect()
}

/// How long the parts of sorting take.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pace {
    /// Seconds to go in, couple and pull one track.
    pub pull_s: f64,
    /// Seconds for each cut dropped (cars that go to the same track one after another are one
    /// cut).
    pub cut_s: f64,
    /// Seconds more for each car moved.
    pub car_s: f64,
}

impl Default for Pace {
    /// Plausible for flat switching with a crew on the ground; common practice, no source.
    fn default() -> Self {
        Self {
            pull_s: 240.0,
            cut_s: 60.0,
            car_s: 10.0,
        }
    }
}

/// One pull and what becomes of its cars; the first step is the arrival itself.
#[derive(Clone, Debug, PartialEq)]
pub struct SortStep {
    /// The sorting track pulled; `None` for the inbound cut.
    pub from: Option<usize>,
    /// Cuts in order: the cars (by inbound position), and the sorting track, or `None` for the
    /// outbound track of their train.
    pub cuts: Vec<(Vec<usize>, Option<usize>)>,
    /// When this step is done, in seconds from the start.
    pub done_s: f64,
}

/// A complete sorting plan.
#[derive(Clone, Debug, PartialEq)]
pub struct SortPlan {
    /// The steps.
    pub steps: Vec<SortStep>,
    /// Number of pulls (the arrival is not a pull).
    pub pulls: u32,
    /// Proven least number of pulls for this inbound order, these tracks in turn and this method.
    pub least_pulls: u32,
    /// Times any car was dropped, all together.
    pub drops: usize,
    /// Longest load of each sorting track.
    pub peak: Vec<Length>,
    /// When each outbound train stands complete, in seconds from the start.
    pub ready_s: Vec<f64>,
}

/// Why there is no sorting plan.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SortError {
    /// The method cannot do it with any number of pulls.
    #[error("{chains} chains need more than {tracks} sorting tracks by this method")]
    TooFewTracks {
        /// Chains of the worst train.
        chains: u32,
        /// Tracks there are.
        tracks: usize,
    },
    /// Every choice of codes within the limits tried overfills some track.
    #[error(
        "sorting track {track} holds {capacity}; the best plan found puts {needed} on it, with up to {pulls} pulls"
    )]
    TooShort {
        /// The track.
        track: usize,
        /// Its length.
        capacity: Length,
        /// What the best plan puts on it.
        needed: Length,
        /// Pulls tried.
        pulls: u32,
    },
}

/// Plans the sorting of one inbound cut over sorting tracks of the given lengths, pulled in turn.
///
/// The number of pulls is the least for the inbound order if the track lengths allow it, and
/// otherwise as few more (up to four) as make it fit. Among plans with that many pulls it drops
/// cars as seldom as possible, exactly where track lengths do not bind. With no cars the plan is
/// empty.
///
/// # Errors
/// If the method cannot do it, or no choice of codes tried fits the tracks.
pub fn plan_sort(
    inbound: &[Inbound],
    tracks: &[Length],
    method: Method,
    pace: &Pace,
) -> Result<SortPlan, SortError> {
    let (chain_of, counts) = chains(inbound);
    let worst = counts.iter().copied().max().unwrap_or(0);
    let w = tracks.len() as u32;
    let Some(least) = pulls_needed(u64::from(worst), w, method) else {
        return Err(SortError::TooFewTracks {
            chains: worst,
            tracks: tracks.len(),
        });
    };
    let mut too_short = None;
    for pulls in least..=(least + 4).min(20) {
        let all: Vec<u64> = (0..1u64 << pulls)
            .filter(|&c| method.allows(c) && code_fits(c, pulls, w))
            .collect();
        let mut code_of_chain: Vec<Vec<u64>> = vec![];
        for (train, &n) in counts.iter().enumerate() {
            let loads: Vec<u64> = (0..n)
                .map(|k| {
                    let cars = inbound.iter().zip(&chain_of);
                    cars.filter(|(c, x)| c.train == train && **x == k)
                        .map(|(c, _)| u64::from(c.length.max(1)))
                        .sum()
                })
                .collect();
            code_of_chain.push(cheapest(&all, &loads));
        }
        let mut code: Vec<u64> = inbound
            .iter()
            .zip(&chain_of)
            .map(|(c, &k)| code_of_chain[c.train][k as usize])
            .collect();
        let mut plan = carry_out(inbound, &code, pulls, least, tracks.len(), pace);
        let over = |p: &SortPlan| (0..tracks.len()).find(|&t| p.peak[t] > tracks[t]);
        if over(&plan).is_some() {
            // Move single chains to other codes until everything fits, if that can be done.
            ease(
                inbound,
                &chain_of,
                &counts,
                &mut code_of_chain,
                &all,
                tracks,
                pulls,
            );
            code = inbound
                .iter()
                .zip(&chain_of)
                .map(|(c, &k)| code_of_chain[c.train][k as usize])
                .collect();
            plan = carry_out(inbound, &code, pulls, least, tracks.len(), pace);
        }
        match over(&plan) {
            None => return Ok(plan),
            Some(t) => {
                too_short = Some(SortError::TooShort {
                    track: t,
                    capacity: tracks[t],
                    needed: plan.peak[t],
                    pulls,
                });
            }
        }
        if tracks.is_empty() {
            break;
        }
    }
    Err(too_short.unwrap_or(SortError::TooFewTracks {
        chains: worst,
        tracks: tracks.len(),
    }))
}

/// Rising codes for chains with the given loads that move the least length, by dynamic
/// programming. `codes` must be sorted and at least as many as loads.
fn cheapest(codes: &[u64], loads: &[u64]) -> Vec<u64> {
    let (n, m) = (loads.len(), codes.len());
    // best[i][j]: cost of the first i chains using codes before j.
    let mut best = vec![vec![u64::MAX; m + 1]; n + 1];
    best[0].fill(0);
    for i in 1..=n {
        for j in i..=m {
            let with = best[i - 1][j - 1]
                .saturating_add(loads[i - 1] * u64::from(codes[j - 1].count_ones()));
            best[i][j] = best[i][j - 1].min(with);
        }
    }
    let mut out = vec![0; n];
    let mut j = m;
    for i in (1..=n).rev() {
        while j > i && best[i][j] == best[i][j - 1] {
            j -= 1;
        }
        j -= 1;
        out[i - 1] = codes[j];
    }
    out
}

/// Tries to bring every track within its length by shifting the codes of single chains up or down
/// between those of their neighbours.
fn ease(
    inbound: &[Inbound],
    chain_of: &[u32],
    counts: &[u32],
    codes_of: &mut [Vec<u64>],
    all: &[u64],
    tracks: &[Length],
    pulls: u32,
) {
    let excess = |codes_of: &[Vec<u64>]| -> u64 {
        let mut load = vec![0u64; pulls as usize];
        for (c, &k) in inbound.iter().zip(chain_of) {
            let code = codes_of[c.train][k as usize];
            for (i, l) in load.iter_mut().enumerate() {
                if code >> i & 1 == 1 {
                    *l += u64::from(c.length);
                }
            }
        }
        load.iter()
            .enumerate()
            .map(|(i, l)| l.saturating_sub(u64::from(tracks[i % tracks.len()])))
            .sum()
    };
    let mut now = excess(codes_of);
    while now > 0 {
        let mut best: Option<(u64, usize, usize, u64)> = None;
        for (train, &n) in counts.iter().enumerate() {
            for k in 0..n as usize {
                let old = codes_of[train][k];
                let low = if k == 0 {
                    None
                } else {
                    Some(codes_of[train][k - 1])
                };
                let high = codes_of[train].get(k + 1).copied();
                for &c in all {
                    if c != old && low.is_none_or(|l| l < c) && high.is_none_or(|h| c < h) {
                        codes_of[train][k] = c;
                        let e = excess(codes_of);
                        if e < best.map_or(now, |b| b.0) {
                            best = Some((e, train, k, c));
                        }
                    }
                }
                codes_of[train][k] = old;
            }
        }
        let Some((e, train, k, c)) = best else { return };
        codes_of[train][k] = c;
        now = e;
    }
}

/// Plays the pulls through and writes down what happens.
fn carry_out(
    inbound: &[Inbound],
    code: &[u64],
    pulls: u32,
    least_pulls: u32,
    tracks: usize,
    pace: &Pace,
) -> SortPlan {
    let trains = inbound.iter().map(|c| c.train + 1).max().unwrap_or(0);
    let mut on: Vec<Vec<usize>> = vec![vec![]; tracks];
    let mut peak = vec![0; tracks];
    let mut ready_s = vec![0.0; trains];
    let mut steps = vec![];
    let mut clock = 0.0;
    let mut drops = 0;
    for pull in 0..=pulls {
        let (from, cars) = if pull == 0 {
            (None, (0..inbound.len()).collect::<Vec<_>>())
        } else {
            let t = (pull as usize - 1) % tracks;
            (Some(t), std::mem::take(&mut on[t]))
        };
        let mut cuts: Vec<(Vec<usize>, Option<usize>)> = vec![];
        for i in cars {
            let next = (pull + 1..=pulls).find(|&q| code[i] >> (q - 1) & 1 == 1);
            let to = next.map(|q| (q as usize - 1) % tracks);
            drops += 1;
            match to {
                Some(t) => {
                    on[t].push(i);
                    let load = on[t].iter().map(|&i| inbound[i].length).sum();
                    peak[t] = peak[t].max(load);
                }
                None => ready_s[inbound[i].train] = f64::MAX,
            }
            match cuts.last_mut() {
                Some((list, last))
                    if *last == to
                        && (to.is_some() || inbound[list[0]].train == inbound[i].train) =>
                {
                    list.push(i);
                }
                _ => cuts.push((vec![i], to)),
            }
        }
        let moved: usize = cuts.iter().map(|c| c.0.len()).sum();
        clock += if pull == 0 { 0.0 } else { pace.pull_s };
        clock += pace.cut_s * cuts.len() as f64 + pace.car_s * moved as f64;
        for r in &mut ready_s {
            if *r == f64::MAX {
                *r = clock;
            }
        }
        steps.push(SortStep {
            from,
            cuts,
            done_s: clock,
        });
    }
    SortPlan {
        steps,
        pulls,
        least_pulls,
        drops,
        peak,
        ready_s,
    }
}

/// Fewest tracks over which a row of cars can be put in order in one pass, each track keeping the
/// order of its cars and being pulled once at the end: the length of the longest falling
/// subsequence (Even and Itai, "Queues, stacks and graphs", 1971; from memory).
pub fn queues_needed(order: &[u32]) -> usize {
    // Put each car behind the largest smaller last car; the lasts stay sorted downwards.
    let mut lasts: Vec<u32> = vec![];
    for &x in order {
        match lasts.iter().position(|&l| l <= x) {
            Some(i) => lasts[i] = x,
            None => lasts.push(x),
        }
    }
    lasts.len()
}

/// Whether a row of cars comes out in order when each goes once into one dead-end track and out
/// again (Knuth, The Art of Computer Programming, volume 1, section 2.2.1).
pub fn sorts_through_one_stack(order: &[u32]) -> bool {
    let mut sorted = order.to_vec();
    sorted.sort_unstable();
    let mut stack = vec![];
    let mut wanted = sorted.into_iter().peekable();
    for &x in order {
        stack.push(x);
        while stack.last().is_some() && stack.last() == wanted.peek() {
            stack.pop();
            wanted.next();
        }
    }
    stack.is_empty()
}
