//! Crews for a session: jobs made of trains, people for the jobs, who learns from whom.
//!
//! [`jobs`] strings trains into the fewest jobs or the fairest; [`people`] fills the seats, says what is
//! short and why; [`learning`] puts whoever is left beside someone to learn from. At club size each is
//! exact; where a search is cut short the bound it proved is given.

pub mod duties;
pub mod jobs;
pub mod learning;
pub mod people;

/// What a board is to be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Goal {
    /// As few as will do.
    #[default]
    Fewest,
    /// The longest day as short as can be, then the others.
    Fairest,
}

/// Puts items on the left to partners on the right, as many as can be: augmenting paths.
///
/// `wants[left]` lists the partners it may have, best first. Gives the partner of each on the left.
pub(crate) fn matching(wants: &[Vec<usize>], right: usize) -> Vec<Option<usize>> {
    fn place(
        left: usize,
        wants: &[Vec<usize>],
        seen: &mut [bool],
        has: &mut [Option<usize>],
    ) -> bool {
        for &partner in &wants[left] {
            if std::mem::replace(&mut seen[partner], true) {
                continue;
            }
            if has[partner].is_none_or(|other| place(other, wants, seen, has)) {
                has[partner] = Some(left);
                return true;
            }
        }
        false
    }
    let mut has = vec![None; right];
    for left in 0..wants.len() {
        place(left, wants, &mut vec![false; right], &mut has);
    }
    let mut partner = vec![None; wants.len()];
    for (right, left) in has.into_iter().enumerate() {
        if let Some(left) = left {
            partner[left] = Some(right);
        }
    }
    partner
}

/// After a [`matching`]: those on the left that cannot all have a partner, with all partners they want.
/// They are more than their partners, which proves that no matching is larger. Empty if all have one.
pub(crate) fn too_many(
    wants: &[Vec<usize>],
    partner: &[Option<usize>],
    right: usize,
) -> (Vec<usize>, Vec<usize>) {
    let mut holder = vec![None; right];
    for (left, partner) in partner.iter().enumerate() {
        if let Some(partner) = partner {
            holder[*partner] = Some(left);
        }
    }
    let mut lefts = vec![false; wants.len()];
    let mut rights = vec![false; right];
    let mut queue: Vec<usize> = (0..wants.len())
        .filter(|&left| partner[left].is_none())
        .collect();
    while let Some(left) = queue.pop() {
        if std::mem::replace(&mut lefts[left], true) {
            continue;
        }
        for &wanted in &wants[left] {
            if !std::mem::replace(&mut rights[wanted], true) {
                queue.extend(holder[wanted]);
            }
        }
    }
    let list = |flags: Vec<bool>| (0..flags.len()).filter(|&at| flags[at]).collect();
    (list(lefts), list(rights))
}

#[cfg(test)]
mod tests;
