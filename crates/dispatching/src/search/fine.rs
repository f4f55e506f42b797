//! Time with a place for hand-overs inside one instant.
//!
//! Two trains may pass a resource on at the same instant, but only one after the other, and a ring of
//! trains may not all step forward at once. Inside the search every start is therefore a *fine* time:
//! the instance's time and, below it, a counter. Passing a resource on without a release time costs one
//! count, so a ring of simultaneous exchanges would have to be earlier than itself and cannot arise;
//! sorting by fine time gives the order of events that a plan must show.

use crate::Time;

/// A time with a hand-over counter in its low bits.
pub(crate) type Fine = i64;

const BITS: u32 = 16;

/// Later than every start that the search considers.
pub(crate) const NEVER: Fine = i64::MAX / 4;

/// The longest time that can be told from "never".
pub(crate) const FOREVER: Time = NEVER >> BITS;

/// The first moment of an instant.
#[inline]
pub(crate) fn first(time: Time) -> Fine {
    time.clamp(-FOREVER, FOREVER) << BITS
}

/// The last moment of an instant.
#[inline]
pub(crate) fn last(time: Time) -> Fine {
    if time >= FOREVER {
        NEVER
    } else {
        first(time) + (1 << BITS) - 1
    }
}

/// The instant that a moment lies in.
#[inline]
pub(crate) fn instant(moment: Fine) -> Time {
    moment >> BITS
}

/// The earliest end of something that starts at `start` and lasts `duration`.
#[inline]
pub(crate) fn after(start: Fine, duration: Time) -> Fine {
    if duration == 0 {
        start
    } else {
        first(instant(start) + duration)
    }
}

/// The latest end of something that starts at `start` and may last `longest` at most.
#[inline]
pub(crate) fn at_most(start: Fine, longest: Time) -> Fine {
    if longest >= FOREVER {
        NEVER
    } else {
        last(instant(start) + longest)
    }
}

/// When another train may start on what was held until `end`.
#[inline]
pub(crate) fn open_after(end: Fine, release: Time) -> Fine {
    if end >= NEVER {
        NEVER
    } else if release == 0 {
        end + 1
    } else {
        first(instant(end) + release)
    }
}

/// The latest end that leaves the resource open for a start at `start`.
#[inline]
pub(crate) fn end_before(start: Fine, release: Time) -> Fine {
    if start >= NEVER {
        NEVER
    } else if release == 0 {
        start - 1
    } else {
        last(instant(start) - release)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn hand_over_takes_one_count_and_release_takes_its_time() {
        let end = first(100) + 3;
        assert_eq!(open_after(end, 0), end + 1);
        assert_eq!(open_after(end, 7), first(107));
        for release in [0, 1, 7] {
            let start = open_after(end, release);
            assert!(end_before(start, release) >= end);
            assert!(end_before(start - 1, release) < end || release > 0);
            assert!(open_after(end_before(start, release), release) <= start);
        }
    }

    #[test]
    fn nothing_follows_what_never_ends() {
        assert_eq!(open_after(NEVER, 10), NEVER);
        assert_eq!(end_before(NEVER, 10), NEVER);
        assert_eq!(at_most(first(5), FOREVER), NEVER);
    }
}
