//! A town and its work compiled to small numbers.
//!
//! *Halves* are tracks with a direction: half `2t` runs track `t` from its first end to its
//! second, `2t + 1` the other way. *Items* are the cars, then the engine, then the spare engine;
//! a *class* is a set of items that the search need not tell apart.

use crate::town::{NodeKind, PlaceId, Port, Town};
use crate::work::{Goal, Work};

/// Offset of an item whose position does not matter.
pub(crate) const LOOSE: u16 = u16::MAX;

pub(crate) fn rev(half: u16) -> u16 {
    half ^ 1
}

#[derive(Clone, Debug)]
pub(crate) struct PlaceData {
    /// Halves that run the place from end 0 to end 1.
    pub halves: Vec<u16>,
    pub len: u32,
    /// Positions matter here.
    pub marked: bool,
    /// Centre and tolerance of each spot.
    pub spots: Vec<(u32, u32)>,
    pub clear_at_end: bool,
    pub on_grade: bool,
    /// Any of its tracks is main.
    pub main: bool,
}

impl PlaceData {
    /// The half that leaves the place through an end.
    pub fn out(&self, end: u8) -> u16 {
        if end == 1 {
            self.halves[self.halves.len() - 1]
        } else {
            rev(self.halves[0])
        }
    }
}

#[derive(Clone, Debug, PartialEq, Eq, Hash)]
pub(crate) struct Class {
    pub len: u32,
    pub goal: Goal,
    pub immovable: bool,
    /// 0 for the train's own engine, 1 for the spare.
    pub engine: Option<u8>,
    pub caboose: bool,
    /// Tells cars apart that would otherwise be one class.
    pub label: usize,
}

pub(crate) struct Problem {
    pub track_len: Vec<u32>,
    /// Halves that may follow a half.
    pub next: Vec<Vec<u16>>,
    /// Node at the end of a half.
    pub head: Vec<u16>,
    /// Whether that node is a boundary.
    pub boundary: Vec<bool>,
    /// Whether a half ends on the reverse leg of a hand-thrown switch.
    pub reverse_head: Vec<bool>,
    pub places: Vec<PlaceData>,
    pub main: Vec<bool>,
    pub class_of: Vec<u8>,
    pub classes: Vec<Class>,
    pub n_items: usize,
    pub any_marked: bool,
    pub departure: Option<(u16, bool)>,
    /// End of each train due, with its start.
    pub due: Vec<(u32, u32)>,
}

impl Problem {
    /// Compiles; the town and work must have passed their checks. With `labelled`, every car is
    /// its own class.
    pub fn new(town: &Town, work: &Work, labelled: bool) -> Self {
        let halves = town.tracks.len() * 2;
        let end_of = |h: usize| town.tracks[h / 2].ends[1 - (h & 1)];
        let start_of = |h: usize| town.tracks[h / 2].ends[h & 1];
        let mut next = vec![vec![]; halves];
        for (h, list) in next.iter_mut().enumerate() {
            for g in 0..halves {
                if g / 2 != h / 2 && town.joined(end_of(h), start_of(g)) {
                    list.push(g as u16);
                }
            }
        }
        let places: Vec<PlaceData> = (0..town.places.len())
            .map(|i| {
                let p = &town.places[i];
                let id = PlaceId(i as u16);
                let dirs = town.place_directions(id).unwrap_or_default();
                PlaceData {
                    halves: p
                        .tracks
                        .iter()
                        .zip(dirs)
                        .map(|(t, fwd)| t.0 * 2 + u16::from(!fwd))
                        .collect(),
                    len: town.place_length(id),
                    marked: work.marked(town, id),
                    spots: p.spots.iter().map(|s| (s.centre, s.tolerance)).collect(),
                    clear_at_end: p.clear_at_end,
                    on_grade: p.on_grade,
                    main: p.tracks.iter().any(|t| town.tracks[t.index()].main),
                }
            })
            .collect();
        let caboose = work.departure.as_ref().and_then(|d| d.caboose);
        let mut all: Vec<Class> = work
            .cars
            .iter()
            .enumerate()
            .map(|(i, c)| Class {
                len: c.length,
                goal: c.goal.clone(),
                immovable: c.immovable,
                engine: None,
                caboose: caboose.is_some_and(|x| x.index() == i),
                label: if labelled { i + 1 } else { 0 },
            })
            .collect();
        let engines =
            std::iter::once(&work.train.engine).chain(work.spare.as_ref().map(|s| &s.engine));
        for (k, e) in engines.enumerate() {
            all.push(Class {
                len: e.length,
                goal: Goal::Anywhere,
                immovable: false,
                engine: Some(k as u8),
                caboose: false,
                label: 0,
            });
        }
        let mut classes: Vec<Class> = vec![];
        let class_of = all
            .into_iter()
            .map(|c| {
                let at = classes.iter().position(|d| *d == c).unwrap_or_else(|| {
                    classes.push(c);
                    classes.len() - 1
                });
                at as u8
            })
            .collect::<Vec<u8>>();
        Self {
            track_len: town.tracks.iter().map(|t| t.length).collect(),
            next,
            head: (0..halves).map(|h| end_of(h).node.0).collect(),
            boundary: (0..halves)
                .map(|h| town.nodes[end_of(h).node.index()].kind == NodeKind::Boundary)
                .collect(),
            reverse_head: (0..halves)
                .map(|h| {
                    end_of(h).port == Port::Reverse
                        && town.nodes[end_of(h).node.index()].kind
                            == NodeKind::Switch { by_hand: true }
                })
                .collect(),
            any_marked: places.iter().any(|p| p.marked),
            places,
            main: town.tracks.iter().map(|t| t.main).collect(),
            n_items: class_of.len(),
            class_of,
            classes,
            departure: work
                .departure
                .as_ref()
                .map(|d| (d.boundary.0, d.engine_ahead)),
            due: work
                .trains_due
                .iter()
                .map(|d| (d.from_s * 100, d.to_s * 100))
                .collect(),
        }
    }

    pub fn half_len(&self, half: u16) -> u32 {
        self.track_len[half as usize / 2]
    }

    pub fn is_engine(&self, class: u8) -> bool {
        self.classes[class as usize].engine.is_some()
    }

    /// The spot of its goal at which a car of this class would stand, if it stood at `at`.
    pub fn on_goal_spot(&self, class: u8, place: usize, at: u16) -> bool {
        let c = &self.classes[class as usize];
        match &c.goal {
            Goal::Spot { place: p, spots } if p.index() == place && at != LOOSE => {
                // Twice the centre, to stay in whole numbers.
                let centre2 = 2 * u32::from(at) + c.len;
                spots.iter().any(|&s| {
                    let (want, tolerance) = self.places[place].spots[s as usize];
                    centre2.abs_diff(2 * want) <= 2 * tolerance
                })
            }
            _ => false,
        }
    }
}
