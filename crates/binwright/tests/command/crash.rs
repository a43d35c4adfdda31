//! What is left when the program is killed?

use std::fmt::Write;
use std::process::Stdio;
use std::time::Duration;

use crate::bench::{Bench, text};

/// An import is killed at ever later moments; each time the shop opens, checks out and answers.
#[test]
fn a_kill_at_any_moment_of_an_import_leaves_a_shop_that_answers() {
    let bench = Bench::with_samples();
    let mut rows = String::from("number,kind,bore,od,width\n");
    for at in 0..20_000 {
        let (bore, od, width) = (8 + at % 30, 40 + at % 50, 7 + at % 19);
        writeln!(rows, "KX-{at:05},bearing,{bore},{od},{width}").unwrap();
    }
    let file = bench.file("many.csv", &rows);
    for wait_ms in [5, 20, 60, 120, 250, 500, 900] {
        let mut command = bench.command(&["import", &file]);
        let mut child = command.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        std::thread::sleep(Duration::from_millis(wait_ms));
        let _ = child.kill();
        let _ = child.wait();
        let done = bench.run(&["check"]);
        assert!(done.status.success(), "after {wait_ms} ms: {}", text(&done.stdout));
        assert_eq!(bench.json(&["find", "RP-1131C"])["hits"][0]["number"], "RP-1131C");
    }
}
