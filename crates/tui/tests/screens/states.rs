//! Every state of the screens, in every way they can be drawn: light, dark, without colour, ASCII.

use binwright_shop::files::ImportOptions;
use binwright_tui::desk::Effect;
use binwright_tui::question::Question;
use binwright_tui::worker::{Make, Report, Where};
use insta::assert_snapshot;
use jiff::civil::date;

use crate::desk_at_work::{ASCII, COLOUR, DARK, Desk, MONO};

const PLATE: &str = "plate lugs 4 od 112.1 pitch 92.1 m8";
const POINTS: &str = " hole@0,0/6.2; hole@92.1,0/6.2; hole@46.2,-28/6.2; stud:B+@81.8,7.2/M8";

type Steps = fn(&mut Desk) -> &mut Desk;

fn no_shop(desk: &mut Desk) -> &mut Desk {
    desk.report(Report::NoShop(Where {
        branch: None,
        shop: "/shops/ours".into(),
        cache: "/cache".into(),
        demo: "/shops/demo".into(),
        today: || date(2026, 11, 26),
        who: "Pat".to_owned(),
    }));
    desk
}

/// What is to be looked at, and what leads there.
const STATES: [(&str, Steps); 21] = [
    ("nothing_typed", |desk| desk),
    ("nothing_found", |desk| desk.type_in("zzzz")),
    ("found_by_number", |desk| desk.type_in("RP-1107C")),
    ("measured", |desk| desk.type_in(PLATE).press("enter j")),
    ("not_understood", |desk| desk.type_in("plate girth 7 od 112.1")),
    ("points_laid_over", |desk| desk.type_in(PLATE).type_in(POINTS)),
    ("wrong_hand", |desk| desk.type_in(PLATE).type_in(POINTS).press("enter j")),
    ("whole_screen", |desk| desk.type_in(PLATE).type_in(POINTS).press("enter enter")),
    ("crosses", |desk| desk.type_in("RP-1107C").press("tab")),
    ("units", |desk| desk.type_in("RP-1107C").press("tab tab")),
    ("bins", |desk| desk.type_in("RP-1131C").press("shift-tab")),
    ("marked", |desk| desk.type_in(PLATE).press("enter space j space")),
    ("copied", |desk| desk.type_in("RP-1107C").press("enter y")),
    ("guide_kinds", |desk| desk.press("f5").type_in("plate")),
    ("guide_measure", |desk| desk.type_in(PLATE).press("f5")),
    ("points_editor", |desk| {
        desk.press("f6").type_in("hole 0 0 /6.2").press("enter").type_in("hole 92.1<0")
    }),
    ("slip", |desk| desk.type_in("RP-1131C").press("enter s")),
    ("slip_in_trouble", |desk| {
        desk.type_in("RP-1131C").press("enter s").type_in("400").press("enter")
    }),
    ("keys_page_1", |desk| desk.press("f1")),
    ("keys_page_2", |desk| desk.press("f1 pagedown")),
    ("no_shop_yet", no_shop),
];

#[test]
fn every_state_is_there_in_every_way_of_drawing() {
    let mut desk = Desk::new(80, 24, COLOUR);
    for (name, steps) in STATES {
        let mut shown = String::new();
        let mut plain = String::new();
        for (palette, theme) in [("light", COLOUR), ("dark", DARK), ("no colour", MONO)] {
            desk = desk.anew(theme);
            steps(&mut desk);
            let screen = desk.screen();
            if plain.is_empty() {
                shown.push_str(&screen);
            } else {
                assert_eq!(screen, plain, "{name}: colour only repeats what is written");
            }
            plain = screen;
            shown.push_str(&format!("\n\n--- {palette}\n"));
            for (at, runs) in desk.styles().iter().enumerate().filter(|(_, runs)| !runs.is_empty())
            {
                shown.push_str(&format!("{at:>2}: {runs}\n"));
            }
        }
        desk = desk.anew(ASCII);
        steps(&mut desk);
        let screen = desk.screen();
        assert!(screen.is_ascii(), "{name}: {screen}");
        shown.push_str(&format!("\n--- ASCII\n{screen}"));
        assert_snapshot!(name, shown);
    }
}

