//! How long does a person wait for the command on a shop of a million parts?
//!
//! `cargo build --release && cargo bench -p binwright-tests --bench program [-- PARTS]`. The seeded
//! corpus (seed 29), a file a kind, is imported once into the folder that `BINWRIGHT_BENCH_DIR`
//! names (the temporary folder when it names none) and kept there; later runs only ask. Beside the
//! import in the same run: the `sqlite3` command's `.import` of the same files, three indexes each.

#![allow(clippy::print_stdout, reason = "a bench reports")]

use std::fs::{self, File};
use std::io::BufWriter;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::{Duration, Instant};

use binwright_catalog::{Kind, Kinds};
use binwright_tests::corpus::{Specimen, catalogue, dice, removed};
use binwright_tests::figures::{Goal, Report};
use binwright_tests::timing::sizes;
use rand::Rng;

const QUESTIONS: usize = 20;
const SEED: u64 = 29;

type Done<T> = Result<T, Box<dyn std::error::Error>>;

fn main() -> Done<()> {
    let Some(program) = program() else {
        println!("no `binwright` beside the bench: `cargo build --release` first");
        return Ok(());
    };
    let parts = sizes(&[1_000_000])[0];
    let folder =
        std::env::var_os("BINWRIGHT_BENCH_DIR").map_or_else(std::env::temp_dir, PathBuf::from);
    let bench = Bench { program, folder: folder.join(format!("binwright-{parts}")) };
    let kinds = Kinds::builtin()?;
    let share = parts.div_ceil(kinds.iter().count());
    let mut report = Report::begin("program")?;
    report.of(parts, &format!("a shop of {parts} parts in {}", bench.folder.display()));
    if !bench.folder.join("whole").exists() {
        bench.import(&mut report, &kinds, parts, share)?;
        File::create(bench.folder.join("whole"))?;
    }
    bench.ask(&mut report, kinds.get("rectifier-plate").ok_or("a built-in kind")?, share)
}

/// The command that stands beside the bench in the target folder.
fn program() -> Option<PathBuf> {
    let own = std::env::current_exe().ok()?;
    let found = own.parent()?.parent()?.join(format!("binwright{}", std::env::consts::EXE_SUFFIX));
    found.exists().then_some(found)
}

struct Bench {
    program: PathBuf,
    folder: PathBuf,
}

impl Bench {
    fn command(&self, words: &[&str]) -> Command {
        let mut command = Command::new(&self.program);
        command.arg("--shop").arg(self.folder.join("shop")).args(words);
        command.env("XDG_CACHE_HOME", self.folder.join("cache"));
        command
    }

    fn import(&self, report: &mut Report, kinds: &Kinds, parts: usize, share: usize) -> Done<()> {
        if self.folder.exists() {
            fs::remove_dir_all(&self.folder)?;
        }
        fs::create_dir_all(&self.folder)?;
        let mut files = Vec::new();
        let mut left = parts;
        for kind in kinds.iter() {
            let path = self.folder.join(format!("{}.csv", kind.key));
            write_parts(&path, kind, &catalogue(SEED, share.min(left), kind))?;
            left -= share.min(left);
            files.push(path);
        }
        let yardstick = self.sqlite(&files)?;
        self.command(&["create"]).output()?;
        let mut words = vec!["import", "--no-index", "--table", "parts"];
        words.extend(files.iter().filter_map(|file| file.to_str()));
        let import = Run::of(self.command(&words))?;
        import.tell(report, "import, index for later", Goal::AtMost(300.0));
        match yardstick {
            Some(yardstick) => {
                yardstick.tell(report, "sqlite3 .import, three indexes", Goal::None);
                let times = import.core_s() / yardstick.core_s();
                report.figure("import beside sqlite3", times, "x", Goal::AtMost(3.0));
            }
            None => println!("  no `sqlite3` command here to compare with"),
        }
        let index = Run::of(self.command(&["index"]))?;
        index.tell(report, "index, gaps lent", Goal::AtMost(300.0));
        for file in files {
            fs::remove_file(file)?;
        }
        Ok(())
    }

    /// The same files into a table each; nothing when there is no `sqlite3`.
    fn sqlite(&self, files: &[PathBuf]) -> Done<Option<Run>> {
        let path = self.folder.join("yardstick.db");
        let mut script = String::new();
        for (at, file) in files.iter().enumerate() {
            script += &format!(".import --csv \"{}\" t{at}\n", file.display());
            for column in ["number", "kind", "description"] {
                script += &format!("CREATE INDEX t{at}_{column} ON t{at} ({column});\n");
            }
        }
        let commands = self.folder.join("yardstick.sql");
        fs::write(&commands, script)?;
        let mut command = Command::new("sqlite3");
        command.arg(&path).stdin(File::open(&commands)?);
        let run = match Run::of(command) {
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(None),
            run => run?,
        };
        fs::remove_file(path)?;
        Ok(Some(run))
    }

