//! Best plans of tiny problems by exhaustion, in two unlike ways.
//!
//! For a fixed path of every train and a fixed order on every resource, the starts obey difference
//! constraints, whose least solution is best for every term of the objective at once (coefficients are
//! never negative). [`best_by_orders`] tries every path and every order that matters.
//! [`best_by_sequences`] tries every sequence in which the events can stand in a plan.

use dispatching::{Cost, Event, Plan, Problem, Time};

/// What an enumeration came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Outcome {
    /// The best plan and its cost.
    Best(Cost, Plan),
    /// There is no plan.
    Impossible,
    /// More work than was allowed.
    TooMuch,
}

/// All paths of a train from its entry to its exit.
fn paths(problem: &Problem, train: usize) -> Vec<Vec<usize>> {
    let operations = &problem.trains[train].operations;
    let entry = (0..operations.len())
        .find(|o| operations.iter().all(|other| !other.successors.contains(o)))
        .expect("an entry");
    let mut complete = Vec::new();
    let mut open = vec![vec![entry]];
    while let Some(path) = open.pop() {
        let last = &operations[path[path.len() - 1]];
        if last.successors.is_empty() {
            complete.push(path);
            continue;
        }
        for &next in &last.successors {
            let mut longer = path.clone();
            longer.push(next);
            open.push(longer);
        }
    }
    complete
}

/// Calls `visit` with every choice of one path per train until it says to stop.
fn each_choice(problem: &Problem, mut visit: impl FnMut(&[&Vec<usize>]) -> bool) {
    let all: Vec<Vec<Vec<usize>>> = (0..problem.trains.len())
        .map(|t| paths(problem, t))
        .collect();
    let mut choice = vec![0; all.len()];
    loop {
        let chosen: Vec<&Vec<usize>> = all.iter().zip(&choice).map(|(p, &c)| &p[c]).collect();
        if !visit(&chosen) {
            return;
        }
        let Some(turn) = (0..all.len()).find(|&t| choice[t] + 1 < all[t].len()) else {
            return;
        };
        choice[turn] += 1;
        choice[..turn].fill(0);
    }
}

/// The chosen operations as nodes `0..n`, each train's in a row.
struct Nodes {
    at: Vec<(usize, usize)>,
    /// (from, to, least time between): also "`from` stands before `to` in the plan".
    before: Vec<(usize, usize, Time)>,
    /// (from, to, most time between).
    within: Vec<(usize, usize, Time)>,
    /// The node after, in the same train.
    next: Vec<Option<usize>>,
}

fn nodes(problem: &Problem, chosen: &[&Vec<usize>]) -> Nodes {
    let mut nodes = Nodes {
        at: Vec::new(),
        before: Vec::new(),
        within: Vec::new(),
        next: Vec::new(),
    };
    for (train, path) in chosen.iter().enumerate() {
        for (i, &operation) in path.iter().enumerate() {
            let n = nodes.at.len();
            nodes.at.push((train, operation));
            nodes.next.push((i + 1 < path.len()).then_some(n + 1));
            if i + 1 < path.len() {
                let o = &problem.trains[train].operations[operation];
                nodes.before.push((n, n + 1, o.min_duration));
                if let Some(most) = o.max_duration {
                    nodes.within.push((n, n + 1, most));
                }
            }
        }
    }
    nodes
}

/// Least starts under all constraints, or none.
fn least(problem: &Problem, nodes: &Nodes, extra: &[(usize, usize, Time)]) -> Option<Vec<Time>> {
    let of = |n: usize| {
        let (t, o) = nodes.at[n];
        &problem.trains[t].operations[o]
    };
    let mut time: Vec<Time> = (0..nodes.at.len()).map(|n| of(n).start_lb).collect();
    for _ in 0..=nodes.at.len() {
        let mut changed = false;
        for &(u, v, w) in nodes.before.iter().chain(extra) {
            if time[v] < time[u] + w {
                time[v] = time[u] + w;
                changed = true;
            }
        }
        for &(u, v, most) in &nodes.within {
            if time[u] < time[v] - most {
                time[u] = time[v] - most;
                changed = true;
            }
        }
        if (0..time.len()).any(|n| of(n).start_ub.is_some_and(|ub| time[n] > ub)) {
            return None;
        }
        if !changed {
            return Some(time);
        }
    }
    None
}

