//! Is the basket the cheapest there is, and is every figure on it right?
//!
//! Small random baskets are compared, to the cent, with one that tries everything and knows the rules
//! in its own words; larger ones are re-priced and checked against the terms.

#![allow(clippy::unwrap_used, reason = "a test may stop where its ground gives way")]

use binwright_buying::basket::{
    Basket, BasketError, Limits, Line, Offer, Proof, Spare, Supplier, basket,
};
use binwright_catalog::{Currency, Money, Quantity};
use proptest::prelude::*;
use rust_decimal::Decimal;

const EXACT: Limits = Limits { seconds: 20.0, gap_share: 0.0 };

fn eur(minor: i64) -> Money {
    Money { minor, currency: Currency::EUR }
}

fn supplier(minimum: i64, freight: i64, free_from: Option<i64>) -> Supplier {
    Supplier {
        name: "Nordwell".into(),
        rate: Decimal::ONE,
        order_minimum: eur(minimum),
        freight: eur(freight),
        freight_free_from: free_from.map(eur),
    }
}

fn offer(supplier: usize, breaks: &[(i32, i64)]) -> Offer {
    Offer {
        supplier,
        number: format!("S{supplier}"),
        pack: Quantity::ONE,
        minimum: Quantity::ONE,
        breaks: breaks.iter().map(|&(from, each)| (Quantity::whole(from), eur(each))).collect(),
        lead_days: 0,
    }
}

fn line(wanted: i32, offers: Vec<Offer>) -> Line {
    Line {
        part: "RP 0001".into(),
        wanted: Quantity::whole(wanted),
        spare: None,
        day_costs: eur(0),
        left_costs: eur(1_000_000),
        offers,
    }
}

fn spare(most: i32, worth_each: i64) -> Spare {
    Spare { most: Quantity::whole(most), worth_each: eur(worth_each) }
}

fn least(suppliers: &[Supplier], lines: &[Line]) -> Basket {
    let found = basket(Currency::EUR, suppliers, lines, EXACT).unwrap();
    assert_eq!(found.proof, Proof::Least);
    found
}

/// Supplier, pieces and freight of every order.
fn orders(found: &Basket) -> Vec<(usize, Vec<i64>, i64)> {
    let pieces = |order: &binwright_buying::basket::BasketOrder| {
        order.lines.iter().map(|bought| bought.quantity.thousandths() / 1000).collect()
    };
    found.orders.iter().map(|o| (o.supplier, pieces(o), o.freight.minor)).collect()
}

/// Freight 12.00, free from 100.00; 9 wanted at 10.00. One more piece costs 10.00 and saves 12.00.
#[test]
fn an_order_is_filled_up_to_the_threshold_only_where_that_costs_less_than_the_freight() {
    let terms = [supplier(0, 1_200, Some(10_000))];
    let with = |extra| Line { spare: extra, ..line(9, vec![offer(0, &[(1, 1_000)])]) };
    let slow = least(&terms, &[with(None)]);
    assert_eq!((orders(&slow), slow.cost), (vec![(0, vec![9], 1_200)], eur(10_200)));
    let worthless = least(&terms, &[with(Some(spare(5, 0)))]);
    assert_eq!((orders(&worthless), worthless.paid), (vec![(0, vec![10], 0)], eur(10_000)));
    // Four more are needed of the dearer part: each loses 4.00 against its worth, 16.00 in all.
    let far = Line { spare: Some(spare(9, 600)), ..line(6, vec![offer(0, &[(1, 1_000)])]) };
    assert_eq!(orders(&least(&terms, &[far])), [(0, vec![6], 1_200)]);
    let near = Line { spare: Some(spare(9, 900)), ..line(6, vec![offer(0, &[(1, 1_000)])]) };
    let filled = least(&terms, &[near]);
    assert_eq!((orders(&filled), filled.cost), (vec![(0, vec![10], 0)], eur(10_000 - 4 * 900)));
}

