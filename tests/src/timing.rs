//! How much processor time does a question take?
//!
//! Processor time, not the clock's: the figures are then nearly the same on a busy machine.

use std::hint::black_box;
use std::time::Duration;

use cpu_time::{ProcessTime, ThreadTime};

/// Each question is asked so often, and its shortest time counts: what else runs only lengthens it.
const TIMES: usize = 3;

/// The times of many questions of one sort.
#[derive(Debug, Clone, Copy)]
pub struct Spread {
    /// Half of them take less, in milliseconds.
    pub p50_ms: f64,
    /// One in twenty takes more, in milliseconds.
    pub p95_ms: f64,
}

impl Spread {
    /// Asks every one of `questions` on this thread and takes the processor time of each.
    pub fn of<Q, A>(questions: &[Q], mut ask: impl FnMut(&Q) -> A) -> Self {
        let mut shortest = |question| {
            let times = (0..TIMES).map(|_| {
                let start = ThreadTime::now();
                black_box(ask(question));
                start.elapsed()
            });
            times.min().unwrap_or(Duration::ZERO).as_secs_f64() * 1e3
        };
        let mut ms: Vec<f64> = questions.iter().map(&mut shortest).collect();
        ms.sort_by(f64::total_cmp);
        let at = |share: f64| ms.get((ms.len() as f64 * share) as usize).copied().unwrap_or(0.0);
        Self { p50_ms: at(0.5), p95_ms: at(0.95) }
    }
}

/// Processor time of all threads while `work` runs, in seconds, and what it returns.
pub fn core_seconds<T>(work: impl FnOnce() -> T) -> (f64, T) {
    let start = ProcessTime::now();
    let done = work();
    (start.elapsed().as_secs_f64(), done)
}

/// Processor time of this thread alone while `work` runs, in seconds, and what it returns.
pub fn thread_seconds<T>(work: impl FnOnce() -> T) -> (f64, T) {
    let start = ThreadTime::now();
    let done = work();
    (start.elapsed().as_secs_f64(), done)
}

/// The sizes asked for on the command line (`-- 10000`), or `sizes` when none is.
pub fn sizes(sizes: &[usize]) -> Vec<usize> {
    let asked: Vec<usize> = std::env::args().filter_map(|given| given.parse().ok()).collect();
    if asked.is_empty() { sizes.to_vec() } else { asked }
}
