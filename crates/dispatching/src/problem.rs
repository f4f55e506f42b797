//! The nouns: a [`Problem`] and a [`Plan`] for it. Plain data; indices are positions in the vectors.

/// A moment or a span, in the instance's own unit (an integer; DISPLIB's are seconds).
pub type Time = i64;

/// Trains, the resources they compete for, and what delay costs.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Problem {
    /// The trains. A train's index here is its identity.
    pub trains: Vec<Train>,
    /// Names of the resources. A resource's index here is its identity.
    pub resources: Vec<String>,
    /// The terms whose sum, over the operations on the chosen paths, is to be made small.
    pub objective: Vec<DelayTerm>,
}

/// One train: a directed acyclic graph of operations with one entry and one exit.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Train {
    /// What people call it; empty in instances that do not name their trains.
    pub name: String,
    /// The operations, in the file's order (not necessarily topological).
    pub operations: Vec<Operation>,
}

/// One step of a train: it starts, holds its resources, and ends when the next one starts.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Operation {
    /// Earliest start.
    pub start_lb: Time,
    /// Latest start, if bounded.
    pub start_ub: Option<Time>,
    /// Least time between this operation's start and the next one's.
    pub min_duration: Time,
    /// Most time between this operation's start and the next one's: no waiting here beyond it.
    /// An extension of ours to DISPLIB; `None` in public instances.
    pub max_duration: Option<Time>,
    /// What it holds from its start to its end (and the release time after).
    pub resources: Vec<ResourceUse>,
    /// Operations of the same train that may follow; exactly one is chosen. Empty at the exit.
    pub successors: Vec<usize>,
}

/// A resource held by an operation.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ResourceUse {
    /// Index into [`Problem::resources`].
    pub resource: usize,
    /// How long after the operation's end the resource stays closed to *other* trains.
    pub release_time: Time,
}

/// `coeff * max(0, start - threshold) + increment * [start >= threshold]`, nothing if the operation
/// is not on the chosen path.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DelayTerm {
    /// Index into [`Problem::trains`].
    pub train: usize,
    /// Index into that train's operations.
    pub operation: usize,
    /// Starts before this cost nothing.
    pub threshold: Time,
    /// Cost per unit of time after the threshold.
    pub coeff: i64,
    /// Cost of starting at or after the threshold at all.
    pub increment: i64,
    /// Priority class: every term of a lower rank comes strictly before all terms of a higher one.
    /// An extension of ours; 0 everywhere in public instances, which makes the sum a plain one.
    pub rank: u8,
}

/// What a plan costs, rank by rank; compared lexicographically, rank 0 first. A problem whose terms
/// are all of rank 0 has a cost of one entry. Missing entries count as zero: use [`Cost::rank`].
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Default, Hash)]
pub struct Cost(pub Vec<i64>);

impl Cost {
    /// The cost of one rank.
    pub fn rank(&self, rank: u8) -> i64 {
        self.0.get(usize::from(rank)).copied().unwrap_or(0)
    }

    /// The plain sum over all ranks, as printed in DISPLIB's `objective_value`.
    pub fn total(&self) -> i64 {
        self.0.iter().sum()
    }
}

/// Who starts what, when, in global order.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Plan {
    /// The value of the objective, summed over all ranks.
    pub objective_value: i64,
    /// The starts. Order matters between equal times: a resource passes from one train to another
    /// at the same instant only if the first one's end event stands before the second one's start.
    pub events: Vec<Event>,
}

/// One start.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Event {
    /// When.
    pub time: Time,
    /// Index into [`Problem::trains`].
    pub train: usize,
    /// Index into that train's operations.
    pub operation: usize,
}
