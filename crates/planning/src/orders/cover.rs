//! The fewest sets that cover everything, where a set may hold only so many items and be taken again.
//!
//! Components that share nothing are solved apart. In each, items are given to sets one after another,
//! the item with the fewest choices first; a branch ends when what it has opened and a proven lower
//! bound of what is left cannot beat the best known. The bound is the larger of two: items of which no
//! two share a set each need one of their own; and if every item is given the weight one over the size
//! of the largest set it could share, no set weighs more than one.

/// Items that one order can hold.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Set {
    /// The items, in order.
    pub items: Vec<usize>,
    /// How many it holds at once.
    pub most: usize,
}

/// The sets taken, each with the items given to it, and what no choice can go below.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Picked {
    /// Index of the set, and its items in order; more than the set holds means it is taken again.
    pub chosen: Vec<(usize, Vec<usize>)>,
    /// Fewest that any choice takes: proven.
    pub at_least: usize,
}

/// Picks the fewest. Every item of `items` must be in some set.
pub fn fewest(items: &[usize], sets: &[Set], steps: u64) -> Picked {
    let mut picked = Picked::default();
    for component in components(items, sets) {
        let mut search = Search::new(&component, sets, steps);
        search.run();
        picked.at_least += search.proven();
        picked.chosen.extend(search.chosen());
    }
    picked.chosen.sort_unstable();
    picked
}

/// How many orders a choice takes.
#[cfg(test)]
pub fn cost(picked: &Picked, sets: &[Set]) -> usize {
    picked
        .chosen
        .iter()
        .map(|(set, items)| items.len().div_ceil(sets[*set].most))
        .sum()
}

fn components(items: &[usize], sets: &[Set]) -> Vec<Vec<usize>> {
    let mut group: std::collections::BTreeMap<usize, usize> =
        items.iter().map(|&item| (item, item)).collect();
    fn root(group: &std::collections::BTreeMap<usize, usize>, mut item: usize) -> usize {
        while group[&item] != item {
            item = group[&item];
        }
        item
    }
    for set in sets {
        let mut inside = set.items.iter().filter(|item| group.contains_key(item));
        let Some(&first) = inside.next() else {
            continue;
        };
        let rest: Vec<usize> = inside.copied().collect();
        for item in rest {
            let (a, b) = (root(&group, first), root(&group, item));
            group.insert(a.max(b), a.min(b));
        }
    }
    let mut parts: std::collections::BTreeMap<usize, Vec<usize>> =
        std::collections::BTreeMap::new();
    for &item in items {
        parts.entry(root(&group, item)).or_default().push(item);
    }
    parts.into_values().collect()
}

struct Search<'a> {
    sets: &'a [Set],
    /// The items, the one with the fewest choices first.
    items: Vec<usize>,
    /// Per item, in the order of `items`: the sets it can go to, the largest first.
    choices: Vec<Vec<usize>>,
    /// How many items each set has been given.
    given: Vec<usize>,
    taken: Vec<usize>,
    best: Vec<usize>,
    best_cost: usize,
    steps: u64,
    bound: usize,
    finished: bool,
}

impl<'a> Search<'a> {
    fn new(component: &[usize], sets: &'a [Set], steps: u64) -> Self {
        let choices_of = |item: usize| {
            let mut choices: Vec<usize> = (0..sets.len())
                .filter(|&set| sets[set].items.contains(&item))
                .collect();
            let size = |set: usize| sets[set].items.len().min(sets[set].most);
            choices.sort_by_key(|&set| (std::cmp::Reverse(size(set)), set));
            choices
        };
        let mut order: Vec<(Vec<usize>, usize)> = component
            .iter()
            .map(|&item| (choices_of(item), item))
            .collect();
        order.sort_by_key(|(choices, item)| (choices.len(), *item));
        let (choices, items): (Vec<_>, Vec<_>) = order.into_iter().unzip();
        Self {
            sets,
            given: vec![0; sets.len()],
            taken: Vec::with_capacity(items.len()),
            best: Vec::new(),
            best_cost: usize::MAX,
            steps,
            bound: 0,
            finished: true,
            items,
            choices,
        }
    }

    fn run(&mut self) {
        self.bound = self.left(0);
        self.greedy();
        if self.best_cost > self.bound {
            self.branch(0, 0);
        }
    }

    fn proven(&self) -> usize {
        if self.finished {
            self.best_cost
        } else {
            self.bound
        }
    }

    fn chosen(&self) -> Vec<(usize, Vec<usize>)> {
        let mut by_set: std::collections::BTreeMap<usize, Vec<usize>> =
            std::collections::BTreeMap::new();
        for (&set, &item) in self.best.iter().zip(&self.items) {
            by_set.entry(set).or_default().push(item);
        }
        by_set
            .into_iter()
            .map(|(set, mut items)| {
                items.sort_unstable();
                (set, items)
            })
            .collect()
    }

