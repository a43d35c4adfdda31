//! The bench's screens.

use binwright_tui::desk::Effect;
use binwright_tui::theme::Theme;
use insta::assert_snapshot;

use crate::desk_at_work::{ASCII, COLOUR, Desk, MONO};

/// A unit of the made-up shop on the bench, with two readings that leave it open what is wrong.
fn begun(width: u16, height: u16, theme: Theme) -> Desk {
    let mut desk = Desk::new(width, height, theme);
    desk.press("f3").type_in("au-1112").press("enter");
    read(&mut desk, "B-05", "low");
    read(&mut desk, "B-06", "high");
    desk
}

/// Goes down to the check with `code` and types what was read.
fn read(desk: &mut Desk, code: &str, value: &str) {
    desk.press("esc home");
    for _ in 0..40 {
        let screen = desk.screen();
        if screen.lines().any(|line| line.starts_with(['▸', '>']) && line.contains(code)) {
            desk.press("enter").type_in(value).press("enter");
            return;
        }
        desk.press("down");
    }
    panic!("no check {code} in\n{}", desk.screen());
}

/// The same with the reading that decides.
fn decided(width: u16, height: u16, theme: Theme) -> Desk {
    let mut desk = begun(width, height, theme);
    read(&mut desk, "B-09", "0.47V/OL");
    desk
}

#[test]
fn a_unit_is_found_by_its_words_or_told_by_machine_and_voltage() {
    let mut desk = Desk::new(80, 24, MONO);
    let all = desk.press("f3").screen();
    assert!(all.contains("unknown unit   24 V  alternator") && all.contains("AU-1112"), "{all}");
    let starters = desk.type_in("starter 24").screen();
    assert!(starters.contains("SU-3512") && !starters.contains("AU-"), "{starters}");
    let mut unknown = Desk::new(80, 24, MONO);
    let taken = unknown.press("f3").type_in("alt").press("down down enter l").screen();
    assert!(
        taken.contains("unknown unit alternator 24 V, carried in loose, 0 readings"),
        "{taken}"
    );
    assert!(
        taken.contains("B-01  belt, tensioner, alignment           only on the vehicle"),
        "{taken}"
    );
    assert!(desk.press("ctrl-w ctrl-w").type_in("zzz").screen().contains("no such unit"));
}

#[test]
fn checks_stand_by_level_with_the_next_marked_and_what_can_hurt() {
    let mut desk = begun(80, 24, COLOUR);
    assert_snapshot!("bench_checks_in_colour", desk.press("n").screen_with_styles());
    let screen = desk.screen();
    let chosen = screen.lines().find(|line| line.starts_with('▸')).unwrap();
    assert!(chosen.contains("NEXT"), "{screen}");
    assert_snapshot!("bench_reading", desk.press("enter down").screen());
}

/// A reading is a number with its unit and temperature, or an outcome; nothing takes it back.
#[test]
fn what_was_read_is_typed_chosen_and_taken_back() {
    let mut desk = begun(80, 24, MONO);
    read(&mut desk, "B-15", "2.6ohm@85C of 2.1ohm");
    let screen = desk.screen();
    assert!(screen.contains("2.07 ohm at 20 °C") && screen.contains("3 readings"), "{screen}");
    let chosen = desk.press("enter down down enter").screen();
    assert!(!chosen.contains("2.07 ohm") && chosen.contains("3 readings"), "{chosen}");
    let back = desk.press("enter enter").screen();
    assert!(back.contains("2 readings"), "{back}");
    let wrong = desk.press("enter").type_in("2.6").press("enter").screen();
    assert!(wrong.contains("! ") && wrong.contains("B-15 ▏ 2.6"), "what was typed stays: {wrong}");
    assert!(desk.press("esc esc").screen().contains("2 readings"));
}

#[test]
fn findings_are_bars_with_their_reasons() {
    let mut desk = decided(80, 24, COLOUR);
    assert_snapshot!("bench_findings_in_colour", desk.press("tab").screen_with_styles());
}

#[test]
fn covers_stand_side_by_side_and_the_chosen_one_is_quoted() {
    let mut desk = decided(80, 24, MONO);
    assert_snapshot!("bench_covers", desk.press("tab tab").screen());
    assert!(desk.press("right").screen().contains("▸ cover 2"));
    let quote = desk.press("enter").screen();
    assert!(quote.contains("cover 2 of alternator AU-1112: as it would be"), "{quote}");
    assert!(quote.contains("will hold 1 x RP-1131C in A2-04"), "{quote}");
    assert_snapshot!("bench_quote", desk.press("left").screen());
}

#[test]
fn before_anything_is_called_for_only_whole_units_are_offered_and_it_says_so() {
    let mut desk = Desk::new(80, 24, MONO);
    let covers = desk.press("f3").type_in("au-1112").press("enter tab tab").screen();
    for words in ["cover exchange", "cover new", "nothing is called for yet: read on"] {
        assert!(covers.contains(words), "`{words}` is missing in\n{covers}");
    }
}

