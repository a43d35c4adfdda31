//! How is stock handled at the counter? A slip, filled in by scanner or keys: scan the bin, scan
//! the part, type how many, Enter. What was typed stays until it was done.

mod view;

use std::collections::VecDeque;

use binwright_shop::catalog::{Condition, Quantity};
use binwright_shop::counts::Sheet;
use binwright_shop::stock::by_hand::{Deed, Handled, Scanned, Typed};
use tui_input::{Input, InputRequest};

use super::{Row, Wish};
use crate::actions::Act;
use crate::question::Question;

/// One line of the slip.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Field {
    Deed,
    Bin,
    Part,
    To,
    Quantity,
    Condition,
    Reference,
    Until,
    Each,
    Second,
}

/// The lines of a deed: those that must be filled in, in the order they are asked for, then those
/// that need not.
fn fields(deed: Deed) -> (&'static [Field], &'static [Field]) {
    use Field::{Bin, Condition, Each, Part, Quantity, Reference, Second, To, Until};
    match deed {
        Deed::Receive => (&[Bin, Part, Quantity], &[Condition, Each, Reference]),
        Deed::Arrive => (&[Bin, Part, Quantity], &[Condition]),
        Deed::Issue => (&[Reference, Bin, Part, Quantity], &[Condition]),
        Deed::Sell => (&[Bin, Part, Quantity], &[Condition, Reference]),
        Deed::Move => (&[Bin, Part, To, Quantity], &[Condition]),
        Deed::Count => (&[Bin, Part, Quantity], &[Condition, Second]),
        Deed::Hold => (&[Reference, Bin, Part, Quantity], &[Condition, Until]),
    }
}

/// What came of what was done last.
#[derive(Debug)]
enum Outcome {
    Done(Handled),
    /// What a scan changed.
    Said(String),
    Trouble(String),
}

/// What the shop is being asked.
#[derive(Debug, PartialEq)]
enum Waits {
    /// What this code stands for.
    Scan(String),
    /// What stands for itself in this line, which was typed.
    Look(Field),
    /// To do what the slip says.
    Deed,
}

/// What came in while the shop was asked: it waits its turn, so that however fast a scanner types,
/// each code lands where it would have landed slowly.
#[derive(Debug)]
enum Heard {
    Typed(InputRequest),
    Act(Act),
    Scanned(String),
}

/// The slip.
#[derive(Debug, Default)]
pub(super) struct Slip {
    typed: Typed,
    /// Whether something can arrive from another branch.
    several_branches: bool,
    at: usize,
    /// The line with the cursor, as long as it is one that is typed.
    line: Input,
    /// The condition before anything was typed in its line.
    was: String,
    /// What the part is, once it was scanned or taken from the list.
    description: String,
    /// Whether the part was scanned, its first piece in hand.
    in_hand: bool,
    /// Whether the line with the cursor was typed into since its code was looked up.
    unread: bool,
    waits: Option<Waits>,
    heard: VecDeque<Heard>,
    /// The count sheet that the bin is on.
    sheet: Option<Sheet>,
    outcome: Option<Outcome>,
}

impl Slip {
    /// A slip on which nothing stands.
    pub fn blank(several_branches: bool) -> Self {
        let mut slip = Self { several_branches, ..Self::default() };
        slip.go_to_next_open();
        slip
    }

    /// A slip for the part that is chosen in the list, and the bin that has most to give.
    pub fn of(deed: Deed, row: &Row, several_branches: bool) -> Self {
        let sold = |condition| condition != Condition::Core;
        let lines = || row.supply.stock.iter().filter(|line| sold(line.condition));
        let free = lines().filter(|line| line.free.is_positive());
        // Here before another branch, new before used, then the bin with most.
        let most = free.max_by_key(|line| {
            (line.here != Some(false), line.condition == Condition::New, line.free)
        });
        let line = match deed {
            Deed::Receive | Deed::Count => most.or_else(|| lines().next()),
            _ => most,
        };
        let mut slip = Self {
            typed: Typed { deed, part: row.number.clone(), ..Typed::default() },
            description: row.description.clone(),
            several_branches,
            ..Self::default()
        };
        if let Some(line) = line {
            slip.typed.bin.clone_from(&line.bin);
            line.condition.word().clone_into(&mut slip.typed.condition);
        }
        slip.go_to_next_open();
        slip
    }

    /// What can be done by it.
    fn deeds(&self) -> Vec<Deed> {
        let mut deeds = Deed::ALL.to_vec();
        deeds.retain(|deed| self.several_branches || *deed != Deed::Arrive);
        deeds
    }

