//! How long does a fit take once its kind is loaded?
//!
//! `cargo bench -p binwright-tests --bench fit [-- PARTS ...]`. Rectifier plates of the seeded
//! corpus (seed 17): families of near-twins, gaps that relatives lend to, layouts. A shop of 10 k,
//! 100 k and 1 M parts has them in equal kinds; last comes one kind of 150 k. Beside ours in the
//! same run: a bare scan over the columns that were measured, and SQLite with an index a measure.

use binwright_catalog::{Kind, Kinds, Layout, Value};
use binwright_fit::kin::{lend, relatives};
use binwright_fit::table::{Table, encode, stem_hash};
use binwright_fit::{Model, Query};
use binwright_index::Entry;
use binwright_tests::corpus::{Dice, Specimen, catalogue, dice, removed};
use binwright_tests::figures::{Goal, Report};
use binwright_tests::timing::{Spread, core_seconds, sizes};
use rand::Rng;
use rusqlite::{Connection, params_from_iter};

const QUESTIONS: usize = 100;
/// Candidates asked for.
const LIMIT: usize = 10;
/// What a filter lets pass on either side, in the measure's unit.
const TOLERANCE: f64 = 0.5;
/// One kind as large as a large shop's largest.
const LARGE_KIND: usize = 150_000;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let kinds = Kinds::builtin()?;
    let plate = kinds.get("rectifier-plate").ok_or("a built-in kind")?;
    let shops = sizes(&[10_000, 100_000, 1_000_000]);
    let of_plates = |parts: usize| parts.div_ceil(kinds.iter().count());
    let mut report = Report::begin("fit")?;
    for parts in shops {
        report.of(parts, &format!("a shop of {parts} parts, {} of them plates", of_plates(parts)));
        one(&mut report, plate, of_plates(parts))?;
    }
    report.of(LARGE_KIND, &format!("{LARGE_KIND} plates alone"));
    one(&mut report, plate, LARGE_KIND)
}

fn one(report: &mut Report, kind: &Kind, rows: usize) -> Result<(), Box<dyn std::error::Error>> {
    let specimens = catalogue(17, rows, kind);
    let table = table(kind, &specimens);
    let bare: Vec<Vec<f32>> =
        table.columns.iter().map(|c| c.iter().map(|v| *v as f32).collect()).collect();
    let database = database(&table)?;
    let (related, (kin, weights)) = core_seconds(|| relatives(kind, &table));
    let lending = lend(kind, &table, &kin, &weights);
    let (loaded, model) = core_seconds(|| Model::new(kind.clone(), table, lending));
    report.figure("relatives found", related, "s", Goal::None);
    report.figure("made ready", loaded * 1e3, "ms", Goal::None);
    let mut dice = dice(18);
    let fit = |query: &Query| model.fit(query, LIMIT);
    for count in [3, 4, 6] {
        let queries = queries(&mut dice, kind, &specimens, count, Extra::Nothing);
        let case = |words: &str| format!("{count} measures{words}");
        let scan = |query: &Query| bare_scan(&bare, kind, query);
        let (ours, theirs, times) = Spread::of_both(&queries, fit, scan);
        report.spread(&case(""), ours, Goal::AtMost(1.0));
        report.spread(&case(", bare scan"), theirs, Goal::Yardstick);
        report.figure(&case(" beside the bare scan"), times.median, "x", Goal::AtMost(3.0));
        report.repeat(&case(""), &queries, fit);
        let filter = |query: &Query| between(&database, kind, query);
        report.ask(&case(", SQLite BETWEEN"), &queries, filter, Goal::Yardstick);
    }
    for count in [0, 3] {
        let queries = queries(&mut dice, kind, &specimens, count, Extra::Points);
        report.ask(&format!("{count} measures and points"), &queries, fit, Goal::AtMost(3.0));
    }
    for distances in [2, 4, 6] {
        let queries = queries(&mut dice, kind, &specimens, 0, Extra::Distances(distances));
        report.ask(&format!("{distances} distances"), &queries, fit, Goal::AtMost(10.0));
    }
    let queries = queries(&mut dice, kind, &specimens, 4, Extra::Nothing);
    let answered: Vec<_> = queries.iter().map(|query| (query, fit(query))).collect();
    let next = |(query, answer): &(&Query, Result<_, _>)| match answer {
        Ok(answer) => model.next(query, answer),
        Err(_) => Vec::new(),
    };
    report.ask("what to take next", &answered, next, Goal::None);
    Ok(())
}

