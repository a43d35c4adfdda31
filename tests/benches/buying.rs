//! How long does advice for a whole shop take?
//!
//! `cargo bench -p binwright-tests --bench buying [-- PARTS ...]`. Invented parts (seed 11), most of them
//! intermittent, over 51 months, advised on at 95 % with a month of lead and of review: levels, reasons and
//! the table of past losses. Beside ours in the same run: SBA and a negative binomial for each part alone.

use binwright_buying::{Input, Item, Line, Method, Supply, Target, advise};
use binwright_catalog::Quantity;
use binwright_tests::corpus::dice;
use binwright_tests::figures::{Goal, Report};
use binwright_tests::timing::{core_seconds, sizes};
use jiff::ToSpan;
use jiff::civil::date;
use rand::Rng;

const MONTHS: i32 = 51;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let mut report = Report::begin("buying")?;
    for parts in sizes(&[2_700, 100_000]) {
        let question = question(parts);
        let (alone, _) = core_seconds(|| levels_alone(&question));
        let (seconds, plan) = core_seconds(|| advise(&question));
        let plan = plan?;
        report.of(parts, &format!("{parts} parts, {MONTHS} months"));
        let goal = match parts {
            2_700 => Goal::AtMost(0.2),
            100_000 => Goal::AtMost(8.0),
            _ => Goal::None,
        };
        report.figure("advice", seconds, "s", goal);
        report.figure("sba, each part alone", alone, "s", Goal::Yardstick);
        let units: u64 = plan.advice.iter().map(|line| line.order_up_to).sum();
        report.figure("in all levels together", units as f64, "units", Goal::None);
        for past in plan.past {
            let case = format!("past loss of {}", past.method.word());
            report.figure(&case, past.loss, "", Goal::None);
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
