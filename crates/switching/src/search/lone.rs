//! One car alone: how many moves it would take if there were no other car.
//!
//! Taking other cars away only makes room, so this is a lower bound for the whole work; and it
//! knows what counting cannot know, such as that the engine must get round the car first. The
//! table for each class of car is complete (a pattern database); it is small, since one car and an
//! engine have few states.

use super::map::Maps;
use super::problem::{LOOSE, Problem};
use super::state::{Measure, Pos, Stepper};
use super::store::{Quick, Store};
use crate::town::Town;
use crate::work::{CarId, Departure, Goal, Standing, StandingCar, Work};

/// A state that the lone search never met; nothing is claimed about it.
const UNKNOWN: u8 = 254;
const UNFILLED: u8 = 255;

struct Table {
    s: Stepper,
    store: Store,
    dist: Vec<u8>,
    /// The lone car among the items of its group: immovable cars keep their places.
    car: u16,
}

/// Tables for all classes, and a cache from positions of the whole search to entries.
pub(crate) struct Lone {
    tables: Vec<Option<Table>>,
    rows: Quick<(u32, u16, bool), u32>,
    cells: Vec<u8>,
    n_places: usize,
}

/// The work with one movable car only; immovable cars stay, for they are always in the way.
pub(crate) fn lone_work(work: &Work, car: Option<CarId>) -> Work {
    let keep: Vec<CarId> = (0..work.cars.len() as u16)
        .map(CarId)
        .filter(|&c| Some(c) == car || work.cars[c.index()].immovable)
        .collect();
    let new = |c: CarId| keep.iter().position(|&k| k == c).map(|i| CarId(i as u16));
    let mut w = work.clone();
    w.cars = keep.iter().map(|c| work.cars[c.index()].clone()).collect();
    let mut leaves = car.is_none();
    for c in &mut w.cars {
        match &mut c.goal {
            Goal::Track { rank, .. } => *rank = None,
            Goal::Leave { block } => {
                *block = 0;
                leaves = true;
            }
            _ => {}
        }
        if c.immovable {
            c.goal = Goal::Anywhere;
        }
    }
    w.standing = work
        .standing
        .iter()
        .map(|s| Standing {
            place: s.place,
            cars: s
                .cars
                .iter()
                .filter_map(|x| new(x.car).map(|car| StandingCar { car, at: x.at }))
                .collect(),
        })
        .filter(|s| !s.cars.is_empty())
        .collect();
    w.train.ahead = work.train.ahead.iter().filter_map(|&c| new(c)).collect();
    w.train.behind = work.train.behind.iter().filter_map(|&c| new(c)).collect();
    w.trains_due.clear();
    w.departure = match &work.departure {
        Some(d) if leaves => Some(Departure {
            caboose: None,
            ..d.clone()
        }),
        _ => None,
    };
    w
}

/// What a complete look at one car tells.
pub(crate) enum Look {
    /// It can be brought home.
    Yes,
    /// It cannot.
    No,
    /// Too much to look at.
    TooMuch,
}

/// The town as the lone search sees it.
fn relaxed(town: &Town) -> Town {
    let mut town = town.clone();
    // What must be clear in the end is no concern of one car.
    for p in &mut town.places {
        p.clear_at_end = false;
    }
    town
}

fn table(town: &Town, lone: &Work, car: u16, maps: &Maps) -> Option<Table> {
    let problem = Problem::new(town, lone, false);
    let mut s = Stepper::new(problem, lone, Measure::Moves, maps)?;
    let mut store = Store::new(s.stride());
    let start = s.start_state();
    store.add(&start);
    let mut from = vec![0u32];
    let mut to: Vec<u32> = vec![];
    let mut i = 0;
    while i < store.len() {
        let state = store.get(i).to_vec();
        s.successors(&state, 0, &mut |_, next, _, _| {
            to.push(store.add(next).0 as u32);
        });
        from.push(to.len() as u32);
        if store.len() > 4000 {
            return None;
        }
        i += 1;
    }
    // Distances to a goal by repeated relaxation: the graph is tiny.
    let n = store.len();
    let mut dist = vec![UNKNOWN; n];
    for (i, d) in dist.iter_mut().enumerate() {
        let state = store.get(i).to_vec();
        if s.is_goal(&state) {
            *d = 0;
        }
    }
    loop {
        let mut changed = false;
        for i in 0..n {
            for &t in &to[from[i] as usize..from[i + 1] as usize] {
                let d = dist[t as usize];
                if d < UNKNOWN - 1 && d + 1 < dist[i] {
                    dist[i] = d + 1;
                    changed = true;
                }
            }
        }
        if !changed {
            break;
        }
    }
    Some(Table {
        s,
        store,
        dist,
        car,
    })
}

