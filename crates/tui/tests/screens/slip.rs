//! Slips: stock handled from the counter, by scanner and by keys.

use binwright_shop::files::ImportOptions;
use insta::assert_snapshot;

use crate::desk_at_work::{ASCII, Desk, MONO};

impl Desk {
    /// On hand of a part in a bin, new.
    fn on_hand(&mut self, number: &str, bin: &str) -> String {
        let reach = self.shop.reach(number).unwrap();
        let own = reach.own.iter().find(|under| under.part == number).unwrap();
        let line = own.bins.iter().find(|line| line.bin == bin);
        line.map_or("0".to_owned(), |line| line.on_hand.to_string())
    }
}

#[test]
fn with_a_scanner_in_hand_it_is_bin_part_quantity_enter() {
    let mut desk = Desk::new(80, 24, MONO);
    let before: i64 = desk.on_hand("RP-1131C", "A2-04").parse().unwrap();
    desk.press("f7");
    assert_snapshot!("an_empty_slip", desk.screen());
    desk.scan("A2-04").scan("RP-1131C").type_in("4");
    assert_snapshot!("a_slip_before_enter", desk.screen());
    desk.press("enter");
    assert_snapshot!("a_slip_that_was_done", desk.screen());
    assert_eq!(desk.on_hand("RP-1131C", "A2-04"), (before + 4).to_string());
    // The bin stays: the next part is scanned at once.
    desk.scan("RP-1107C").type_in("2").press("enter");
    assert_eq!(desk.on_hand("RP-1107C", "A2-04"), "2");
    desk.press("f8");
    assert!(desk.screen().contains("is taken back"), "{}", desk.screen());
    assert_eq!(desk.on_hand("RP-1107C", "A2-04"), "0");
    desk.press("f8 f8");
    assert_eq!(desk.on_hand("RP-1131C", "A2-04"), before.to_string(), "slips go back in order");
    assert!(desk.screen().contains("there is no slip to take back"));
}

#[test]
fn from_the_list_the_chosen_part_is_sold_held_issued_and_moved() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.type_in("RP-1131C").press("enter");
    let before: i64 = desk.on_hand("RP-1131C", "A2-04").parse().unwrap();
    desk.press("s").type_in("1").press("enter");
    let screen = desk.screen();
    assert!(screen.contains(", sale: -1 x RP-1131C in A2-04 new"), "{screen}");
    assert_eq!(desk.on_hand("RP-1131C", "A2-04"), (before - 1).to_string());
    desk.press("esc h").type_in("R. Mott").press("enter").type_in("1").press("enter");
    let screen = desk.screen();
    assert!(screen.contains("kept for R. Mott until 2026-11-30"), "{screen}");
    let held = desk.shop.holds().unwrap();
    assert!(held.iter().any(|line| line.reference == "R. Mott" && line.part == "RP-1131C"));
    desk.press("f8");
    assert!(desk.screen().contains("is let go"));
    assert!(desk.shop.holds().unwrap().iter().all(|line| line.reference != "R. Mott"));
    desk.press("esc i").type_in("J-7").press("enter").type_in("1").press("enter");
    assert!(desk.screen().contains("-1 x RP-1131C"), "{}", desk.screen());
    desk.press("esc m").scan("A1-02").type_in("1").press("enter");
    let screen = desk.screen();
    assert!(screen.contains("-1 x RP-1131C in A2-04 new, +1 x RP-1131C in A1-02"), "{screen}");
    assert_eq!(desk.on_hand("RP-1131C", "A1-02"), "1");
    let moved = desk.shop.history(Some("RP-1131C"), None, None, 9).unwrap();
    assert!(moved.iter().any(|line| line.who == "Pat"), "who did it is kept");
    desk.press("esc");
    assert!(desk.screen().contains("▸ same number"), "back in the list\n{}", desk.screen());
}

