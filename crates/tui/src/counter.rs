//! What does the counter see and do? One line takes everything; every keystroke is answered.

mod drawing;
mod guide;
mod list;
mod panes;
mod points;
mod shown;
mod slip;
mod view;
mod work;

use std::sync::Arc;

use binwright_shop::catalog::Kinds;
use binwright_shop::entry::{self, Entry};
use binwright_shop::stock::by_hand::TakeBack;
use ratatui::Frame;
use ratatui::layout::Rect;
use tui_input::{Input, InputRequest};

use self::guide::Guide;
use self::points::Points;
use self::shown::{Row, Shown};
use self::slip::Slip;

use crate::actions::{Act, Context};
use crate::desk::{Desk, Effect, Msg};
use crate::history::History;
use crate::keys::Keys;
use crate::question::{Answer, Question};
use crate::theme::Theme;

/// Lines that a page moves by.
const PAGE: usize = 5;

/// What the lower half shows of the chosen part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) enum Pane {
    #[default]
    Sheet,
    Crosses,
    Units,
    Bins,
}

impl Pane {
    pub const ALL: [Self; 4] = [Self::Sheet, Self::Crosses, Self::Units, Self::Bins];

    pub fn name(self) -> &'static str {
        match self {
            Self::Sheet => "sheet",
            Self::Crosses => "crosses",
            Self::Units => "units",
            Self::Bins => "bins",
        }
    }

    /// The pane `steps` further on, round and round.
    fn on(self, steps: usize) -> Self {
        Self::ALL[(self as usize + steps) % Self::ALL.len()]
    }
}

/// What stands in the lower half in the place of the panes, and takes what is typed.
#[derive(Debug)]
enum Aid {
    Guide(Guide),
    Points(Points),
    Slip(Box<Slip>),
}

/// What an aid wants of the counter.
#[derive(Debug, PartialEq)]
enum Wish {
    /// Nothing.
    Stay,
    /// This line in place of the one there is.
    Line(String),
    /// That the shop is asked, or does something.
    Ask(Box<Question>),
    /// To be closed.
    Close,
}

impl Aid {
    fn typed(&mut self, request: InputRequest) -> Wish {
        match self {
            Self::Guide(guide) => guide.typed(request),
            Self::Points(points) => points.typed(request),
            Self::Slip(slip) => slip.typed(request),
        }
    }

    fn act(&mut self, act: Act) -> Wish {
        match self {
            Self::Guide(guide) => guide.act(act),
            Self::Points(points) => points.act(act),
            Self::Slip(slip) => slip.act(act),
        }
    }
}

/// The counter.
#[derive(Debug, Default)]
pub struct Counter {
    keys: Keys,
    kinds: Option<Arc<Kinds>>,
    /// Whether stock travels between branches in the shop.
    several_branches: bool,
    line: Input,
    history: History,
    read: Option<Entry>,
    /// Number of the newest question.
    asked: u64,
    waiting: bool,
    /// The newest answer.
    shown: Shown,
    trouble: Option<String>,
    /// Among the rows shown.
    cursor: usize,
    in_list: bool,
    whole: bool,
    pane: Pane,
    scroll: usize,
    aid: Option<Aid>,
    /// The slip that was closed, as it was.
    laid_aside: Option<Box<Slip>>,
    /// The line was asked again for what others changed: the cursor stays.
    again: bool,
    /// What was done by slips, the newest last, and how it is taken back; a count is not.
    back: Vec<Option<TakeBack>>,
    /// The last of it is being taken back.
    taking_back: bool,
    /// Numbers that are marked for the outline.
    marked: Vec<String>,
}

impl Counter {
    /// The counter that names `keys`, with the lines of earlier runs.
    pub fn new(keys: Keys, history: History) -> Self {
        Self { keys, history, read: Some(Entry::Nothing), ..Self::default() }
    }

    /// Reads the line anew and asks what it asks.
    fn ask(&mut self) -> Vec<Effect> {
        self.again = false;
        let Some(kinds) = &self.kinds else { return Vec::new() };
        let read = entry::read(self.line.value(), kinds);
        let question = match &read {
            Entry::Nothing => None,
            Entry::Find(text) => Some(Question::Find(text.clone())),
            Entry::Fit(reading) if reading.observes() => Some(Question::Fit(reading.asked.clone())),
            Entry::Fit(reading) => {
                let kind = reading.asked.kind.as_deref().and_then(|key| kinds.get(key));
                kind.map(|kind| Question::Find(kind.label.clone()))
            }
        };
        self.read = Some(read);
        self.asked += 1;
        self.waiting = question.is_some();
        if let Some(question) = question {
            vec![Effect::Ask(self.asked, question)]
        } else {
            self.show(Shown::default());
            Vec::new()
        }
    }