/// Whether one car (or the engine alone) can do its part at all.
pub(crate) fn look(town: &Town, lone: &Work, maps: &Maps) -> Look {
    let town = relaxed(town);
    if !lone.check(&town).is_empty() {
        return Look::TooMuch;
    }
    match table(&town, lone, 0, maps) {
        Some(t) if t.dist[0] != UNKNOWN => Look::Yes,
        Some(_) => Look::No,
        None => Look::TooMuch,
    }
}

impl Lone {
    pub fn new(town: &Town, work: &Work, p: &Problem, maps: &Maps) -> Self {
        let town = relaxed(town);
        let mut tables: Vec<Option<Table>> = vec![];
        for class in 0..p.classes.len() {
            let c = &p.classes[class];
            let plain = c.engine.is_none() && !c.immovable && c.goal != Goal::Anywhere;
            // With a spare engine one car alone is no relaxation of this kind.
            let t = if plain && work.spare.is_none() {
                let car = (0..work.cars.len())
                    .find(|&i| p.class_of[i] as usize == class)
                    .map(|i| CarId(i as u16));
                let lone = lone_work(work, car);
                let no = (0..=car.map_or(0, |c| c.0))
                    .filter(|&i| Some(CarId(i)) == car || work.cars[i as usize].immovable)
                    .count() as u16;
                if lone.check(&town).is_empty() {
                    table(&town, &lone, no - 1, maps)
                } else {
                    None
                }
            } else {
                None
            };
            tables.push(t);
        }
        Self {
            tables,
            rows: Quick::default(),
            cells: vec![],
            n_places: p.places.len(),
        }
    }

    /// The row of cells for a position of the whole search.
    pub fn row(&mut self, map: u32, pos: Pos) -> u32 {
        let width = (self.n_places + 2) * self.tables.len();
        let next = (self.cells.len() / width.max(1)) as u32;
        let cells = &mut self.cells;
        *self.rows.entry((map, pos.path, pos.o)).or_insert_with(|| {
            cells.resize(cells.len() + width, UNFILLED);
            next
        })
    }

    /// Fewest moves for a car of a class that stands loose in a group (a place, or ahead of the
    /// engine, or behind it), with the train at the row's position.
    pub fn moves(
        &mut self,
        row: u32,
        whole: &Stepper,
        map: u32,
        pos: Pos,
        class: u8,
        group: usize,
    ) -> u32 {
        let width = (self.n_places + 2) * self.tables.len();
        let cell = row as usize * width + class as usize * (self.n_places + 2) + group;
        let known = self.cells[cell];
        if known != UNFILLED {
            return if known == UNKNOWN {
                0
            } else {
                u32::from(known)
            };
        }
        let d = self.tables[class as usize]
            .as_mut()
            .and_then(|t| t.entry(whole, map, pos, group))
            .unwrap_or(UNKNOWN);
        self.cells[cell] = d;
        if d == UNKNOWN { 0 } else { u32::from(d) }
    }
}

impl Table {
    fn entry(&mut self, whole: &Stepper, map: u32, pos: Pos, group: usize) -> Option<u8> {
        let np = self.s.np();
        // Items of each group: immovable cars as at the start, the car where it is asked for.
        let mut groups: Vec<Vec<(u16, u16)>> = vec![vec![]; np + 1];
        let start = self.s.start.clone();
        let mut engine = 0;
        for (g, list) in groups.iter_mut().enumerate() {
            let range = self.s.group(&start, g);
            for (j, i) in range.enumerate() {
                let item = self.s.start_items[g][j];
                if item != self.car {
                    list.push((item, self.s.at(&start, i)));
                }
            }
        }
        let at = if group < np { group } else { np };
        match group {
            g if g < np => {
                if !groups[g].is_empty() {
                    // Beside an immovable car: which side of it is not known here.
                    return None;
                }
                groups[at].push((self.car, LOOSE));
            }
            g if g == np => {
                groups[np].insert(0, (self.car, LOOSE));
                engine = 1;
            }
            _ => groups[np].push((self.car, LOOSE)),
        }
        let mut buf = self.s.build(&groups, engine);
        self.s.rests_of(&buf)?;
        // Any free line of the whole search is free here too.
        let path = &whole.maps[map as usize].paths[pos.path as usize];
        let m = self.s.map_of(&buf);
        let (q, flip) = if path.halves.is_empty() {
            let (p, e) = path.start.face()?;
            let out = whole.p.places[p].out(e as u8);
            if (whole.mask(&buf) >> p) & 1 == 1 {
                return None;
            }
            self.s.maps[m as usize].containing(None, &[out], None)?
        } else {
            self.s.maps[m as usize].containing(None, &path.halves, None)?
        };
        self.s.set_pos(
            &mut buf,
            Pos {
                path: q,
                o: pos.o ^ flip,
                x: 0,
            },
        );
        self.s.canonical(&mut buf);
        self.store.find(&buf).map(|i| self.dist[i])
    }
}
