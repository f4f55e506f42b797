//! Every state of a small town: how many there are, and how far each is from a goal.

use super::map::Maps;
use super::problem::Problem;
use super::state::{Measure, Stepper};
use super::store::Store;
use crate::town::{PlaceId, Town};
use crate::work::{CarId, Work};

/// All states that can be reached from the start of some work, every car told apart, with the
/// moves between them. For exhaustive studies of small towns.
pub struct Atlas {
    stepper: Stepper,
    store: Store,
    from: Vec<u32>,
    to: Vec<u32>,
}

/// One state, as seen by a reader.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub struct Layout {
    /// Cars on each place, from end 0 to end 1.
    pub places: Vec<Vec<CarId>>,
    /// Cars in the train from its front to the engine.
    pub ahead: Vec<CarId>,
    /// Cars in the train from the engine to its rear.
    pub behind: Vec<CarId>,
}

/// Distance of a state from which no goal can be reached.
pub const UNREACHABLE: u32 = u32::MAX;

impl Atlas {
    /// Explores everything; `None` if there are more than `most` states, or the town or work does
    /// not pass its check.
    pub fn explore(town: &Town, work: &Work, most: usize) -> Option<Self> {
        if !town.check().is_empty() || !work.check(town).is_empty() {
            return None;
        }
        let problem = Problem::new(town, work, true);
        let mut stepper = Stepper::new(problem, work, Measure::Moves, &Maps::default())?;
        let mut store = Store::new(stepper.stride());
        let start = stepper.start_state();
        store.add(&start);
        let mut from = vec![0];
        let mut to = vec![];
        let mut i = 0;
        while i < store.len() {
            let state = store.get(i).to_vec();
            stepper.successors(&state, 0, &mut |_, next, _, _| {
                to.push(store.add(next).0 as u32);
            });
            from.push(to.len() as u32);
            if store.len() > most {
                return None;
            }
            i += 1;
        }
        Some(Self {
            stepper,
            store,
            from,
            to,
        })
    }

    /// Number of states.
    pub fn len(&self) -> usize {
        self.store.len()
    }

    /// An atlas holds at least the start.
    pub fn is_empty(&self) -> bool {
        self.store.len() == 0
    }

    /// Number of moves from one state to another.
    pub fn moves(&self) -> usize {
        self.to.len()
    }

    /// One state.
    pub fn layout(&self, i: usize) -> Layout {
        let s = &self.stepper;
        let buf = self.store.get(i);
        let n = s.np();
        let cars = |r: std::ops::Range<usize>| -> Vec<CarId> {
            // Every item is its own class, so a class is a car; the engines come last.
            r.map(|i| s.class(buf, i))
                .filter(|&c| !s.p.is_engine(c))
                .map(|c| CarId(u16::from(c)))
                .collect()
        };
        let train = s.group(buf, n);
        let e = train.start + s.engine_at(buf);
        Layout {
            places: (0..n).map(|g| cars(s.group(buf, g))).collect(),
            ahead: cars(train.start..e),
            behind: cars(e + 1..train.end),
        }
    }

    /// The cars of one place of a state, without building the rest.
    pub fn on(&self, i: usize, place: PlaceId) -> Vec<CarId> {
        let s = &self.stepper;
        let buf = self.store.get(i);
        s.group(buf, place.index())
            .map(|i| s.class(buf, i))
            .filter(|&c| !s.p.is_engine(c))
            .map(|c| CarId(u16::from(c)))
            .collect()
    }

    /// Fewest moves from the start to a state in which the work is done, by plain breadth-first
    /// search; `None` if there is none.
    pub fn fewest_moves(&mut self) -> Option<u32> {
        let mut dist = vec![UNREACHABLE; self.len()];
        dist[0] = 0;
        let mut queue = vec![0u32];
        let mut head = 0;
        while head < queue.len() {
            let i = queue[head] as usize;
            head += 1;
            let state = self.store.get(i).to_vec();
            if self.stepper.is_goal(&state) {
                return Some(dist[i]);
            }
            for &j in &self.to[self.from[i] as usize..self.from[i + 1] as usize] {
                if dist[j as usize] == UNREACHABLE {
                    dist[j as usize] = dist[i] + 1;
                    queue.push(j);
                }
            }
        }
        None
    }

    /// Fewest moves from every state to the nearest state that satisfies `goal`, or
    /// [`UNREACHABLE`].
    pub fn distances(&self, goal: impl Fn(&Layout) -> bool) -> Vec<u32> {
        let n = self.len();
        // Moves turned round, so that the search can start at the goals.
        let mut back_from = vec![0u32; n + 2];
        for &t in &self.to {
            back_from[t as usize + 2] += 1;
        }
        for i in 2..n + 2 {
            back_from[i] += back_from[i - 1];
        }
        let mut back = vec![0u32; self.to.len()];
        for i in 0..n {
            for &t in &self.to[self.from[i] as usize..self.from[i + 1] as usize] {
                let slot = &mut back_from[t as usize + 1];
                back[*slot as usize] = i as u32;
                *slot += 1;
            }
        }
        let mut dist = vec![UNREACHABLE; n];
        let mut queue: Vec<u32> = (0..n as u32)
            .filter(|&i| goal(&self.layout(i as usize)))
            .collect();
        for &i in &queue {
            dist[i as usize] = 0;
        }
        let mut head = 0;
        while head < queue.len() {
            let i = queue[head] as usize;
            head += 1;
            for &j in &back[back_from[i] as usize..back_from[i + 1] as usize] {
                if dist[j as usize] == UNREACHABLE {
                    dist[j as usize] = dist[i] + 1;
                    queue.push(j);
                }
            }
        }
        dist
    }
}
