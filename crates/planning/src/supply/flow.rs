//! Minimum-cost flow in whole numbers, exactly: the primal network simplex method.
//!
//! A spanning tree of the network carries the flow; an arc outside it that would make the flow cheaper
//! enters, and the arc of the circle so closed that stops the flow first leaves (Dantzig, Linear
//! Programming and Extensions, 1963, ch. 17). Trees are kept strongly feasible, so that no circle of
//! trees can come about (Cunningham, A network simplex method, Mathematical Programming 11, 1976). Arcs
//! are looked at in blocks in the order of their numbers: the answer depends on nothing but the network.

/// An arc.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Arc {
    /// From this node.
    pub from: usize,
    /// To this node.
    pub to: usize,
    /// At most so much flows.
    pub capacity: i64,
    /// The cost of each unit.
    pub cost: i64,
}

/// A network.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Network {
    /// For each node what it gives, or wants if it is negative.
    pub supply: Vec<i64>,
    /// The arcs.
    pub arcs: Vec<Arc>,
}

/// A cheapest flow, and the prices that prove it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flow {
    /// For each arc what flows.
    pub flow: Vec<i64>,
    /// For each node a price. An arc with room costs at least the difference of prices, an arc with flow at
    /// most: so no flow is cheaper.
    pub price: Vec<i64>,
    /// What it costs altogether.
    pub cost: i128,
    /// How many trees were passed.
    pub pivots: u64,
}

/// Why there is no flow.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum NoFlow {
    /// More is given than wanted, or less.
    #[error("the nodes give {0} more than they want")]
    Unbalanced(i64),
    /// The arcs do not carry it.
    #[error("{0} units find no way")]
    NoWay(i64),
    /// An arc ends at no node, or its capacity is negative.
    #[error("arc {0} leads to no node or carries less than nothing")]
    BadArc(usize),
}

impl Network {
    /// A new node that gives so much, or wants it if negative.
    pub fn node(&mut self, supply: i64) -> usize {
        self.supply.push(supply);
        self.supply.len() - 1
    }

    /// A new arc.
    pub fn arc(&mut self, from: usize, to: usize, capacity: i64, cost: i64) -> usize {
        self.arcs.push(Arc {
            from,
            to,
            capacity,
            cost,
        });
        self.arcs.len() - 1
    }

    /// A cheapest flow that meets every supply.
    ///
    /// Costs times nodes must stay far from 2^63.
    ///
    /// # Errors
    /// If there is none.
    pub fn cheapest(&self) -> Result<Flow, NoFlow> {
        let nodes = self.supply.len();
        for (at, arc) in self.arcs.iter().enumerate() {
            if arc.from >= nodes || arc.to >= nodes || arc.capacity < 0 {
                return Err(NoFlow::BadArc(at));
            }
        }
        let surplus: i64 = self.supply.iter().sum();
        if surplus != 0 {
            return Err(NoFlow::Unbalanced(surplus));
        }
        let mut tree = Tree::new(self);
        let mut pivots = 0;
        while let Some(enters) = tree.entering() {
            tree.pivot(enters);
            pivots += 1;
        }
        let real = self.arcs.len();
        let lost: i64 = tree.flow[real..].iter().sum();
        if lost > 0 {
            // Each goes over two arcs of the root.
            return Err(NoFlow::NoWay(lost / 2));
        }
        tree.flow.truncate(real);
        let cost = self
            .arcs
            .iter()
            .zip(&tree.flow)
            .map(|(arc, &flow)| i128::from(arc.cost) * i128::from(flow))
            .sum();
        tree.price.truncate(nodes);
        Ok(Flow {
            flow: tree.flow,
            price: tree.price,
            cost,
            pivots,
        })
    }
}

const NONE: usize = usize::MAX;

/// A spanning tree with the flow it carries. Node `n` is the root; arc `m + i` joins node `i` to it at a
/// cost that no way of real arcs reaches.
struct Tree {
    arcs: Vec<Arc>,
    flow: Vec<i64>,
    /// In the tree.
    basic: Vec<bool>,
    parent: Vec<usize>,
    /// The arc to the parent.
    hangs_by: Vec<usize>,
    /// Whether that arc leads to the parent.
    up: Vec<bool>,
    depth: Vec<u32>,
    price: Vec<i64>,
    /// First child, and brothers on both sides.
    child: Vec<usize>,
    next: Vec<usize>,
    before: Vec<usize>,
    /// Where the search for an arc goes on, and how many it looks at before it takes the best.
    cursor: usize,
    block: usize,
}