#[test]
fn all_pieces_cost_the_price_of_the_break_that_is_reached() {
    let terms = [supplier(0, 0, None)];
    // 9 cost 90.00, 10 cost 80.00: the tenth is a present. 5 cost 50.00 and stay five.
    let rows = [("just below", 9, 10, 8_000), ("on it", 10, 10, 8_000), ("far below", 5, 5, 5_000)];
    for (shows, wanted, bought, paid) in rows {
        let found = least(&terms, &[line(wanted, vec![offer(0, &[(1, 1_000), (10, 800)])])]);
        assert_eq!(
            (orders(&found), found.paid),
            (vec![(0, vec![bought], 0)], eur(paid)),
            "{shows}"
        );
    }
}

#[test]
fn packs_and_minimum_quantities_are_kept() {
    let packed = |pack, minimum| Offer {
        pack: Quantity::whole(pack),
        minimum: Quantity::whole(minimum),
        ..offer(0, &[(1, 100)])
    };
    let rows = [(5, 1, 10), (1, 8, 8), (5, 8, 10), (4, 8, 8), (3, 1, 9)];
    for (pack, minimum, bought) in rows {
        let found = least(&[supplier(0, 0, None)], &[line(7, vec![packed(pack, minimum)])]);
        assert_eq!(orders(&found), [(0, vec![bought], 0)], "packs of {pack}, {minimum} at least");
    }
}

#[test]
fn a_line_is_left_where_the_minimum_order_is_out_of_reach_or_nobody_sells_it() {
    let terms = [supplier(5_000, 0, None)];
    let small = line(2, vec![offer(0, &[(1, 1_000)])]);
    let found = least(&terms, &[small.clone(), line(1, Vec::new())]);
    assert_eq!((orders(&found), found.left.as_slice()), (vec![], &[0, 1][..]));
    // A second line brings the order over its minimum.
    let found = least(&terms, &[small, line(3, vec![offer(0, &[(1, 1_000)])])]);
    assert_eq!((orders(&found), found.left.len()), (vec![(0, vec![2, 3], 0)], 0));
}

#[test]
fn a_shorter_way_is_worth_what_its_days_are() {
    let offers = vec![
        Offer { lead_days: 10, ..offer(0, &[(1, 1_000)]) },
        Offer { lead_days: 2, ..offer(1, &[(1, 1_100)]) },
    ];
    let terms = [supplier(0, 0, None), supplier(0, 0, None)];
    // One piece, eight days: dearer by 1.00.
    for (day_costs, from) in [(12, 0), (13, 1)] {
        let due = Line { day_costs: eur(day_costs), ..line(1, offers.clone()) };
        assert_eq!(orders(&least(&terms, &[due]))[0].0, from, "{day_costs} a day");
    }
}

#[test]
fn thresholds_are_in_the_suppliers_currency_and_costs_in_the_shops() {
    let dollar: Currency = "USD".parse().unwrap();
    let usd = |minor| Money { minor, currency: dollar };
    let terms = [Supplier {
        name: "Overseas".into(),
        rate: "0.5".parse().unwrap(),
        order_minimum: usd(2_000),
        freight: usd(1_001),
        freight_free_from: Some(usd(3_000)),
    }];
    let sold = Offer { breaks: vec![(Quantity::ONE, usd(999))], ..offer(0, &[]) };
    let found = least(&terms, &[line(3, vec![sold.clone()])]);
    // 3 x 9.99 = 29.97 USD = 14.985 -> 14.99 EUR; freight 10.01 USD = 5.005 -> 5.01 EUR.
    assert_eq!((found.orders[0].goods, found.orders[0].freight), (usd(2_997), usd(1_001)));
    assert_eq!(found.paid, eur(1_499 + 501));
    let mixed = Offer { breaks: vec![(Quantity::ONE, eur(999))], ..sold };
    let refused = basket(Currency::EUR, &terms, &[line(3, vec![mixed])], EXACT);
    assert!(matches!(refused, Err(BasketError::Money(_))), "{refused:?}");
}

