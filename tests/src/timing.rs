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

/// How many times the time of another way to answer one takes.
#[derive(Debug, Clone, Copy)]
pub struct Times {
    /// At the median question.
    pub median: f64,
    /// All questions together.
    pub together: f64,
}

impl Spread {
    /// Asks every one of `questions` on this thread and takes the processor time of each.
    pub fn of<Q, A>(questions: &[Q], mut ask: impl FnMut(&Q) -> A) -> Self {
        Self::from_ms(questions.iter().map(|question| shortest_ms(|| ask(question))).collect())
    }

    /// The same of two ways to answer, asked in turn so that what else the machine does falls on
    /// both; last how many times the second's time the first takes.
    pub fn of_both<Q, A, B>(
        questions: &[Q],
        mut ask: impl FnMut(&Q) -> A,
        mut other: impl FnMut(&Q) -> B,
    ) -> (Self, Self, Times) {
        let both = |question| (shortest_ms(|| ask(question)), shortest_ms(|| other(question)));
        let (ours, others): (Vec<f64>, Vec<f64>) = questions.iter().map(both).unzip();
        let each = ours.iter().zip(&others).map(|(ours, other)| ours / other).collect();
        let together = ours.iter().sum::<f64>() / others.iter().sum::<f64>();
        let times = Times { median: Self::from_ms(each).p50_ms, together };
        (Self::from_ms(ours), Self::from_ms(others), times)
    }

    fn from_ms(mut ms: Vec<f64>) -> Self {
        ms.sort_by(f64::total_cmp);
        let at = |share: f64| ms.get((ms.len() as f64 * share) as usize).copied().unwrap_or(0.0);
        Self { p50_ms: at(0.5), p95_ms: at(0.95) }
    }
}

fn shortest_ms<A>(mut ask: impl FnMut() -> A) -> f64 {
    let times = (0..TIMES).map(|_| {
        let start = ThreadTime::now();
        black_box(ask());
        start.elapsed()
    });
    times.min().unwrap_or(Duration::ZERO).as_secs_f64() * 1e3
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
