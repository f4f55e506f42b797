//! Ties under special trackwork, by a named table.

use crate::curve::{Path, Point};

use super::Route;

model::words! {
    /// By which table ties are cut and spaced.
    pub enum TieTable {
        Main = "main", "8 ft 6 in long, 8 in wide, 21 in apart, switch ties by 6 in: main track; common practice, no source";
        Branch = "branch", "8 ft long, 8 in wide, 24 in apart: branches and industry tracks; common practice, no source";
        ThreeFoot = "three-foot", "6 ft 6 in long, 7 in wide, 22 in apart: three-foot gauge; common practice, no source";
        TwoFoot = "two-foot", "5 ft long, 6 in wide, 22 in apart: two-foot gauge; common practice, no source";
        Nem122 = "NEM 122", "lengths of NEM 122 by gauge, else as `main`";
    }
}

/// Ties as they are cut, metres on the model.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TieSize {
    /// Length of a plain tie.
    pub length: f64,
    /// Width.
    pub width: f64,
    /// From the middle of one to the middle of the next.
    pub spacing: f64,
    /// By how much switch ties grow.
    pub step: f64,
}

/// NEM 122: gauge and length of tie in mm, from Z to II.
const NEM_122: &[(f64, f64)] = &[
    (6.5, 12.0),
    (9.0, 16.0),
    (12.0, 22.0),
    (16.5, 30.0),
    (22.5, 40.0),
    (32.0, 58.0),
    (45.0, 82.0),
    (64.0, 115.0),
];

const INCH: f64 = 0.0254;

impl TieTable {
    /// The table for a gauge, where the owner names none.
    pub fn usual(gauge: f64, ratio: f64) -> Self {
        let represented = gauge * ratio / INCH;
        if represented > 48.0 {
            Self::Main
        } else if represented > 28.0 {
            Self::ThreeFoot
        } else {
            Self::TwoFoot
        }
    }

    /// Its ties for a gauge at a scale of one to `ratio`.
    pub fn size(self, gauge: f64, ratio: f64) -> TieSize {
        let (length, width, spacing) = match self {
            Self::Main | Self::Nem122 => (102.0, 8.0, 21.0),
            Self::Branch => (96.0, 8.0, 24.0),
            Self::ThreeFoot => (78.0, 7.0, 22.0),
            Self::TwoFoot => (60.0, 6.0, 22.0),
        };
        let unit = INCH / ratio;
        let nem = NEM_122
            .iter()
            .find(|(listed, _)| (listed / 1000.0 / gauge - 1.0).abs() < 0.01)
            .filter(|_| self == Self::Nem122)
            .map(|(_, length)| length / 1000.0);
        TieSize {
            // Never so short that the rails stand at its ends.
            length: nem.unwrap_or(length * unit).max(1.35 * gauge),
            width: width * unit,
            spacing: spacing * unit,
            step: 6.0 * unit,
        }
    }
}

/// A tie.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tie {
    /// Its middle, metres.
    pub middle: Point,
    /// Direction of its length, radians.
    pub heading: f64,
    /// Length, metres.
    pub length: f64,
    /// Width, metres.
    pub width: f64,
    /// Whether it carries the switch stand.
    pub head_block: bool,
}

impl Tie {
    /// Its four corners.
    pub fn corners(&self) -> [Point; 4] {
        let along = crate::curve::Vec2::from_angle(self.heading) * (0.5 * self.length);
        let across = crate::curve::Vec2::from_angle(self.heading + std::f64::consts::FRAC_PI_2)
            * (0.5 * self.width);
        [
            self.middle + along + across,
            self.middle - along + across,
            self.middle - along - across,
            self.middle + along - across,
        ]
    }
}

