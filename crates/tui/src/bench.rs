//! What does the bench see and do? One unit: readings go in, findings, covers and a quote come out.

mod benched;
mod checks;
mod covers;
mod findings;
mod paper;
mod told;
mod typing;
mod view;

use std::sync::Arc;

use binwright_shop::Keep;
use binwright_shop::bench::{OnBench, QuoteAsked, QuoteCard, RepairOption};
use binwright_shop::catalog::Kinds;
use ratatui::Frame;
use ratatui::layout::Rect;
use tui_input::InputRequest;

pub use self::benched::{Benched, Offered};
use self::typing::{Typing, What, Wish};

use crate::actions::{Act, Context};
use crate::desk::{Desk, Effect, Msg};
use crate::keys::Keys;
use crate::question::{Answer, Question};
use crate::theme::Theme;

/// Rows that a page moves by.
const PAGE: isize = 5;

/// What stands below the unit.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Pane {
    #[default]
    Checks,
    Findings,
    Covers,
    Quote,
}

impl Pane {
    const ALL: [Self; 4] = [Self::Checks, Self::Findings, Self::Covers, Self::Quote];

    fn name(self) -> &'static str {
        match self {
            Self::Checks => "checks",
            Self::Findings => "findings",
            Self::Covers => "covers",
            Self::Quote => "quote",
        }
    }

    /// The pane `steps` further on, round and round.
    fn on(self, steps: usize) -> Self {
        Self::ALL[(self as usize + steps) % Self::ALL.len()]
    }
}

/// One unit with all that was done about it: put aside when another comes on the bench.
#[derive(Debug, Clone, Default)]
struct Work {
    /// As asked last; an answer may be on its way.
    job: OnBench,
    /// The quote that was made of it, as it was made last.
    quote: Option<Box<QuoteCard>>,
}

impl Work {
    /// Number of the quote that was made of it.
    fn number(&self) -> Option<&str> {
        self.quote.as_ref().map(|made| made.number.as_str())
    }
}

/// The bench.
#[derive(Debug, Default)]
pub struct Bench {
    keys: Keys,
    kinds: Option<Arc<Kinds>>,
    work: Work,
    aside: Vec<Work>,
    /// The newest answer; nothing until a unit was named.
    benched: Option<Box<Benched>>,
    typing: Option<Typing>,
    pane: Pane,
    check: usize,
    finding: usize,
    cover: usize,
    /// Whether what else is worth changing is quoted with it.
    too: bool,
    /// The quote as it would be, or as it was made.
    paper: Option<Box<QuoteCard>>,
    scroll: usize,
    /// Number of the newest question.
    asked: u64,
    waiting: bool,
    trouble: Option<String>,
}

impl Bench {
    /// The bench that names `keys`, with nothing on it.
    pub fn new(keys: Keys) -> Self {
        Self { keys, ..Self::default() }
    }

    fn ask(&mut self, question: Question) -> Vec<Effect> {
        self.asked += 1;
        self.waiting = true;
        vec![Effect::Ask(self.asked, question)]
    }

    /// Asks what is to be said of `job`; it takes the place of what is shown when it is answered.
    fn ask_of(&mut self, job: OnBench) -> Vec<Effect> {
        self.work.job = job.clone();
        self.ask(Question::Bench(Box::new(job), self.work.number().map(str::to_owned)))
    }

    fn ask_units(&mut self) -> Vec<Effect> {
        let Some(Typing { what: What::Unit(_), line, .. }) = &self.typing else {
            return Vec::new();
        };
        let text = line.value().to_owned();
        self.ask(Question::Units(text))
    }

    fn name_unit(&mut self, text: &str) -> Vec<Effect> {
        self.typing = Some(Typing::new(What::Unit(Vec::new()), text));
        self.ask_units()
    }

    fn option(&self) -> Option<&RepairOption> {
        self.benched.as_ref()?.answer.repair.options.get(self.cover)
    }

