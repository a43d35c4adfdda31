//! Does every input that was once hostile, and every seed of the fuzzer, still do no harm?
//!
//! The inputs lie in `tests/fuzz/corpus`, a folder a way in; an input that failed once stays there
//! for good. The made-up shop's own files and the built-in kinds and faults are played too.

use std::fs;
use std::path::{Path, PathBuf};

use binwright_tests::hostile::WAYS;

fn files(folder: &Path) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).unwrap_or_else(|e| panic!("{}: {e}", folder.display()));
    entries.flatten().map(|entry| entry.path()).filter(|path| path.is_file()).collect()
}

#[test]
fn no_kept_input_does_harm() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for (way, act) in WAYS {
        let kept = files(&root.join("fuzz/corpus").join(way));
        assert!(!kept.is_empty(), "{way} has no kept input");
        let more = match way {
            "csv_import" | "xlsx_import" => [
                files(&root.join("../import-samples")),
                files(&root.join("../import-samples/suppliers")),
            ]
            .concat(),
            "kinds_toml" => files(&root.join("../schema/kinds")),
            "faults_toml" => files(&root.join("../schema/faults")),
            _ => Vec::new(),
        };
        for path in kept.into_iter().chain(more) {
            let bytes = fs::read(&path).expect("a file of the checkout");
            act(&bytes);
            // And with its end missing, as after a broken transfer.
            act(&bytes[..bytes.len() / 2]);
        }
    }
}
