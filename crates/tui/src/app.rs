//! What holds the desks together? Which desk is shown, the head line, routing.

use std::sync::Arc;
use std::time::Duration;

use binwright_shop::age::StockAge;
use binwright_shop::catalog::Kinds;
use ratatui::Frame;
use ratatui::layout::{Constraint, Layout, Rect};
use ratatui::text::{Line, Span};
use ratatui::widgets::{Clear, Paragraph};

use crate::actions::{Act, Context};
use crate::bench::Bench;
use crate::buying::Buying;
use crate::counter::Counter;
use crate::desk::{Desk, Effect, Msg};
use crate::history::History;
use crate::keys::{Key, Keys};
use crate::keys_screen;
use crate::offer::Offer;
use crate::scanner::{Burst, Scanner};
use crate::text::{cut, left};
use crate::theme::{Theme, Tone};
use crate::worker::Report;

/// The least screen that can be worked on.
pub const LEAST: (u16, u16) = (60, 16);

/// What has to be done for the screens, by whoever runs them.
#[derive(Debug, PartialEq)]
pub struct Todo {
    /// Place of the desk that wants it.
    pub desk: usize,
    /// What.
    pub effect: Effect,
}

/// All screens.
pub struct App {
    /// Each at its place; one at least.
    desks: Vec<Box<dyn Desk>>,
    /// The desks, while the offer stands in their place.
    behind: Vec<Box<dyn Desk>>,
    at: usize,
    keys: Keys,
    theme: Theme,
    scanner: Scanner,
    burst: Burst,
    /// Letters pressed in a list that may yet turn out to be a scan.
    held: Vec<Key>,
    /// Letters of the burst that a line took as typed.
    taken: usize,
    shop: String,
    parts: u64,
    /// How old the stock is that is shown, while the shop's server is out of reach.
    away: Option<StockAge>,
    /// What is said in the last line, until the next key.
    note: Option<String>,
    /// Page of the keys screen, while it is shown.
    keys_page: Option<usize>,
}

impl App {
    /// The screens before the shop is open.
    pub fn new(keys: Keys, theme: Theme, scanner: Scanner, history: History) -> Self {
        Self {
            desks: vec![
                Box::new(Counter::new(keys.clone(), history)),
                Box::new(Bench::new(keys.clone())),
                Box::new(Buying::new(keys.clone())),
            ],
            behind: Vec::new(),
            at: 0,
            keys,
            theme,
            scanner,
            burst: Burst::default(),
            held: Vec::new(),
            taken: 0,
            shop: String::new(),
            parts: 0,
            away: None,
            note: None,
            keys_page: None,
        }
    }

    /// Takes in what the worker reports.
    pub fn report(&mut self, report: Report) -> Vec<Todo> {
        match report {
            Report::Opened { name, parts, kinds, several_branches } => {
                (self.shop, self.parts) = (name, parts);
                if !self.behind.is_empty() {
                    self.desks = std::mem::take(&mut self.behind);
                }
                self.opened(&kinds, several_branches)
            }
            Report::NoShop(place) => {
                let offer: Vec<Box<dyn Desk>> = vec![Box::new(Offer::new(place))];
                self.at = 0;
                self.behind = std::mem::replace(&mut self.desks, offer);
                Vec::new()
            }
            Report::Changed(parts) => {
                self.parts = parts;
                (0..self.desks.len()).flat_map(|desk| self.tell(desk, Msg::Changed)).collect()
            }
            Report::Away(away) => {
                self.away = away;
                Vec::new()
            }
            Report::Answered(desk, asked, answer) => self.tell(desk, Msg::Answered(asked, answer)),
        }
    }

    fn opened(&mut self, kinds: &Arc<Kinds>, several_branches: bool) -> Vec<Todo> {
        let opened = || Msg::Opened { kinds: Arc::clone(kinds), several_branches };
        (0..self.desks.len()).flat_map(|desk| self.tell(desk, opened())).collect()
    }

    /// Takes in a key pressed at `at` (since any fixed moment).
    pub fn key(&mut self, key: Key, at: Duration) -> Vec<Todo> {
        let quick = self.burst.is_open(self.scanner, at);
        if !quick {
            self.taken = 0;
        }
        let mut todo = if quick { Vec::new() } else { self.let_go() };
        if let Some(code) = self.burst.key(self.scanner, key, at) {
            self.held.clear();
            self.keys_page = None;
            let typed = std::mem::take(&mut self.taken);
            todo.extend(self.tell(self.at, Msg::Scanned { code, typed }));
            return todo;
        }
        let types = key.typed().is_some();
        if types && (self.context() == Context::List || self.keys_page.is_some()) {
            // In a list a letter acts; whether a person pressed it shows a moment later.
            self.held.push(key);
            return todo;
        }
        todo.extend(self.let_go());
        if types {
            self.taken += 1;
        }
        todo.extend(self.press(key));
        todo
    }

    /// How long until the letters held back are surely a person's; `None` when none are.
    pub fn holds_for(&self) -> Option<Duration> {
        (!self.held.is_empty()).then_some(self.scanner.gap)
    }

    /// Acts on the letters held back: no scan came of them.
    pub fn let_go(&mut self) -> Vec<Todo> {
        let held = std::mem::take(&mut self.held);
        held.into_iter().flat_map(|key| self.press(key)).collect()
    }

