//! Does the advice do what a buyer expects of it? Small invented shops, one claim each.

use binwright_buying::advise::{Cut, Trend};
use binwright_buying::{
    BuyingError, Input, Item, Line, Plan, Reason, Stock, Supply, Target, advise,
};
use binwright_catalog::{Currency, Money, Quantity};
use jiff::civil::{Date, date};

const AS_OF: Date = date(2026, 6, 30);

fn money(minor: i64) -> Money {
    Money { minor, currency: Currency::EUR }
}

/// A part that sold so many a month, oldest first, the last in the month of [`AS_OF`]; one month away.
fn sold(months: &[i32]) -> Item {
    let first = AS_OF.first_of_month();
    let lines = months.iter().rev().zip(0..).map(|(&sold, ago)| {
        Line::of_month(first.saturating_sub(jiff::Span::new().months(ago)), Quantity::whole(sold))
    });
    let supply = Supply { lead_months: 1.0, ..Supply::default() };
    Item { lines: lines.collect(), supply, ..Item::default() }
}

fn with_free(mut item: Item, free: i32) -> Item {
    item.stock = Stock { free: Quantity::whole(free), ..Stock::default() };
    item
}

fn shop(items: Vec<Item>) -> Input {
    Input {
        as_of: AS_OF,
        items,
        target: Target::CycleService(0.95),
        review_months: 1.0,
        budget: None,
        holding_a_year: 0.25,
        method: None,
    }
}

fn plan(items: Vec<Item>) -> Plan {
    advise(&shop(items)).expect("a sound question")
}

const STEADY: [i32; 24] = [2; 24];

#[test]
fn history_alone_is_enough() {
    let plan = plan(vec![sold(&STEADY), Item::default()]);
    let [part, unknown] = plan.advice.as_slice() else { panic!("two parts, two answers") };
    assert!((1.5..2.5).contains(&part.monthly), "{}", part.monthly);
    assert!((5..=9).contains(&part.order_up_to), "4 expected in two months: {}", part.order_up_to);
    assert_eq!(part.order, part.order_up_to);
    assert_eq!(unknown.class, None);
    assert!(unknown.order_up_to <= 1 || unknown.monthly > 0.3, "borrowed from its like");
}

#[test]
fn an_empty_shop_has_no_advice() {
    assert!(plan(Vec::new()).advice.is_empty());
}

#[test]
fn what_comes_after_the_as_of_day_changes_nothing() {
    let known = vec![sold(&STEADY), sold(&[0, 0, 3, 0, 0, 1, 0, 0]), sold(&[5, 4, 3, 2, 1, 0])];
    let mut with_future = known.clone();
    for (item, day) in
        with_future.iter_mut().zip([date(2026, 7, 1), date(2026, 9, 30), date(2031, 1, 1)])
    {
        for reason in [Reason::Issued, Reason::OneOff, Reason::Returned, Reason::Lost] {
            item.lines.push(Line { day, quantity: Quantity::whole(99), reason });
        }
    }
    assert_eq!(plan(known), plan(with_future));
}

#[test]
fn on_order_and_free_count_and_held_does_not() {
    let mut item = with_free(sold(&STEADY), 3);
    let bare = plan(vec![item.clone()]).advice[0].order;
    item.stock.held = Quantity::whole(50);
    assert_eq!(plan(vec![item.clone()]).advice[0].order, bare, "held is promised already");
    item.stock.on_order = Quantity::whole(2);
    assert_eq!(plan(vec![item]).advice[0].order, bare - 2);
}

#[test]
fn enough_stock_is_not_topped_up() {
    let advice = &plan(vec![with_free(sold(&STEADY), 20)]).advice[0];
    assert_eq!(advice.order, 0);
    assert!(advice.chance_short < 0.01);
}

#[test]
fn packs_minimum_and_shelf_shape_the_order() {
    let mut item = sold(&STEADY);
    item.supply = Supply { pack: 10, minimum: 25, ..item.supply };
    assert_eq!(plan(vec![item.clone()]).advice[0].order, 30);
    item.shelf_limit = Some(29);
    let advice = &plan(vec![item]).advice[0];
    assert_eq!(
        (advice.order, advice.cut),
        (0, Some(Cut::Shelf)),
        "two packs are below the minimum"
    );
    assert!(
        advice.why.ends_with(
            "95 % asked, no fewer than 25 sold, in packs of 10, the shelf takes 29 more"
        ),
        "{}",
        advice.why
    );
}

