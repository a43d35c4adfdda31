//! How long does a basket of 300 lines at 6 suppliers take, and how close to the least is it?
//!
//! `cargo run --release -p binwright-buying --example basket`. Invented lines, drawn with the seed that
//! is printed; figures are of one run.

#![allow(
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "an example measures and prints"
)]

use std::time::Instant;

use binwright_buying::basket::{Limits, Line, Offer, Proof, Spare, Supplier, basket};
use binwright_catalog::{Currency, Money, Quantity};
use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    for (lines, suppliers, tightness) in
        [(60, 4, 1), (300, 6, 1), (300, 6, 12), (300, 6, 25), (300, 6, 50)]
    {
        for seed in 1..=3 {
            let (suppliers, lines) = drawn(seed, lines, suppliers, tightness)?;
            let none = Limits { seconds: 0.0, gap_share: 0.0 };
            let thumb = basket(Currency::EUR, &suppliers, &lines, none)?;
            let start = Instant::now();
            let limits = Limits { seconds: 5.0, gap_share: 0.0 };
            let found = basket(Currency::EUR, &suppliers, &lines, limits)?;
            let took = start.elapsed().as_secs_f64();
            println!(
                "{} lines, {} suppliers, thresholds x{tightness}, seed {seed}: {took:.2} s, {} ({}), \
                 by rule of thumb {}, {} orders, {} left",
                lines.len(),
                suppliers.len(),
                found.cost,
                match found.proof {
                    Proof::Least => "least".to_owned(),
                    Proof::Within(gap) => format!("within {gap}"),
                    Proof::RuleOfThumb => "rule of thumb".to_owned(),
                },
                thumb.cost,
                found.orders.len(),
                found.left.len(),
            );
        }
    }
    Ok(())
}

/// Suppliers whose thresholds grow with `tightness`, and lines that two in three of them sell.
fn drawn(
    seed: u64,
    lines: usize,
    suppliers: usize,
    tightness: i64,
) -> Result<(Vec<Supplier>, Vec<Line>), Box<dyn std::error::Error>> {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let other: Currency = "USD".parse()?;
    let eur = |minor| Money { minor, currency: Currency::EUR };
    let suppliers: Vec<Supplier> = (0..suppliers)
        .map(|at| {
            let currency = if at % 3 == 2 { other } else { Currency::EUR };
            let money = |minor| Money { minor, currency };
            Supplier {
                name: format!("S{at}"),
                rate: if at % 3 == 2 { "0.8731" } else { "1" }.parse().unwrap_or_default(),
                order_minimum: money(rng.random_range(2_000..8_000) * tightness),
                freight: money(rng.random_range(800..3_500)),
                freight_free_from: Some(money(rng.random_range(15_000..60_000) * tightness)),
            }
        })
        .collect();
    let lines = (0..lines)
        .map(|at| {
            let price = 10_f64.powf(rng.random_range(2.3..3.9));
            let wanted = rng.random_range(1..25);
            let offers = suppliers
                .iter()
                .enumerate()
                .filter_map(|(supplier, terms)| {
                    if rng.random_bool(0.34) {
                        return None;
                    }
                    let each = |share: f64| Money {
                        minor: (price * share) as i64,
                        currency: terms.order_minimum.currency,
                    };
                    let share = rng.random_range(0.97..1.03);
                    Some(Offer {
                        supplier,
                        number: format!("{supplier}-{at}"),
                        pack: Quantity::whole([1, 1, 2, 5][rng.random_range(0..4)]),
                        minimum: Quantity::whole(1),
                        breaks: vec![
                            (Quantity::whole(1), each(share)),
                            (Quantity::whole(10), each(share * 0.95)),
                            (Quantity::whole(50), each(share * 0.88)),
                        ],
                        lead_days: rng.random_range(1..15),
                    })
                })
                .collect();
            Line {
                part: format!("P{at}"),
                wanted: Quantity::whole(wanted),
                spare: rng.random_bool(0.3).then(|| Spare {
                    most: Quantity::whole(wanted),
                    worth_each: eur((price * 0.9) as i64),
                }),
                day_costs: eur(rng.random_range(0..20)),
                left_costs: eur((price * f64::from(wanted)) as i64 * 2 + 1_000),
                offers,
            }
        })
        .collect();
    Ok((suppliers, lines))
}
