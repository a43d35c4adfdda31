//! How long does advice for a whole shop take?
//!
//! `cargo bench -p binwright-tests --bench buying [-- PARTS ...]`. Invented parts (seed 11), most of them
//! intermittent, over 51 months, advised on at 95 % with a month of lead and of review: levels, reasons and
//! the table of past losses. Beside ours in the same run: SBA and a negative binomial for each part alone.
//!
//! Then the basket: 300 invented lines that six suppliers offer with breaks, packs, minimum orders and freight
//! that is free from some amount on, to be found within five seconds; and how much less any basket can cost.

use std::time::Instant;

use binwright_buying::basket::{Limits, Line as Order, Offer, Proof, Supplier, basket};
use binwright_buying::{Input, Item, Line, Method, Supply, Target, advise};
use binwright_catalog::{Currency, Money, Quantity};
use binwright_tests::corpus::{Dice, dice};
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
    of_basket(&mut report)?;
    Ok(())
}

fn of_basket(report: &mut Report) -> Result<(), Box<dyn std::error::Error>> {
    let (suppliers, lines) = wanted(300, 6);
    let limits = Limits { seconds: 4.5, gap_share: 0.001 };
    let begun = Instant::now();
    let found = basket(Currency::EUR, &suppliers, &lines, limits)?;
    let seconds = begun.elapsed().as_secs_f64();
    report.of(lines.len(), "300 lines, 6 suppliers");
    report.figure("basket", seconds, "s", Goal::AtMost(5.0));
    let gap = match found.proof {
        Proof::Least => 0.0,
        Proof::Within(gap) => 100.0 * gap.minor as f64 / found.cost.minor as f64,
        Proof::RuleOfThumb => f64::NAN,
    };
    report.figure("no basket costs less by more than", gap, "%", Goal::None);
    Ok(())
}

fn wanted(lines: usize, suppliers: usize) -> (Vec<Supplier>, Vec<Order>) {
    let mut dice = dice(12);
    let euros = |minor: i64| Money { minor, currency: Currency::EUR };
    let supplier = |nth: usize| Supplier {
        name: format!("Supplier {nth}"),
        rate: 1.into(),
        order_minimum: euros(800_000),
        freight: euros(45_000),
        freight_free_from: Some(euros(2_400_000 + 300_000 * nth as i64)),
    };
    let suppliers: Vec<Supplier> = (0..suppliers).map(supplier).collect();
    let orders = (0..lines)
        .map(|nth| {
            let (price, wanted) = (dice.random_range(150..9_000), dice.random_range(1..25));
            let offer = |supplier: usize, dice: &mut Dice| {
                let each = price * dice.random_range(90..120) / 100;
                let pack = Quantity::from([1_u32, 1, 5, 10][dice.random_range(0..4)]);
                let breaks = [(1_u32, each), (10, each * 95 / 100), (25, each * 88 / 100)];
                Offer {
                    supplier,
                    number: format!("{supplier}-{nth}"),
                    pack,
                    minimum: pack,
                    breaks: breaks.map(|(from, each)| (Quantity::from(from), euros(each))).into(),
                    lead_days: dice.random_range(2..40),
                }
            };
            let mut offers = Vec::new();
            for at in 0..suppliers.len() {
                if dice.random_bool(0.6) {
                    offers.push(offer(at, &mut dice));
                }
            }
            Order {
                part: format!("P{nth}"),
                wanted: Quantity::from(wanted),
                spare: None,
                day_costs: euros(price * i64::from(wanted) / 500),
                left_costs: euros(price * i64::from(wanted) * 10 + 100_000),
                offers,
            }
        })
        .collect();
    (suppliers, orders)
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