    /// Takes in text that was pasted.
    pub fn pasted(&mut self, text: &str) -> Vec<Todo> {
        let mut todo = self.let_go();
        // One line is one question; what follows a line end is no part of it.
        let line = text.lines().next().unwrap_or_default();
        let line = line.chars().filter(|letter| !letter.is_control()).collect();
        todo.extend(self.tell(self.at, Msg::Pasted(line)));
        todo
    }

    /// Lines typed and not kept, on leaving.
    pub fn unkept(&self) -> impl Iterator<Item = String> {
        self.desks.iter().chain(&self.behind).filter_map(|desk| desk.unkept())
    }

    fn context(&self) -> Context {
        self.desks[self.at].context()
    }

    /// The key of an act that counts on every screen.
    fn key_of(&self, act: Act) -> String {
        self.keys.of(Context::Everywhere, act)
    }

    fn press(&mut self, key: Key) -> Vec<Todo> {
        self.note = None;
        let act = self.keys.act(self.context(), key);
        if let Some(page) = self.keys_page.take()
            && act != Some(Act::Leave)
        {
            // Which pages there are, only the screen knows: the last is shown again.
            self.keys_page = match act {
                Some(Act::PageDown) => Some(page + 1),
                Some(Act::PageUp) => Some(page.saturating_sub(1)),
                _ => None,
            };
            return Vec::new();
        }
        match act {
            Some(Act::Keys) => self.keys_page = Some(0),
            Some(act @ Act::Desk(desk)) if desk < self.desks.len() => {
                self.at = desk;
                return self.tell(desk, Msg::Act(act));
            }
            Some(Act::Desk(_)) => {
                self.note = Some("that desk opens with a shop".to_owned());
            }
            Some(act @ (Act::Guide | Act::Points | Act::Slip | Act::TakeBack)) if self.at > 0 => {
                let [key, counter] = [act, Act::Desk(0)].map(|act| self.key_of(act));
                self.note = Some(format!("{key} is a key of the counter: {counter} goes there"));
            }
            Some(act @ (Act::Leave | Act::Redraw)) => {
                let effect = if act == Act::Leave { Effect::Leave } else { Effect::Redraw };
                return vec![Todo { desk: self.at, effect }];
            }
            Some(act) => return self.tell(self.at, Msg::Act(act)),
            None => {
                if let Some(letter) = key.typed() {
                    return self.tell(self.at, Msg::Typed(letter));
                }
            }
        }
        Vec::new()
    }

    fn tell(&mut self, desk: usize, msg: Msg) -> Vec<Todo> {
        let Some(told) = self.desks.get_mut(desk) else { return Vec::new() };
        let effects = told.update(msg);
        let mut todo = Vec::with_capacity(effects.len());
        for effect in effects {
            match effect {
                Effect::Say(text) => self.note = Some(text),
                effect => {
                    if let Effect::Copy(text) = &effect {
                        self.note = Some(format!("{text} sent to the terminal's clipboard"));
                    }
                    todo.push(Todo { desk, effect });
                }
            }
        }
        todo
    }

    /// Draws the screen.
    pub fn view(&self, frame: &mut Frame<'_>) {
        let area = frame.area();
        if area.width < LEAST.0 || area.height < LEAST.1 {
            let text = format!(
                "{} x {} is too small; {} x {} is the least",
                area.width, area.height, LEAST.0, LEAST.1
            );
            frame.render_widget(Paragraph::new(cut(&text, area.width.into(), self.theme)), area);
            return;
        }
        let told = u16::from(self.away.is_some());
        let [head, away, desk] =
            Layout::vertical([Constraint::Length(1), Constraint::Length(told), Constraint::Min(1)])
                .areas(area);
        frame.render_widget(Paragraph::new(self.head(usize::from(head.width))), head);
        if let Some(age) = &self.away {
            let text = format!("server out of reach: {}; posting has to wait", age.words());
            let text = cut(&text, away.width.into(), self.theme);
            let style = self.theme.style(Tone::Outside);
            frame.render_widget(Paragraph::new(Line::styled(text, style)), away);
        }
        if let Some(page) = self.keys_page {
            keys_screen::draw(&self.keys, self.context(), page, frame, desk, self.theme);
        } else {
            self.desks[self.at].view(frame, desk, self.theme);
        }
        if let Some(note) = &self.note {
            let last = Rect { y: area.bottom() - 1, height: 1, ..area };
            let text = cut(note, last.width.into(), self.theme);
            frame.render_widget(Clear, last);
            frame.render_widget(Paragraph::new(text), last);
        }
    }

    fn head(&self, width: usize) -> Line<'static> {
        let mut right = vec![Span::raw(format!("{} keys", self.key_of(Act::Keys)))];
        for (at, desk) in self.desks.iter().enumerate() {
            let name = format!("{} {}", self.key_of(Act::Desk(at)), desk.name());
            let here = at == self.at;
            let text = if here { format!("  [{name}]") } else { format!("   {name} ") };
            right.push(Span::styled(
                text,
                self.theme.style(if here { Tone::Head } else { Tone::Quiet }),
            ));
        }
        let used: usize = right.iter().map(Span::width).sum();
        let shop = match self.shop.as_str() {
            "" => "Binwright".to_owned(),
            name => format!("{name}, {} parts", self.parts),
        };
        let shop = left(&shop, width.saturating_sub(used + 1), self.theme);
        let mut spans = vec![Span::styled(shop, self.theme.style(Tone::Quiet)), Span::raw(" ")];
        spans.extend(right);
        Line::from(spans)
    }
}
