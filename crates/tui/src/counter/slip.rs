//! How is stock handled at the counter? A slip, filled in by scanner or keys: scan the bin, scan
//! the part, type how many, Enter. What was typed stays until it was done.

mod view;

use binwright_shop::catalog::Condition;
use binwright_shop::counts::Sheet;
use binwright_shop::stock::by_hand::{Deed, Handled, Scanned, Typed};
use tui_input::{Input, InputRequest};

use super::Row;
use crate::actions::Act;
use crate::desk::Effect;
use crate::worker::Question;

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
    Trouble(String),
}

/// The slip.
#[derive(Debug, Default)]
pub(super) struct Slip {
    typed: Typed,
    at: usize,
    /// The line with the cursor, as long as it is one that is typed.
    line: Input,
    /// What the part is, once it was scanned or taken from the list.
    description: String,
    /// Scans that the shop has not told yet.
    scans: usize,
    /// What the slip says is being done.
    doing: bool,
    /// Enter was pressed while a scan was on its way.
    eager: bool,
    /// The count sheet that the bin is on.
    sheet: Option<Sheet>,
    outcome: Option<Outcome>,
}

/// What the slip wants of the counter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Asks {
    /// Nothing.
    Nothing,
    /// That what it says is done.
    Doing,
    /// To be closed.
    Close,
}