impl Tree {
    fn new(network: &Network) -> Self {
        let n = network.supply.len();
        let most = network
            .arcs
            .iter()
            .map(|arc| arc.cost.abs())
            .max()
            .unwrap_or(0);
        let dear = (most + 1) * (n as i64 + 1);
        let mut arcs = network.arcs.clone();
        let mut flow = vec![0; arcs.len()];
        let mut basic = vec![false; arcs.len()];
        let mut price = vec![0; n + 1];
        let mut up = vec![false; n + 1];
        let mut hangs_by = vec![NONE; n + 1];
        for (at, &supply) in network.supply.iter().enumerate() {
            let gives = supply >= 0;
            let (from, to) = if gives { (at, n) } else { (n, at) };
            hangs_by[at] = arcs.len();
            arcs.push(Arc {
                from,
                to,
                capacity: i64::MAX,
                cost: dear,
            });
            flow.push(supply.abs());
            basic.push(true);
            up[at] = gives;
            // The price difference along an arc of the tree is its cost.
            price[at] = if gives { -dear } else { dear };
        }
        let mut tree = Self {
            block: ((network.arcs.len() as f64).sqrt() as usize).max(16),
            arcs,
            flow,
            basic,
            parent: vec![NONE; n + 1],
            hangs_by,
            up,
            depth: vec![0; n + 1],
            price,
            child: vec![NONE; n + 1],
            next: vec![NONE; n + 1],
            before: vec![NONE; n + 1],
            cursor: 0,
        };
        for at in (0..n).rev() {
            tree.hang(at, n);
            tree.depth[at] = 1;
        }
        tree
    }

    fn hang(&mut self, node: usize, parent: usize) {
        self.parent[node] = parent;
        let first = self.child[parent];
        self.next[node] = first;
        self.before[node] = NONE;
        if first != NONE {
            self.before[first] = node;
        }
        self.child[parent] = node;
    }

    fn unhang(&mut self, node: usize) {
        let (before, next) = (self.before[node], self.next[node]);
        if before == NONE {
            self.child[self.parent[node]] = next;
        } else {
            self.next[before] = next;
        }
        if next != NONE {
            self.before[next] = before;
        }
    }

    /// What a unit more on an arc costs beyond the difference of prices.
    fn reduced(&self, arc: usize) -> i64 {
        let Arc { from, to, cost, .. } = self.arcs[arc];
        cost + self.price[from] - self.price[to]
    }

    /// An arc outside the tree that would make the flow cheaper: the best of the first block that has one.
    fn entering(&mut self) -> Option<usize> {
        let real = self.arcs.len() - (self.parent.len() - 1);
        let (mut best, mut worth) = (None, 0);
        let mut looked = 0;
        for _ in 0..real {
            let arc = self.cursor;
            self.cursor = if arc + 1 == real { 0 } else { arc + 1 };
            if !self.basic[arc] && self.arcs[arc].capacity > 0 {
                let reduced = self.reduced(arc);
                let gain = if self.flow[arc] == 0 {
                    -reduced
                } else {
                    reduced
                };
                if gain > worth {
                    (best, worth) = (Some(arc), gain);
                }
            }
            looked += 1;
            if looked >= self.block && best.is_some() {
                break;
            }
        }
        best
    }

    /// How much more may flow over the arc of a node, up to its parent or down from it.
    fn slack(&self, node: usize, upward: bool) -> i64 {
        let arc = self.hangs_by[node];
        if self.up[node] == upward {
            self.arcs[arc].capacity - self.flow[arc]
        } else {
            self.flow[arc]
        }
    }

    fn push(&mut self, node: usize, upward: bool, amount: i64) {
        let arc = self.hangs_by[node];
        if self.up[node] == upward {
            self.flow[arc] += amount;
        } else {
            self.flow[arc] -= amount;
        }
    }

