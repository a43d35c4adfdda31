//! How long does a fit take? Invented rows of one kind: near-twins in families, gaps, lent values,
//! layouts; beside a bare scan of the same columns. `cargo run --release -p binwright-fit --example
//! speed -- ROWS`.

#![allow(clippy::disallowed_methods, clippy::print_stdout, reason = "it measures and reports")]

use std::{hint::black_box, time::Instant};

use binwright_catalog::{Kind, Kinds, Layout, Point, Role, Value};
use binwright_fit::{
    Model, Query,
    kin::{Lending, Lent, LentColumn},
    table::{PackedPoint, Table},
};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

const FAMILY: usize = 8;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let rows: usize = std::env::args().nth(1).map_or(Ok(40_000), |text| text.parse())?;
    let kinds = Kinds::builtin()?;
    let kind = kinds.get("rectifier-plate").ok_or("no such kind")?.clone();
    let mut chance = ChaCha8Rng::seed_from_u64(7);
    let (table, lending, layouts) = invent(&kind, rows, &mut chance);
    let bare: Vec<Vec<f32>> =
        table.columns.iter().map(|c| c.iter().map(|v| *v as f32).collect()).collect();
    let start = Instant::now();
    let model = Model::new(kind.clone(), table, lending);
    println!("{rows} rows x {} measures: load {:.1} ms", bare.len(), ms(start));
    let lengths: Vec<usize> =
        (0..kind.measures.len()).filter(|at| kind.measures[*at].domain.is_number()).collect();
    for taken in [3, 4, 6] {
        let mut queries = Vec::new();
        for _ in 0..200 {
            let row = chance.random_range(0..rows);
            queries.push(measured(&model, &lengths, row, taken, &mut chance));
        }
        run(&format!("{taken} measures"), &model, &queries);
        let mut times: Vec<f64> = Vec::new();
        for query in &queries {
            let start = Instant::now();
            black_box(bare_scan(&bare, query));
            times.push(ms(start));
        }
        println!("  bare scan: p50 {:.3} ms", p50(&mut times));
    }
    for (name, points, distances) in
        [("points", true, 0), ("2 distances", false, 2), ("6 distances", false, 6)]
    {
        for taken in [0, 3] {
            let mut queries = Vec::new();
            for _ in 0..100 {
                let row = chance.random_range(0..rows);
                let mut query = measured(&model, &lengths, row, taken, &mut chance);
                let layout = &layouts[row];
                if points {
                    query.layout = Some(turned(layout, &mut chance));
                }
                query.distances_mm = some_distances(layout, distances, &mut chance);
                queries.push(query);
            }
            run(&format!("{name} and {taken} measures"), &model, &queries);
        }
    }
    Ok(())
}

fn run(name: &str, model: &Model, queries: &[Query]) {
    let mut times: Vec<f64> = Vec::new();
    let mut next_times: Vec<f64> = Vec::new();
    for query in queries {
        let start = Instant::now();
        let answer = black_box(model.fit(query, 10));
        times.push(ms(start));
        let start = Instant::now();
        black_box(answer.map(|answer| model.next(query, &answer)).ok());
        next_times.push(ms(start));
    }
    let p50 = p50(&mut times);
    println!(
        "{name}: p50 {p50:.3} ms, p95 {:.3} ms; next p50 {:.3} ms",
        times[times.len() * 95 / 100],
        self::p50(&mut next_times)
    );
}

fn ms(start: Instant) -> f64 {
    start.elapsed().as_secs_f64() * 1e3
}

fn p50(times: &mut [f64]) -> f64 {
    times.sort_by(f64::total_cmp);
    times[times.len() / 2]
}

/// Squared differences over known values, the best kept: the least a scan can do.
fn bare_scan(columns: &[Vec<f32>], query: &Query) -> (f32, usize) {
    let mut sums = vec![0.0_f32; columns[0].len()];
    for (at, value) in &query.measured {
        let value = value.number().unwrap_or(0.0) as f32;
        for (sum, known) in sums.iter_mut().zip(&columns[*at]) {
            let off = value - known;
            *sum += if off.is_nan() { 1.0 } else { off * off };
        }
    }
    let mut best = (f32::MAX, 0);
    for (row, sum) in sums.iter().enumerate() {
        if *sum < best.0 {
            best = (*sum, row);
        }
    }
    best
}