#[test]
fn what_makes_no_sense_is_refused_by_name() {
    let terms = [supplier(0, 0, None)];
    let good = offer(0, &[(1, 100)]);
    let refused = |terms: &[Supplier], line: Line| {
        basket(Currency::EUR, terms, &[line], EXACT).unwrap_err().to_string()
    };
    let rows = [
        (line(0, vec![]), "the quantity wanted of `RP 0001` is not above nought"),
        (
            line(1, vec![offer(1, &[(1, 1)])]),
            "offer `S1` for `RP 0001` names no supplier in the list",
        ),
        (line(1, vec![offer(0, &[])]), "offer `S0` has no price"),
        (
            line(1, vec![Offer { pack: Quantity::ZERO, ..good }]),
            "the pack of offer `S0` is not above nought",
        ),
        (
            line(1, vec![offer(0, &[(5, 1), (5, 2)])]),
            "the price breaks of offer `S0` do not rise in quantity",
        ),
    ];
    for (wrong, says) in rows {
        assert_eq!(refused(&terms, wrong), says);
    }
    let rate = Supplier { rate: Decimal::ZERO, ..terms[0].clone() };
    assert_eq!(refused(&[rate], line(1, vec![])), "the rate `0` of `Nordwell` is not above nought");
}

/// No time at all: the rule of thumb answers, and says that it is one.
#[test]
fn without_time_the_basket_is_by_rule_of_thumb_and_says_so() {
    let terms = [supplier(0, 500, None), supplier(0, 500, None)];
    let lines = [
        line(1, vec![offer(0, &[(1, 1_000)]), offer(1, &[(1, 1_100)])]),
        line(1, vec![offer(0, &[(1, 1_100)]), offer(1, &[(1, 1_000)])]),
    ];
    let none = Limits { seconds: 0.0, gap_share: 0.0 };
    let found = basket(Currency::EUR, &terms, &lines, none).unwrap();
    assert_eq!((found.proof, found.cost), (Proof::RuleOfThumb, eur(2_600)));
}

/// Everything that can be ordered, tried in turn; the rules once more in other words.
///
/// Quantities: multiples of the pack that reach what is wanted and the minimum, up to what is useful, or
/// the first multiple in a price break. All of them are tried: one that is dearer than a smaller one
/// and no use is never part of the cheapest basket, unless to reach a threshold, and for that only
/// what has a use may be bought.
fn by_trying_all(suppliers: &[Supplier], lines: &[Line]) -> i64 {
    let ways: Vec<Vec<(Option<usize>, i64, i64)>> =
        lines.iter().map(|l| ways(l, suppliers)).collect();
    let mut at = vec![0; lines.len()];
    let mut best = i64::MAX;
    loop {
        let mut goods = vec![0; suppliers.len()];
        let mut used = vec![false; suppliers.len()];
        let mut cost = 0;
        for (ways, &at) in ways.iter().zip(&at) {
            let (supplier, amount, net) = ways[at];
            cost += net;
            if let Some(supplier) = supplier {
                goods[supplier] += amount;
                used[supplier] = true;
            }
        }
        let mut allowed = true;
        for (place, terms) in suppliers.iter().enumerate().filter(|(place, _)| used[*place]) {
            allowed &= goods[place] >= terms.order_minimum.minor;
            if terms.freight_free_from.is_none_or(|from| goods[place] < from.minor) {
                cost += in_cents(Decimal::from(terms.freight.minor) * terms.rate);
            }
        }
        if allowed {
            best = best.min(cost);
        }
        let Some(place) = (0..at.len()).find(|&place| at[place] + 1 < ways[place].len()) else {
            return best;
        };
        at[place] += 1;
        at[..place].fill(0);
    }
}