#[test]
fn a_kind_is_walked_measure_by_measure_and_the_line_says_so() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.press("f5").type_in("rectifier pl").press("enter");
    let screen = desk.screen();
    assert!(screen.contains("▏ rp") && screen.contains("Enter alone skips it"), "{screen}");
    desk.type_in("4").press("enter enter").type_in("112.1 furlongs").press("enter");
    let screen = desk.screen();
    assert!(screen.contains("`furlongs` in `112.1"), "a mistake is named: {screen}");
    desk.press("ctrl-w").press("backspace enter esc");
    let screen = desk.screen();
    assert!(screen.contains("▏ rp lugs 4 ") && screen.contains("112.1"), "{screen}");
    assert!(screen.contains("none of ours"), "and was answered: {screen}");
    assert_eq!(
        desk.done.iter().filter(|effect| matches!(effect, Effect::Remember(_))).count(),
        1,
        "the line is kept for later: {:?}",
        desk.done
    );
}

/// The third hole is the same in all three: x and y, radius and angle, two distances. Reckoned by
/// hand: a right angle at the origin, 30 and 40 from it, so 50 from each other (Euclid I.47).
#[test]
fn points_are_entered_by_place_angle_or_distance_and_mean_the_same() {
    for third in ["hole 0 40", "hole 40<90", "hole 1=40 2=50"] {
        let mut desk = Desk::new(80, 24, MONO);
        desk.type_in("plate ").press("f6");
        desk.type_in("hole 0 0").press("enter").type_in("hole 30 0").press("enter");
        desk.type_in(third).press("enter");
        let screen = desk.screen();
        assert!(screen.contains("plate hole@0,0; hole@30,0; hole@0,40"), "{third}: {screen}");
        desk.press("up backspace").press("esc");
        let line = desk.screen();
        assert!(line.contains("plate hole@0,0; hole@30,0\n"), "the last is mended: {line}");
    }
    let mut desk = Desk::new(80, 24, MONO);
    desk.press("f6").type_in("hole 0 0").press("enter").type_in("hole 1=5 2=7").press("enter");
    let screen = desk.screen();
    assert!(screen.contains("! there is no point 2 yet"), "{screen}");
    assert!(screen.contains("hole 1=5 2=7"), "what was typed stays: {screen}");
}

/// Two columns each, after Unicode Standard Annex #11: the columns beside them must not move.
#[test]
fn wide_characters_keep_their_columns() {
    let mut desk = Desk::new(80, 24, MONO);
    let rows = "number,kind,description,maker\n\
                KX-1,bearing,深沟球轴承 带密封圈 用于交流发电机前端盖 六二零三,北星轴承制造\n\
                KX-2,bearing,plain bearing words and words that are long enough,North\n";
    let options = ImportOptions::default();
    desk.shop.import("wide.csv", rows.as_bytes(), &options, |_| ()).unwrap();
    desk.shop.follow().unwrap();
    desk.type_in("KX-?");
    let screen = desk.screen();
    let columns = |text: &str| binwright_tui::text::columns(text);
    let stock = |number: &str| {
        let line = screen.lines().find(|line| line.contains(number) && line.contains(" 0"));
        let line = line.unwrap_or_else(|| panic!("{number} in\n{screen}"));
        columns(&line[..line.rfind(" 0").unwrap()])
    };
    assert_eq!(stock("KX-1"), stock("KX-2"), "{screen}");
    assert!(screen.lines().all(|line| columns(line) <= 80), "{screen}");
    desk.press("esc").type_in("轴承 ab").press("left left left");
    let at = desk.terminal.get_cursor_position().unwrap();
    assert_eq!((at.x, at.y), (6, 1), "the cursor stands after two wide characters");
}

#[test]
fn what_others_change_is_shown_without_moving_the_cursor() {
    let mut desk = Desk::new(80, 24, MONO);
    desk.type_in(PLATE).press("enter j j tab pagedown");
    let before = desk.screen();
    desk.report(Report::Changed(425));
    let after = desk.screen();
    assert_eq!(before.replace("424 parts", "425 parts"), after);
    // Also when the person has gone back to the line with the cursor left on a row.
    desk.press("esc").report(Report::Changed(424));
    let chosen =
        |screen: &str| screen.lines().find(|line| line.starts_with('▸')).map(str::to_owned);
    assert_eq!(chosen(&before), chosen(&desk.screen()));
}

