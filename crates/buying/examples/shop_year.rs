//! How long does advice for a whole shop take? Invented intermittent parts over 51 months.
//! `cargo run --release -p binwright-buying --example shop_year -- PARTS`.

#![allow(clippy::disallowed_methods, clippy::print_stdout, reason = "it measures and reports")]

use std::time::Instant;

use binwright_buying::{Input, Item, Line, Supply, Target, advise};
use binwright_catalog::Quantity;
use jiff::civil::date;
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let parts: usize = std::env::args().nth(1).map_or(Ok(2_700), |text| text.parse())?;
    let mut chance = ChaCha8Rng::seed_from_u64(11);
    let first = date(2022, 1, 1);
    let items = (0..parts)
        .map(|_| {
            let (often, size) = (chance.random_range(0.02..0.7), chance.random_range(1..6));
            let lines = (0..51)
                .map(|month| {
                    let sold =
                        if chance.random_bool(often) { chance.random_range(1..=size) } else { 0 };
                    let day = first.saturating_add(jiff::Span::new().months(month));
                    Line::of_month(day, Quantity::whole(sold))
                })
                .collect();
            let supply = Supply { lead_months: 1.0, ..Supply::default() };
            Item { lines, supply, ..Item::default() }
        })
        .collect();
    let question = Input {
        as_of: date(2026, 3, 31),
        items,
        target: Target::CycleService(0.95),
        review_months: 1.0,
        budget: None,
        holding_a_year: 0.25,
        method: None,
    };
    let start = Instant::now();
    let plan = advise(&question)?;
    let seconds = start.elapsed().as_secs_f64();
    let units: u64 = plan.advice.iter().map(|line| line.order_up_to).sum();
    println!("{parts} parts x 51 months: {seconds:.3} s on one core, {units} units in all levels");
    for past in plan.past {
        println!("{:<26} {:.4} over {} looks", past.method.word(), past.loss, past.looks);
    }
    Ok(())
}
