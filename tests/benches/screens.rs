//! How long does a key take to the screen, and how soon is there one, on a shop of a million parts?
//!
//! `cargo bench -p binwright-tests --bench screens [-- PARTS]`. The real update and view on 80 by 24
//! cells in memory, the real thread that asks the shop beside them. The seeded corpus (seed 29), as
//! many parts of every kind, is written once into the folder that `BINWRIGHT_BENCH_DIR` names (the
//! temporary folder when it names none) and kept there. Removed plates (seed 41) are typed letter by
//! letter, six measures and then the points; each letter waits for the answer to the one before.

#![allow(clippy::print_stdout, reason = "a bench reports")]

use std::fs::{self, File};
use std::path::{Path, PathBuf};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::time::{Duration, Instant};

use binwright_catalog::{Currency, Kind, Kinds, Layout};
use binwright_shop::{Keep, Shop};
use binwright_store::{Store, StoreError};
use binwright_tests::corpus::{Specimen, catalogue, dice, removed};
use binwright_tests::figures::{Goal, Report};
use binwright_tests::timing::sizes;
use binwright_tui::app::{App, Todo};
use binwright_tui::desk::Effect;
use binwright_tui::history::History;
use binwright_tui::keys::Keys;
use binwright_tui::scanner::Scanner;
use binwright_tui::theme::Theme;
use binwright_tui::worker::{self, Job, Where, work};
use jiff::civil::date;
use rand::Rng;
use ratatui::Terminal;
use ratatui::backend::TestBackend;

const SEED: u64 = 29;
/// Plates typed in.
const PLATES: usize = 12;

type Done<T> = Result<T, Box<dyn std::error::Error>>;

fn main() -> Done<()> {
    let parts = sizes(&[1_000_000])[0];
    let folder =
        std::env::var_os("BINWRIGHT_BENCH_DIR").map_or_else(std::env::temp_dir, PathBuf::from);
    let folder = folder.join(format!("binwright-screens-{parts}"));
    let kinds = Kinds::builtin()?;
    let share = parts.div_ceil(kinds.iter().count());
    println!("a shop of {parts} parts in {}", folder.display());
    let place = Where {
        branch: None,
        shop: folder.join("shop").into(),
        cache: folder.join("cache"),
        demo: folder.join("demo"),
        today: || date(2026, 11, 26),
        who: String::new(),
    };
    if !folder.join("whole").exists() {
        fill(&folder, &place, &kinds, parts, share)?;
        File::create(folder.join("whole"))?;
    }
    let kind = kinds.get("rectifier-plate").ok_or("a built-in kind")?;
    let lines = typed_lines(kind, &catalogue(SEED, share, kind));
    let mut report = Report::begin("screens")?;
    report.of(parts, &format!("screens on a shop of {parts} parts"));
    Screens::open(&place, &mut report)?.type_in(&lines, &mut report)
}

/// Writes the corpus and builds its index.
fn fill(folder: &Path, place: &Where, kinds: &Kinds, parts: usize, share: usize) -> Done<()> {
    if folder.exists() {
        fs::remove_dir_all(folder)?;
    }
    fs::create_dir_all(folder)?;
    let mut store = Store::create(&folder.join("shop"), "Bench", Currency::EUR)?;
    let mut left = parts;
    for kind in kinds.iter() {
        let specimens = catalogue(SEED, share.min(left), kind);
        left -= specimens.len();
        store.write_once(Keep::Yes, |w| -> Result<(), StoreError> {
            for Specimen { mut card, .. } in specimens {
                // Specimens of different kinds may bear the same number.
                card.house = format!("{}-{}", kind.key, card.house);
                card.description.clone_from(&kind.label);
                w.put_part(&card)?;
            }
            Ok(())
        })?;
    }
    drop(store);
    let start = Instant::now();
    let shop = Shop::open(place.shop.clone(), &place.cache, (place.today)())?;
    println!("  {} parts indexed in {:.0} s", shop.parts(), start.elapsed().as_secs_f64());
    Ok(())
}

/// What a person types of a removed plate: the kind, six measures in short words, the points.
fn typed_lines(kind: &Kind, specimens: &[Specimen]) -> Vec<String> {
    let mut dice = dice(41);
    let mut line = || {
        let at = dice.random_range(0..specimens.len());
        let taken = removed(&mut dice, kind, &specimens[at].whole, 6);
        let mut line = kind.words.first().unwrap_or(&kind.key).clone();
        for (place, value) in &taken.measured {
            let measure = &kind.measures[*place];
            let word = measure.words.first().unwrap_or(&measure.key);
            let value = match value.number() {
                Some(number) => format!("{number:.1}").trim_end_matches(".0").to_owned(),
                None => value.to_string(),
            };
            line.push_str(&format!(" {word} {value}"));
        }
        for point in taken.layout.iter().flat_map(Layout::points) {
            let name = point.designation.as_ref().map_or_else(String::new, |n| format!(":{n}"));
            line.push_str(&format!(" {}{name}@{:.1},{:.1};", point.role, point.x_mm, point.y_mm));
        }
        line
    };
    (0..PLATES).map(|_| line()).collect()
}

