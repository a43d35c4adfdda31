//! What was measured, on which machine, beside which goal? Told on the terminal, and kept when the
//! run is to be.
//!
//! A bench tells every figure through a [`Report`]. With `BENCH_KEEP=1` it also writes them, a JSON
//! object a line, to `tests/runs/DAY-BENCH.jsonl`; `cargo run -p binwright-tests --bin performance`
//! makes `tests/PERFORMANCE.md` of the newest run of each bench.

#![allow(clippy::print_stdout, reason = "benches report to the terminal")]

use std::fs::{self, File};
use std::hint::black_box;
use std::io::{self, Write};
use std::path::PathBuf;
use std::time::Duration;

use cpu_time::ThreadTime;
use criterion::{BenchmarkId, Criterion};
use serde::{Deserialize, Serialize};

use crate::timing::Spread;

/// What a figure is held against.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Goal {
    /// Nothing: it is told for its own sake.
    None,
    /// Nothing: it is what ours is compared with.
    Yardstick,
    /// It is to be no more than this.
    AtMost(f64),
    /// It is to be no less than this.
    AtLeast(f64),
}

impl Goal {
    /// Whether `value` meets it; `None` where there is nothing to meet.
    pub fn is_met(self, value: f64) -> Option<bool> {
        match self {
            Self::None | Self::Yardstick => None,
            Self::AtMost(most) => Some(value <= most),
            Self::AtLeast(least) => Some(value >= least),
        }
    }

    /// `at most 3`; empty where there is nothing to meet.
    pub fn words(self) -> String {
        match self {
            Self::None => String::new(),
            Self::Yardstick => "yardstick".to_owned(),
            Self::AtMost(most) => format!("at most {most}"),
            Self::AtLeast(least) => format!("at least {least}"),
        }
    }
}

/// Where and when a run was made: the first line of its file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Run {
    /// Which bench.
    pub bench: String,
    /// The day, ISO 8601.
    pub day: String,
    /// The program's commit; empty where it cannot be told.
    pub commit: String,
    /// Processor, cores, memory and system, in words.
    pub machine: String,
}

/// One figure: a line of a run's file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// Parts in the shop; 0 where the figure does not depend on them.
    pub parts: usize,
    /// What was asked or done.
    pub case: String,
    /// `p50`, `p95`, `p99` of many; empty when it is of one.
    pub of: String,
    /// How much.
    pub value: f64,
    /// Of what: `ms`, `s`, `MB`, `x`, `a second`.
    pub unit: String,
    /// What it is held against.
    pub goal: Goal,
}

/// The figures of one run of a bench.
pub struct Report {
    bench: &'static str,
    parts: usize,
    kept: Option<File>,
    criterion: Criterion,
}

impl Report {
    /// Begins the report of `bench`.
    ///
    /// # Errors
    ///
    /// When the run is to be kept and its file cannot be written.
    pub fn begin(bench: &'static str) -> io::Result<Self> {
        let day = jiff::ZonedDateTime::now().date();
        let kept = match std::env::var_os("BENCH_KEEP") {
            Some(keep) if !keep.is_empty() => {
                fs::create_dir_all(runs())?;
                let mut file = File::create(runs().join(format!("{day}-{bench}.jsonl")))?;
                let (commit, machine) = (commit(), machine());
                let run = Run { bench: bench.to_owned(), day: day.to_string(), commit, machine };
                serde_json::to_writer(&mut file, &run)?;
                writeln!(file)?;
                Some(file)
            }
            _ => None,
        };
        let criterion = Criterion::default()
            .without_plots()
            .sample_size(10)
            .warm_up_time(Duration::from_millis(100))
            .measurement_time(Duration::from_millis(500));
        Ok(Self { bench, parts: 0, kept, criterion })
    }

    /// What follows is of a shop of `parts` parts, in `words`.
    pub fn of(&mut self, parts: usize, words: &str) {
        self.parts = parts;
        println!("\n{words}");
    }

