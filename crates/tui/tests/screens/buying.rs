//! The buying desk's screens.

use binwright_tui::desk::Effect;
use insta::assert_snapshot;

use crate::desk_at_work::{ASCII, COLOUR, Desk, MONO};

#[test]
fn what_is_due_is_shown_with_why_and_its_months() {
    let mut desk = Desk::new(80, 24, COLOUR);
    assert_snapshot!("due_in_colour", desk.press("f4").screen_with_styles());
    assert_snapshot!("due_second", desk.press("down").screen());
}

#[test]
fn a_larger_screen_shows_more() {
    let mut desk = Desk::new(120, 40, MONO);
    assert_snapshot!("due_wide", desk.press("f4").screen());
}

#[test]
fn everything_is_there_in_ascii() {
    for (name, width, height) in [("due_in_ascii", 80, 24), ("due_wide_in_ascii", 120, 40)] {
        let mut desk = Desk::new(width, height, ASCII);
        let screen = desk.press("f4").screen();
        assert!(screen.is_ascii(), "{screen}");
        assert_snapshot!(name, screen);
    }
}

/// Without colour a cell is told by its character and by bold, dim and reversed alone.
#[test]
fn without_colour_nothing_is_lost() {
    let mut mono = Desk::new(80, 24, MONO);
    let mut colour = Desk::new(80, 24, COLOUR);
    assert_eq!(mono.press("f4 <").screen(), colour.press("f4 <").screen());
    assert_snapshot!("due_without_colour", mono.screen_with_styles());
}

#[test]
fn the_least_screen_can_be_worked_on() {
    let mut desk = Desk::new(60, 16, MONO);
    assert_snapshot!("due_least", desk.press("f4").screen());
}

fn to_order(screen: &str) -> usize {
    let before = screen.split(" to order").next().unwrap();
    before.rsplit(' ').next().unwrap().parse().unwrap()
}

#[test]
fn more_service_orders_no_less_and_the_chosen_part_stays() {
    let mut desk = Desk::new(80, 24, MONO);
    let chosen = |screen: &str| {
        let line = screen.lines().find(|line| line.starts_with('▸')).unwrap();
        line.split_whitespace().nth(1).unwrap().to_owned()
    };
    let before = desk.press("f4 down down").screen();
    let more = desk.press("+ + + +").screen();
    assert!(more.contains("service 99.5 %"), "{more}");
    assert!(to_order(&more) >= to_order(&before), "{before}\n{more}");
    assert_eq!(chosen(&more), chosen(&before));
    let less = desk.press("- - - - - - - - -").screen();
    assert!(less.contains("service 80.0 %"), "{less}");
    assert!(to_order(&less) < to_order(&more), "{less}\n{more}");
}

#[test]
fn a_budget_is_kept_and_says_what_it_cuts() {
    let mut desk = Desk::new(120, 40, MONO);
    assert!(desk.press("f4").screen().contains("budget none"));
    let tight = desk.press("< < <").screen();
    let terms: Vec<&str> = tight.lines().nth(1).unwrap().split_whitespace().collect();
    let beside = |word: &str, step: isize| {
        let at = terms.iter().position(|known| known.trim_end_matches(',') == word).unwrap();
        terms[at.checked_add_signed(step).unwrap()].parse::<f64>().unwrap()
    };
    assert!(beside("EUR", -1) <= beside("budget", 1), "{tight}");
    assert!(beside("cut", -1) > 0.0, "{tight}");
    assert_snapshot!("cut_by_a_budget", tight);
}

#[test]
fn the_number_can_be_copied_and_the_counter_is_a_key_away() {
    let mut desk = Desk::new(80, 24, MONO);
    let screen = desk.press("f4 y").screen();
    let [Effect::Copy(number)] = &desk.done[..] else { panic!("{:?}", desk.done) };
    assert!(screen.contains(&format!("▸ {number} ")), "{number}\n{screen}");
    assert!(desk.press("f2").screen().contains("[F2 counter]"));
}

#[test]
fn the_stock_of_the_chosen_part_is_drawn_until_the_next_order_could_be_here() {
    for (name, width, height, theme) in
        [("ahead", 80, 24, MONO), ("ahead_in_ascii", 80, 24, ASCII), ("ahead_least", 60, 16, MONO)]
    {
        let mut desk = Desk::new(width, height, theme);
        let screen = desk.press("f4 down tab").screen();
        assert!(screen.contains("ordered today"), "{screen}");
        assert_snapshot!(name, screen);
    }
}

#[test]
fn the_basket_is_weighed_by_supplier_and_its_orders_are_drafted_on_the_second_press() {
    let mut desk = Desk::new(80, 24, MONO);
    // A tight budget: few lines, soon weighed.
    let screen = desk.press("f4 < < < < < < tab tab").screen();
    assert!(screen.contains("with freight"), "{screen}");
    assert_snapshot!("basket", screen);
    let asked = desk.press("d").screen();
    assert!(asked.contains("d again drafts"), "{asked}");
    assert!(desk.shop.orders(10).unwrap().is_empty(), "one press drafts nothing");
    let drafted = desk.press("d").screen();
    assert!(drafted.contains("O-1") && drafted.contains("drafted"), "{drafted}");
    let orders = desk.shop.orders(10).unwrap();
    assert!(!orders.is_empty() && orders.iter().all(|order| order.state == "draft"), "{orders:?}");
    let count = orders.len();
    desk.press("d d");
    assert_eq!(desk.shop.orders(10).unwrap().len(), count, "what is drafted is not drafted again");
}