impl Tie {
    /// Whether it lies on another: whether their rectangles have a point in common, by the axes of both.
    pub(super) fn touches(&self, other: &Self) -> bool {
        let (a, b) = (self.corners(), other.corners());
        [self.heading, other.heading]
            .into_iter()
            .flat_map(|heading| [heading, heading + std::f64::consts::FRAC_PI_2])
            .all(|heading| {
                let axis = crate::curve::Vec2::from_angle(heading);
                let span = |corners: &[Point; 4]| {
                    let along = corners.map(|corner| corner.to_vec2().dot(axis));
                    [
                        along.into_iter().fold(f64::INFINITY, f64::min),
                        along.into_iter().fold(f64::NEG_INFINITY, f64::max),
                    ]
                };
                let ([a0, a1], [b0, b1]) = (span(&a), span(&b));
                a0 < b1 && b0 < a1
            })
    }
}

/// Where head blocks lie, metres along the axis, and to which side they are longer (1 left, −1 right).
pub(super) type HeadBlock = (f64, f64);

/// Ties square to an axis from one place of it to another, long enough for every route they carry.
/// Where routes have parted by more than a tie each has its own.
pub(super) fn lay(
    axis: &Path,
    reach: [f64; 2],
    routes: &[&Route],
    size: TieSize,
    head_blocks: &[HeadBlock],
    fine: f64,
) -> Vec<Tie> {
    // Each route as a table of how far to the left of the axis it lies.
    let tables: Vec<Vec<(f64, f64)>> = routes
        .iter()
        .map(|route| {
            let center = route.center();
            let mut table: Vec<(f64, f64)> = center
                .points(fine)
                .into_iter()
                .filter_map(|point| {
                    let (s, _) = axis.nearest(point)?;
                    let place = axis.at(s)?;
                    Some((s, (point - place.point()).dot(place.left())))
                })
                .collect();
            table.sort_by(|a, b| a.0.total_cmp(&b.0));
            table
        })
        .collect();
    let mut stations: Vec<(f64, Option<f64>)> = Vec::new();
    // A pair of head blocks straddles each point; the others are spaced from there.
    let first = head_blocks.first().map_or(reach[0], |block| block.0) - 0.5 * size.spacing;
    let mut s = first - ((first - reach[0]) / size.spacing).floor() * size.spacing;
    while s <= reach[1] + 1e-9 {
        stations.push((s, None));
        s += size.spacing;
    }
    for (at, side) in head_blocks {
        // The two ties nearest to the points.
        let mut near: Vec<usize> = (0..stations.len()).collect();
        near.sort_by(|a, b| {
            let off = |index: usize| (stations[index].0 - at).abs();
            off(*a).total_cmp(&off(*b))
        });
        for &index in near.iter().take(2) {
            stations[index].1 = Some(*side);
        }
    }
    let mut ties = Vec::new();
    for (s, block) in stations {
        let Some(place) = axis.at(s) else { continue };
        let mut lats: Vec<f64> = tables
            .iter()
            .filter_map(|table| lateral(table, s))
            .collect();
        lats.sort_by(f64::total_cmp);
        let mut groups: Vec<[f64; 2]> = Vec::new();
        for lat in lats {
            match groups.last_mut() {
                Some(group) if lat - group[1] < 1.02 * size.length => group[1] = lat,
                _ => groups.push([lat, lat]),
            }
        }
        for [right, left] in groups {
            let needed = left - right + size.length;
            let steps = ((needed - size.length) / size.step - 1e-6).ceil().max(0.0);
            let mut length = size.length + steps * size.step;
            let mut middle = 0.5 * (left + right);
            if let Some(side) = block {
                // Head blocks are fifteen feet to a plain tie's eight and a half.
                let more = 0.76 * size.length;
                length += more;
                middle += 0.5 * side * more;
            }
            ties.push(Tie {
                middle: place.point() + place.left() * middle,
                heading: place.heading + std::f64::consts::FRAC_PI_2,
                length,
                width: if block.is_some() {
                    1.15 * size.width
                } else {
                    size.width
                },
                head_block: block.is_some(),
            });
        }
    }
    ties
}

fn lateral(table: &[(f64, f64)], s: f64) -> Option<f64> {
    let at = table.partition_point(|(station, _)| *station < s);
    let (before, after) = (table.get(at.checked_sub(1)?)?, table.get(at)?);
    let share = (s - before.0) / (after.0 - before.0).max(1e-12);
    Some(before.1 + share * (after.1 - before.1))
}
