//! The bench's screens.

use insta::assert_snapshot;

use crate::desk_at_work::{ASCII, COLOUR, Desk, MONO};

/// A unit of the made-up shop on the bench, with two readings that leave it open what is wrong.
fn begun(width: u16, height: u16, theme: binwright_tui::theme::Theme) -> Desk {
    let mut desk = Desk::new(width, height, theme);
    desk.press("f3").type_in("au-1112").press("enter");
    read(&mut desk, "B-05", "low");
    read(&mut desk, "B-06", "high");
    desk
}

/// Goes down to the check with `code` and types what was read.
fn read(desk: &mut Desk, code: &str, value: &str) {
    desk.press("home");
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

#[test]
fn show() {
    for (w, h) in [(80, 24), (120, 36), (60, 16)] {
        let mut desk = Desk::new(w, h, MONO);
        println!("{}\n", desk.press("f3").screen());
        println!("{}\n", desk.type_in("starter 12").screen());
        desk.press("ctrl-w ctrl-w").type_in("au-1112");
        println!("{}\n", desk.press("enter").screen());
        println!("{}\n", desk.press("n enter down").screen());
        desk.press("esc");
        println!("{}\n", desk.screen());
        let mut desk = begun(w, h, MONO);
        println!("{}\n", desk.screen());
        read(&mut desk, "B-09", "0.47V/OL");
        println!("{}\n", desk.press("n").screen());
        println!("{}\n", desk.press("tab").screen());
        println!("{}\n", desk.press("tab").screen());
        println!("{}\n", desk.press("tab").screen());
        println!("{}\n", desk.press("enter").screen());
        println!("{}\n", desk.type_in("Moor Haulage").press("enter").screen());
        println!("{}\n", desk.press("pagedown").screen());
    }
}
