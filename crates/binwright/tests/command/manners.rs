//! Streams, colour, exit codes, errors, the shop's own kinds.

use std::fs;
use std::path::Path;
use std::process::{Command, Stdio};

use serde_json::Value;

use crate::bench::{Bench, PLATE, text};

#[test]
fn errors_say_what_was_read_and_what_would_be_right() {
    let bench = Bench::with_samples();
    let done = bench.run(&["fit", "rectifier-plat", "od=1", "--json"]);
    assert_eq!(done.status.code(), Some(1));
    let error: Value = serde_json::from_slice(&done.stderr).unwrap();
    assert!(error["hint"].as_str().unwrap().contains("rectifier-plate"), "{error}");
    assert_eq!(bench.run(&["fit", "--nonsense"]).status.code(), Some(2));
    for (line, says) in [
        (vec!["fit", "rectifier-plate", "outline_od=abc"], "abc"),
        (vec!["fit", "rectifier-plate", "outlin_od=1"], "outline_od"),
        (vec!["fit", "rectifier-plate", "--layout", "hol@1,1"], "layout point 1"),
        (vec!["fit", "rectifier-plate"], "nothing was measured"),
        (vec!["show", "nope"], "nope"),
        (vec!["import", "missing.csv"], "missing.csv"),
    ] {
        let done = bench.run(&line);
        assert_eq!(done.status.code(), Some(1), "{line:?}");
        assert!(text(&done.stderr).contains(says), "{line:?}: {}", text(&done.stderr));
    }
}

#[test]
fn colour_follows_option_and_environment() {
    let bench = Bench::with_samples();
    let line = ["show", "RP-1131C"];
    let coloured = |command: &mut Command| command.output().unwrap().stdout.contains(&0x1b);
    assert!(!coloured(&mut bench.command(&line)));
    assert!(coloured(bench.command(&line).env("CLICOLOR_FORCE", "1")));
    assert!(!coloured(bench.command(&line).env("CLICOLOR_FORCE", "1").env("NO_COLOR", "1")));
    assert!(coloured(bench.command(&line).args(["--colour", "always"]).env("NO_COLOR", "1")));
}

#[test]
fn text_from_outside_never_reaches_the_terminal_raw() {
    let bench = Bench::with_samples();
    let rows = "number,kind,description\nHX-1,bearing,red \u{9b}31m tail\n";
    bench.run(&["import", &bench.file("hostile.csv", rows)]);
    for line in [vec!["show", "HX-1"], vec!["find", "HX-1"], vec!["show", "\x1b[2Jx"]] {
        let done = bench.run(&line);
        let said = text(&done.stdout) + &text(&done.stderr);
        assert!(!said.contains(['\x1b', '\u{9b}']), "{said:?}");
    }
}

#[test]
fn a_reader_that_goes_away_is_no_error() {
    let bench = Bench::with_samples();
    let mut command = bench.command(&["export", "parts"]);
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let done = child.wait_with_output().unwrap();
    assert!(done.status.success() && done.stderr.is_empty(), "{}", text(&done.stderr));
}

#[test]
fn manual_and_completions_come_from_the_declaration() {
    let bench = Bench::empty();
    let manual = text(&bench.run(&["manual"]).stdout);
    for words in ["import", "fit", "rejected", "sd\\-mm"] {
        assert!(manual.contains(words), "`{words}` is missing");
    }
    for shell in ["bash", "zsh", "fish", "powershell"] {
        let script = text(&bench.run(&["completions", shell]).stdout);
        assert!(script.contains("sd-mm"), "{shell}");
    }
}

#[test]
fn deleting_the_index_changes_no_answer() {
    let bench = Bench::with_samples();
    let fit = [&PLATE[..], &["--plain"]].concat();
    let find = ["find", "--plain", "RP-11?1C"];
    let before = (bench.run(&fit).stdout, bench.run(&find).stdout);
    fs::remove_dir_all(bench.path("cache")).unwrap();
    assert_eq!((bench.run(&fit).stdout, bench.run(&find).stdout), before);
    assert!(bench.run(&["check"]).status.success());
}

#[test]
fn a_shops_own_kinds_add_and_their_mistakes_are_named() {
    let bench = Bench::with_samples();
    let kinds = bench.path("shop").join("kinds");
    fs::create_dir_all(&kinds).unwrap();
    let built_in = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../schema/kinds/fan.toml");
    let built_in = fs::read_to_string(built_in).unwrap();
    let own = built_in.replace("\"fan\"", "\"pump-fan\"").replace("fan-wheel", "pump-wheel");
    fs::write(kinds.join("pump.toml"), &own).unwrap();
    assert!(text(&bench.run(&["kinds"]).stdout).contains("pump-fan"));
    fs::write(kinds.join("pump.toml"), own.replacen("spread", "spred", 1)).unwrap();
    let said = text(&bench.run(&["kinds"]).stderr);
    assert!(
        said.contains("pump.toml") && said.contains("line") && said.contains("spread"),
        "{said}"
    );
}
