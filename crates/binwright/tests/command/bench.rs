//! A folder with a shop and an index of its own, and the real program to use on it.

use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};

use serde_json::Value;
use tempfile::TempDir;

pub const TABLES: [&str; 10] = [
    "parts",
    "crosses",
    "units",
    "bills",
    "bins",
    "stock",
    "prices",
    "demand",
    "suppliers",
    "offers",
];

/// The measured plate of the samples' README, and its points.
pub const PLATE: [&str; 6] = [
    "fit",
    "rectifier-plate",
    "phase_lugs=4",
    "outline_od=112.1",
    "mount_pitch=92.1",
    "bplus_thread=M8",
];
pub const POINTS: &str = "hole@0,0/6.2; hole@92.1,0/6.2; hole@46.2,-28/6.2; stud:B+@81.8,7.2/M8; \
                          lead:U@16.2,-7.4; lead:V@35.1,-19.1; lead:W@56.9,-18.8; lead:N@75.5,-7.4";

pub struct Bench {
    folder: TempDir,
    /// The address of its server, where it is on one.
    server: Option<String>,
}

impl Bench {
    pub fn empty() -> Self {
        Self { folder: TempDir::new().unwrap(), server: None }
    }

    /// On a server, its own folders empty.
    pub fn on_server(address: &str) -> Self {
        Self { server: Some(address.to_owned()), ..Self::empty() }
    }

    /// What its shop is named by, beside others in its folder.
    pub fn shop(&self, name: &str) -> OsString {
        self.server.as_ref().map_or_else(|| self.path(name).into(), OsString::from)
    }

    pub fn with_samples() -> Self {
        Self::empty().filled()
    }

    /// Makes the shop of the samples in it.
    pub fn filled(self) -> Self {
        let bench = self;
        assert!(bench.run(&["create", "--name", "Test shop"]).status.success());
        let path = |table: &&str| samples().join(format!("{table}.csv")).display().to_string();
        let files: Vec<String> = TABLES.iter().map(path).collect();
        let mut line = vec!["import"];
        line.extend(files.iter().map(String::as_str));
        let done = bench.run(&line);
        assert_eq!(done.status.code(), Some(0), "{}", text(&done.stderr));
        bench
    }

    pub fn path(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    /// Writes a file and returns its path as text.
    pub fn file(&self, name: &str, content: &str) -> String {
        let path = self.path(name);
        std::fs::write(&path, content).unwrap();
        path.display().to_string()
    }

    pub fn command(&self, line: &[&str]) -> Command {
        let mut command = Command::new(env!("CARGO_BIN_EXE_binwright"));
        command
            .args(line)
            .env("BINWRIGHT_SHOP", self.shop("shop"))
            .env("XDG_CACHE_HOME", self.path("cache"))
            .env("XDG_DATA_HOME", self.path("data"))
            .env("HOME", self.folder.path())
            .env_remove("NO_COLOR")
            .env_remove("CLICOLOR_FORCE")
            .stdin(Stdio::null());
        command
    }

    pub fn run(&self, line: &[&str]) -> Output {
        self.command(line).output().unwrap()
    }

    pub fn json(&self, line: &[&str]) -> Value {
        let mut line = line.to_vec();
        line.push("--json");
        let done = self.run(&line);
        serde_json::from_slice(&done.stdout)
            .unwrap_or_else(|error| panic!("{line:?}: {error}\n{}", text(&done.stderr)))
    }
}

pub fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../import-samples")
}

pub fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

pub fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}