/// Positions that respect "stands before" and, among what may stand next, the earlier time; none if the
/// relation is circular.
fn positions(nodes: &Nodes, extra: &[(usize, usize, Time)], time: &[Time]) -> Option<Vec<usize>> {
    let count = nodes.at.len();
    let mut position = vec![usize::MAX; count];
    for p in 0..count {
        let next = (0..count)
            .filter(|&n| position[n] == usize::MAX)
            .filter(|&n| {
                let edges = nodes.before.iter().chain(extra);
                edges
                    .clone()
                    .all(|&(u, v, _)| v != n || position[u] != usize::MAX)
            })
            .min_by_key(|&n| (time[n], n))?;
        position[next] = p;
    }
    Some(position)
}

fn cost(problem: &Problem, nodes: &Nodes, time: &[Time]) -> Cost {
    let ranks = problem
        .objective
        .iter()
        .map(|t| usize::from(t.rank))
        .max()
        .unwrap_or(0);
    let mut sums = vec![0; ranks + 1];
    for term in &problem.objective {
        if let Some(n) = nodes
            .at
            .iter()
            .position(|&at| at == (term.train, term.operation))
        {
            let late = time[n] - term.threshold;
            if late >= 0 {
                sums[usize::from(term.rank)] += term.coeff * late + term.increment;
            }
        }
    }
    Cost(sums)
}

fn plan(nodes: &Nodes, time: &[Time], position: &[usize], cost: &Cost) -> Plan {
    let mut order: Vec<usize> = (0..nodes.at.len()).collect();
    order.sort_by_key(|&n| position[n]);
    let event = |n: usize| Event {
        time: time[n],
        train: nodes.at[n].0,
        operation: nodes.at[n].1,
    };
    Plan {
        objective_value: cost.total(),
        events: order.into_iter().map(event).collect(),
    }
}

/// A pair of holds of one resource by different trains: ((node, release), (node, release)).
type Pair = ((usize, Time), (usize, Time));

fn pairs(problem: &Problem, nodes: &Nodes) -> Vec<Pair> {
    let mut holds = Vec::new();
    for (n, &(t, o)) in nodes.at.iter().enumerate() {
        for r in &problem.trains[t].operations[o].resources {
            holds.push((r.resource, n, r.release_time));
        }
    }
    let mut pairs = Vec::new();
    for (i, a) in holds.iter().enumerate() {
        for b in &holds[..i] {
            if a.0 == b.0 && nodes.at[a.1].0 != nodes.at[b.1].0 {
                pairs.push(((b.1, b.2), (a.1, a.2)));
            }
        }
    }
    pairs
}

/// The best plan over every path and every order on every resource, in at most `limit` steps.
pub(crate) fn best_by_orders(problem: &Problem, limit: u64) -> Outcome {
    let mut best: Option<(Cost, Plan)> = None;
    let mut steps = 0;
    each_choice(problem, |chosen| {
        let nodes = nodes(problem, chosen);
        let pairs = pairs(problem, &nodes);
        let mut open = vec![Vec::new()];
        while let Some(extra) = open.pop() {
            steps += 1;
            if steps > limit {
                return false;
            }
            let Some(time) = least(problem, &nodes, &extra) else {
                continue;
            };
            let Some(position) = positions(&nodes, &extra, &time) else {
                continue;
            };
            let found = cost(problem, &nodes, &time);
            if best.as_ref().is_some_and(|(known, _)| *known <= found) {
                continue;
            }
            let clears = |a: (usize, Time), b: usize| {
                nodes.next[a.0]
                    .is_some_and(|end| position[end] < position[b] && time[end] + a.1 <= time[b])
            };
            match pairs
                .iter()
                .find(|&&(a, b)| !clears(a, b.0) && !clears(b, a.0))
            {
                None => {
                    let plan = plan(&nodes, &time, &position, &found);
                    best = Some((found, plan));
                }
                Some(&(a, b)) => {
                    for (first, second) in [(b, a), (a, b)] {
                        if let Some(end) = nodes.next[first.0] {
                            let mut longer = extra.clone();
                            longer.push((end, second.0, first.1));
                            open.push(longer);
                        }
                    }
                }
            }
        }
        true
    });
    match best {
        _ if steps > limit => Outcome::TooMuch,
        Some((cost, plan)) => Outcome::Best(cost, plan),
        None => Outcome::Impossible,
    }
}

