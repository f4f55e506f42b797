//! Which positions a train of a length can reach without handling a car.
//!
//! Most paths share runs that hold the train or do not, whatever stands where: those join positions into
//! *groups* once for each map and length. What the free rest at a cut adds is looked at each time, between
//! groups only.

use super::map::Map;

/// A shared run that ends at a cut: it holds the train if the rest there is long enough.
#[derive(Clone, Copy)]
struct Cut {
    to: u16,
    /// Rest that is wanted.
    want: u32,
    face: (u8, u8),
}

/// The positions of a map, in groups, for trains of one length.
pub(crate) struct Joined {
    /// Group of each position: path and way round.
    group: Vec<u16>,
    /// Positions of each group, in order.
    members: Vec<Vec<(u16, bool)>>,
    /// For each group the ways into others.
    cuts: Vec<Vec<Cut>>,
}

const NONE: u16 = u16::MAX;

fn number(position: (u16, bool)) -> usize {
    position.0 as usize * 2 + usize::from(position.1)
}

impl Joined {
    pub fn new(map: &Map, length: u32) -> Self {
        let mut group = vec![NONE; map.paths.len() * 2];
        let mut members: Vec<Vec<(u16, bool)>> = vec![];
        for path in 0..map.paths.len() as u16 {
            for o in [false, true] {
                if group[number((path, o))] != NONE {
                    continue;
                }
                let no = members.len() as u16;
                let mut found = vec![(path, o)];
                group[number((path, o))] = no;
                let mut i = 0;
                while i < found.len() {
                    let (path, o) = found[i];
                    i += 1;
                    let plain = map.over[path as usize].iter();
                    let plain = plain.skip_while(|over| over.face.is_some());
                    for over in plain.take_while(|over| over.len >= length) {
                        let to = (over.other, o ^ over.flip);
                        if group[number(to)] == NONE {
                            group[number(to)] = no;
                            found.push(to);
                        }
                    }
                }
                found.sort_unstable();
                members.push(found);
            }
        }
        let cuts = members
            .iter()
            .enumerate()
            .map(|(no, list)| {
                let mut cuts: Vec<Cut> = vec![];
                for &(path, o) in list {
                    for over in &map.over[path as usize] {
                        let Some(face) = over.face else { break };
                        let to = group[number((over.other, o ^ over.flip))];
                        let want = length.saturating_sub(over.len);
                        if to as usize == no {
                            continue;
                        }
                        match cuts.iter_mut().find(|c| c.to == to && c.face == face) {
                            Some(cut) => cut.want = cut.want.min(want),
                            None => cuts.push(Cut { to, want, face }),
                        }
                    }
                }
                cuts
            })
            .collect();
        Self {
            group,
            members,
            cuts,
        }
    }

    /// The groups that can be reached from a position, its own first.
    pub fn reached(&self, from: (u16, bool), rests: &[[u32; 2]], groups: &mut Vec<u16>) {
        groups.clear();
        groups.push(self.group[number(from)]);
        let mut i = 0;
        while i < groups.len() {
            for cut in &self.cuts[groups[i] as usize] {
                let (place, end) = cut.face;
                if rests[place as usize][end as usize] >= cut.want && !groups.contains(&cut.to) {
                    groups.push(cut.to);
                }
            }
            i += 1;
        }
    }

    /// The positions of a group, in order.
    pub fn members(&self, group: u16) -> &[(u16, bool)] {
        &self.members[group as usize]
    }

    /// The first position of all in these groups.
    pub fn first(&self, groups: &[u16]) -> Option<(u16, bool)> {
        groups
            .iter()
            .filter_map(|&group| self.members(group).first())
            .min()
            .copied()
    }
}

#[cfg(test)]
mod tests {
    use super::Joined;
    use crate::search::map::{Map, Over, Path, Term};

    /// Paths 0, 1, 2: from 0 to 1 over 50 of plain track, from 1 to 2 over 20 and the rest at a cut, which
    /// turns the train about.
    fn map() -> Map {
        let over = |other, flip, len, face| Over {
            other,
            flip,
            len,
            face,
        };
        let path = Path {
            start: Term::Dead,
            end: Term::Dead,
            halves: vec![],
            len: 0,
            sites: vec![],
        };
        Map {
            mask: 0,
            paths: vec![path.clone(), path.clone(), path],
            shares: vec![],
            over: vec![
                vec![over(1, false, 50, None)],
                vec![over(2, true, 20, Some((0, 1))), over(0, false, 50, None)],
                vec![over(1, true, 20, Some((0, 1)))],
            ],
        }
    }

    fn reached(length: u32, rest: u32) -> Vec<(u16, bool)> {
        let joined = Joined::new(&map(), length);
        let mut groups = vec![];
        joined.reached((0, false), &[[0, rest]], &mut groups);
        let mut all: Vec<_> = groups
            .iter()
            .flat_map(|&group| joined.members(group).to_vec())
            .collect();
        all.sort_unstable();
        assert_eq!(joined.first(&groups), all.first().copied());
        all
    }

    #[test]
    fn a_train_gets_as_far_as_the_runs_are_long() {
        assert_eq!(reached(51, 100), [(0, false)]);
        assert_eq!(reached(50, 29), [(0, false), (1, false)]);
        assert_eq!(reached(50, 30), [(0, false), (1, false), (2, true)]);
    }
}