#[test]
fn no_more_is_ordered_than_the_shelf_takes_and_the_reason_is_said() {
    let mut item = with_free(sold(&STEADY), 2);
    let wanted = plan(vec![item.clone()]).advice[0].order;
    item.shelf_limit = Some(4);
    let advice = &plan(vec![item.clone()]).advice[0];
    assert!(wanted > 2);
    assert_eq!((advice.order, advice.order_up_to, advice.cut), (2, 4, Some(Cut::Shelf)));
    assert!(advice.why.ends_with(", the shelf takes 2 more"), "{}", advice.why);
    item.stock.held = Quantity::ONE;
    assert_eq!(plan(vec![item.clone()]).advice[0].order, 1, "what is held lies there too");
    item.stock.on_order = Quantity::ONE;
    let advice = &plan(vec![item.clone()]).advice[0];
    assert_eq!((advice.order, advice.cut), (0, Some(Cut::Shelf)));
    assert!(advice.why.ends_with(", the shelf takes no more"), "{}", advice.why);
    // The bins of the part it replaces are others.
    let mut old = with_free(Item::default(), 1);
    old.replaced_by = Some(0);
    item.stock = Stock { free: Quantity::whole(2), ..Stock::default() };
    assert_eq!(plan(vec![item, old]).advice[0].order, 2);
}

#[test]
fn an_order_rounded_up_says_by_what() {
    let mut item = sold(&STEADY);
    for (pack, minimum, order, says) in [
        (10, 0, 10, ", in packs of 10"),
        (10, 10, 10, ", in packs of 10"),
        (1, 25, 25, ", no fewer than 25 sold"),
        (10, 25, 30, ", no fewer than 25 sold, in packs of 10"),
        (1, 0, 0, ""),
    ] {
        item.supply = Supply { pack, minimum, ..item.supply };
        let advice = &plan(vec![item.clone()]).advice[0];
        assert!(advice.why.ends_with(&format!("95 % asked{says}")), "{}", advice.why);
        assert!(order == 0 || advice.order == order, "{}", advice.order);
    }
}

#[test]
fn a_part_that_replaces_another_takes_over_its_sales_and_stock() {
    let mut old = with_free(sold(&STEADY), 4);
    old.replaced_by = Some(1);
    let mut new = Item { supply: old.supply.clone(), ..Item::default() };
    let plan_of_both = plan(vec![old, new.clone()]);
    new.lines = sold(&STEADY).lines;
    let alone = plan(vec![with_free(new, 4)]);
    assert_eq!(plan_of_both.advice[0].order, 0);
    assert_eq!(plan_of_both.advice[1].order, alone.advice[0].order);
    assert!(alone.advice[0].order > 0);
}

#[test]
fn falling_demand_pulls_the_level_down_and_rising_lifts_it() {
    let falling = [4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 4, 3, 3, 2, 2, 1, 1, 0, 1, 0, 0, 0, 0];
    let rising = [0, 0, 0, 0, 1, 0, 1, 0, 1, 1, 1, 2, 1, 2, 2, 2, 3, 3, 3, 4, 4, 5, 6, 6];
    let plan = plan(vec![sold(&falling), sold(&STEADY), sold(&rising)]);
    let [falls, steady, rises] = plan.advice.as_slice() else { panic!("three answers") };
    assert!(falls.order_up_to < steady.order_up_to && steady.order_up_to < rises.order_up_to);
    assert_eq!((falls.trend, rises.trend), (Trend::Falling, Trend::Rising));
    assert!(rises.why.contains("a month and rising"), "{}", rises.why);
}

