//! Superiority of trains, by the rules of the Standard Code family.

/// What makes a train superior.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    /// Class in the timetable, 1 the highest; nothing for an extra.
    pub class: Option<i64>,
    /// Whether it runs in the direction the timetable names superior.
    pub superior_direction: bool,
}

/// By what one train is superior to another.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Superior {
    /// The first is superior by class: a regular train over an extra, a higher class over a lower.
    FirstByClass,
    /// The second is superior by class.
    SecondByClass,
    /// The first is superior by direction.
    FirstByDirection,
    /// The second is superior by direction.
    SecondByDirection,
    /// Neither: same class and same direction, or two extras where direction makes none superior.
    Neither,
}

impl Superior {
    /// Whether the first train is superior.
    pub fn is_first(self) -> bool {
        matches!(self, Self::FirstByClass | Self::FirstByDirection)
    }

    /// Whether the second train is superior.
    pub fn is_second(self) -> bool {
        matches!(self, Self::SecondByClass | Self::SecondByDirection)
    }
}

/// Which of two trains is superior by timetable on single track: class decides, and between trains of
/// one class direction (rules S-71, 72 and 73 of the Standard Code). Right conferred by a train order
/// comes before both and is not asked here.
///
/// `extras_by_direction`: whether direction decides between two extras, as older books have it.
pub fn superior(first: Standing, second: Standing, extras_by_direction: bool) -> Superior {
    let rank = |standing: Standing| standing.class.unwrap_or(i64::MAX);
    if rank(first) != rank(second) {
        return if rank(first) < rank(second) {
            Superior::FirstByClass
        } else {
            Superior::SecondByClass
        };
    }
    if first.class.is_none() && !extras_by_direction {
        return Superior::Neither;
    }
    match (first.superior_direction, second.superior_direction) {
        (true, false) => Superior::FirstByDirection,
        (false, true) => Superior::SecondByDirection,
        _ => Superior::Neither,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn regular(class: i64, superior_direction: bool) -> Standing {
        Standing {
            class: Some(class),
            superior_direction,
        }
    }

    const EXTRA_EAST: Standing = Standing {
        class: None,
        superior_direction: true,
    };
    const EXTRA_WEST: Standing = Standing {
        class: None,
        superior_direction: false,
    };

    /// US Army TM 55-200, rules S-71, 72 and 73, as quoted in the Army's subcourse on train rules: class
    /// comes before direction, direction decides only within a class, extras are inferior to all
    /// regular trains. East is superior in these.
    #[test]
    fn class_comes_before_direction() {
        // A westward train of the first class against an eastward one of the second.
        let found = superior(regular(1, false), regular(2, true), false);
        assert_eq!(found, Superior::FirstByClass);
        let found = superior(regular(3, false), regular(3, true), false);
        assert_eq!(found, Superior::SecondByDirection);
        let found = superior(regular(3, true), regular(3, true), false);
        assert_eq!(found, Superior::Neither);
        let found = superior(EXTRA_EAST, regular(4, false), false);
        assert_eq!(found, Superior::SecondByClass);
    }

    /// The Army's text of the 1970s gives two extras no superiority by direction; a train-order
    /// handbook of about 1910 sends the extra of the inferior direction to the siding.
    #[test]
    fn two_extras_by_the_newer_and_the_older_book() {
        assert_eq!(superior(EXTRA_EAST, EXTRA_WEST, false), Superior::Neither);
        let found = superior(EXTRA_EAST, EXTRA_WEST, true);
        assert_eq!(found, Superior::FirstByDirection);
    }

    #[test]
    fn superiority_is_never_mutual() {
        let classes = [None, Some(1), Some(2), Some(3), Some(4)];
        let all: Vec<Standing> = classes
            .into_iter()
            .flat_map(|class| {
                [true, false].map(|superior_direction| Standing {
                    class,
                    superior_direction,
                })
            })
            .collect();
        for &a in &all {
            for &b in &all {
                for older in [true, false] {
                    let (there, back) = (superior(a, b, older), superior(b, a, older));
                    assert_eq!(there.is_first(), back.is_second());
                    assert_eq!(there.is_second(), back.is_first());
                }
            }
        }
    }
}