/// The least cost over every sequence of events, in at most `limit` steps.
pub(crate) fn best_by_sequences(problem: &Problem, limit: u64) -> Outcome {
    let mut best: Option<(Cost, Plan)> = None;
    let mut steps = 0;
    each_choice(problem, |chosen| {
        let nodes = nodes(problem, chosen);
        let pairs = pairs(problem, &nodes);
        let firsts: Vec<usize> = (0..nodes.at.len())
            .filter(|&n| n == 0 || nodes.next[n - 1].is_none())
            .collect();
        let mut open = vec![(Vec::<usize>::new(), firsts)];
        while let Some((sequence, heads)) = open.pop() {
            steps += 1;
            if steps > limit {
                return false;
            }
            if heads.is_empty() {
                let mut position = vec![0; nodes.at.len()];
                sequence
                    .iter()
                    .enumerate()
                    .for_each(|(p, &n)| position[n] = p);
                // Every event no earlier than the one before it, and every hold after the last.
                let mut extra: Vec<_> = sequence.windows(2).map(|w| (w[0], w[1], 0)).collect();
                for &(a, b) in &pairs {
                    let (a, b) = if position[a.0] < position[b.0] {
                        (a, b)
                    } else {
                        (b, a)
                    };
                    extra.extend(nodes.next[a.0].map(|end| (end, b.0, a.1)));
                }
                if let Some(time) = least(problem, &nodes, &extra) {
                    let found = cost(problem, &nodes, &time);
                    if best.as_ref().is_none_or(|(known, _)| found < *known) {
                        let plan = plan(&nodes, &time, &position, &found);
                        best = Some((found, plan));
                    }
                }
                continue;
            }
            for (h, &head) in heads.iter().enumerate() {
                // The heads of the other trains say what they hold now: the node before.
                let blocked = heads
                    .iter()
                    .copied()
                    .chain(ended(&nodes, &sequence))
                    .any(|other| {
                        let holder = match nodes.next.iter().position(|&n| n == Some(other)) {
                            Some(holder) if heads.contains(&other) => holder,
                            None if heads.contains(&other) => return false,
                            _ => other,
                        };
                        pairs.iter().any(|&(a, b)| {
                            (a.0 == holder && b.0 == head) || (b.0 == holder && a.0 == head)
                        })
                    });
                if blocked {
                    continue;
                }
                let mut longer = sequence.clone();
                longer.push(head);
                let mut heads = heads.clone();
                match nodes.next[head] {
                    Some(next) => heads[h] = next,
                    None => {
                        heads.remove(h);
                    }
                }
                open.push((longer, heads));
            }
        }
        true
    });
    match best {
        _ if steps > limit => Outcome::TooMuch,
        Some((cost, plan)) => Outcome::Best(cost, plan),
        None => Outcome::Impossible,
    }
}

/// Exits that have started: they hold what they hold for good.
fn ended(nodes: &Nodes, sequence: &[usize]) -> Vec<usize> {
    sequence
        .iter()
        .copied()
        .filter(|&n| nodes.next[n].is_none())
        .collect()
}