impl Slip {
    /// A slip for the part that is chosen in the list, and the bin that has most to give.
    pub fn of(deed: Deed, row: &Row) -> Self {
        let sold = |condition| condition != Condition::Core;
        let lines = || row.supply.stock.iter().filter(|line| sold(line.condition));
        let free = lines().filter(|line| line.free.is_positive());
        // New before used, then the bin with most.
        let most = free.max_by_key(|line| (line.condition == Condition::New, line.free));
        let line = match deed {
            Deed::Receive | Deed::Count => most.or_else(|| lines().next()),
            _ => most,
        };
        let mut slip = Self {
            typed: Typed { deed, part: row.number.clone(), ..Typed::default() },
            description: row.description.clone(),
            ..Self::default()
        };
        if let Some(line) = line {
            slip.typed.bin.clone_from(&line.bin);
            line.condition.word().clone_into(&mut slip.typed.condition);
        }
        slip.go_to_next_open();
        slip
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
        self.line = Input::new(self.text(self.field()).to_owned());
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
    pub fn typed(&mut self, request: InputRequest) {
        match (self.field(), request) {
            (Field::Deed, InputRequest::InsertChar(letter)) => {
                let named = |deed: &Deed| deed.word().starts_with(letter.to_ascii_lowercase());
                if let Some(deed) = Deed::ALL.into_iter().find(named) {
                    self.choose(deed);
                }
            }
            (Field::Deed, InputRequest::GoToPrevChar) => self.step_deed(Deed::ALL.len() - 1),
            (Field::Deed, InputRequest::GoToNextChar) => self.step_deed(1),
            (Field::Condition, InputRequest::InsertChar(letter)) => {
                let named = |c: &Condition| c.word().starts_with(letter.to_ascii_lowercase());
                if let Some(condition) = Condition::ALL.into_iter().find(named) {
                    self.put(Field::Condition, condition.word());
                }
            }
            (Field::Condition, InputRequest::GoToPrevChar) => self.step_condition(2),
            (Field::Condition, InputRequest::GoToNextChar) => self.step_condition(1),
            (Field::Deed | Field::Condition, _) => {}
            (field, request) => {
                self.line.handle(request);
                match field {
                    Field::Part => self.description.clear(),
                    Field::Bin => self.sheet = None,
                    _ => {}
                }
                let text = self.line.value().to_owned();
                self.put(field, &text);
            }
        }
    }

    fn choose(&mut self, deed: Deed) {
        self.typed.deed = deed;
        (self.outcome, self.sheet) = (None, None);
    }

    fn step_deed(&mut self, steps: usize) {
        let at = Deed::ALL.iter().position(|deed| *deed == self.typed.deed).unwrap_or(0);
        self.choose(Deed::ALL[(at + steps) % Deed::ALL.len()]);
    }

    fn step_condition(&mut self, steps: usize) {
        let word = self.text(Field::Condition);
        let at = Condition::ALL.iter().position(|c| c.word() == word).unwrap_or(0);
        let next = Condition::ALL[(at + steps) % Condition::ALL.len()];
        self.put(Field::Condition, next.word());
    }

    /// Takes in an act.
    pub fn act(&mut self, act: Act) -> Asks {
        match act {
            Act::Older | Act::PreviousPane => self.go_to(self.at.saturating_sub(1)),
            Act::Newer | Act::NextPane => self.go_to(self.at + 1),
            Act::Back | Act::Slip => return Asks::Close,
            Act::Accept => return self.accept(),
            _ => {}
        }
        Asks::Nothing
    }

    /// Goes on to what is missing, or does what the slip says.
    fn accept(&mut self) -> Asks {
        if self.doing {
            return Asks::Nothing;
        }
        if self.scans > 0 {
            self.eager = true;
            return Asks::Nothing;
        }
        if self.next_open().is_some() && !self.closes_count() {
            self.go_to_next_open();
            return Asks::Nothing;
        }
        self.doing = true;
        Asks::Doing
    }

    /// What it says, for the shop.
    pub fn question(&self) -> Question {
        Question::Handle(self.typed.clone())
    }

    /// Takes in a code; the last `taken` characters of it already stand in the line.
    pub fn scanned(&mut self, code: String, taken: usize) -> Effect {
        for _ in 0..taken {
            self.typed(InputRequest::DeletePrevChar);
        }
        self.scans += 1;
        Effect::Ask(0, Question::Scan(code))
    }

    /// Puts what was scanned where it belongs, whichever line has the cursor.
    pub fn found(&mut self, scanned: Scanned) -> Asks {
        self.scans = self.scans.saturating_sub(1);
        self.outcome = None;
        match scanned {
            Scanned::Bin(bin) => {
                let target = self.typed.deed == Deed::Move
                    && (self.field() == Field::To || !self.is_open(Field::Part))
                    && !self.is_open(Field::Bin);
                if !target && bin != self.typed.bin {
                    self.sheet = None;
                }
                self.put(if target { Field::To } else { Field::Bin }, &bin);
            }
            Scanned::Part { number, description } => {
                self.put(Field::Part, &number);
                self.description = description;
            }
        }
        self.go_to_next_open();
        self.hurry()
    }

    /// Does what Enter asked for while a scan was on its way.
    fn hurry(&mut self) -> Asks {
        if self.scans == 0 && std::mem::take(&mut self.eager) {
            return self.accept();
        }
        Asks::Nothing
    }

    /// It is done: the next part can be scanned, into or out of the same bin. What was only taken
    /// back, or put on paper, leaves the lines as they are.
    pub fn handled(&mut self, handled: Handled) {
        if std::mem::take(&mut self.doing) {
            for field in [Field::Part, Field::Quantity, Field::To, Field::Each, Field::Condition] {
                self.put(field, "");
            }
            self.description.clear();
            self.sheet.clone_from(&handled.sheet);
            self.go_to_next_open();
        }
        self.outcome = Some(Outcome::Done(handled));
    }

    /// The shop could not; everything stays as it was typed.
    pub fn troubled(&mut self, what: String) {
        if !std::mem::take(&mut self.doing) {
            self.scans = self.scans.saturating_sub(1);
        }
        self.eager = false;
        self.outcome = Some(Outcome::Trouble(what));
    }
}

/// Whether every line of `sheet` was counted, and none is to be counted again.
fn is_counted(sheet: &Sheet) -> bool {
    sheet.lines.iter().all(|line| line.counted.is_some() && !line.again)
}