    /// One process a question, its start included.
    fn ask(&self, report: &mut Report, kind: &Kind, share: usize) -> Done<()> {
        let specimens = catalogue(SEED, share, kind);
        let mut dice = dice(37);
        let mut picked = || &specimens[dice.random_range(0..specimens.len())];
        let numbers: Vec<&Specimen> = (0..QUESTIONS).map(|_| picked()).collect();
        let find = |number: String| self.command(&["find", &number]);
        let asked = numbers.iter().map(|s| find(s.card.house.clone()));
        tell(report, "find a number", asked, Goal::AtMost(50.0))?;
        let asked = numbers.iter().map(|s| find(s.card.house.replacen(char::is_numeric, "", 1)));
        tell(report, "find with a character missing", asked, Goal::AtMost(50.0))?;
        let mut fit = |specimen: &&Specimen| {
            let taken = removed(&mut dice, kind, &specimen.whole, 4);
            let words: Vec<String> = taken
                .measured
                .iter()
                .map(|(at, value)| format!("{}={value}", kind.measures[*at].key))
                .collect();
            let mut asked = vec!["fit", &kind.key];
            asked.extend(words.iter().map(String::as_str));
            self.command(&asked)
        };
        tell(report, "fit by 4 measures", numbers.iter().map(&mut fit), Goal::AtMost(150.0))
    }
}

/// Tells how long the `commands` take by the clock, and on average of processor time.
fn tell(
    report: &mut Report,
    what: &str,
    commands: impl Iterator<Item = Command>,
    goal: Goal,
) -> Done<()> {
    let core = children_core_s();
    let mut clock_ms = Vec::new();
    for mut command in commands {
        let start = Instant::now();
        let Output { status, stderr, .. } = command.output()?;
        clock_ms.push(start.elapsed().as_secs_f64() * 1e3);
        // 1 is an answer too: nothing found.
        if !matches!(status.code(), Some(0 | 1)) {
            return Err(String::from_utf8_lossy(&stderr).into());
        }
    }
    let core_ms = (children_core_s() - core) * 1e3 / clock_ms.len().max(1) as f64;
    clock_ms.sort_by(f64::total_cmp);
    let p50 = clock_ms.get(clock_ms.len() / 2).copied().unwrap_or(0.0);
    report.figure(&format!("{what}, p50 by the clock"), p50, "ms", goal);
    report.figure(&format!("{what}, of core"), core_ms, "ms", Goal::None);
    Ok(())
}

/// One long command.
struct Run {
    core_before_s: f64,
    core_after_s: f64,
    clock_s: f64,
    peak_mb: f64,
}

impl Run {
    fn of(mut command: Command) -> std::io::Result<Self> {
        let core_before_s = children_core_s();
        let start = Instant::now();
        let mut child = command.stdout(Stdio::null()).spawn()?;
        let mut peak_mb = 0.0_f64;
        while child.try_wait()?.is_none() {
            peak_mb = peak_mb.max(peak_mb_of(child.id()));
            std::thread::sleep(Duration::from_millis(20));
        }
        let clock_s = start.elapsed().as_secs_f64();
        Ok(Self { core_before_s, core_after_s: children_core_s(), clock_s, peak_mb })
    }

    fn core_s(&self) -> f64 {
        self.core_after_s - self.core_before_s
    }

    /// Tells its times and the most memory it held; the goal is for that, in MB.
    fn tell(&self, report: &mut Report, what: &str, memory: Goal) {
        report.figure(&format!("{what}, by the clock"), self.clock_s, "s", Goal::None);
        report.figure(&format!("{what}, of core"), self.core_s(), "s", Goal::None);
        report.figure(&format!("{what}, memory"), self.peak_mb, "MB", memory);
    }
}

/// Processor time of all children that ended, in seconds, as Linux tells it; else 0.
fn children_core_s() -> f64 {
    let stat = fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let ticks = stat.split(' ').skip(15).take(2).filter_map(|field| field.parse::<f64>().ok());
    ticks.sum::<f64>() / 100.0
}

/// The most memory the process `id` has held so far, as Linux tells it; else 0.
fn peak_mb_of(id: u32) -> f64 {
    let status = fs::read_to_string(format!("/proc/{id}/status")).unwrap_or_default();
    let line = status.lines().find_map(|line| line.strip_prefix("VmHWM:"));
    let kb = line.and_then(|line| line.trim().strip_suffix(" kB")?.trim().parse::<f64>().ok());
    kb.unwrap_or(0.0) / 1e3
}

fn write_parts(path: &Path, kind: &Kind, specimens: &[Specimen]) -> Done<()> {
    let mut file = csv::Writer::from_writer(BufWriter::new(File::create(path)?));
    let measures = || kind.measures.iter().map(|measure| measure.key.as_str());
    file.write_record(["number", "kind", "description", "layout"].into_iter().chain(measures()))?;
    for Specimen { card, .. } in specimens {
        let layout = card.layout.as_ref().map(ToString::to_string).unwrap_or_default();
        let house = format!("{}-{}", kind.key, card.house);
        let mut row = vec![house, kind.key.clone(), kind.label.clone(), layout];
        let value = |key| card.measures.get(key).map(ToString::to_string).unwrap_or_default();
        row.extend(measures().map(value));
        file.write_record(row)?;
    }
    Ok(file.flush()?)
}
