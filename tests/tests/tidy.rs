//! Does the house keep its own rules? The arrows of the crate graph, file length, first lines.
//!
//! A new arrow is one line in [`ARROWS`] and a reason in the change that adds it.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// Who may know whom: crate, and the crates it may name under `[dependencies]`.
const ARROWS: [(&str, &[&str]); 13] = [
    ("catalog", &[]),
    ("evidence", &[]),
    ("fit", &["catalog", "evidence"]),
    ("diagnosis", &["catalog", "evidence"]),
    ("quoting", &["catalog"]),
    ("buying", &["catalog"]),
    ("store", &["catalog"]),
    ("index", &["catalog", "fit"]),
    ("exchange", &["catalog"]),
    ("print", &["catalog"]),
    (
        "shop",
        &[
            "catalog",
            "evidence",
            "fit",
            "diagnosis",
            "quoting",
            "buying",
            "store",
            "index",
            "exchange",
            "print",
        ],
    ),
    ("tui", &["shop"]),
    ("binwright", &["catalog", "shop", "tui"]),
];

/// The crates that do no input or output; each has a `clippy.toml` that bans the calls.
const PURE: [&str; 6] = ["catalog", "evidence", "fit", "diagnosis", "quoting", "buying"];

/// A file has one subject; past this many lines it has two.
const LINES_MAX: usize = 700;

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("..")
}

/// The crates named under `[dependencies]` of a manifest that are ours, without their prefix.
fn arrows_of(manifest: &str) -> Vec<String> {
    manifest
        .lines()
        .skip_while(|line| line.trim() != "[dependencies]")
        .skip(1)
        .take_while(|line| !line.starts_with('['))
        .filter_map(|line| line.trim().strip_prefix("binwright-"))
        .filter_map(|rest| rest.split(['.', ' ', '=']).next())
        .map(str::to_owned)
        .collect()
}

fn sources(folder: &Path, into: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder of the checkout").flatten() {
        let path = entry.path();
        if path.is_dir() && !path.ends_with("target") {
            sources(&path, into);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            into.push(path);
        }
    }
}

#[test]
fn arrows_run_downward_only() {
    let allowed: BTreeMap<_, _> = ARROWS.into_iter().collect();
    for entry in fs::read_dir(root().join("crates")).expect("the crates folder").flatten() {
        let name = entry.file_name().into_string().expect("a crate's name is plain");
        let manifest = fs::read_to_string(entry.path().join("Cargo.toml")).expect("a manifest");
        let known =
            allowed.get(name.as_str()).unwrap_or_else(|| panic!("crate `{name}` is not in ARROWS"));
        for arrow in arrows_of(&manifest) {
            assert!(known.contains(&arrow.as_str()), "`{name}` must not know `{arrow}`");
        }
    }
}

#[test]
fn the_arrow_check_sees_what_a_manifest_names() {
    let manifest = "[package]\nname = \"x\"\n[dependencies]\nbinwright-tui.workspace = true\n\
                    binwright-shop = { path = \"../shop\" }\n[dev-dependencies]\nbinwright-store.workspace = true\n";
    assert_eq!(arrows_of(manifest), ["tui", "shop"]);
}

#[test]
fn pure_crates_ban_the_clock_and_the_disk() {
    for name in PURE {
        let path = root().join("crates").join(name).join("clippy.toml");
        let bans = fs::read_to_string(&path).unwrap_or_default();
        for call in ["std::time::SystemTime::now", "std::fs::read_to_string", "std::fs::File::open"]
        {
            assert!(bans.contains(call), "{} does not ban {call}", path.display());
        }
    }
}

#[test]
fn every_file_has_one_subject_and_says_which() {
    let mut files = Vec::new();
    for folder in ["crates", "tests"] {
        sources(&root().join(folder), &mut files);
    }
    assert!(files.len() > 50, "the sources were found: {}", files.len());
    for path in files {
        let text = fs::read_to_string(&path).expect("a source file");
        let lines = text.lines().count();
        assert!(
            lines <= LINES_MAX,
            "{} has {lines} lines, {LINES_MAX} is the most",
            path.display()
        );
        assert!(
            text.starts_with("//!"),
            "{} does not say what question it answers",
            path.display()
        );
    }
}

/// The root's manifest lists versions once; a crate that names its own would drift.
#[test]
fn versions_are_named_in_one_place() {
    for (name, _) in ARROWS {
        let path = root().join("crates").join(name).join("Cargo.toml");
        let manifest = fs::read_to_string(&path).expect("a manifest");
        let drift = manifest
            .lines()
            .skip_while(|line| line.trim() != "[dependencies]")
            .find(|line| line.contains("version =") || line.contains("= \""));
        assert!(drift.is_none(), "{}: {}", path.display(), drift.unwrap_or_default());
    }
}

/// README's first command names no program: there are several, and only one manifest may say which is meant.
#[test]
fn plain_cargo_run_is_the_program() {
    let manifests = ARROWS.map(|(name, _)| root().join("crates").join(name).join("Cargo.toml"));
    let says = |path: &PathBuf| {
        let manifest = fs::read_to_string(path).expect("a manifest");
        manifest.lines().find_map(|line| line.strip_prefix("default-run = ").map(str::to_owned))
    };
    let said: Vec<String> =
        manifests.iter().chain([&root().join("tests/Cargo.toml")]).filter_map(says).collect();
    assert_eq!(said, ["\"binwright\""]);
}
