//! How long does advice for a whole shop take?
//!
//! `cargo bench -p binwright-tests --bench buying [-- PARTS ...]`. Invented parts (seed 11), most of them
//! intermittent, over 51 months, advised on at 95 % with a month of lead and of review: levels, reasons and
//! the table of past losses. Beside ours in the same run: SBA and a negative binomial for each part alone.

#![allow(clippy::print_stdout, reason = "a bench reports")]

use binwright_buying::{Input, Item, Line, Method, Supply, Target, advise};
use binwright_catalog::Quantity;
use binwright_tests::corpus::dice;
use binwright_tests::timing::{core_seconds, sizes};
use jiff::ToSpan;
use jiff::civil::date;
use rand::Rng;

const MONTHS: i32 = 51;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    for parts in sizes(&[2_700, 100_000]) {
        let question = question(parts);
        let (alone, _) = core_seconds(|| levels_alone(&question));
        let (seconds, plan) = core_seconds(|| advise(&question));
        let plan = plan?;
        let units: u64 = plan.advice.iter().map(|line| line.order_up_to).sum();
        let goal = if parts > 10_000 { "8 s on two cores" } else { "0.2 s on one core" };
        println!("{parts} parts x {MONTHS} months, {units} units in all levels");
        println!("  advice                 {seconds:>8.3} s of processor time, goal {goal}");
        println!("  sba, each part alone   {alone:>8.3} s");
        for past in plan.past {
            println!(
                "  {:<26} lost {:.4} over {} looks",
                past.method.word(),
                past.loss,
                past.looks
            );
        }
    }
    Ok(())
}

fn question(parts: usize) -> Input {
    let mut dice = dice(11);
    let first = date(2022, 1, 1);
    let items = (0..parts)
        .map(|_| {
            let (often, size) = (dice.random_range(0.02..0.7), dice.random_range(1..6));
            let lines = (0..MONTHS).map(|month| {
                let sold = if dice.random_bool(often) { dice.random_range(1..=size) } else { 0 };
                Line::of_month(first.saturating_add(month.months()), Quantity::whole(sold))
            });
            let lines = lines.collect();
            let supply = Supply { lead_months: 1.0, ..Supply::default() };
            Item { lines, supply, ..Item::default() }
        })
        .collect();
    Input {
        as_of: date(2026, 3, 31),
        items,
        target: Target::CycleService(0.95),
        review_months: 1.0,
        budget: None,
        holding_a_year: 0.25,
        method: None,
    }
}

fn levels_alone(question: &Input) -> u64 {
    let level = |item: &Item| {
        let months = binwright_buying::History::gather(&item.lines, question.as_of).months;
        let demand = Method::Sba.alone(&months, item.supply.lead_months + question.review_months);
        demand.map_or(0, |demand| demand.level_for_cycle_service(question.target.share()))
    };
    question.items.iter().map(level).sum()
}
