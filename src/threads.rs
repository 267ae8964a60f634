//! Which threads share the work?
//!
//! A pool of the library's own, made when it is first needed. It knows its process: a forked child
//! has the memory of its parent's pool but none of its threads, so it makes a pool for itself.
//! Every parallel loop of the library goes through here; a loop asked for by a thread that already
//! works in a pool stays in that pool. Nothing here waits for a lock, which a fork might leave held
//! for ever.
//!
//! The number of threads is, in this order: what [`set_count`] was given, `HANGARC_NUM_THREADS`,
//! `RAYON_NUM_THREADS`, the number of cores.

use rayon::prelude::*;
use rayon::{ThreadPool, ThreadPoolBuilder};
use std::cell::Cell;
use std::hint::spin_loop;
use std::ptr;
use std::sync::atomic::{AtomicPtr, AtomicUsize, Ordering};

/// Most threads that can be asked for.
pub const MOST: usize = 4096;

/// How often a thread that is done looks whether the others are, before it sleeps: some 20 µs.
const LOOKS: usize = 1000;

const NOT_READ: usize = usize::MAX;

/// The number asked for; 0 leaves it to the environment.
static ASKED: AtomicUsize = AtomicUsize::new(0);

/// What `HANGARC_NUM_THREADS` said when it was first needed; 0 leaves it to rayon.
static ENVIRONMENT: AtomicUsize = AtomicUsize::new(NOT_READ);

/// The pools made so far, the newest first. A pool is never taken down: some thread may be using
/// it, and an idle one costs next to nothing.
static POOLS: AtomicPtr<Pool> = AtomicPtr::new(ptr::null_mut());

struct Pool {
    process: u32,
    asked: usize,
    /// None where the system would not give the threads: then each thread works alone.
    threads: Option<ThreadPool>,
    older: *const Pool,
}

thread_local! {
    static ALONE: Cell<bool> = const { Cell::new(false) };
}

/// Who shares the work asked for by this thread.
enum Here {
    Alone,
    InPool,
    Outside(&'static ThreadPool),
}

impl Here {
    fn now() -> Self {
        if ALONE.get() {
            Self::Alone
        } else if rayon::current_thread_index().is_some() {
            Self::InPool
        } else {
            pool_of(asked()).map_or(Self::Alone, Self::Outside)
        }
    }
}

/// Asks for so many threads from now on, at most [`MOST`]; 0 leaves it to the environment.
pub fn set_count(threads: usize) {
    ASKED.store(threads.min(MOST), Ordering::Relaxed);
}

/// Number of threads that would share work asked for here and now.
#[must_use]
pub fn count() -> usize {
    match Here::now() {
        Here::Alone => 1,
        Here::InPool => rayon::current_num_threads(),
        Here::Outside(pool) => pool.current_num_threads(),
    }
}

fn asked() -> usize {
    match ASKED.load(Ordering::Relaxed) {
        0 => environment(),
        asked => asked,
    }
}

fn environment() -> usize {
    let read = ENVIRONMENT.load(Ordering::Relaxed);
    if read != NOT_READ {
        return read;
    }
    let said = std::env::var("HANGARC_NUM_THREADS").ok();
    let threads = said.and_then(|text| text.trim().parse().ok());
    let threads = threads.map_or(0, |threads: usize| threads.min(MOST));
    ENVIRONMENT.store(threads, Ordering::Relaxed);
    threads
}

/// This process's pool for so many threads asked for, made if need be.
fn pool_of(asked: usize) -> Option<&'static ThreadPool> {
    let process = std::process::id();
    let mut newest: *const Pool = POOLS.load(Ordering::Acquire);
    if let Some(pool) = find(newest, process, asked) {
        return pool.threads.as_ref();
    }
    let threads = ThreadPoolBuilder::new()
        .num_threads(asked)
        .thread_name(|index| format!("hangarc-{index}"))
        .build();
    let mut made = Box::new(Pool {
        process,
        asked,
        threads: threads.ok(),
        older: newest,
    });
    loop {
        let raw = Box::into_raw(made);
        match POOLS.compare_exchange(newest.cast_mut(), raw, Ordering::AcqRel, Ordering::Acquire) {
            // SAFETY: `raw` comes from a box; in the list, it is never freed or changed.
            Ok(_) => return unsafe { &*raw }.threads.as_ref(),
            Err(current) => {
                if let Some(pool) = find(current, process, asked) {
                    // SAFETY: `raw` comes from a box and nobody else has seen it.
                    drop(unsafe { Box::from_raw(raw) });
                    return pool.threads.as_ref();
                }
                // SAFETY: as above.
                made = unsafe { Box::from_raw(raw) };
                made.older = current;
                newest = current;
            }
        }
    }
}

