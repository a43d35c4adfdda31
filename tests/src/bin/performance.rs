//! Writes `tests/PERFORMANCE.md` from the newest kept run of each bench.
//!
//! `BENCH_KEEP=1 cargo bench -p binwright-tests` makes the runs, `cargo run -p binwright-tests --bin
//! performance` the page. What the page says of growth is worked out from the runs; what it says of
//! sizes that were not run stands in `tests/runs/larger.md` and is copied.

use std::collections::BTreeMap;
use std::error::Error;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

use binwright_tests::figures::{Figure, Run, runs};

/// What stands at the head of the page.
const HEAD: &str = "# How fast it is

Written by `cargo run -p binwright-tests --bin performance` from the newest run of each bench in `tests/runs/`, which
`BENCH_KEEP=1 cargo bench -p binwright-tests [--bench NAME]` makes; not by hand. Times are processor time unless a line says
*by the clock*. The catalogue is made up from a seed, the same on every machine (`tests/src/corpus.rs`; each bench names its
seed). A yardstick is something plain that does part of the same work, taken in the same run. Every goal that is missed is
named as missed; more than one goal are those of the sizes from left to right. *Growth* is what a hundred times the parts cost: 100 is in proportion, 1 is not at all.
";

type Done<T> = Result<T, Box<dyn Error>>;

fn main() -> Done<()> {
    let mut newest: BTreeMap<String, (Run, Vec<Figure>)> = BTreeMap::new();
    let mut names: Vec<_> = fs::read_dir(runs())?.flatten().map(|entry| entry.path()).collect();
    names.sort();
    for path in names.iter().filter(|path| path.extension().is_some_and(|end| end == "jsonl")) {
        let (run, figures) = read(path)?;
        newest.insert(run.bench.clone(), (run, figures));
    }
    let mut page = HEAD.to_owned();
    for (run, figures) in newest.values() {
        section(&mut page, run, figures)?;
    }
    page.push('\n');
    page.push_str(&fs::read_to_string(runs().join("larger.md"))?);
    fs::write(runs().with_file_name("PERFORMANCE.md"), page)?;
    Ok(())
}

fn read(path: &Path) -> Done<(Run, Vec<Figure>)> {
    let text = fs::read_to_string(path)?;
    let mut lines = text.lines();
    let said =
        |line: usize, error: serde_json::Error| format!("{}, line {line}: {error}", path.display());
    let first = lines.next().ok_or_else(|| format!("{} is empty", path.display()))?;
    let run = serde_json::from_str(first).map_err(|error| said(1, error))?;
    let figures = lines
        .enumerate()
        .map(|(at, line)| serde_json::from_str(line).map_err(|error| said(at + 2, error)))
        .collect::<Result<_, _>>()?;
    Ok((run, figures))
}

/// One bench: a line a case, a column a size.
fn section(page: &mut String, run: &Run, figures: &[Figure]) -> Done<()> {
    let Run { bench, day, commit, machine } = run;
    write!(page, "\n## {bench}\n\n{day}, commit {commit}. {machine}.\n\n")?;
    let mut sizes: Vec<usize> = figures.iter().map(|figure| figure.parts).collect();
    sizes.sort_unstable();
    sizes.dedup();
    let mut cases: Vec<(&str, &str, &str)> = Vec::new();
    for Figure { case, of, unit, .. } in figures {
        let case = (case.as_str(), of.as_str(), unit.as_str());
        if !cases.contains(&case) {
            cases.push(case);
        }
    }
    let grows = sizes.contains(&10_000) && sizes.contains(&1_000_000);
    let heads: Vec<String> = sizes.iter().map(|parts| size(*parts)).collect();
    let growth = if grows { " growth |" } else { "" };
    writeln!(page, "| what | unit | {} |{growth} goal |", heads.join(" | "))?;
    let columns = sizes.len() + 3 + usize::from(grows);
    writeln!(page, "|{}", "---|".repeat(columns))?;
    for (case, of, unit) in cases {
        let at = |parts: usize| {
            figures
                .iter()
                .find(|f| f.parts == parts && f.case == case && f.of == of && f.unit == unit)
        };
        let cells: Vec<String> =
            sizes.iter().map(|parts| at(*parts).map_or_else(String::new, cell)).collect();
        let name = if of.is_empty() { case.to_owned() } else { format!("{case}, {of}") };
        let growth = match (grows, at(10_000), at(1_000_000)) {
            (false, ..) => String::new(),
            (true, Some(small), Some(large)) if small.value > 0.0 && matches!(unit, "ms" | "s") => {
                format!(" {} |", figure(large.value / small.value))
            }
            _ => " |".to_owned(),
        };
        let mut goals: Vec<String> = Vec::new();
        for words in sizes.iter().filter_map(|parts| at(*parts)).map(|figure| figure.goal.words()) {
            if !words.is_empty() && !goals.contains(&words) {
                goals.push(words);
            }
        }
        let goal = goals.join(", ");
        writeln!(page, "| {name} | {unit} | {} |{growth} {goal} |", cells.join(" | "))?;
    }
    Ok(())
}

fn size(parts: usize) -> String {
    match parts {
        0 => "any size".to_owned(),
        _ if parts.is_multiple_of(1_000) => format!("{} k", parts / 1_000),
        _ => parts.to_string(),
    }
}

fn cell(of: &Figure) -> String {
    let missed = if of.goal.is_met(of.value) == Some(false) { " **missed**" } else { "" };
    format!("{}{missed}", figure(of.value))
}

/// Three figures that count.
fn figure(value: f64) -> String {
    let decimals = match value.abs() {
        v if v >= 100.0 => 0,
        v if v >= 10.0 => 1,
        v if v >= 1.0 => 2,
        _ => 3,
    };
    format!("{value:.decimals$}")
}