    /// Why nothing comes along with the chosen cover though it should.
    fn nothing_along(&self) -> Option<String> {
        let repair = &self.benched.as_ref()?.answer.repair;
        repair.nothing_along(self.option()?).filter(|_| self.too)
    }

    /// Asks what the quote of the chosen cover would be, or makes it for a customer.
    fn ask_quote(&mut self, made_for: Option<String>) -> Vec<Effect> {
        let Some(cover) = self.option().map(|option| option.name.clone()) else {
            return Vec::new();
        };
        let keep = if made_for.is_some() { Keep::Yes } else { Keep::DryRun };
        let asked = QuoteAsked {
            on_bench: self.work.job.clone(),
            cover,
            extras: self.too,
            customer: made_for.unwrap_or_default(),
            who: String::new(),
        };
        let revises = self.work.number().map(str::to_owned);
        self.ask(Question::Quote(Box::new(Offered { asked, revises, keep })))
    }

    /// Goes to `pane`; what it must ask for first, it asks for.
    fn go(&mut self, pane: Pane) -> Vec<Effect> {
        (self.pane, self.scroll) = (pane, 0);
        let blank = pane == Pane::Quote && self.paper.is_none();
        if blank { self.ask_quote(None) } else { Vec::new() }
    }

    /// Another cover, or more with it: the quote is another one.
    fn on_cover(&mut self, cover: usize) -> Vec<Effect> {
        let last = self.benched.as_ref().map_or(0, |b| b.answer.repair.options.len());
        self.cover = cover.min(last.saturating_sub(1));
        (self.paper, self.scroll) = (None, 0);
        if self.pane == Pane::Quote { self.ask_quote(None) } else { Vec::new() }
    }

    fn answered(&mut self, answer: Answer) -> Vec<Effect> {
        self.waiting = false;
        self.trouble = None;
        match answer {
            Answer::Units(choices) => {
                if let Some(Typing { what: What::Unit(known), at, .. }) = &mut self.typing {
                    (*known, *at) = (choices, None);
                }
            }
            // Nothing new: what is shown of it stands.
            Answer::Benched(benched) if self.benched.as_ref() == Some(&benched) => {
                self.typing = None;
            }
            Answer::Benched(benched) => {
                let other =
                    self.benched.as_ref().is_none_or(|b| b.answer.unit != benched.answer.unit);
                if other {
                    (self.check, self.finding, self.cover) = (0, 0, 0);
                }
                // Who makes the checks in another order keeps his place.
                let read = self.benched.as_ref().is_some_and(|b| {
                    let marked = b.next_check().is_some_and(|next| next == self.check);
                    marked && b.job.readings != benched.job.readings
                });
                if other || read {
                    self.check = benched.next_check().unwrap_or(self.check);
                }
                (self.typing, self.paper, self.benched) = (None, None, Some(benched));
                return self.on_cover(self.cover);
            }
            Answer::Quoted(card, Keep::Yes) => {
                let said = format!("{} is made and holds {}", card.number, paper::holds(&card));
                self.work.quote = Some(card.clone());
                (self.typing, self.paper, self.scroll) = (None, Some(card), 0);
                return vec![Effect::Say(said)];
            }
            Answer::Quoted(card, Keep::DryRun) => {
                // What would come out as it was made is made already.
                let made = self.work.quote.as_ref().filter(|made| made.offers_the_same(&card));
                self.paper = Some(made.cloned().unwrap_or(card));
            }
            Answer::Failed(mut trouble) | Answer::NotHandled(mut trouble) => {
                if let Some(benched) = &self.benched {
                    trouble = benched.in_its_words(&trouble);
                    self.work.job = benched.job.clone();
                }
                self.trouble = Some(trouble);
            }
            _ => {}
        }
        Vec::new()
    }