fn invent(kind: &Kind, rows: usize, chance: &mut ChaCha8Rng) -> (Table, Lending, Vec<Layout>) {
    let mut table = Table::new(kind);
    let mut layouts = Vec::new();
    let mut family: Vec<f64> = Vec::new();
    let mut base = Layout::default();
    for row in 0..rows {
        if row % FAMILY == 0 {
            family = kind
                .measures
                .iter()
                .map(|m| {
                    let [low, high] = m.range.unwrap_or([0.0, 5.0]);
                    let value: f64 = chance.random_range(low..high);
                    if m.unit == "mm" { (value * 20.0).round() / 20.0 } else { value.round() }
                })
                .collect();
            base = invent_layout(chance);
        }
        let mut values = family.clone();
        for value in &mut values {
            if chance.random_bool(0.15) {
                *value += f64::from(chance.random_range(-4..5)) / 4.0;
            }
            if chance.random_bool(0.2) {
                *value = f64::NAN;
            }
        }
        let mut points = base.points().to_vec();
        if chance.random_bool(0.5) {
            let last = points.len() - 1;
            points[last].x_mm += chance.random_range(-12.0..12.0);
        }
        let layout = Layout::new(points);
        let packed = if chance.random_bool(0.2) { Vec::new() } else { PackedPoint::pack(&layout) };
        table.push(row as u64, row as u64, 0, &values, &packed);
        layouts.push(layout);
    }
    let lending = lend(&table);
    (table, lending, layouts)
}

/// Each gap is lent up to two values of its family.
fn lend(table: &Table) -> Lending {
    let column = |values: &Vec<f64>| {
        let mut lent = LentColumn { starts: vec![0], blur: 0.6, ..LentColumn::default() };
        for row in (0..values.len()).filter(|row| values[*row].is_nan()) {
            let family = row / FAMILY * FAMILY..(row / FAMILY * FAMILY + FAMILY).min(values.len());
            for from in family.filter(|from| !values[*from].is_nan()).take(2) {
                let value = values[from];
                lent.values.push(Lent { from: from as u32, value, exact: 0.35, near: 0.1 });
            }
            lent.rows.push(row as u32);
            lent.starts.push(lent.values.len() as u32);
        }
        lent
    };
    let columns = table.columns.iter().map(column).collect();
    Lending { columns, ..Lending::default() }
}

fn invent_layout(chance: &mut ChaCha8Rng) -> Layout {
    let roles =
        [Role::Hole, Role::Hole, Role::Hole, Role::Stud, Role::Lead, Role::Lead, Role::Lead];
    Layout::new(
        roles
            .into_iter()
            .map(|role| Point {
                role,
                designation: None,
                x_mm: chance.random_range(-50.0..50.0),
                y_mm: chance.random_range(-50.0..50.0),
                size: None,
            })
            .collect(),
    )
}

fn measured(
    model: &Model,
    from: &[usize],
    row: usize,
    taken: usize,
    chance: &mut ChaCha8Rng,
) -> Query {
    let mut query = Query::default();
    while query.measured.len() < taken {
        let at = from[chance.random_range(0..from.len())];
        let value = model.table().columns[at][row];
        if query.measured.iter().all(|(known, _)| *known != at) {
            let value = if value.is_nan() { 3.0 } else { value };
            query.measured.push((at, Value::Number(value + chance.random_range(-0.1..0.1))));
        }
    }
    query
}

fn turned(layout: &Layout, chance: &mut ChaCha8Rng) -> Layout {
    let (sin, cos) = chance.random_range(0.0..std::f64::consts::TAU).sin_cos();
    Layout::new(
        layout
            .points()
            .iter()
            .map(|p| Point {
                x_mm: cos * p.x_mm - sin * p.y_mm + 20.0 + chance.random_range(-0.3..0.3),
                y_mm: sin * p.x_mm + cos * p.y_mm - 5.0 + chance.random_range(-0.3..0.3),
                ..p.clone()
            })
            .collect(),
    )
}

fn some_distances(layout: &Layout, count: usize, chance: &mut ChaCha8Rng) -> Vec<f64> {
    let points = &layout.points()[..if count > 3 { 7 } else { 3 }];
    (0..count)
        .map(|_| {
            let a = chance.random_range(0..points.len());
            let b = (a + chance.random_range(1..points.len())) % points.len();
            let mm = (points[a].x_mm - points[b].x_mm).hypot(points[a].y_mm - points[b].y_mm);
            mm + chance.random_range(-0.2..0.2)
        })
        .map(|mm: f64| mm.abs() + 0.01)
        .collect()
}