    /// Asks once more what is shown: the shop has changed.
    fn ask_again(&mut self) -> Vec<Effect> {
        // What was never answered is answered as it is now.
        let again = self.again || !self.waiting;
        let effects = self.ask();
        self.again = again;
        effects
    }

    /// Puts another answer in place; who is in the list, or sees the same question answered again,
    /// stays on his part when it is still there.
    fn show(&mut self, shown: Shown) {
        let on = self.chosen().map(|row| row.number.clone());
        let same = shown.rows.iter().position(|row| Some(&row.number) == on.as_ref());
        let same = same.filter(|_| self.in_list || self.again);
        self.cursor = same.unwrap_or(0);
        if !(self.again && same.is_some()) {
            self.scroll = 0;
        }
        self.marked.retain(|number| shown.rows.iter().any(|row| row.number == *number));
        self.in_list &= !shown.rows.is_empty();
        self.whole &= self.in_list;
        (self.shown, self.trouble) = (shown, None);
    }

    /// The row with the cursor.
    fn chosen(&self) -> Option<&Row> {
        self.shown.rows.get(self.cursor)
    }

    fn answered(&mut self, answer: Answer) {
        self.waiting = false;
        match answer {
            Answer::Found(found, sheets) => self.show(Shown::found(found, sheets)),
            Answer::Fitted(answer, sheets) => self.show(Shown::fitted(answer, sheets)),
            // The list stays: what is half typed is often no question yet.
            Answer::Failed(what) => self.trouble = Some(what),
            _ => {}
        }
    }

    fn typed(&mut self, request: InputRequest) -> Vec<Effect> {
        if let Some(aid) = &mut self.aid {
            let wish = aid.typed(request);
            return self.grant(wish);
        }
        self.history.settle();
        self.go_to_line();
        let changed = self.line.handle(request).is_some_and(|change| change.value);
        if changed { self.ask() } else { Vec::new() }
    }

    fn keep(&mut self) -> Vec<Effect> {
        let line = self.line.value().trim().to_owned();
        if self.history.keep(&line) { vec![Effect::Remember(line)] } else { Vec::new() }
    }

    /// Puts `text` in the place of the line, and asks it.
    fn put(&mut self, text: &str) -> Vec<Effect> {
        self.line = Input::new(text.to_owned());
        self.in_list = false;
        self.ask()
    }

    fn go_to_line(&mut self) {
        (self.in_list, self.whole) = (false, false);
    }

    fn go_to_list(&mut self) {
        self.in_list = !self.shown.rows.is_empty();
    }

    fn move_to(&mut self, row: usize) {
        self.cursor = row.min(self.shown.rows.len().saturating_sub(1));
        self.scroll = 0;
    }

    /// Does what the aid wants.
    fn grant(&mut self, wish: Wish) -> Vec<Effect> {
        match wish {
            Wish::Stay => Vec::new(),
            Wish::Line(line) => self.put(&line),
            Wish::Ask(question) => vec![Effect::Ask(0, *question)],
            Wish::Close => match self.aid.take() {
                Some(Aid::Slip(slip)) => {
                    self.laid_aside = Some(slip);
                    Vec::new()
                }
                _ => self.keep(),
            },
        }
    }

    fn open_aid(&mut self, act: Act) {
        let Some(kinds) = &self.kinds else { return };
        self.aid = Some(match act {
            Act::Slip => {
                let blank = || Box::new(Slip::blank(self.several_branches));
                Aid::Slip(self.laid_aside.take().unwrap_or_else(blank))
            }
            Act::Guide => Aid::Guide(Guide::new(kinds, self.read.as_ref())),
            _ => Aid::Points(Points::new(self.line.value())),
        });
        // A slip is about a part of the list, the others write the line.
        if act != Act::Slip {
            self.go_to_line();
        }
    }