    /// Puts what is on the bench aside, and `work` in its place.
    fn take_up(&mut self, work: Work) -> Vec<Effect> {
        let before = std::mem::replace(&mut self.work, work);
        if !before.job.readings.is_empty() || before.quote.is_some() {
            self.aside.push(before);
        }
        (self.pane, self.benched, self.paper, self.too) = (Pane::Checks, None, None, false);
        self.ask_of(self.work.job.clone())
    }

    /// Does what the line that was typed is for.
    fn grant(&mut self, wish: Wish) -> Vec<Effect> {
        match wish {
            Wish::Stay => Vec::new(),
            Wish::Units => self.ask_units(),
            Wish::Close => {
                (self.typing, self.trouble) = (None, None);
                Vec::new()
            }
            Wish::TakeUp(aside) => {
                let work = self.aside.remove(aside);
                self.take_up(work)
            }
            Wish::Unit(job) => self.take_up(Work { job, quote: None }),
            Wish::Job(job) => self.ask_of(job),
            Wish::Make(customer) => self.ask_quote(Some(customer)),
        }
    }

    /// Moves what is told below, never beyond its end.
    fn scroll_by(&mut self, rows: isize) {
        self.scroll = self.scroll.saturating_add_signed(rows).min(view::extent(self));
    }

    fn read_check(&mut self) {
        if self.benched.as_ref().is_some_and(|b| self.check < b.checks.len()) {
            self.scroll = 0;
            self.typing = Some(Typing::new(What::Reading(self.check), ""));
        }
    }

    /// Moves the cursor of the pane to `row`; above the first check stands the unit.
    fn move_by(&mut self, rows: isize) -> Vec<Effect> {
        let Some(benched) = &self.benched else { return Vec::new() };
        let to =
            |at: usize, count: usize| at.saturating_add_signed(rows).min(count.saturating_sub(1));
        match self.pane {
            Pane::Checks if self.check == 0 && rows == -1 => return self.name_unit(""),
            Pane::Checks => (self.check, self.scroll) = (to(self.check, benched.checks.len()), 0),
            Pane::Findings => {
                self.finding = to(self.finding, benched.answer.diagnosis.findings.len());
                self.scroll = 0;
            }
            Pane::Covers => {
                return self.on_cover(to(self.cover, benched.answer.repair.options.len()));
            }
            Pane::Quote => self.scroll_by(rows),
        }
        Vec::new()
    }

    fn accept(&mut self) -> Vec<Effect> {
        match self.pane {
            Pane::Checks => self.read_check(),
            Pane::Findings => return self.go(Pane::Covers),
            Pane::Covers if self.option().is_some() => return self.go(Pane::Quote),
            Pane::Quote if self.paper.as_ref().is_some_and(|card| !card.dry_run) => {
                let made = self.work.number().unwrap_or_default();
                return vec![Effect::Say(format!("{made} is made, and nothing is changed since"))];
            }
            Pane::Quote if self.paper.is_some() => {
                let customer = self.paper.as_ref().map_or("", |card| &card.customer);
                self.typing = Some(Typing::new(What::Customer, customer));
            }
            Pane::Covers | Pane::Quote => {}
        }
        Vec::new()
    }

