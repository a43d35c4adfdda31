//! Files in and out: twice is once, out and in again is the same, bad rows are named and mended.

use std::fs;

use crate::bench::{Bench, TABLES, list, samples, text};

#[test]
fn importing_the_same_files_twice_changes_nothing() {
    let bench = Bench::with_samples();
    for table in TABLES {
        let file = samples().join(format!("{table}.csv")).display().to_string();
        let done = bench.json(&["import", &file]);
        assert_eq!((&done[0]["added"], &done[0]["changed"]), (&0.into(), &0.into()), "{table}");
        assert!(done[0]["unchanged"].as_u64().unwrap() > 0, "{table}");
    }
}

#[test]
fn what_is_exported_builds_the_same_shop() {
    let first = Bench::with_samples();
    for (ending, style) in [("csv", None), ("csv", Some("--for-spreadsheet")), ("xlsx", None)] {
        let second = Bench::empty();
        assert!(second.run(&["create"]).status.success());
        for table in TABLES {
            let name = format!("{table}{}.{ending}", style.unwrap_or(""));
            let file = first.path(&name).display().to_string();
            let mut line = vec!["export", table, &file];
            line.extend(style);
            assert!(first.run(&line).status.success(), "{table}");
            let done = second.run(&["import", "--table", table, &file]);
            assert_eq!(done.status.code(), Some(0), "{table}: {}", text(&done.stdout));
        }
        for table in TABLES {
            let (one, two) = (first.run(&["export", table]), second.run(&["export", table]));
            assert!(one.stdout.len() > 100, "{table} is not empty");
            assert_eq!(text(&one.stdout), text(&two.stdout), "{table}, {ending}");
        }
    }
}

#[test]
fn rejected_rows_are_named_mended_and_taken() {
    let bench = Bench::with_samples();
    let rows = "part,bin,condition,quantity\nRP-1131C,A2-04,new,3\nRP-1131C,A1-04,mint,2\n";
    let done = bench.run(&["import", &bench.file("more.csv", rows)]);
    assert_eq!(done.status.code(), Some(3), "{}", text(&done.stderr));
    let said = text(&done.stdout);
    for words in ["row 3", "`condition`", "`mint`", "used-good"] {
        assert!(said.contains(words), "`{words}` is missing in\n{said}");
    }
    let rejects = fs::read_to_string(bench.path("more.rejects.csv")).unwrap();
    let mended = bench.file("mended.csv", &rejects.replace("mint", "core"));
    let done = bench.json(&["import", &mended]);
    assert_eq!((&done[0]["added"], &done[0]["rejected"]), (&1.into(), &0.into()), "{done}");
}

#[test]
fn rejects_are_never_written_over() {
    let bench = Bench::with_samples();
    let file = bench.file("bad.csv", "bin\n\u{200b}\n");
    for _ in 0..2 {
        bench.run(&["import", "--table", "stock", &file]);
        bench.run(&["import", "--table", "bins", &file]);
    }
    assert!(bench.path("bad.rejects.csv").exists() && bench.path("bad.rejects-2.csv").exists());
}

#[test]
fn a_suppliers_list_comes_in_by_its_map_and_its_bad_rows_do_not() {
    let bench = Bench::with_samples();
    let map = samples().join("maps/tarnbrook.toml").display().to_string();
    let copy = bench.path("tarnbrook.csv");
    fs::copy(samples().join("suppliers/tarnbrook-2026.csv"), &copy).unwrap();
    let done = bench.json(&["import", &copy.display().to_string(), "--map", &map]);
    assert_eq!(done[0]["rejected"], 7, "{done}");
    assert_eq!(done[0]["encoding"], "windows-1252");
    assert_eq!(done[0]["decimal"], "comma");
    assert!(done[0]["added"].as_u64().unwrap() > 300, "{done}");
}

/// 1 in is 25.4 mm exactly: international yard and pound agreement, 1959.
#[test]
fn inches_in_a_suppliers_list_are_millimetres_in_the_shop() {
    let bench = Bench::with_samples();
    let map = samples().join("maps/quillmere-parts.toml").display().to_string();
    for ending in ["csv", "xlsx"] {
        let copy = bench.path(&format!("quillmere.{ending}"));
        fs::copy(samples().join(format!("suppliers/quillmere-spring.{ending}")), &copy).unwrap();
        let done = bench.json(&["import", &copy.display().to_string(), "--map", &map]);
        assert_eq!(done[0]["rejected"], 5, "{done}");
    }
    let found = bench.json(&["fit", "bearing", "bore=0.6693 in", "od=1.5748 in", "width=12"]);
    assert_eq!(found["candidates"][0]["measures"][0]["taken"], "17.0002");
}

#[test]
fn a_dry_run_keeps_nothing() {
    let bench = Bench::with_samples();
    let file = bench.file("new.csv", "number,kind\nZZ-9001,bearing\n");
    assert_eq!(bench.json(&["import", "--dry-run", &file])[0]["added"], 1);
    assert_eq!(bench.run(&["show", "ZZ-9001"]).status.code(), Some(1));
}

#[test]
fn a_loop_of_replacements_is_refused_with_the_loop_named() {
    let bench = Bench::with_samples();
    let file = bench.file("loop.csv", "from,kind,to\nRP-1107C,replaces,RP-1131C\n");
    let said = text(&bench.run(&["import", &file]).stdout);
    for words in ["loop", "RP-1107C", "RP-1123C", "RP-1131C"] {
        assert!(said.contains(words), "{said}");
    }
}

#[test]
fn a_changed_number_is_found_and_the_old_one_is_gone() {
    let bench = Bench::with_samples();
    for number in ["QQ-77001", "QW-88552"] {
        let row = format!("number,kind,other_numbers\nRP-0001X,rectifier-plate,{number}\n");
        assert!(bench.run(&["import", &bench.file("one.csv", &row)]).status.success());
        assert_eq!(bench.json(&["find", number])["hits"][0]["number"], "RP-0001X");
    }
    let old = bench.json(&["find", "QQ-77001"]);
    assert!(list(&old["hits"]).iter().all(|hit| hit["distance"] != 0.0), "{old}");
}
