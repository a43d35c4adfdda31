//! The screens over the made-up shop, without a terminal and without waiting.

use std::sync::Arc;
use std::time::Duration;

use binwright_shop::Shop;
use binwright_tui::app::{App, Todo};
use binwright_tui::desk::Effect;
use binwright_tui::history::History;
use binwright_tui::keys::Keys;
use binwright_tui::scanner::Scanner;
use binwright_tui::theme::{Palette, Theme};
use binwright_tui::worker::Report;
use jiff::civil::date;
use ratatui::Terminal;
use ratatui::backend::TestBackend;
use ratatui::style::{Color, Modifier};
use tempfile::TempDir;

/// Screens at work: keys go in, pictures come out.
pub struct Desk {
    pub app: App,
    pub terminal: Terminal<TestBackend>,
    pub done: Vec<Effect>,
    pub shop: Shop,
    clock: Duration,
    folder: TempDir,
}

impl Desk {
    pub fn new(width: u16, height: u16, theme: Theme) -> Self {
        Self::with_keys("", width, height, theme)
    }

    /// With the keys of a person's own key file.
    pub fn with_keys(own: &str, width: u16, height: u16, theme: Theme) -> Self {
        let folder = TempDir::new().unwrap();
        let at = |name: &str| folder.path().join(name);
        let shop = Shop::demo(at("shop"), &at("cache"), date(2026, 11, 25)).unwrap().0;
        Self::on(shop, folder, Keys::laid_over(own).unwrap(), (width, height), theme)
    }

    /// The same shop seen by somebody else: nothing typed yet.
    pub fn anew(self, theme: Theme) -> Self {
        let size = self.terminal.backend().buffer().area;
        let keys = Keys::laid_over("").unwrap();
        Self::on(self.shop, self.folder, keys, (size.width, size.height), theme)
    }

    fn on(
        shop: Shop,
        folder: TempDir,
        keys: Keys,
        (width, height): (u16, u16),
        theme: Theme,
    ) -> Self {
        let history = History::read("reg pitch 40\nplate lugs 3\n");
        let mut desk = Self {
            app: App::new(keys, theme, Scanner::default(), history),
            terminal: Terminal::new(TestBackend::new(width, height)).unwrap(),
            done: Vec::new(),
            clock: Duration::from_secs(1),
            shop,
            folder,
        };
        let name = desk.shop.store().identity().unwrap().name;
        let kinds = Arc::new(desk.shop.kinds().clone());
        let parts = desk.shop.parts();
        let several_branches = desk.shop.has_branches();
        desk.report(Report::Opened { name, parts, kinds, several_branches });
        desk
    }

    /// Takes in what the worker reports.
    pub fn report(&mut self, report: Report) {
        let todo = self.app.report(report);
        self.carry_out(todo);
    }

    /// Does what the screens want, until they want nothing more.
    fn carry_out(&mut self, mut todo: Vec<Todo>) {
        while !todo.is_empty() {
            for Todo { desk, effect } in std::mem::take(&mut todo) {
                if let Effect::Ask(asked, question) = effect {
                    let answer = question.answer(&mut self.shop, "Pat");
                    todo.extend(self.app.report(Report::Answered(desk, asked, answer)));
                } else {
                    self.done.push(effect);
                }
            }
        }
    }

    /// Presses keys as a person does, a second apart.
    pub fn press(&mut self, keys: &str) -> &mut Self {
        keys.split(' ').for_each(|key| self.press_after(1000, key));
        self
    }

    pub fn press_after(&mut self, gap_ms: u64, key: &str) {
        self.clock += Duration::from_millis(gap_ms);
        let mut todo = self.app.key(key.parse().unwrap(), self.clock);
        if gap_ms > 50 {
            todo.extend(self.app.let_go());
        }
        self.carry_out(todo);
    }