fn table(kind: &Kind, specimens: &[Specimen]) -> Table {
    let mut table = Table::new(kind);
    for (id, specimen) in specimens.iter().enumerate() {
        let entry = Entry::of(id as u64, id as u64, &specimen.card, kind);
        let stem = stem_hash(&entry.house);
        table.push(entry.part, entry.group, stem, &entry.values, &entry.points);
    }
    table
}

/// What is taken besides measures.
#[derive(Clone, Copy)]
enum Extra {
    Nothing,
    Points,
    Distances(usize),
}

fn queries(
    dice: &mut Dice,
    kind: &Kind,
    specimens: &[Specimen],
    count: usize,
    extra: Extra,
) -> Vec<Query> {
    let mut one = || {
        let whole = &specimens[dice.random_range(0..specimens.len())].whole;
        let taken = removed(dice, kind, whole, count);
        let (layout, distances_mm) = match (extra, taken.layout) {
            (Extra::Points, layout) => (layout, Vec::new()),
            (Extra::Distances(wanted), Some(layout)) => (None, distances(dice, &layout, wanted)),
            _ => (None, Vec::new()),
        };
        Query { measured: taken.measured, layout, distances_mm, ..Query::default() }
    };
    (0..QUESTIONS).map(|_| one()).collect()
}

/// Distances between points of `layout`, `wanted` of all pairs.
fn distances(dice: &mut Dice, layout: &Layout, wanted: usize) -> Vec<f64> {
    let points = layout.points();
    let pairs = points.iter().enumerate().flat_map(|(at, a)| {
        points[at + 1..].iter().map(|b| (a.x_mm - b.x_mm).hypot(a.y_mm - b.y_mm))
    });
    let mut all: Vec<f64> = pairs.filter(|mm| *mm > 0.0).collect();
    while all.len() > wanted {
        all.swap_remove(dice.random_range(0..all.len()));
    }
    all
}

/// Sums of the differences over the columns that were measured, a value not known passing for
/// right, and the best few of them: the least a scan can do.
fn bare_scan(columns: &[Vec<f32>], kind: &Kind, query: &Query) -> Vec<(f32, usize)> {
    let mut sums = vec![0.0_f32; columns[0].len()];
    for (at, value) in &query.measured {
        let value = encode(&kind.measures[*at], value) as f32;
        for (sum, known) in sums.iter_mut().zip(&columns[*at]) {
            let off = (value - known).abs();
            *sum += if off.is_nan() { 0.0 } else { off };
        }
    }
    let mut best: Vec<(f32, usize)> = Vec::with_capacity(LIMIT + 1);
    for (row, sum) in sums.into_iter().enumerate() {
        if best.len() < LIMIT || sum < best[LIMIT - 1].0 {
            let place = best.partition_point(|better| better.0 <= sum);
            best.insert(place, (sum, row));
            best.truncate(LIMIT);
        }
    }
    best
}

/// One row a part, one indexed column a measure.
fn database(table: &Table) -> rusqlite::Result<Connection> {
    let mut database = Connection::open_in_memory()?;
    let names: Vec<String> = (0..table.columns.len()).map(|at| format!("m{at}")).collect();
    database.execute_batch(&format!("CREATE TABLE part ({})", names.join(" REAL, ")))?;
    let filling = database.transaction()?;
    {
        let holes = vec!["?"; names.len()].join(", ");
        let mut insert = filling.prepare(&format!("INSERT INTO part VALUES ({holes})"))?;
        for row in 0..table.len() {
            let known = |column: &Vec<f64>| Some(column[row]).filter(|value| !value.is_nan());
            insert.execute(params_from_iter(table.columns.iter().map(known)))?;
        }
    }
    for name in &names {
        filling.execute_batch(&format!("CREATE INDEX by_{name} ON part ({name})"))?;
    }
    filling.execute_batch("ANALYZE")?;
    filling.commit()?;
    Ok(database)
}

/// The parts whose every measure is within the tolerance or not known.
fn between(database: &Connection, kind: &Kind, query: &Query) -> rusqlite::Result<Vec<i64>> {
    let passes = |(at, _): &(usize, Value)| format!("(m{at} BETWEEN ? AND ? OR m{at} IS NULL)");
    let tests: Vec<String> = query.measured.iter().map(passes).collect();
    let limits = query.measured.iter().flat_map(|(at, value)| {
        let value = encode(&kind.measures[*at], value);
        [value - TOLERANCE, value + TOLERANCE]
    });
    let question = format!("SELECT rowid FROM part WHERE {}", tests.join(" AND "));
    let mut found = database.prepare_cached(&question)?;
    found.query_map(params_from_iter(limits), |row| row.get(0))?.collect()
}
