//! The counter's screens.

use binwright_tui::desk::Effect;
use insta::assert_snapshot;

use crate::desk_at_work::{ASCII, COLOUR, Desk, MONO};

const PLATE: &str = "plate lugs 4 od 112.1 pitch 92.1 m8";
const POINTS: &str = " hole@0,0/6.2; hole@92.1,0/6.2; hole@46.2,-28/6.2; stud:B+@81.8,7.2/M8; \
                      lead:U@16.2,-7.4; lead:V@35.1,-19.1; lead:W@56.9,-18.8; lead:N@75.5,-7.4";

#[test]
fn an_empty_line_says_what_can_be_typed() {
    assert_snapshot!(Desk::new(80, 24, COLOUR).screen_with_styles());
}

#[test]
fn a_measured_plate_is_answered_while_it_is_typed() {
    let mut desk = Desk::new(80, 24, COLOUR);
    assert_snapshot!("measured_in_colour", desk.type_in(PLATE).screen_with_styles());
    desk.press("down down");
    assert_snapshot!("second_of_the_list", desk.screen());
}

#[test]
fn points_are_laid_over_the_drawing() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.type_in(PLATE).type_in(POINTS);
    assert_snapshot!("points_without_colour", desk.screen());
    desk.press("enter j");
    assert_snapshot!("wrong_hand", desk.screen());
    desk.press("enter");
    assert_snapshot!("wrong_hand_on_the_whole_screen", desk.screen());
}

#[test]
fn everything_is_there_in_ascii() {
    let mut desk = Desk::new(80, 24, ASCII);
    let screen = desk.type_in(PLATE).type_in(POINTS).screen();
    assert!(screen.is_ascii(), "{screen}");
    assert_snapshot!(screen);
}

#[test]
fn a_small_screen_is_used_and_a_smaller_one_says_so() {
    let mut desk = Desk::new(60, 16, MONO);
    assert_snapshot!("sixty_by_sixteen", desk.type_in(PLATE).screen());
    desk.terminal.backend_mut().resize(59, 16);
    assert_snapshot!("too_small", desk.screen());
}

#[test]
fn the_panes_show_crosses_units_and_bins() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.type_in("RP-1107C").press("tab");
    assert_snapshot!("crosses", desk.screen());
    desk.press("tab");
    assert_snapshot!("units", desk.screen());
    desk.press("tab");
    assert_snapshot!("bins", desk.screen());
}

#[test]
fn the_keys_are_shown_from_their_table() {
    let mut desk = Desk::new(80, 24, MONO);
    assert_snapshot!(desk.press("f1").screen());
}

#[test]
fn a_line_that_is_not_understood_is_named_and_kept() {
    let mut desk = Desk::new(80, 24, COLOUR);
    let screen = desk.type_in("plate lugs 4 girth 7 od 112.1").screen();
    assert!(screen.contains("! girth: no measure of a rectifier plate"), "{screen}");
    assert!(screen.contains("plate lugs 4 girth 7 od 112.1"), "{screen}");
}

#[test]
fn what_was_typed_is_never_lost() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.type_in("plate lugs 5").press("up");
    assert!(desk.screen().contains("▏ plate lugs 3"), "the newest line of earlier runs");
    desk.press("up");
    assert!(desk.screen().contains("▏ reg pitch 40"));
    desk.press("down down");
    assert!(desk.screen().contains("▏ plate lugs 5"), "the draft is back");
    desk.press("esc");
    assert_eq!(desk.done, [Effect::Remember("plate lugs 5".to_owned())]);
    desk.press("up");
    assert!(desk.screen().contains("▏ plate lugs 5"), "cleared lines can be had back");
}

