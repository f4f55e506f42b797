//! Several things at a time, the answers in the order of the questions.

use std::sync::{
    Mutex, PoisonError,
    atomic::{AtomicUsize, Ordering},
};

/// Maps in order, on some threads. Each takes the next item that nobody has begun, so that none idles while
/// another has many left; `f` knows nothing of threads, so neither do the answers.
pub(crate) fn in_parallel<T: Sync, U: Send>(
    items: &[T],
    threads: usize,
    f: &(dyn Fn(&T) -> U + Sync),
) -> Vec<U> {
    let threads = threads.min(items.len());
    if threads <= 1 {
        return items.iter().map(f).collect();
    }
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, U)>> = Mutex::new(Vec::with_capacity(items.len()));
    std::thread::scope(|scope| {
        for _ in 0..threads {
            scope.spawn(|| {
                while let Some((at, item)) = {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    items.get(at).map(|item| (at, item))
                } {
                    let answer = f(item);
                    done.lock()
                        .unwrap_or_else(PoisonError::into_inner)
                        .push((at, answer));
                }
            });
        }
    });
    let mut done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, one)| one).collect()
}

#[cfg(test)]
mod tests {
    use super::in_parallel;

    #[test]
    fn answers_come_in_the_order_of_the_questions() {
        let items: Vec<u64> = (0..97).collect();
        let square = |n: &u64| n * n;
        let alone = in_parallel(&items, 1, &square);
        assert_eq!(alone[96], 96 * 96);
        for threads in [0, 2, 3, 200] {
            assert_eq!(in_parallel(&items, threads, &square), alone);
        }
        assert!(in_parallel(&[], 2, &square).is_empty());
    }
}