    /// All lines, the deed first.
    fn fields(&self) -> Vec<Field> {
        let (must, may) = fields(self.typed.deed);
        [&[Field::Deed], must, may].concat()
    }

    fn field(&self) -> Field {
        self.fields().get(self.at).copied().unwrap_or(Field::Deed)
    }

    fn text(&self, field: Field) -> &str {
        match field {
            Field::Deed => self.typed.deed.word(),
            Field::Bin => &self.typed.bin,
            Field::Part => &self.typed.part,
            Field::To => &self.typed.to,
            Field::Quantity => &self.typed.quantity,
            Field::Condition if self.typed.condition.is_empty() => Condition::New.word(),
            Field::Condition => &self.typed.condition,
            Field::Reference => &self.typed.reference,
            Field::Until => &self.typed.until,
            Field::Each => &self.typed.each,
            Field::Second => &self.typed.second,
        }
    }

    fn put(&mut self, field: Field, text: &str) {
        let into = match field {
            Field::Deed => return,
            Field::Bin => &mut self.typed.bin,
            Field::Part => &mut self.typed.part,
            Field::To => &mut self.typed.to,
            Field::Quantity => &mut self.typed.quantity,
            Field::Condition => &mut self.typed.condition,
            Field::Reference => &mut self.typed.reference,
            Field::Until => &mut self.typed.until,
            Field::Each => &mut self.typed.each,
            Field::Second => &mut self.typed.second,
        };
        text.clone_into(into);
    }

    fn is_open(&self, field: Field) -> bool {
        self.text(field).trim().is_empty()
    }

    fn go_to(&mut self, at: usize) {
        self.at = at.min(self.fields().len() - 1);
        let field = self.field();
        self.was.clone_from(&self.typed.condition);
        let text = if field == Field::Condition { "" } else { self.text(field) };
        self.line = Input::new(text.to_owned());
    }

    /// The first line that must be filled in and is not; `None` when the slip is whole.
    fn next_open(&self) -> Option<usize> {
        let (must, _) = fields(self.typed.deed);
        must.iter().position(|field| self.is_open(*field)).map(|at| at + 1)
    }

    fn go_to_next_open(&mut self) {
        let at = self.next_open();
        self.go_to(at.unwrap_or_else(|| fields(self.typed.deed).0.len()));
    }

    /// Whether Enter posts the sheet of the bin: everything there was counted.
    fn closes_count(&self) -> bool {
        let counted = self.sheet.as_ref().is_some_and(is_counted);
        counted && self.is_open(Field::Part) && self.is_open(Field::Quantity)
    }

    /// Takes in a change of the line with the cursor.
    pub fn typed(&mut self, request: InputRequest) -> Wish {
        self.hear(Heard::Typed(request))
    }

    /// Takes in an act.
    pub fn act(&mut self, act: Act) -> Wish {
        self.hear(Heard::Act(act))
    }

    /// Takes in a code; the last `taken` characters of it already stand in the line.
    pub fn scanned(&mut self, code: String, taken: usize) -> Wish {
        let rubbed = std::iter::repeat_n(InputRequest::DeletePrevChar, taken);
        self.heard.extend(rubbed.map(Heard::Typed));
        self.hear(Heard::Scanned(code))
    }

    fn hear(&mut self, heard: Heard) -> Wish {
        self.heard.push_back(heard);
        self.go_on()
    }

    /// Takes in what was heard, up to what the shop must be asked about.
    fn go_on(&mut self) -> Wish {
        while self.waits.is_none()
            && let Some(heard) = self.heard.pop_front()
        {
            let wish = match heard {
                Heard::Typed(request) => {
                    self.edit(request);
                    Wish::Stay
                }
                Heard::Act(act) => self.obey(act),
                Heard::Scanned(code) => {
                    self.waits = Some(Waits::Scan(code.clone()));
                    Wish::Ask(Box::new(Question::Scan(code)))
                }
            };
            if wish != Wish::Stay {
                return wish;
            }
        }
        Wish::Stay
    }

