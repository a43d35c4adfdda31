//! Does a quote add up to the cent, whatever is rounded on the way?

#![allow(clippy::unwrap_used, reason = "test code")]

use std::collections::BTreeMap;

use binwright_catalog::{Condition, Currency, Money, Quantity};
use binwright_quoting::{LineClass, Quote, Terms, Wanted, last_day};
use jiff::civil::date;
use proptest::prelude::*;
use rust_decimal::Decimal;

fn eur(amount: &str) -> Money {
    Money::parse(amount, Currency::EUR).unwrap()
}

/// Invented terms; the core deposit is not taxed here.
fn terms() -> Terms {
    let percent = Decimal::new(190, 1);
    let taxed = [LineClass::Part, LineClass::Labour, LineClass::Consumable];
    Terms {
        labour_hour: eur("72.00"),
        labour_minimum: eur("25.00"),
        tax_percent: BTreeMap::from(taxed.map(|class| (class, percent))),
        round_to_minor: 1,
    }
}

fn goods(class: LineClass, words: &str, quantity: Quantity, each: &str) -> Wanted {
    let part = (class == LineClass::Part).then(|| (words.to_owned(), Condition::New));
    Wanted::Goods { class, words: words.to_owned(), part, quantity, each: eur(each) }
}

/// By hand: 45 + 20 min at 72 an hour = 78.00; 39.95 + 78.00 + 6 × 0.35 = 120.05; 19 % of 39.95 is
/// 7.59, of 78.00 14.82, of 2.10 0.40; 40.00 deposit untaxed.
#[test]
fn a_quote_by_hand_comes_out_the_same() {
    let wanted = [
        goods(LineClass::Part, "PL-1", Quantity::ONE, "39.95"),
        Wanted::Labour { words: "set the plate".to_owned(), minutes: 45 },
        Wanted::Labour { words: "brushes".to_owned(), minutes: 20 },
        goods(LineClass::Consumable, "solder, g", Quantity::whole(6), "0.35"),
        goods(LineClass::CoreDeposit, "old plate", Quantity::ONE, "40.00"),
    ];
    let quote = Quote::priced(&wanted, &terms()).unwrap();
    let nets: Vec<Money> = quote.lines.iter().map(|line| line.net).collect();
    assert_eq!(nets, ["39.95", "54.00", "24.00", "2.10", "40.00"].map(eur));
    assert_eq!((quote.net, quote.tax, quote.total), (eur("160.05"), eur("22.81"), eur("182.86")));
    assert_eq!(quote.lines[4].tax, eur("0"));
}

#[test]
fn little_work_costs_the_minimum_and_none_costs_nothing() {
    let little = [5, 2].map(|minutes| Wanted::Labour { words: "look".to_owned(), minutes });
    let quote = Quote::priced(&little, &terms()).unwrap();
    let nets: Vec<Money> = quote.lines.iter().map(|line| line.net).collect();
    assert_eq!(nets, [eur("17.86"), eur("7.14")], "25.00 in the ratio 5 to 2");
    let none = Quote::priced(&[], &terms()).unwrap();
    assert_eq!(none.total, eur("0"));
}

#[test]
fn totals_round_to_the_stated_step() {
    let terms = Terms { round_to_minor: 5, ..terms() };
    let rows = [("10.02", "10.00", "-0.02"), ("10.03", "10.05", "0.02"), ("10.05", "10.05", "0")];
    for (price, total, rounding) in rows {
        let one = [goods(LineClass::CoreDeposit, "deposit", Quantity::ONE, price)];
        let quote = Quote::priced(&one, &terms).unwrap();
        assert_eq!((quote.total, quote.rounding), (eur(total), eur(rounding)), "{price}");
    }
}

#[test]
fn a_quote_holds_until_the_last_of_its_days() {
    assert_eq!(last_day(date(2031, 2, 20), 14).unwrap(), date(2031, 3, 6));
    assert_eq!(last_day(date(2031, 2, 20), 0).unwrap(), date(2031, 2, 20));
    assert!(last_day(date(2031, 1, 1), -1).is_err());
    assert!(last_day(date(9999, 12, 31), 1).is_err());
}

#[test]
fn two_currencies_are_refused() {
    let dollars = Money::parse("5", "USD".parse().unwrap()).unwrap();
    let mixed = Terms { labour_minimum: dollars, ..terms() };
    assert!(Quote::priced(&[], &mixed).is_err());
}

proptest! {
    #[test]
    fn lines_taxes_and_rounding_add_up_to_the_total(
        prices in prop::collection::vec((0..50_000_i64, 1..9_000_i64, 0..3_u8), 0..12),
        minutes in prop::collection::vec(0..300_u32, 0..4),
        step in prop::sample::select(vec![1_i64, 5, 10, 100]),
    ) {
        let classes = [LineClass::Part, LineClass::Consumable, LineClass::CoreDeposit];
        let mut wanted: Vec<Wanted> = prices
            .iter()
            .map(|(minor, thousandths, class)| Wanted::Goods {
                class: classes[*class as usize],
                words: String::new(),
                part: None,
                quantity: Quantity::from_thousandths(*thousandths),
                each: Money { minor: *minor, currency: Currency::EUR },
            })
            .collect();
        wanted.extend(minutes.iter().map(|m| Wanted::Labour { words: String::new(), minutes: *m }));
        let quote =
            Quote::priced(&wanted, &Terms { round_to_minor: step, ..terms() }).unwrap();
        let net: i64 = quote.lines.iter().map(|line| line.net.minor).sum();
        let tax: i64 = quote.lines.iter().map(|line| line.tax.minor).sum();
        prop_assert_eq!(net, quote.net.minor);
        prop_assert_eq!(tax, quote.tax.minor);
        prop_assert_eq!(net + tax + quote.rounding.minor, quote.total.minor);
        prop_assert_eq!(quote.total.minor % step, 0);
        prop_assert!(quote.rounding.minor.abs() * 2 <= step);
    }
}