    /// Types text as a person does.
    pub fn type_in(&mut self, text: &str) -> &mut Self {
        for letter in text.chars() {
            let key = if letter == ' ' { "space".to_owned() } else { letter.to_string() };
            self.press_after(200, &key);
        }
        self
    }

    pub fn paste(&mut self, text: &str) {
        let todo = self.app.pasted(text);
        self.carry_out(todo);
    }

    /// What a scanner types: letters 8 ms apart and Enter.
    pub fn scan(&mut self, code: &str) -> &mut Self {
        let mut gap_ms = 1000;
        for letter in code.chars() {
            self.press_after(gap_ms, &letter.to_string());
            gap_ms = 8;
        }
        self.press_after(8, "enter");
        self
    }

    /// What a scanner types that never pauses: all of it is there before the shop has answered
    /// anything.
    pub fn burst(&mut self, codes: &[&str]) -> &mut Self {
        let mut todo = Vec::new();
        for code in codes {
            let letters = code.chars().map(|letter| letter.to_string());
            for key in letters.chain(["enter".to_owned()]) {
                self.clock += Duration::from_millis(1);
                todo.extend(self.app.key(key.parse().unwrap(), self.clock));
            }
        }
        self.carry_out(todo);
        self
    }

    /// The screen as text.
    pub fn screen(&mut self) -> String {
        self.terminal.draw(|frame| self.app.view(frame)).unwrap();
        let buffer = self.terminal.backend().buffer();
        let width = usize::from(buffer.area.width);
        let lines = buffer.content.chunks(width).map(|cells| {
            let mut line = String::new();
            let mut skip = 0;
            for cell in cells {
                if skip == 0 {
                    line.push_str(cell.symbol());
                    skip = binwright_tui::text::columns(cell.symbol()).max(1);
                }
                skip -= 1;
            }
            line.trim_end().to_owned()
        });
        lines.collect::<Vec<_>>().join("\n")
    }

    /// The screen as text, and below each line which columns are drawn how.
    pub fn screen_with_styles(&mut self) -> String {
        let text = self.screen();
        let rows = text.lines().zip(self.styles()).map(|(line, runs)| {
            if runs.is_empty() { line.to_owned() } else { format!("{line}\n      ^ {runs}") }
        });
        rows.collect::<Vec<_>>().join("\n")
    }

    /// Of every line of the screen drawn last, which columns are drawn how.
    pub fn styles(&self) -> Vec<String> {
        let buffer = self.terminal.backend().buffer();
        let width = usize::from(buffer.area.width);
        let rows = buffer.content.chunks(width).map(|cells| {
            let mut runs: Vec<(usize, usize, String)> = Vec::new();
            for (at, cell) in cells.iter().enumerate() {
                let style = style(cell.fg, cell.bg, cell.modifier);
                match runs.last_mut() {
                    Some((_, end, known)) if *known == style && *end == at => *end = at + 1,
                    _ if style.is_empty() => {}
                    _ => runs.push((at, at + 1, style)),
                }
            }
            let runs = runs.iter().map(|(from, to, style)| format!("{from}-{} {style}", to - 1));
            runs.collect::<Vec<_>>().join(", ")
        });
        rows.collect()
    }
}

fn style(fg: Color, bg: Color, modifier: Modifier) -> String {
    let mut words = Vec::new();
    if fg != Color::Reset {
        words.push(fg.to_string().to_lowercase());
    }
    assert_eq!(bg, Color::Reset, "a background is never set");
    for (name, bit) in
        [("bold", Modifier::BOLD), ("dim", Modifier::DIM), ("reversed", Modifier::REVERSED)]
    {
        if modifier.contains(bit) {
            words.push(name.to_owned());
        }
    }
    words.join(" ")
}

pub const COLOUR: Theme = Theme { palette: Palette::Light, ascii: false };
pub const DARK: Theme = Theme { palette: Palette::Dark, ascii: false };
pub const MONO: Theme = Theme { palette: Palette::Mono, ascii: false };
pub const ASCII: Theme = Theme { palette: Palette::Mono, ascii: true };