#[test]
fn what_could_not_be_done_is_said_and_stays_as_typed() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.type_in("RP-1131C").press("enter s").type_in("400").press("enter");
    assert_snapshot!("a_slip_that_could_not_be_done", desk.screen());
    desk.press("esc").press("f7");
    assert!(desk.screen().contains("how many    400"), "closed and opened again: as it was");
    desk.press("backspace backspace backspace").type_in("1").press("enter");
    assert!(desk.screen().contains("posted as"), "mended and done: {}", desk.screen());
    desk.scan("NO-SUCH-THING");
    let screen = desk.screen();
    assert!(screen.contains("no part or unit has the number `NO-SUCH-THING`"), "{screen}");
    desk.type_in("RP-1131C").press("enter").type_in("a few").press("enter");
    let screen = desk.screen();
    assert!(screen.contains("`a few` is no quantity") && screen.contains("how many    a few"));
}

#[test]
fn a_bin_is_counted_blind_and_its_sheet_posted() {
    let mut desk = Desk::new(80, 24, ASCII);
    desk.press("f7 left left").scan("A2-04").scan("RP-1131C").type_in("2").press("enter");
    assert_snapshot!("a_count_under_way", desk.screen());
    // Where it differs it is counted again; then whatever else lies there.
    for _ in 0..20 {
        let sheet = desk.shop.count_sheets().unwrap().pop().unwrap().sheet;
        let sheet = desk.shop.count_sheet(sheet).unwrap();
        let open = |line: &&binwright_shop::counts::SheetLine| line.counted.is_none() || line.again;
        let Some(line) = sheet.lines.iter().find(open).cloned() else { break };
        desk.scan(&line.part);
        if line.condition.word() != "new" {
            desk.press("down").type_in(&line.condition.word()[..1]).press("up");
        }
        desk.type_in("2").press("enter");
    }
    assert_snapshot!("a_count_that_is_done", desk.screen());
    desk.press("enter");
    assert_snapshot!("a_count_that_was_posted", desk.screen());
    assert_eq!(desk.on_hand("RP-1131C", "A2-04"), "2");
}

#[test]
fn the_chosen_part_or_the_marked_ones_are_put_on_paper() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.type_in("plate lugs 4 od 112.1 pitch 92.1 m8").press("enter o");
    let said = |desk: &mut Desk, name: &str| {
        let says = format!("paper/{name} in the shop's folder; print at 100 %");
        assert!(desk.screen().contains(&says), "{}", desk.screen());
        std::fs::read(desk.shop.store().dir().join("paper").join(name)).unwrap()
    };
    let first = said(&mut desk, "outline-RP-1107A.pdf");
    assert!(first.starts_with(b"%PDF-"));
    desk.press("o");
    assert_eq!(said(&mut desk, "outline-RP-1107A.pdf"), first, "the same pages are not kept twice");
    desk.press("space j space");
    assert!(desk.screen().contains("▸*"), "{}", desk.screen());
    desk.press("o");
    assert_ne!(said(&mut desk, "outline-RP-1107A-RP-1107C.pdf"), first);
    desk.press("esc esc").type_in("bearing").press("enter o");
    assert!(desk.screen().contains("has no layout"), "{}", desk.screen());
}

#[test]
fn codes_land_in_order_however_fast_they_come() {
    let mut desk = Desk::new(80, 24, MONO);
    let before: i64 = desk.on_hand("RP-1131C", "A2-04").parse().unwrap();
    desk.press("f7").burst(&["A2-04", "RP-1131C", "4"]);
    let screen = desk.screen();
    assert!(screen.contains("receive: +4 x RP-1131C in A2-04 new"), "{screen}");
    desk.burst(&["RP-1107C", "2", "A1-02", "RP-1131C", "3"]);
    let screen = desk.screen();
    assert!(screen.contains("[receive]"), "no letter chooses what is done\n{screen}");
    assert_eq!(desk.on_hand("RP-1131C", "A2-04"), (before + 4).to_string());
    assert_eq!(desk.on_hand("RP-1107C", "A2-04"), "2");
    assert_eq!(desk.on_hand("RP-1131C", "A1-02"), "3");
    desk.press("esc f7 right").burst(&["J-1007", "A1-02", "RP-1131C", "1"]);
    assert!(desk.screen().contains("issue: -1 x RP-1131C in A1-02"), "{}", desk.screen());
    // What follows a code that is nothing is not done with what stood there before.
    desk.press("esc f7").burst(&["NO-SUCH", "RP-1131C", "1"]);
    assert!(desk.screen().contains("! `NO-SUCH` is no bin"), "{}", desk.screen());
    assert_eq!(desk.on_hand("RP-1131C", "A1-02"), "2");
}