    fn pivot(&mut self, enters: usize) {
        let arc = self.arcs[enters];
        let raises = self.flow[enters] == 0;
        // The circle runs down to `tail`, over the entering arc, and from `head` up again.
        let (tail, head) = if raises {
            (arc.from, arc.to)
        } else {
            (arc.to, arc.from)
        };
        let (mut a, mut b) = (tail, head);
        while a != b {
            if self.depth[a] >= self.depth[b] {
                a = self.parent[a];
            } else {
                b = self.parent[b];
            }
        }
        let apex = a;
        // The last arc of the circle, from the apex around, that stops the flow leaves: so the tree stays
        // strongly feasible.
        let mut most = arc.capacity;
        let mut leaves: Option<(usize, bool)> = None;
        let mut node = tail;
        while node != apex {
            let slack = self.slack(node, false);
            if slack < most {
                most = slack;
                leaves = Some((node, true));
            }
            node = self.parent[node];
        }
        let mut node = head;
        while node != apex {
            let slack = self.slack(node, true);
            if slack <= most {
                most = slack;
                leaves = Some((node, false));
            }
            node = self.parent[node];
        }
        if most > 0 {
            self.flow[enters] += if raises { most } else { -most };
            let mut node = tail;
            while node != apex {
                self.push(node, false, most);
                node = self.parent[node];
            }
            let mut node = head;
            while node != apex {
                self.push(node, true, most);
                node = self.parent[node];
            }
        }
        let Some((cut, of_tail)) = leaves else {
            // The entering arc itself stops it: it goes from empty to full or back.
            return;
        };
        let (low, high) = if of_tail { (tail, head) } else { (head, tail) };
        self.basic[self.hangs_by[cut]] = false;
        self.basic[enters] = true;
        self.rehang(low, high, cut, enters);
    }

    /// Hangs the part of the tree below `cut` by its node `low` on `high`, by the arc that enters.
    fn rehang(&mut self, low: usize, high: usize, cut: usize, enters: usize) {
        let mut node = low;
        let mut parent = high;
        let mut by = enters;
        let mut leads_up = self.arcs[enters].from == low;
        loop {
            let old = (self.parent[node], self.hangs_by[node], self.up[node]);
            self.unhang(node);
            self.hang(node, parent);
            self.hangs_by[node] = by;
            self.up[node] = leads_up;
            if node == cut {
                break;
            }
            (by, leads_up) = (old.1, !old.2);
            parent = node;
            node = old.0;
        }
        let cost = self.arcs[enters].cost;
        let wanted = if self.up[low] {
            self.price[high] - cost
        } else {
            self.price[high] + cost
        };
        let shift = wanted - self.price[low];
        // The part hung on, node by node.
        let mut node = low;
        loop {
            self.price[node] += shift;
            self.depth[node] = self.depth[self.parent[node]] + 1;
            if self.child[node] != NONE {
                node = self.child[node];
                continue;
            }
            while node != low && self.next[node] == NONE {
                node = self.parent[node];
            }
            if node == low {
                break;
            }
            node = self.next[node];
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Two cars, two orders: the nearer car is not always the one to send.
    #[test]
    fn the_second_best_car_may_be_the_right_one() {
        let mut network = Network::default();
        let cars = [network.node(1), network.node(1)];
        let orders = [network.node(-1), network.node(-1)];
        network.arc(cars[0], orders[0], 1, 1);
        network.arc(cars[0], orders[1], 1, 2);
        network.arc(cars[1], orders[0], 1, 5);
        network.arc(cars[1], orders[1], 1, 20);
        let flow = network.cheapest().unwrap();
        assert_eq!(flow.flow, [0, 1, 1, 0]);
        assert_eq!(flow.cost, 7);
    }

    #[test]
    fn what_cannot_flow_is_said() {
        let mut network = Network::default();
        let (a, b) = (network.node(3), network.node(-3));
        network.arc(a, b, 2, 1);
        assert_eq!(network.cheapest(), Err(NoFlow::NoWay(1)));
        network.supply[1] = -2;
        assert_eq!(network.cheapest(), Err(NoFlow::Unbalanced(1)));
        network.arc(a, 7, 1, 1);
        assert_eq!(network.cheapest(), Err(NoFlow::BadArc(1)));
    }

    /// Assignment of the textbook kind, worked by hand: Hillier and Lieberman's form of cost table, our
    /// own numbers; all 24 ways counted.
    #[test]
    fn an_assignment_is_the_cheapest_of_all_ways() {
        let costs = [[9, 2, 7, 8], [6, 4, 3, 7], [5, 8, 1, 8], [7, 6, 9, 4]];
        let mut network = Network::default();
        let left: Vec<usize> = (0..4).map(|_| network.node(1)).collect();
        let right: Vec<usize> = (0..4).map(|_| network.node(-1)).collect();
        for (i, row) in costs.iter().enumerate() {
            for (j, &cost) in row.iter().enumerate() {
                network.arc(left[i], right[j], 1, cost);
            }
        }
        let mut best = i64::MAX;
        for a in 0..4 {
            for b in (0..4).filter(|b| *b != a) {
                for c in (0..4).filter(|c| ![a, b].contains(c)) {
                    let d = 6 - a - b - c;
                    best = best.min(costs[0][a] + costs[1][b] + costs[2][c] + costs[3][d]);
                }
            }
        }
        assert_eq!(network.cheapest().unwrap().cost, i128::from(best));
    }
}