fn find(newest: *const Pool, process: u32, asked: usize) -> Option<&'static Pool> {
    let mut next = newest;
    // SAFETY: the list holds boxes that are never freed or changed, and its end is null.
    while let Some(pool) = unsafe { next.as_ref() } {
        if pool.process == process && pool.asked == asked {
            return Some(pool);
        }
        next = pool.older;
    }
    None
}

/// Runs `work` with every parallel loop in it on this thread alone: for a caller that has work for
/// every thread already.
pub fn alone<R>(work: impl FnOnce() -> R) -> R {
    struct Restore(bool);
    impl Drop for Restore {
        fn drop(&mut self) {
            ALONE.set(self.0);
        }
    }
    let _restore = Restore(ALONE.replace(true));
    work()
}

/// Runs `work` with every parallel loop in it shared by so many threads, whatever is set.
pub fn with_count<R: Send>(threads: usize, work: impl FnOnce() -> R + Send) -> R {
    match pool_of(threads.clamp(1, MOST)) {
        Some(pool) => pool.install(work),
        None => alone(work),
    }
}

/// Starts `work` on a thread of the pool, alone there, and goes on at once; on this thread where
/// there is no pool.
pub fn start(work: impl FnOnce() + Send + 'static) {
    match Here::now() {
        Here::Alone => work(),
        Here::InPool => rayon::spawn(|| alone(work)),
        Here::Outside(pool) => pool.spawn(|| alone(work)),
    }
}

/// What `work` makes of each item, in the items' order.
pub fn map<T: Send, R: Send>(
    items: impl IntoIterator<Item = T>,
    work: impl Fn(T) -> R + Sync + Send,
) -> Vec<R> {
    let items: Vec<T> = items.into_iter().collect();
    match Here::now() {
        Here::Alone => items.into_iter().map(work).collect(),
        Here::InPool => items.into_par_iter().map(work).collect(),
        Here::Outside(pool) => pool.install(|| items.into_par_iter().map(work).collect()),
    }
}

/// Calls `work` with each piece of `data`, `size` long but perhaps the last, and its number.
pub fn each_piece<T: Send>(data: &mut [T], size: usize, work: impl Fn(usize, &mut [T]) + Sync) {
    let shared = |data: &mut [T]| {
        let pieces = data.par_chunks_mut(size).enumerate();
        pieces.for_each(|(index, piece)| work(index, piece));
    };
    match Here::now() {
        Here::Alone => {
            for (index, piece) in data.chunks_mut(size).enumerate() {
                work(index, piece);
            }
        }
        Here::InPool => shared(data),
        Here::Outside(pool) => pool.install(|| shared(data)),
    }
}

/// Calls `work` on this thread and, at the same time, on others of the pool: on `most` threads at
/// the most. This thread works too: little work is done before others have woken up.
pub fn together(most: usize, work: impl Fn() + Sync) {
    let others = count().min(most).saturating_sub(1);
    let left = AtomicUsize::new(others);
    let share = || {
        work();
        // The others have little left: looking out for them beats falling asleep.
        for _ in 0..LOOKS {
            if left.load(Ordering::Acquire) == 0 {
                break;
            }
            spin_loop();
        }
    };
    let other = || {
        work();
        left.fetch_sub(1, Ordering::Release);
    };
    match Here::now() {
        Here::Alone => work(),
        Here::InPool => rayon::in_place_scope(|scope| {
            (0..others).for_each(|_| scope.spawn(|_| other()));
            share();
        }),
        Here::Outside(pool) => pool.in_place_scope(|scope| {
            (0..others).for_each(|_| scope.spawn(|_| other()));
            share();
        }),
    }
}