    /// The set that takes most of what is left, again and again.
    fn greedy(&mut self) {
        let mut open: Vec<bool> = vec![true; self.items.len()];
        let mut best = vec![0; self.items.len()];
        let mut cost = 0;
        while open.iter().any(|&open| open) {
            let takes = |set: &usize| {
                let count = (0..self.items.len())
                    .filter(|&at| open[at] && self.choices[at].contains(set))
                    .count();
                (count.min(self.sets[*set].most), std::cmp::Reverse(*set))
            };
            let Some(set) = (0..self.sets.len()).max_by_key(takes) else {
                return;
            };
            let mut room = self.sets[set].most;
            for at in 0..self.items.len() {
                if open[at] && room > 0 && self.choices[at].contains(&set) {
                    open[at] = false;
                    best[at] = set;
                    room -= 1;
                }
            }
            cost += 1;
        }
        self.best_cost = cost;
        self.best = best;
    }

    /// What the items from one on need at least beyond what is open already.
    fn left(&self, from: usize) -> usize {
        let mut apart: Vec<usize> = Vec::new();
        let mut weight = 0.0;
        for at in from..self.items.len() {
            let roomy = self.choices[at]
                .iter()
                .any(|&set| !self.given[set].is_multiple_of(self.sets[set].most));
            if roomy {
                continue;
            }
            let largest = self.choices[at]
                .iter()
                .map(|&set| self.sets[set].items.len().min(self.sets[set].most))
                .max()
                .unwrap_or(1);
            weight += 1.0 / largest as f64;
            let alone = apart.iter().all(|&other| {
                !self.choices[other]
                    .iter()
                    .any(|set| self.choices[at].contains(set))
            });
            if alone {
                apart.push(at);
            }
        }
        // A hair less, so that rounding never claims more than is proven.
        apart.len().max((weight - 1e-6).ceil() as usize)
    }

    fn branch(&mut self, at: usize, cost: usize) {
        if at == self.items.len() {
            if cost < self.best_cost {
                self.best_cost = cost;
                self.best.clone_from(&self.taken);
            }
            return;
        }
        if cost + self.left(at) >= self.best_cost {
            return;
        }
        if self.steps == 0 {
            self.finished = false;
            return;
        }
        self.steps -= 1;
        // Sets with room left cost nothing: try them first.
        let mut choices = self.choices[at].clone();
        choices.sort_by_key(|&set| self.given[set].is_multiple_of(self.sets[set].most));
        for set in choices {
            let opens = self.given[set].is_multiple_of(self.sets[set].most);
            self.given[set] += 1;
            self.taken.push(set);
            self.branch(at + 1, cost + usize::from(opens));
            self.taken.pop();
            self.given[set] -= 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sets(of: &[(&[usize], usize)]) -> Vec<Set> {
        of.iter()
            .map(|(items, most)| Set {
                items: items.to_vec(),
                most: *most,
            })
            .collect()
    }

    /// The fewest by trying every way to give items to sets.
    fn by_hand(items: &[usize], sets: &[Set]) -> usize {
        fn go(items: &[usize], sets: &[Set], given: &mut Vec<usize>) -> usize {
            let Some((&item, rest)) = items.split_first() else {
                let each = given.iter().zip(sets).map(|(n, set)| n.div_ceil(set.most));
                return each.sum();
            };
            (0..sets.len())
                .filter(|&set| sets[set].items.contains(&item))
                .map(|set| {
                    given[set] += 1;
                    let found = go(rest, sets, given);
                    given[set] -= 1;
                    found
                })
                .min()
                .unwrap_or(usize::MAX / 2)
        }
        go(items, sets, &mut vec![0; sets.len()])
    }

    #[test]
    fn one_train_that_meets_many_needs_one_order() {
        let sets = sets(&[(&[0, 1, 2], 4), (&[0], 4), (&[1], 4), (&[2], 4)]);
        let picked = fewest(&[0, 1, 2], &sets, 1000);
        assert_eq!(picked.chosen, [(0, vec![0, 1, 2])]);
        assert_eq!(picked.at_least, 1);
    }

    #[test]
    fn what_one_order_cannot_hold_takes_two() {
        let sets = sets(&[(&[0, 1, 2, 3, 4], 2)]);
        let picked = fewest(&[0, 1, 2, 3, 4], &sets, 1000);
        assert_eq!(cost(&picked, &sets), 3);
        assert_eq!(picked.at_least, 3);
    }

    /// Random small covers against trying everything; cut short, the bound still holds.
    #[test]
    fn never_more_than_by_hand_and_never_a_false_bound() {
        use rand::{RngExt as _, SeedableRng as _};
        let mut dice = rand_pcg::Pcg64::seed_from_u64(7);
        for _ in 0..300 {
            let count = dice.random_range(1..8);
            let mut of: Vec<Set> = (0..dice.random_range(1..6))
                .map(|_| Set {
                    items: (0..count).filter(|_| dice.random_bool(0.4)).collect(),
                    most: dice.random_range(1..4),
                })
                .collect();
            of.extend((0..count).map(|item| Set {
                items: vec![item],
                most: 1,
            }));
            let items: Vec<usize> = (0..count).collect();
            let best = by_hand(&items, &of);
            let picked = fewest(&items, &of, 100_000);
            assert_eq!(cost(&picked, &of), best);
            assert_eq!(picked.at_least, best);
            let hasty = fewest(&items, &of, 2);
            assert!(cost(&hasty, &of) >= best && hasty.at_least <= best);
        }
    }
}