/// The screens and the thread beside them.
struct Screens {
    app: App,
    terminal: Terminal<TestBackend>,
    jobs: Sender<Job>,
    reports: Receiver<worker::Report>,
    clock: Duration,
    frames_ms: Vec<f64>,
    answers_ms: Vec<f64>,
}

impl Screens {
    /// Opens them, and tells how soon there is a frame, the shop's name on it, and a first answer
    /// while the columns are still being loaded.
    fn open(place: &Where, report: &mut Report) -> Done<Self> {
        let start = Instant::now();
        let (jobs, asked) = channel();
        let (answer, reports) = channel::<worker::Report>();
        let own = place.clone();
        let keys = Keys::laid_over("")?;
        let app = App::new(keys, Theme::default(), Scanner::default(), History::default());
        let mut screens = Self {
            app,
            terminal: Terminal::new(TestBackend::new(80, 24))?,
            jobs,
            reports,
            clock: Duration::from_secs(1),
            frames_ms: Vec::new(),
            answers_ms: Vec::new(),
        };
        screens.draw()?;
        report.figure("first frame", ms(start), "ms", Goal::AtMost(100.0));
        // As the program does: the shop is opened once there is a frame.
        std::thread::spawn(move || work(&own, None, &asked, &answer).is_ok());
        screens.wait()?;
        report.figure("the shop is open on it", ms(start), "ms", Goal::None);
        let answer_ms = screens.press('4')?;
        report.figure("first answer, columns still cold", answer_ms, "ms", Goal::None);
        screens.press_named("esc")?;
        Ok(screens)
    }

    fn draw(&mut self) -> Done<()> {
        let app = &self.app;
        self.terminal.draw(|frame| app.view(frame))?;
        Ok(())
    }

    /// Takes in the next report and draws it.
    fn wait(&mut self) -> Done<()> {
        let report = self.reports.recv()?;
        let todo = self.app.report(report);
        self.hand_on(todo)?;
        self.draw()
    }

    fn hand_on(&self, todo: Vec<Todo>) -> Done<bool> {
        let mut asks = false;
        for Todo { desk, effect } in todo {
            if let Effect::Ask(asked, question) = effect {
                self.jobs.send(Job { desk, asked, question })?;
                asks = true;
            }
        }
        Ok(asks)
    }

    /// Presses a letter as a person does; returns the milliseconds until its answer is drawn, none
    /// when it asks nothing.
    fn press(&mut self, letter: char) -> Done<f64> {
        let name = letter.to_string();
        self.press_named(if letter == ' ' { "space" } else { &name })
    }

    fn press_named(&mut self, key: &str) -> Done<f64> {
        let key = key.parse()?;
        self.clock += Duration::from_millis(200);
        let start = Instant::now();
        let todo = self.app.key(key, self.clock);
        let asks = self.hand_on(todo)?;
        self.draw()?;
        self.frames_ms.push(ms(start));
        if !asks {
            return Ok(0.0);
        }
        self.wait()?;
        Ok(ms(start))
    }

    fn type_in(mut self, lines: &[String], report: &mut Report) -> Done<()> {
        self.frames_ms.clear();
        for line in lines {
            for letter in line.chars() {
                let answer_ms = self.press(letter)?;
                self.answers_ms.push(answer_ms);
            }
            self.press_named("esc")?;
        }
        tell(report, "key to frame", &mut self.frames_ms, Goal::AtMost(16.0));
        tell(report, "key to its answer", &mut self.answers_ms, Goal::None);
        Ok(())
    }
}

fn ms(start: Instant) -> f64 {
    start.elapsed().as_secs_f64() * 1e3
}

/// Half of the keys, and one in a hundred; the goal is for that.
fn tell(report: &mut Report, case: &str, times_ms: &mut [f64], goal: Goal) {
    times_ms.sort_by(f64::total_cmp);
    let at = |share: f64| times_ms[(times_ms.len() as f64 * share) as usize];
    report.figure(&format!("{case}, p50"), at(0.5), "ms", Goal::None);
    report.figure(&format!("{case}, p99"), at(0.99), "ms", goal);
}