/// Wakes a sleeping thread of the pool for work that will be asked for in a moment: waking it takes
/// as long as a little work does.
pub fn wake_another() {
    match Here::now() {
        Here::Outside(pool) if pool.current_num_threads() > 1 => pool.spawn(|| ()),
        _ => (),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;
    use std::sync::Mutex;
    use std::thread::{ThreadId, current};

    fn threads_seen(items: usize) -> HashSet<ThreadId> {
        let seen = Mutex::new(HashSet::new());
        map(0..items, |_| {
            seen.lock().unwrap().insert(current().id());
            std::thread::sleep(std::time::Duration::from_millis(1));
        });
        seen.into_inner().unwrap()
    }

    #[test]
    fn a_map_keeps_the_order_of_its_items() {
        let squares: Vec<usize> = (0..1000).map(|i| i * i).collect();
        assert_eq!(with_count(3, || map(0..1000, |i| i * i)), squares);
        assert_eq!(alone(|| map(0..1000, |i| i * i)), squares);
    }

    #[test]
    fn alone_all_work_stays_on_the_callers_thread() {
        assert_eq!(alone(|| threads_seen(20)), HashSet::from([current().id()]));
        assert_eq!(alone(count), 1);
        let inside = with_count(2, || alone(|| threads_seen(20)));
        assert_eq!(inside.len(), 1);
        assert!(!ALONE.get(), "and the thread is free again");
    }

    #[test]
    fn pools_are_of_the_size_asked_for_and_kept() {
        assert_eq!(with_count(3, count), 3);
        let each = pool_of(3).unwrap().broadcast(|_| current().id());
        let threads: HashSet<ThreadId> = each.into_iter().collect();
        assert_eq!(threads.len(), 3);
        // Which of them get a piece is for the machine to say, where it is busy.
        assert!(with_count(3, || threads_seen(60)).is_subset(&threads));
        let first: *const ThreadPool = pool_of(3).unwrap();
        assert!(ptr::eq(first, pool_of(3).unwrap()));
    }

    #[test]
    fn another_process_gets_a_pool_of_its_own() {
        let ours = pool_of(2).unwrap();
        let newest = POOLS.load(Ordering::Acquire);
        assert!(find(newest, std::process::id(), 2).is_some());
        assert!(find(newest, std::process::id().wrapping_add(1), 2).is_none());
        assert_eq!(ours.current_num_threads(), 2);
    }

    #[test]
    fn every_piece_is_worked_on_once_by_any_number_of_threads() {
        let marked = |threads: usize| {
            let mut data = vec![0; 103];
            with_count(threads, || {
                each_piece(&mut data, 10, |index, piece| {
                    piece.iter_mut().for_each(|mark| *mark += 1 + index);
                });
            });
            data
        };
        let expected: Vec<usize> = (0..103).map(|at| 1 + at / 10).collect();
        assert_eq!(marked(1), expected);
        assert_eq!(marked(4), expected);
    }

    #[test]
    fn together_calls_on_as_many_threads_as_there_are_and_no_more_than_asked() {
        let calls = |threads: usize, most: usize| {
            let calls = AtomicUsize::new(0);
            with_count(threads, || {
                together(most, || {
                    calls.fetch_add(1, Ordering::Relaxed);
                });
            });
            calls.into_inner()
        };
        assert_eq!((calls(3, 2), calls(2, 9), calls(1, 1)), (2, 2, 1));
        assert_eq!(pool_of(3).unwrap().broadcast(|_| count()), vec![3; 3]);
    }
}