#[test]
fn a_late_answer_never_moves_the_list() {
    let mut desk = Desk::new(80, 24, MONO);
    let before = desk.type_in(PLATE).press("enter j").screen();
    let late = Question::Find("RG-1120F".to_owned()).answer(&mut desk.shop, "Pat");
    desk.report(Report::Answered(0, 1, late));
    assert_eq!(before, desk.screen());
}

#[test]
fn a_new_shop_is_asked_for_its_name_and_its_money() {
    let mut desk = Desk::new(80, 24, MONO);
    no_shop(&mut desk);
    desk.press("down enter").type_in("Quay Street").press("enter");
    assert!(desk.screen().contains("in which money does it count (ISO 4217)? EUR"));
    desk.press("backspace backspace backspace").type_in("quid").press("enter");
    assert!(desk.screen().contains("! "), "{}", desk.screen());
    desk.press("ctrl-w").press("backspace backspace backspace backspace");
    desk.type_in("gbp").press("enter");
    let made = Make::New { name: "Quay Street".to_owned(), currency: "GBP".parse().unwrap() };
    assert_eq!(desk.done.last(), Some(&Effect::Make(made)));
}

/// The keys screen promises them wherever a line is typed.
#[test]
fn the_line_of_a_new_shop_is_edited_and_pasted_into_as_every_line() {
    let mut desk = Desk::new(80, 24, MONO);
    no_shop(&mut desk);
    desk.press("down enter").type_in("ay Street").press("home").type_in("Qu").press("end left");
    desk.press("delete backspace");
    desk.paste("et");
    assert!(desk.screen().contains("what is it called? Quay Street"), "{}", desk.screen());
    desk.press("ctrl-w");
    assert!(desk.screen().trim_end().ends_with("called? Quay"), "{}", desk.screen());
}

/// Whoever changes keys is told of the changed ones, on every desk.
#[test]
fn what_is_told_of_keys_is_told_of_those_in_force() {
    let own = "[everywhere]\npage-down = [\"alt-v\"]\n\
               [line]\naccept = [\"alt-a\"]\nclear = [\"alt-c\"]\nolder = [\"alt-u\"]\nnewer = [\"alt-n\"]\n\
               [list]\nopen = [\"alt-o\"]\ndraft = [\"alt-d\"]\n";
    let desk = || Desk::with_keys(own, 80, 24, MONO);
    let says = |desk: &mut Desk, words: &str| {
        let screen = desk.screen();
        assert!(screen.contains(words), "`{words}` is missing in\n{screen}");
    };
    says(desk().press("f5"), "Alt-U and Alt-N, Alt-A takes it.");
    says(desk().type_in("plate").press("f5"), "Alt-A alone skips it, Alt-C ends");
    says(desk().press("f6"), "Alt-A adds or ends, Alt-U mends the");
    let mut bench = desk();
    says(bench.press("f3"), "Alt-N chooses, Alt-A takes it");
    says(bench.type_in("au-1112").press("alt-a"), "more lines: Alt-V");
    says(bench.press("alt-o"), "choose with Alt-N");
    says(bench.press("alt-c tab tab tab"), "as it would be; Alt-O makes it");
    says(bench.press("alt-o"), "Alt-A makes the quote and holds stock, Alt-C does");
    let mut buying = desk();
    says(buying.press("f4 < < < < < < alt-d"), "then Alt-D drafts its orders");
    says(buying.press("alt-d"), "Alt-D again drafts");
}

/// The plate whose card lacks the gap between its plates is lent one by a relative, and says by
/// which.
#[test]
fn a_gap_says_who_lends_the_value() {
    let mut desk = Desk::new(120, 36, MONO);
    let screen = desk.type_in(PLATE).type_in(" gap 6.3").screen();
    let lent = screen.lines().find(|line| line.contains("gap between plates"));
    assert!(
        lent.is_some_and(|line| line.contains("gap, ") && line.contains(" by RP-")),
        "{screen}"
    );
}