fn in_cents(amount: Decimal) -> i64 {
    use rust_decimal::prelude::ToPrimitive;
    let half_away = rust_decimal::RoundingStrategy::MidpointAwayFromZero;
    amount.round_dp_with_strategy(0, half_away).to_i64().unwrap()
}

/// Supplier, goods in its cents, net cost in ours; whole pieces throughout.
fn ways(line: &Line, suppliers: &[Supplier]) -> Vec<(Option<usize>, i64, i64)> {
    let pieces = |quantity: Quantity| quantity.thousandths() / 1000;
    let wanted = pieces(line.wanted);
    let (most, worth) = line.spare.map_or((0, 0), |s| (pieces(s.most), s.worth_each.minor));
    let mut all = vec![(None, 0, line.left_costs.minor)];
    for offer in &line.offers {
        let mut least = i64::MAX;
        for n in wanted.max(pieces(offer.minimum))..200 {
            let each_at = |n: i64| {
                let reached = offer.breaks.iter().rfind(|(from, _)| pieces(*from) <= n);
                reached.unwrap_or(&offer.breaks[0]).1.minor
            };
            let pack = pieces(offer.pack);
            if n % pack != 0 {
                continue;
            }
            let amount = n * each_at(n);
            let net = in_cents(Decimal::from(amount) * suppliers[offer.supplier].rate)
                + i64::from(offer.lead_days) * line.day_costs.minor
                - (n - wanted).min(most) * worth;
            if n <= wanted + most || net < least {
                all.push((Some(offer.supplier), amount, net));
            }
            least = least.min(net);
        }
    }
    all
}

fn any_supplier() -> impl Strategy<Value = Supplier> {
    let rate = prop_oneof![Just("1"), Just("0.8731"), Just("1.25")];
    (rate, 0..6_000i64, 0..2_500i64, proptest::option::of(1_000..12_000i64)).prop_map(
        |(rate, minimum, freight, free)| Supplier {
            rate: rate.parse().unwrap(),
            ..supplier(minimum, freight, free)
        },
    )
}

fn any_offer(suppliers: usize) -> impl Strategy<Value = Offer> {
    (0..suppliers, 1..4i32, 1..6i32, 200..1_500i64, 2..12i32, 50..100i64, 0..15u32).prop_map(
        |(at, pack, minimum, each, from, percent, lead_days)| Offer {
            pack: Quantity::whole(pack),
            minimum: Quantity::whole(minimum),
            lead_days,
            ..offer(at, &[(1, each), (from, each * percent / 100)])
        },
    )
}

fn any_line(suppliers: usize) -> impl Strategy<Value = Line> {
    let extra = proptest::option::of((1..5i32, 0..900i64));
    let offers = proptest::collection::vec(any_offer(suppliers), 0..4);
    (1..8i32, extra, 0..40i64, 500..20_000i64, offers).prop_map(
        |(wanted, extra, day_costs, left_costs, offers)| Line {
            spare: extra.map(|(most, worth)| spare(most, worth)),
            day_costs: eur(day_costs),
            left_costs: eur(left_costs),
            ..line(wanted, offers)
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn a_small_basket_costs_what_trying_everything_finds(
        (suppliers, lines) in (1..4usize).prop_flat_map(|n| (
            proptest::collection::vec(any_supplier(), n),
            proptest::collection::vec(any_line(n), 1..5),
        )),
    ) {
        let found = least(&suppliers, &lines);
        prop_assert_eq!(found.cost.minor, by_trying_all(&suppliers, &lines));
        for order in &found.orders {
            let terms = &suppliers[order.supplier];
            let goods: i64 = order.lines.iter().map(|bought| bought.amount.minor).sum();
            prop_assert_eq!(goods, order.goods.minor);
            prop_assert!(goods >= terms.order_minimum.minor);
        }
        let hasty = Limits { seconds: 0.0, gap_share: 0.0 };
        let thumb = basket(Currency::EUR, &suppliers, &lines, hasty).unwrap();
        prop_assert!(thumb.cost.minor >= found.cost.minor);
    }
}