    fn edit(&mut self, request: InputRequest) {
        // On a line that waits to be filled there is nowhere for the cursor to go.
        let chooses = self.field() == Field::Deed || self.next_open() == Some(self.at);
        match (self.field(), request) {
            (_, InputRequest::GoToPrevChar) if chooses => self.step_deed(self.deeds().len() - 1),
            (_, InputRequest::GoToNextChar) if chooses => self.step_deed(1),
            // Letters never choose what is done: a scanner types them too.
            (Field::Deed, InputRequest::InsertChar(_)) if self.next_open().is_some() => {
                self.go_to_next_open();
                self.edit(request);
            }
            (Field::Deed, _) => {}
            (Field::Condition, InputRequest::GoToPrevChar) => self.step_condition(2),
            (Field::Condition, InputRequest::GoToNextChar) => self.step_condition(1),
            (Field::Condition, request) => self.edit_condition(request),
            (field, request) => {
                if self.is_open(field) && matches!(self.outcome, Some(Outcome::Trouble(_))) {
                    self.outcome = None;
                }
                if self.line.handle(request).is_some_and(|change| change.value) {
                    self.unread = true;
                    match field {
                        Field::Part => (self.description, self.in_hand) = (String::new(), false),
                        Field::Bin => self.sheet = None,
                        _ => {}
                    }
                    let text = self.line.value().to_owned();
                    self.put(field, &text);
                }
            }
        }
    }

    /// The first letters of a condition choose it; what a scanner typed and took back does not.
    fn edit_condition(&mut self, request: InputRequest) {
        self.line.handle(request);
        let text = self.line.value().to_lowercase();
        let named = |start: &str| Condition::ALL.into_iter().find(|c| c.word().starts_with(start));
        let last = text.char_indices().next_back().map_or("", |(at, _)| &text[at..]);
        if text.is_empty() {
            self.typed.condition.clone_from(&self.was);
        } else if let Some(condition) = named(&text).or_else(|| named(last)) {
            self.put(Field::Condition, condition.word());
        }
    }

    fn step_deed(&mut self, steps: usize) {
        let deeds = self.deeds();
        let at = deeds.iter().position(|deed| *deed == self.typed.deed).unwrap_or(0);
        self.typed.deed = deeds[(at + steps) % deeds.len()];
        (self.outcome, self.sheet) = (None, None);
        if self.at > 0 {
            self.go_to_next_open();
        }
    }

    fn step_condition(&mut self, steps: usize) {
        let word = self.text(Field::Condition);
        let at = Condition::ALL.iter().position(|c| c.word() == word).unwrap_or(0);
        let next = Condition::ALL[(at + steps) % Condition::ALL.len()];
        self.put(Field::Condition, next.word());
    }

    fn obey(&mut self, act: Act) -> Wish {
        let to = match act {
            Act::Older | Act::PreviousPane => self.at.saturating_sub(1),
            Act::Newer | Act::NextPane => self.at + 1,
            Act::Back | Act::Slip => {
                self.heard.clear();
                return Wish::Close;
            }
            Act::Accept => return self.accept(),
            _ => return Wish::Stay,
        };
        let wish = self.look_up();
        self.go_to(to);
        wish
    }

    /// Asks what the code that was typed into the line stands for, when the line is left.
    fn look_up(&mut self) -> Wish {
        let field = self.field();
        let coded = matches!(field, Field::Bin | Field::Part | Field::To) && !self.is_open(field);
        if !std::mem::take(&mut self.unread) || !coded {
            return Wish::Stay;
        }
        let code = self.text(field).trim().to_owned();
        self.waits = Some(Waits::Look(field));
        Wish::Ask(Box::new(Question::Scan(code)))
    }

    /// Goes on to what is missing, or does what the slip says.
    fn accept(&mut self) -> Wish {
        let wish = self.look_up();
        if wish != Wish::Stay {
            return wish;
        }
        match self.next_open() {
            Some(open) if !self.closes_count() => {
                if open == self.at {
                    let field = self.field();
                    let missing = format!("{}: {}", self.name(field), missing(field));
                    self.outcome = Some(Outcome::Trouble(missing));
                }
                self.go_to(open);
                Wish::Stay
            }
            _ => {
                self.waits = Some(Waits::Deed);
                Wish::Ask(Box::new(Question::Handle(self.typed.clone())))
            }
        }
    }

    /// Puts what was scanned where it belongs, whichever line has the cursor; what was typed stays
    /// in its line, when it is of the line's kind.
    pub fn found(&mut self, scanned: Scanned) -> Wish {
        let looked = match self.waits.take() {
            Some(Waits::Look(field)) => Some(field),
            _ => None,
        };
        let gone_on = looked.is_some_and(|field| field != self.field());
        self.outcome = None;
        let belongs = match (&scanned, looked) {
            (Scanned::Part { .. }, _) => Field::Part,
            (Scanned::Bin(_), Some(field @ (Field::Bin | Field::To))) => field,
            (Scanned::Bin(_), _) => self.line_of_bin(),
        };
        if let Some(field) = looked.filter(|field| *field != belongs) {
            self.put(field, "");
        }
        match scanned {
            Scanned::Part { number, .. } if looked.is_none() && self.is_again(&number) => {
                self.add_piece();
            }
            Scanned::Part { number, description } => {
                self.take(Field::Part, &number, looked);
                (self.description, self.in_hand) = (description, looked.is_none());
            }
            Scanned::Bin(bin) => {
                if belongs == Field::Bin && bin != self.typed.bin {
                    self.sheet = None;
                }
                self.take(belongs, &bin, looked);
            }
        }
        if gone_on {
            self.go_to(self.at);
        } else {
            self.go_to_next_open();
        }
        self.go_on()
    }