#[test]
fn a_new_part_borrows_from_its_kind() {
    let of_family = |mut item: Item, family: u32| {
        item.family = Some(family);
        item
    };
    let mut items: Vec<Item> = (0..12).map(|_| of_family(sold(&[6; 24]), 1)).collect();
    items.extend((0..12).map(|_| of_family(sold(&[0, 0, 1, 0, 0, 0, 0, 0, 1, 0, 0, 0]), 2)));
    items.extend([1, 2].map(|family| of_family(Item::default(), family)));
    let plan = plan(items);
    let [fast, slow] = [24, 25].map(|at| &plan.advice[at]);
    assert!(fast.monthly > 4.0 * slow.monthly, "{} and {}", fast.monthly, slow.monthly);
    assert!(fast.why.contains("as its like sell"), "{}", fast.why);
}

#[test]
fn a_budget_is_kept_and_spent_where_it_saves_most() {
    let priced = |months: &[i32], price: i64| {
        let mut item = sold(months);
        item.supply.prices = vec![(1, money(price))];
        item
    };
    let mut question = shop(vec![
        priced(&STEADY, 1_000),
        priced(&STEADY, 90_000),
        priced(&[0, 0, 0, 0, 0, 0, 0, 1], 1_000),
    ]);
    let free = advise(&question).expect("sound");
    let total =
        |plan: &Plan| plan.advice.iter().filter_map(|line| line.cost).map(|cost| cost.minor).sum();
    let wanted: i64 = total(&free);
    question.budget = Some(money(wanted / 3));
    let cut = advise(&question).expect("sound");
    assert!(total(&cut) <= wanted / 3);
    assert_eq!(cut.advice[0].order, free.advice[0].order, "the cheap fast one first");
    assert_eq!(cut.advice[1].cut, Some(Cut::Budget));
}

#[test]
fn a_price_break_is_worth_a_larger_lot() {
    let mut item = sold(&STEADY);
    item.supply.order_cost = Some(money(500));
    item.supply.prices = vec![(1, money(1_000)), (20, money(700))];
    assert!(plan(vec![item.clone()]).advice[0].order >= 20);
    item.supply.prices.truncate(1);
    assert!(plan(vec![item]).advice[0].order < 20);
}

#[test]
fn what_cannot_be_answered_is_refused() {
    let refused = |change: fn(&mut Input)| {
        let mut question = shop(vec![sold(&STEADY), sold(&STEADY)]);
        change(&mut question);
        advise(&question).expect_err("it must be refused")
    };
    assert!(matches!(
        refused(|shop| shop.target = Target::Fill(95.0)),
        BuyingError::NotAShare { .. }
    ));
    assert!(matches!(refused(|shop| shop.review_months = 0.0), BuyingError::NotPositive { .. }));
    assert!(matches!(
        refused(|shop| shop.items[0].supply.lead_months = f64::NAN),
        BuyingError::NotPositive { .. }
    ));
    assert!(matches!(
        refused(|shop| shop.items[1].replaced_by = Some(1)),
        BuyingError::ReplacedByItself { item: 1 }
    ));
    let dollars = |shop: &mut Input| {
        let usd = Money { minor: 5, currency: "USD".parse().expect("a currency") };
        shop.items[0].supply.prices = vec![(1, usd)];
        shop.items[1].supply.prices = vec![(1, money(5))];
    };
    assert!(matches!(refused(dollars), BuyingError::Currencies { item: 1, .. }));
}

#[test]
fn one_monstrous_month_costs_no_memory_and_hardly_moves_the_level() {
    let mut months = STEADY;
    months[10] = 1_000_000;
    let plan =
        plan((0..30).map(|nth| if nth == 0 { sold(&months) } else { sold(&STEADY) }).collect());
    let [monstrous, plain, ..] = plan.advice.as_slice() else { panic!("thirty answers") };
    assert!(plain.order_up_to <= 9, "{}", plain.order_up_to);
    assert!(monstrous.order_up_to <= 30, "{}", monstrous.order_up_to);
}

#[test]
fn absurd_numbers_are_answered_all_the_same() {
    let mut item = sold(&[i32::MAX; 24]);
    item.supply.lead_months = 1e9;
    item.stock.free = Quantity::from_thousandths(i64::MIN / 4);
    item.supply.prices = vec![(1, money(i64::MAX / 8))];
    item.supply.pack = u32::MAX;
    let advice = &plan(vec![item]).advice[0];
    assert!(advice.order > 0 && advice.cost.is_none(), "{advice:?}");
}