    fn in_line(&mut self, act: Act) -> Vec<Effect> {
        if let Some(request) = act.editing() {
            return self.typed(request);
        }
        if let Some(aid) = &mut self.aid {
            let wish = aid.act(act);
            return self.grant(wish);
        }
        match act {
            Act::Accept => {
                self.go_to_list();
                self.keep()
            }
            Act::Back => {
                let mut effects = self.keep();
                effects.extend(self.put(""));
                effects
            }
            Act::Older => match self.history.older(self.line.value()).map(str::to_owned) {
                Some(line) => self.put(&line),
                None => Vec::new(),
            },
            Act::Newer => {
                if let Some(line) = self.history.newer().map(str::to_owned) {
                    self.put(&line)
                } else {
                    self.go_to_list();
                    Vec::new()
                }
            }
            _ => Vec::new(),
        }
    }

    fn on_pane(&mut self, act: Act) {
        (self.pane, self.scroll) = match act {
            Act::NextPane => (self.pane.on(1), 0),
            Act::PreviousPane => (self.pane.on(Pane::ALL.len() - 1), 0),
            Act::PageDown => (self.pane, (self.scroll + PAGE).min(self.pane_lines())),
            _ => (self.pane, self.scroll.saturating_sub(PAGE)),
        };
    }

    fn on_list(&mut self, act: Act) -> Vec<Effect> {
        match act {
            Act::Up if self.cursor == 0 => self.go_to_line(),
            Act::Up => self.move_to(self.cursor - 1),
            Act::Down => self.move_to(self.cursor + 1),
            Act::First => self.move_to(0),
            Act::Last => self.move_to(usize::MAX),
            Act::Accept => self.whole = !self.whole,
            Act::Back if self.whole => self.whole = false,
            Act::Back | Act::Find => self.go_to_line(),
            Act::Copy => {
                let chosen = self.chosen();
                return chosen.map(|row| Effect::Copy(row.number.clone())).into_iter().collect();
            }
            Act::Handle(deed) => {
                let slip = self.chosen().map(|row| Slip::of(deed, row, self.several_branches));
                self.aid = slip.map(|slip| Aid::Slip(Box::new(slip)));
                self.whole = false;
            }
            Act::Mark => self.mark(),
            Act::Outline => return self.outline(),
            Act::Leave => return vec![Effect::Leave],
            _ => {}
        }
        Vec::new()
    }
}

impl Desk for Counter {
    fn name(&self) -> &'static str {
        "counter"
    }

    fn context(&self) -> Context {
        if self.in_list && self.aid.is_none() { Context::List } else { Context::Line }
    }

    fn update(&mut self, msg: Msg) -> Vec<Effect> {
        match msg {
            Msg::Opened { kinds, several_branches } => {
                self.several_branches = several_branches;
                self.kinds = Some(kinds);
                self.ask()
            }
            Msg::Typed(letter) => self.typed(InputRequest::InsertChar(letter)),
            Msg::Pasted(text) => {
                // Only the last letter's question is worth asking.
                text.chars()
                    .fold(Vec::new(), |_, letter| self.typed(InputRequest::InsertChar(letter)))
            }
            Msg::Scanned { code, typed } => {
                if let Some(Aid::Slip(slip)) = &mut self.aid {
                    let wish = slip.scanned(code, typed);
                    return self.grant(wish);
                }
                for _ in 0..typed {
                    self.typed(InputRequest::DeletePrevChar);
                }
                self.aid = None;
                let mut effects = self.keep();
                effects.extend(self.put(&code));
                effects.extend(self.keep());
                effects
            }
            // Another desk, too, may have changed what lies free.
            Msg::Changed | Msg::Act(Act::Desk(_)) => self.ask_again(),
            Msg::Answered(asked, answer) => {
                if let Some(effects) = self.worked(&answer) {
                    return effects;
                }
                // A late answer to an older question must not move the list under the eyes.
                if asked == self.asked {
                    self.answered(answer);
                }
                Vec::new()
            }
            Msg::Act(Act::TakeBack) => self.take_back(),
            Msg::Act(act) if self.aid.is_some() => self.in_line(act),
            Msg::Act(act @ (Act::Guide | Act::Points | Act::Slip)) => {
                self.open_aid(act);
                Vec::new()
            }
            Msg::Act(act @ (Act::NextPane | Act::PreviousPane | Act::PageDown | Act::PageUp)) => {
                self.on_pane(act);
                Vec::new()
            }
            Msg::Act(act) if self.in_list => self.on_list(act),
            Msg::Act(act) => self.in_line(act),
        }
    }

    fn view(&self, frame: &mut Frame<'_>, area: Rect, theme: Theme) {
        view::draw(self, frame, area, theme);
    }

    fn unkept(&self) -> Option<String> {
        let line = self.line.value().trim();
        (!line.is_empty()).then(|| line.to_owned())
    }
}