    /// The line that a scanned bin belongs in.
    fn line_of_bin(&self) -> Field {
        let target = self.typed.deed == Deed::Move
            && (self.field() == Field::To || !self.is_open(Field::Part))
            && !self.is_open(Field::Bin);
        if target { Field::To } else { Field::Bin }
    }

    /// Puts a code in its line; what a scan pushes out is said.
    fn take(&mut self, field: Field, code: &str, looked: Option<Field>) {
        let before = self.text(field).to_owned();
        if looked.is_none() && !before.is_empty() && before != code {
            let name = self.name(field);
            let kept = match self.typed.quantity.trim() {
                "" => String::new(),
                quantity => format!("; {} is still {quantity}", self.name(Field::Quantity)),
            };
            self.outcome = Some(Outcome::Said(format!("{name} {code}, no more {before}{kept}")));
        }
        self.put(field, code);
    }

    /// Whether a scan of the part is one more piece of it.
    fn is_again(&self, number: &str) -> bool {
        self.field() == Field::Quantity && self.typed.part == number
    }

    fn add_piece(&mut self) {
        let before = match self.typed.quantity.trim() {
            "" if self.in_hand => "1",
            "" => "0",
            typed => typed,
        };
        let many = before.parse::<Quantity>().ok();
        self.outcome = Some(match many.and_then(|many| many.checked_add(Quantity::ONE)) {
            Some(more) => {
                self.put(Field::Quantity, &more.to_string());
                Outcome::Said(format!("{more} by scan; each scan of the part adds one"))
            }
            None => Outcome::Trouble(format!("`{before}` is no quantity to add a piece to")),
        });
    }

    /// It is done: the next part can be scanned, into or out of the same bin. What was only taken
    /// back, or put on paper, leaves the lines as they are.
    pub fn handled(&mut self, handled: Handled) -> Wish {
        if self.waits == Some(Waits::Deed) {
            self.waits = None;
            for field in [Field::Part, Field::Quantity, Field::To, Field::Each, Field::Condition] {
                self.put(field, "");
            }
            (self.description, self.in_hand) = (String::new(), false);
            self.sheet.clone_from(&handled.sheet);
            self.go_to_next_open();
        }
        self.outcome = Some(Outcome::Done(handled));
        self.go_on()
    }

    /// Says something that changed nothing.
    pub fn said(&mut self, what: String) {
        self.outcome = Some(Outcome::Said(what));
    }

    /// The shop could not; everything stays as it was typed, and what came after it is dropped: it
    /// was meant for a slip that is not so.
    pub fn troubled(&mut self, what: &str) -> Wish {
        let what = match self.waits.take() {
            Some(Waits::Scan(code)) if self.is_text_for_line(&code) => {
                self.put(self.field(), &code);
                self.outcome = None;
                self.go_to(self.next_open().unwrap_or(self.at));
                return self.go_on();
            }
            Some(Waits::Scan(code)) => format!("`{code}` is no bin, and {what}"),
            Some(Waits::Look(field)) => {
                self.unread = field == self.field();
                match field {
                    Field::Part => what.to_owned(),
                    _ => format!("`{}` is no bin of the shop", self.text(field).trim()),
                }
            }
            _ => what.to_owned(),
        };
        self.heard.clear();
        self.outcome = Some(Outcome::Trouble(what));
        Wish::Stay
    }

    /// Whether a code that stands for nothing is what the line with the cursor asks for. As a
    /// quantity no more is taken than a person counts: the figures of a label are longer.
    fn is_text_for_line(&self, code: &str) -> bool {
        match self.field() {
            Field::Quantity => code.len() <= 5 && code.parse::<Quantity>().is_ok(),
            Field::Reference | Field::Second => self.is_open(self.field()),
            _ => false,
        }
    }
}

/// What is to be done about a line that must be filled in.
fn missing(field: Field) -> &'static str {
    match field {
        Field::Quantity => "type a number first",
        Field::Reference => "type what it belongs to first",
        _ => "scan or type it first",
    }
}

/// Whether every line of `sheet` was counted, and none is to be counted again.
fn is_counted(sheet: &Sheet) -> bool {
    sheet.lines.iter().all(|line| line.counted.is_some() && !line.again)
}
