//! How fast is the index? Builds one of N invented parts, then times loading and finding.
//!
//! `cargo run --release -p binwright-index --example speed -- 100000 [left]`: parts in kinds of
//! equal size, families of near-twins of 1 to 12, 15 % gaps, six points, one to two numbers a part
//! (two letters and six digits; a letter for the variant). With `left`, gaps are lent nothing.
#![allow(clippy::print_stdout, clippy::unwrap_used)]

use std::time::Instant;

use binwright_catalog::{Kinds, number};
use binwright_fit::table::{PackedPoint, UNKNOWN};
use binwright_index::{Entry, Gaps, Index, IndexError};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn main() {
    let mut given = std::env::args().skip(1);
    let parts: usize = given.next().and_then(|n| n.parse().ok()).unwrap_or(100_000);
    let gaps = if given.next().as_deref() == Some("left") { Gaps::Left } else { Gaps::Lent };
    let kinds = Kinds::builtin().unwrap();
    let all: Vec<_> = kinds.iter().collect();
    let folder = tempfile::tempdir().unwrap();
    let start = Instant::now();
    let mut index = Index::open(folder.path(), 1).unwrap();
    let mut random = ChaCha8Rng::seed_from_u64(7);
    let (mut next, mut numbers, mut making) = (0, Vec::new(), 0.0);
    let share = parts.div_ceil(all.len());
    index
        .rebuild::<IndexError>(&all, 1, gaps, |key, push| {
            let kind = kinds.get(key).unwrap();
            let begun = Instant::now();
            let entries = family_parts(&mut random, kind, share.min(parts - next), &mut next);
            making += begun.elapsed().as_secs_f64();
            for entry in entries {
                numbers.push(entry.house.clone());
                push(entry);
            }
            Ok(())
        })
        .unwrap();
    let built = start.elapsed().as_secs_f64() - making;
    let core = core_seconds() - making;
    println!("built   {parts} parts in {built:.2} s, {:.0} a second", parts as f64 / built);
    println!("        {core:.2} s of core, {:.0} a second a core", parts as f64 / core);

    let start = Instant::now();
    let index = Index::open(folder.path(), 1).unwrap();
    println!("opened  in {:.2} ms", start.elapsed().as_secs_f64() * 1e3);
    let plate = kinds.get("rectifier-plate").unwrap();
    for _ in 0..2 {
        let start = Instant::now();
        let shelf = index.load(plate).unwrap();
        let took = start.elapsed().as_secs_f64() * 1e3;
        let (rows, columns) = (shelf.table.len(), shelf.table.columns.len());
        println!("loaded  {rows} x {columns} in {took:.1} ms, {} pairs", shelf.kin.pairs.len());
        let start = Instant::now();
        drop(shelf.lending(plate));
        println!("lent    in {:.1} ms", start.elapsed().as_secs_f64() * 1e3);
    }
    let one_typo = |random: &mut ChaCha8Rng, text: &str| typo(random, text);
    time(&index, &numbers, "itself", |_, text| text.to_lowercase());
    time(&index, &numbers, "one typo", one_typo);
    time(&index, &numbers, "two typos", |random, text| {
        let once = typo(random, text);
        typo(random, &once)
    });
    time(&index, &numbers, "middle five", |_, text| text[2..7].to_owned());
    time(&index, &numbers, "last five", |_, text| text[text.len() - 5..].to_owned());
    time(&index, &numbers, "middle three", |_, text| text[3..6].to_owned());
    time(&index, &numbers, "one worn", |_, text| format!("{}?{}", &text[..3], &text[4..]));
    time(&index, &numbers, "worn start", |_, text| format!("*{}?{}", &text[3..6], &text[7..]));
}

/// User and system time of all our threads; in ticks of 10 ms, as Linux counts them.
fn core_seconds() -> f64 {
    let stat = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let ticks = stat.split(' ').skip(13).take(2).filter_map(|field| field.parse::<f64>().ok());
    ticks.sum::<f64>() / 100.0
}

fn time(
    index: &Index,
    numbers: &[String],
    what: &str,
    spoil: impl Fn(&mut ChaCha8Rng, &str) -> String,
) {
    let mut random = ChaCha8Rng::seed_from_u64(11);
    let (mut took, mut found) = (Vec::new(), 0);
    for _ in 0..200 {
        let true_number = &numbers[random.random_range(0..numbers.len())];
        let text = spoil(&mut random, &number::fold(true_number));
        let start = Instant::now();
        let hits = index.find(&text, 20).unwrap();
        took.push(start.elapsed().as_secs_f64() * 1e3);
        found += usize::from(hits.iter().any(|hit| &hit.number == true_number));
    }
    took.sort_by(f64::total_cmp);
    println!(
        "{what:<13} p50 {:.2} ms, p95 {:.2} ms, worst {:.2} ms, true part in 20: {found} of 200",
        took[100], took[190], took[199]
    );
}

fn typo(random: &mut ChaCha8Rng, text: &str) -> String {
    let mut letters: Vec<char> = text.chars().collect();
    let at = random.random_range(0..letters.len() - 1);
    let other = char::from(b'0' + random.random_range(0..10));
    match random.random_range(0..4) {
        0 => letters[at] = other,
        1 => letters.insert(at, other),
        2 => drop(letters.remove(at)),
        _ => letters.swap(at, at + 1),
    }
    letters.into_iter().collect()
}

fn family_parts(
    random: &mut ChaCha8Rng,
    kind: &binwright_catalog::Kind,
    share: usize,
    next: &mut usize,
) -> Vec<Entry> {
    const WORDS: [&str; 8] =
        ["heavy", "duty", "sealed", "plate", "twelve", "volt", "reman", "marine"];
    let mut entries = Vec::with_capacity(share);
    while entries.len() < share {
        let stem = format!(
            "{}{}-{:06}",
            char::from(b'A' + random.random_range(0..26)),
            char::from(b'A' + random.random_range(0..26)),
            random.random_range(0..1_000_000)
        );
        let base: Vec<f64> = kind
            .measures
            .iter()
            .map(|measure| match (measure.range, measure.choices.len()) {
                (Some([low, high]), _) => (random.random_range(low..=high) * 10.0).round() / 10.0,
                (None, choices) => random.random_range(0..choices.max(12)) as f64,
            })
            .collect();
        let points: Vec<PackedPoint> =
            (0..6).map(|_| PackedPoint(random.random::<u64>() >> 4)).collect();
        for variant in 0..random.random_range(1..=12).min(share - entries.len()) {
            let mut values = base.clone();
            for value in &mut values {
                if random.random_bool(0.15) {
                    *value = UNKNOWN;
                } else if random.random_bool(0.1) {
                    *value += 1.5;
                }
            }
            let other = format!("{:08}", random.random_range(0..100_000_000));
            entries.push(Entry {
                part: *next as u64 + 1,
                kind: kind.key.clone(),
                house: format!("{stem}{}", char::from(b'A' + variant as u8)),
                numbers: if random.random_bool(0.5) { vec![other] } else { Vec::new() },
                words: format!(
                    "{} {} {}",
                    kind.label,
                    WORDS[random.random_range(0..8)],
                    WORDS[random.random_range(0..8)]
                ),
                group: *next as u64 + 1,
                values,
                points: points.clone(),
            });
            *next += 1;
        }
    }
    entries
}
