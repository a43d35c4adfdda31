//! How long do the covers of twelve roles from ten thousand parts take?
//!
//! Measures: the median of 21 runs of [`covers`], and how many covers come out. Shelf: invented, seeded;
//! one part in ten is an assembly of two to four roles, half are in the bin, the others take 1 to 30
//! days and cost less the longer they take (so that few beat each other); ten pieces of rework. Run with `cargo run --release --example large_shelf`.

#![allow(clippy::print_stdout, clippy::disallowed_methods, reason = "measures and prints")]

use std::time::Instant;

use binwright_catalog::{Condition, Currency, Money, Quantity};
use binwright_quoting::{Candidate, Grade, Need, QuotingError, covers};

/// A small seeded sequence (xorshift), so that every run has the same shelf.
struct Seeded(u64);

impl Seeded {
    fn below(&mut self, limit: u64) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0 % limit
    }
}

fn shelf(parts: usize, roles: u64) -> Vec<Candidate> {
    let mut seeded = Seeded(0x5eed);
    let mut part = |at: usize| {
        let first = seeded.below(roles);
        let more = if seeded.below(10) == 0 { 1 + seeded.below(3) } else { 0 };
        let (free, days) = (seeded.below(2), 1 + seeded.below(30));
        let haste = if free == 0 { 30 - days } else { 30 };
        let price = (1 + more) * (1_000 + 300 * haste + seeded.below(500));
        Candidate {
            part: format!("P-{at}"),
            words: String::new(),
            roles: (0..=more).map(|next| format!("role-{}", (first + next) % roles)).collect(),
            price: Money { minor: price as i64, currency: Currency::EUR },
            condition: (at >= 10).then_some(Condition::New),
            free: Quantity::whole(free as i32),
            days: days as u32,
            minutes: 10 + seeded.below(60) as u32,
            remark: None,
        }
    };
    (0..parts).map(&mut part).collect()
}

fn main() -> Result<(), QuotingError> {
    let labour_hour = Money { minor: 7200, currency: Currency::EUR };
    let needs: Vec<Need> = (0..12)
        .map(|at| Need { role: format!("role-{at}"), pieces: 1, grade: Grade::Must })
        .collect();
    // 14 roles in the unit, 12 of them needed: some assemblies replace more than is called for.
    for parts in [1_000, 10_000] {
        let shelf = shelf(parts, 14);
        let mut runs = Vec::new();
        let mut found = 0;
        for _ in 0..21 {
            let start = Instant::now();
            found = covers(&needs, &shelf, labour_hour)?.covers.len();
            runs.push(start.elapsed());
        }
        runs.sort_unstable();
        println!("{parts} parts, 12 roles: {:.2?} (median of 21), {found} covers", runs[10]);
    }
    Ok(())
}