#[test]
fn a_quote_is_made_for_a_customer_and_made_again_as_a_revision() {
    let mut desk = decided(80, 24, MONO);
    let unmade = desk.press("tab tab tab y").screen();
    assert!(unmade.contains("no quote is made yet"), "{unmade}");
    assert!(desk.done.is_empty(), "a number that nobody gave is not copied: {:?}", desk.done);
    desk.press("enter").type_in("Moor Haulage");
    let made = desk.press("enter").screen();
    for words in ["Q-0001 is made and holds 1 x RP-1131C in A1-05", "Q-0001 revision 1, open"] {
        assert!(made.contains(words), "`{words}` is missing in\n{made}");
    }
    assert!(made.contains("quote accept Q-0001"), "{made}");
    desk.press("y");
    assert_eq!(desk.done, [Effect::Copy("Q-0001".to_owned())]);
    let still = desk.press("enter").screen();
    for words in ["Q-0001 is made, and nothing is changed since", "Q-0001 revision 1, open"] {
        assert!(still.contains(words), "`{words}` is missing in\n{still}");
    }
    read(&mut desk, "B-24", "clean");
    let would_be = desk.press("tab tab tab").screen();
    assert!(would_be.contains("Q-0001 revision 2 as it would be"), "{would_be}");
    assert!(would_be.contains("will hold 1 x RP-1131C in A1-05"), "its own is free: {would_be}");
    let again = desk.press("enter enter").screen();
    assert!(again.contains("Q-0001 revision 2, open"), "{again}");
}

#[test]
fn a_part_of_an_unknown_unit_is_told_by_its_measures() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.press("f3").type_in("alternator 12").press("enter");
    read(&mut desk, "B-09", "one");
    read(&mut desk, "B-06", "high");
    let none = desk.press("tab tab").screen();
    assert!(none.contains("say which part sits in a role"), "{none}");
    let asked = desk.press("p").type_in("plate lugs 4 od 112.1 pitch 92.1 m8").screen();
    assert!(asked.contains("part in rectifier"), "{asked}");
    let covers = desk.press("enter").screen();
    assert!(covers.contains("▸ cover 1") && covers.contains("by its measures"), "{covers}");
}

#[test]
fn a_unit_put_aside_comes_back_with_what_was_read() {
    let mut desk = decided(80, 24, MONO);
    desk.press("/").type_in("su-3110").press("enter");
    assert!(desk.screen().contains("SU-3110 starter 12 V, on the machine, 0 readings"));
    let offered = desk.press("/").screen();
    assert!(offered.contains("AU-1112        alternator, put aside with 3 readings"), "{offered}");
    let back = desk.press("down enter").screen();
    assert!(back.contains("AU-1112 alternator 12 V, off the machine, 3 readings"), "{back}");
}

#[test]
fn the_call_to_stop_stands_above_everything() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.press("f3").type_in("alternator 12").press("enter l");
    for (code, value) in [("B-24", "clean"), ("B-18", "ok"), ("B-22", "high"), ("B-13", "8mm")] {
        read(&mut desk, code, value);
    }
    desk.press("l");
    for (code, value) in [("B-05", "16.1V"), ("B-12", "95%")] {
        read(&mut desk, code, value);
    }
    let screen = desk.press("l").screen();
    assert!(
        screen.contains("stop here: more checks cannot change what you would order"),
        "{screen}"
    );
    assert!(!screen.contains("NEXT"), "{screen}");
}

#[test]
fn a_larger_screen_shows_more() {
    let mut desk = decided(120, 36, MONO);
    assert_snapshot!("bench_checks_wide", desk.press("n").screen());
    assert_snapshot!("bench_covers_wide", desk.press("tab tab").screen());
}

#[test]
fn the_least_screen_can_be_worked_on() {
    let mut desk = decided(60, 16, MONO);
    assert_snapshot!("bench_checks_least", desk.press("n").screen());
    assert_snapshot!("bench_covers_least", desk.press("tab tab").screen());
    let mut seen = String::new();
    for _ in 0..8 {
        seen += &desk.press("pagedown").screen();
    }
    assert!(seen.contains("CAUTION") && seen.contains("local law"), "by going down: {seen}");
}

#[test]
fn everything_is_there_in_ascii() {
    let mut desk = decided(80, 24, ASCII);
    for (name, keys) in [
        ("bench_checks_in_ascii", "n"),
        ("bench_findings_in_ascii", "tab"),
        ("bench_covers_in_ascii", "tab"),
        ("bench_quote_in_ascii", "tab"),
    ] {
        let screen = desk.press(keys).screen();
        assert!(screen.is_ascii(), "{screen}");
        assert_snapshot!(name, screen);
    }
}

/// Without colour a cell is told by its character and by bold, dim and reversed alone.
#[test]
fn without_colour_nothing_is_lost() {
    let mut mono = decided(80, 24, MONO);
    let mut colour = decided(80, 24, COLOUR);
    for keys in ["n", "tab", "tab", "tab", "enter"] {
        assert_eq!(mono.press(keys).screen(), colour.press(keys).screen());
    }
    assert_snapshot!("bench_quote_without_colour", mono.press("esc esc").screen_with_styles());
}

#[test]
fn the_cursor_follows_what_is_next_until_a_person_goes_another_way() {
    let mut desk = Desk::new(80, 24, MONO);
    let on = |desk: &mut Desk| {
        let screen = desk.screen();
        screen.lines().find(|line| line.starts_with('▸')).unwrap_or_default().to_owned()
    };
    desk.press("f3").type_in("au-1112").press("enter");
    let first = on(&mut desk);
    assert!(first.contains("NEXT"), "{first}");
    // The first of the outcomes that are offered.
    let second = on(desk.press("enter down enter"));
    assert!(second.contains("NEXT") && second != first, "{second}");
    let own = on(desk.press("down"));
    assert!(!own.contains("NEXT"), "{own}");
    let read = on(desk.press("enter down enter"));
    assert_eq!(read[..12], own[..12], "his place is kept");
    let trouble = desk.press("enter").type_in("a bit").press("enter").screen();
    let code: String = own.chars().skip(2).take(4).collect();
    let says = trouble.lines().nth(2).unwrap();
    assert!(says.starts_with("! `a bit`") && says.contains(&code), "{trouble}");
}