    fn on_list(&mut self, act: Act) -> Vec<Effect> {
        match act {
            Act::Up => return self.move_by(-1),
            Act::Down => return self.move_by(1),
            Act::First => return self.move_by(isize::MIN),
            Act::Last => return self.move_by(isize::MAX),
            Act::Left => return self.on_cover(self.cover.saturating_sub(1)),
            Act::Right => return self.on_cover(self.cover + 1),
            Act::NextPane => return self.go(self.pane.on(1)),
            Act::PreviousPane => return self.go(self.pane.on(Pane::ALL.len() - 1)),
            Act::PageDown => self.scroll_by(PAGE),
            Act::PageUp => self.scroll_by(-PAGE),
            Act::Accept => return self.accept(),
            Act::Back => return self.go(Pane::Checks),
            Act::Find => return self.name_unit(""),
            Act::Loose => {
                let mut job = self.work.job.clone();
                job.loose = !job.loose;
                return self.ask_of(job);
            }
            Act::NextCheck => {
                self.go(Pane::Checks);
                self.find_next();
            }
            Act::RolePart if self.benched.as_ref().is_some_and(|b| !b.roles().is_empty()) => {
                self.typing = Some(Typing::new(What::Part, ""));
            }
            Act::WhileInThere => {
                self.too = !self.too;
                let why = self.nothing_along().map(Effect::Say);
                let mut effects = self.on_cover(self.cover);
                effects.extend(why);
                return effects;
            }
            Act::Copy => {
                let none = || Effect::Say("no quote is made yet".to_owned());
                let made = self.work.number().map(|number| Effect::Copy(number.to_owned()));
                return vec![made.unwrap_or_else(none)];
            }
            Act::Leave => return vec![Effect::Leave],
            _ => {}
        }
        Vec::new()
    }

    fn find_next(&mut self) {
        let best = self.benched.as_ref().and_then(|benched| benched.best_check());
        self.check = best.unwrap_or(self.check);
    }

    fn typed(&mut self, request: InputRequest) -> Vec<Effect> {
        let Some(typing) = &mut self.typing else { return Vec::new() };
        let wish = typing.typed(request);
        self.grant(wish)
    }

    fn act(&mut self, act: Act) -> Vec<Effect> {
        match act {
            Act::Desk(_) => match &self.benched {
                Some(_) => self.ask_of(self.work.job.clone()),
                None if self.typing.is_some() => Vec::new(),
                None => self.name_unit(""),
            },
            // What can hurt is read on while something is typed.
            Act::PageUp | Act::PageDown => self.on_list(act),
            act => {
                let (benched, aside) = (self.benched.as_deref(), self.aside.len());
                let Some(typing) = &mut self.typing else { return self.on_list(act) };
                let wish = typing.act(act, benched, aside, self.kinds.as_deref());
                self.grant(wish)
            }
        }
    }
}

impl Desk for Bench {
    fn name(&self) -> &'static str {
        "bench"
    }

    fn context(&self) -> Context {
        if self.typing.is_some() { Context::Line } else { Context::List }
    }

    fn update(&mut self, msg: Msg) -> Vec<Effect> {
        match msg {
            Msg::Opened { kinds, .. } => {
                self.kinds = Some(kinds);
                // A shop that was only just made has not heard what was asked before.
                if self.waiting { self.ask_units() } else { Vec::new() }
            }
            // Bins and prices may be others now.
            Msg::Changed if self.benched.is_some() && self.typing.is_none() => {
                self.ask_of(self.work.job.clone())
            }
            Msg::Act(act) => self.act(act),
            Msg::Typed(letter) => self.typed(InputRequest::InsertChar(letter)),
            Msg::Pasted(text) => {
                // Only the last letter's question is worth asking.
                text.chars()
                    .fold(Vec::new(), |_, letter| self.typed(InputRequest::InsertChar(letter)))
            }
            Msg::Scanned { code, typed } => {
                for _ in 0..typed {
                    self.typed(InputRequest::DeletePrevChar);
                }
                match &mut self.typing {
                    Some(typing) if !matches!(typing.what, What::Unit(_)) => {
                        typing.put(&code);
                        Vec::new()
                    }
                    _ => self.name_unit(&code),
                }
            }
            // What became of a quote is heard of even when more was asked since.
            Msg::Answered(asked, answer)
                if asked == self.asked
                    || matches!(answer, Answer::Quoted(_, Keep::Yes) | Answer::NotHandled(_)) =>
            {
                self.answered(answer)
            }
            Msg::Changed | Msg::Answered(..) => Vec::new(),
        }
    }

    fn view(&self, frame: &mut Frame<'_>, area: Rect, theme: Theme) {
        view::draw(self, frame, area, theme);
    }
}