    /// Tells one figure.
    pub fn figure(&mut self, case: &str, value: f64, unit: &str, goal: Goal) {
        println!("  {case:<36} {value:>12.3} {unit:<10} {}", in_words(goal, value));
        self.keep(case, "", value, unit, goal);
    }

    /// Tells of many questions how long half of them took and one in twenty; the goal is for half.
    pub fn spread(&mut self, case: &str, spread: Spread, goal: Goal) {
        let Spread { p50_ms, p95_ms } = spread;
        let met = in_words(goal, p50_ms);
        println!("  {case:<36} p50 {p50_ms:>9.3} ms   p95 {p95_ms:>9.3} ms   {met}");
        self.keep(case, "p50", p50_ms, "ms", goal);
        self.keep(case, "p95", p95_ms, "ms", Goal::None);
    }

    /// Asks every one of `questions`, takes this thread's processor time of each, tells how they spread,
    /// and does as [`Self::repeat`].
    pub fn ask<Q, A>(
        &mut self,
        case: &str,
        questions: &[Q],
        mut ask: impl FnMut(&Q) -> A,
        goal: Goal,
    ) -> Spread {
        let spread = Spread::of(questions, &mut ask);
        self.spread(case, spread, goal);
        self.repeat(case, questions, ask);
        spread
    }

    /// Asks `questions` in turn for the statistics of the run, which say how much it differs from the
    /// run before on this machine. Processor time of this thread.
    pub fn repeat<Q, A>(&mut self, case: &str, questions: &[Q], mut ask: impl FnMut(&Q) -> A) {
        let mut group = self.criterion.benchmark_group(self.bench);
        group.bench_function(BenchmarkId::new(case.trim(), self.parts), |bench| {
            bench.iter_custom(|times| {
                let start = ThreadTime::now();
                for question in questions.iter().cycle().take(times as usize) {
                    black_box(ask(question));
                }
                start.elapsed()
            });
        });
        group.finish();
    }

    fn keep(&mut self, case: &str, of: &str, value: f64, unit: &str, goal: Goal) {
        let Some(file) = &mut self.kept else { return };
        let (case, of, unit) = (case.trim().to_owned(), of.to_owned(), unit.to_owned());
        let figure = Figure { parts: self.parts, case, of, value, unit, goal };
        let written = serde_json::to_string(&figure).map(|line| writeln!(file, "{line}"));
        if !matches!(written, Ok(Ok(()))) {
            println!("  (this figure could not be kept)");
        }
    }
}

/// Where runs are kept.
pub fn runs() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("runs")
}

fn in_words(goal: Goal, value: f64) -> String {
    match goal.is_met(value) {
        Some(true) => format!("goal {}", goal.words()),
        Some(false) => format!("goal {}: MISSED", goal.words()),
        None => goal.words(),
    }
}

fn commit() -> String {
    let git = |words: &[&str]| {
        let told = std::process::Command::new("git").args(words).output().ok()?;
        told.status.success().then(|| String::from_utf8_lossy(&told.stdout).trim().to_owned())
    };
    let clean =
        git(&["status", "--porcelain", "--untracked-files=no"]).is_some_and(|s| s.is_empty());
    let commit = git(&["rev-parse", "--short=10", "HEAD"]).unwrap_or_default();
    if clean || commit.is_empty() { commit } else { format!("{commit}, changed") }
}

/// The machine in words, as far as Linux tells it.
fn machine() -> String {
    let line = |path: &str, key: &str| {
        let text = fs::read_to_string(path).unwrap_or_default();
        let found = text.lines().find_map(|line| line.strip_prefix(key)).unwrap_or_default();
        found.trim_start_matches([' ', '\t', ':']).to_owned()
    };
    let cores = std::thread::available_parallelism().map_or(0, usize::from);
    let kb: f64 = line("/proc/meminfo", "MemTotal").trim_end_matches(" kB").parse().unwrap_or(0.0);
    let processor = line("/proc/cpuinfo", "model name");
    format!("{processor}, {cores} cores, {:.0} GB, {}", kb / 1e6, std::env::consts::OS)
}