#[test]
fn a_scan_is_answered_at_once_wherever_the_cursor_is() {
    for before in ["", "plate lugs 4 od 112.1"] {
        let mut desk = Desk::new(80, 24, MONO);
        desk.type_in(before);
        if !before.is_empty() {
            desk.press("enter");
        }
        desk.press_after(1000, "R");
        "P-1107C".chars().for_each(|letter| desk.press_after(8, &letter.to_string()));
        desk.press_after(8, "enter");
        let screen = desk.screen();
        assert!(screen.contains("RP-1107C") && screen.contains("same number"), "{screen}");
        assert!(desk.done.contains(&Effect::Remember("RP-1107C".to_owned())));
    }
}

#[test]
fn letters_act_in_a_list_and_figures_go_to_the_line() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.type_in(PLATE).press("enter j y");
    assert!(matches!(&desk.done[1], Effect::Copy(number) if number.starts_with("RP-")));
    desk.press("9");
    assert!(desk.screen().contains("pitch 92.1 m89"), "the line takes the figure");
}

#[test]
fn resizing_keeps_the_selection() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.type_in(PLATE).press("enter j j");
    let chosen = |screen: &str| {
        screen
            .lines()
            .find(|line| line.starts_with('▸'))
            .map(|l| l.chars().take(30).collect::<String>())
    };
    let before = chosen(&desk.screen());
    desk.terminal.backend_mut().resize(120, 16);
    let after = chosen(&desk.screen());
    assert!(before.is_some() && before == after, "{before:?} {after:?}");
}

/// What is drawn in a small place stays legible: letters and figures keep apart.
#[test]
fn figures_never_lie_on_letters_in_a_small_drawing() {
    for theme in [MONO, ASCII] {
        let mut desk = Desk::new(80, 24, theme);
        let screen = desk.type_in(PLATE).type_in(POINTS).screen();
        let drawn: Vec<String> =
            screen.lines().skip(11).take(10).map(|line| line.chars().take(29).collect()).collect();
        let drawn = drawn.join("\n");
        for name in ["B+", "U", "V", "W", "N"] {
            let alone = |at: usize| {
                let before = drawn[..at].chars().next_back();
                let after = drawn[at + name.len()..].chars().next();
                [before, after].iter().flatten().all(|c| !c.is_ascii_alphanumeric() && *c != '.')
            };
            assert!(drawn.match_indices(name).any(|(at, _)| alone(at)), "{name} in\n{drawn}");
        }
    }
}

/// The README's pictures are what is drawn; when this fails, put the screen named there in.
#[test]
fn the_readme_shows_the_screens_as_they_are() {
    let readme = include_str!("../../../../README.md");
    let plate = Desk::new(100, 20, MONO).type_in(PLATE).screen();
    let mut desk = Desk::new(80, 16, MONO);
    let slip = desk.press("f7").scan("A2-04").scan("RP-1131C").type_in("4").screen();
    for screen in [plate, slip] {
        let (_, below_head) = screen.split_once('\n').unwrap();
        let below_head = below_head.trim_end();
        assert!(readme.contains(&format!("```text\n{below_head}\n```")), "{below_head}");
    }
}

#[test]
fn the_price_of_the_list_is_what_it_is_sold_for_never_the_deposit() {
    let mut desk = Desk::new(80, 24, MONO);
    let screen = desk.type_in("XU-1110").screen();
    let row = screen.lines().find(|line| line.contains("same number")).unwrap();
    assert!(row.contains("168.00") && !row.contains("45.00"), "{screen}");
    let bins = desk.press("shift-tab").screen();
    assert!(bins.contains("price 45.00 EUR core-deposit"), "{bins}");
}

#[test]
fn a_unit_is_named_with_the_key_of_the_desk_that_takes_it() {
    let mut desk = Desk::new(80, 24, MONO);
    let screen = desk.type_in("AU-1112").screen();
    let says = screen.lines().nth(2).unwrap();
    assert!(says.starts_with("  a unit: AU-1112 "), "{screen}");
    assert!(says.ends_with("; F3 takes it on the bench"), "{screen}");
}