#[test]
fn a_scan_at_the_quantity_adds_a_piece_or_says_what_it_pushed_out() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.press("f7").scan("A2-04").scan("RP-1131C").scan("RP-1131C");
    assert!(desk.screen().contains("how many    2"), "{}", desk.screen());
    desk.scan("RP-1131C");
    assert!(desk.screen().contains("3 by scan"), "{}", desk.screen());
    desk.scan("A1-02");
    assert!(desk.screen().contains("bin A1-02, no more A2-04; how many is still 3"));
    desk.scan("RP-1107C");
    assert!(desk.screen().contains("part RP-1107C, no more RP-1131C"), "{}", desk.screen());
    // With the cursor on the condition, the letters of a code choose none.
    desk.press("down").scan("RP-1131C");
    assert!(desk.screen().contains("condition   new"), "{}", desk.screen());
}

#[test]
fn what_is_missing_or_not_known_is_said_where_it_is_typed() {
    let mut desk = Desk::new(60, 16, MONO);
    desk.press("f7").type_in("Z9").press("enter");
    assert!(desk.screen().contains("! `Z9` is no bin of the shop"), "{}", desk.screen());
    desk.press("ctrl-w").type_in("A2-04").press("enter").type_in("ZZ-1").press("down");
    assert!(desk.screen().contains("`ZZ-1`"), "{}", desk.screen());
    desk.press("up ctrl-w ctrl-w").type_in("RP-1131C").press("enter enter");
    assert!(desk.screen().contains("! how many: type a number first"), "{}", desk.screen());
    desk.type_in("4");
    let screen = desk.screen();
    let can = "Enter does it; Down for condition, cost each, belongs to.";
    for line in ["bin ", "part ", "how many ", "condition ", "cost each ", "belongs to\n", can] {
        assert!(screen.contains(line), "{line} in\n{screen}");
    }
}

#[test]
fn a_count_is_not_taken_back_but_mended() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.press("f7 left left").burst(&["A2-04", "RP-1131C", "2"]).press("f8");
    let screen = desk.screen();
    assert!(screen.contains("a count is mended by counting the line again"), "{screen}");
    desk.press("f4 f8");
    assert!(desk.screen().contains("F8 is a key of the counter: F2 goes there"));
}

/// Between branches a move is a way: what left is on its way until it arrives there.
#[test]
fn a_move_to_another_branch_is_sent_and_arrives_by_a_slip_there() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.shop.name_branch("", "South").unwrap();
    desk.shop.add_branch("North").unwrap();
    desk.shop.stand_at("North").unwrap();
    let bins = "bin,aisle\nN1,1\n".as_bytes();
    desk.shop.import("north.csv", bins, &ImportOptions::default(), |_| ()).unwrap();
    let mut desk = desk.anew(MONO);
    let before: i64 = desk.on_hand("RP-1131C", "A2-04").parse().unwrap();
    desk.type_in("RP-1131C").press("enter m").scan("N1").type_in("2").press("enter");
    let screen = desk.screen();
    assert!(screen.contains("; on its way to North"), "{screen}");
    assert_eq!(desk.on_hand("RP-1131C", "A2-04"), (before - 2).to_string());
    assert_eq!(desk.on_hand("RP-1131C", "N1"), "0");
    desk.press("esc").press("f7 right").scan("N1").scan("RP-1131C");
    let screen = desk.screen();
    assert!(screen.contains("[arrive]"), "{screen}");
    assert!(screen.lines().all(|line| line.chars().count() <= 80), "{screen}");
    desk.type_in("3").press("enter");
    let screen = desk.screen();
    assert!(screen.contains("2 at most are on their way to North"), "{screen}");
    desk.press("backspace").type_in("1").press("enter");
    let screen = desk.screen();
    assert!(screen.contains("still on their way"), "{screen}");
    assert_eq!(desk.on_hand("RP-1131C", "N1"), "1");
    desk.press("f8");
    assert_eq!(desk.on_hand("RP-1131C", "N1"), "0", "taken back: it is on its way again");
    desk.scan("N1").scan("RP-1131C").type_in("2").press("enter");
    assert_eq!(desk.on_hand("RP-1131C", "N1"), "2");
}
