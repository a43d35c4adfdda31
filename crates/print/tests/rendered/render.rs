//! What does another program make of a PDF? Gray pages and text by poppler.

use std::io::Write as _;
use std::{fs, process::Command};

/// Whether poppler is here.
pub fn is_possible() -> bool {
    let there = |program: &str| Command::new(program).arg("-v").output().is_ok();
    let possible = there("pdftotext") && there("pdftoppm");
    if !possible {
        // Past the harness, which keeps to itself what a passing test prints.
        std::io::stderr()
            .write_all(b"no poppler here: what is printed is not read back\n")
            .unwrap();
    }
    possible
}

/// A page as gray dots, 0 black.
pub struct Gray {
    pub width: usize,
    pub height: usize,
    pub dots: Vec<u8>,
    pub dpi: f64,
}

impl Gray {
    /// Ink of the dot at x, y: 0 for paper, 1 for black.
    pub fn ink(&self, x: usize, y: usize) -> f64 {
        if x >= self.width || y >= self.height {
            return 0.0;
        }
        1.0 - f64::from(self.dots[y * self.width + x]) / 255.0
    }

    /// Ink at a place in mm, between dots.
    pub fn ink_at_mm(&self, [x, y]: [f64; 2]) -> f64 {
        let (u, v) = (self.dots_of(x) - 0.5, self.dots_of(y) - 0.5);
        let (left, top) = (u.floor(), v.floor());
        let (fx, fy) = (u - left, v - top);
        let (x, y) = (left as usize, top as usize);
        self.ink(x, y) * (1.0 - fx) * (1.0 - fy)
            + self.ink(x + 1, y) * fx * (1.0 - fy)
            + self.ink(x, y + 1) * (1.0 - fx) * fy
            + self.ink(x + 1, y + 1) * fx * fy
    }

    pub fn dots_of(&self, mm: f64) -> f64 {
        mm / 25.4 * self.dpi
    }

    pub fn mm_of(&self, dots: f64) -> f64 {
        dots / self.dpi * 25.4
    }
}

fn run(program: &str, arguments: &[&str]) {
    let done = Command::new(program).args(arguments).output().unwrap();
    assert!(done.status.success(), "{program}: {}", String::from_utf8_lossy(&done.stderr));
    assert!(done.stderr.is_empty(), "{program}: {}", String::from_utf8_lossy(&done.stderr));
}

/// Renders every page of `pdf` at `dpi`.
pub fn pages(pdf: &[u8], dpi: u32) -> Vec<Gray> {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("in.pdf");
    fs::write(&file, pdf).unwrap();
    let stem = folder.path().join("page");
    run(
        "pdftoppm",
        &["-gray", "-r", &dpi.to_string(), file.to_str().unwrap(), stem.to_str().unwrap()],
    );
    let mut names: Vec<_> = fs::read_dir(folder.path())
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|end| end == "pgm"))
        .collect();
    names.sort();
    names.iter().map(|name| pgm(&fs::read(name).unwrap(), f64::from(dpi))).collect()
}

/// The text of `pdf`, page by page, in the order a reader meets it.
pub fn text(pdf: &[u8]) -> String {
    let folder = tempfile::tempdir().unwrap();
    let [file, out] = ["in.pdf", "out.txt"].map(|name| folder.path().join(name));
    fs::write(&file, pdf).unwrap();
    run("pdftotext", &["-raw", file.to_str().unwrap(), out.to_str().unwrap()]);
    fs::read_to_string(out).unwrap()
}

/// Binary PGM: `P5`, width, height, 255, one white space, dots.
fn pgm(file: &[u8], dpi: f64) -> Gray {
    let mut at = 0;
    let mut words = Vec::new();
    while words.len() < 4 {
        let end = at + file[at..].iter().position(u8::is_ascii_whitespace).unwrap();
        words.push(std::str::from_utf8(&file[at..end]).unwrap());
        at = end + 1;
    }
    assert_eq!((words[0], words[3]), ("P5", "255"));
    let (width, height) = (words[1].parse().unwrap(), words[2].parse().unwrap());
    Gray { width, height, dots: file[at..].to_vec(), dpi }
}
