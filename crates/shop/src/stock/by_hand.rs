//! What is done with stock by hand, a scanner in it? Bin, part, quantity as typed or scanned; what
//! was done is said, and can be taken back.

use binwright_catalog::{Condition, Money, Quantity};
use binwright_store::{Counted, Hold, Keep};
use jiff::Span;
use jiff::civil::Date;

use super::{Act, Posted, Slip, Task};
use crate::branches::Come;
use crate::counts::{Scope, Sheet};
use crate::settings::Settings;
use crate::{Shop, ShopError};

/// What is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default)]
pub enum Deed {
    /// It comes in.
    #[default]
    Receive,
    /// It goes into a job.
    Issue,
    /// It is sold over the counter.
    Sell,
    /// It goes to another bin; to another branch's it is sent.
    Move,
    /// What another branch sent has come.
    Arrive,
    /// So many lie there.
    Count,
    /// It is promised.
    Hold,
}

impl Deed {
    /// All of them.
    pub const ALL: [Self; 7] =
        [Self::Receive, Self::Issue, Self::Sell, Self::Move, Self::Arrive, Self::Count, Self::Hold];

    /// What a person calls it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Receive => "receive",
            Self::Issue => "issue",
            Self::Sell => "sell",
            Self::Move => "move",
            Self::Arrive => "arrive",
            Self::Count => "count",
            Self::Hold => "hold",
        }
    }
}

/// A slip as it was typed or scanned. What a deed has no use for stays empty.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Typed {
    /// What is done.
    pub deed: Deed,
    /// The bin.
    pub bin: String,
    /// Any number of the part.
    pub part: String,
    /// In what condition; new when empty.
    pub condition: String,
    /// How many.
    pub quantity: String,
    /// The bin that a move goes to.
    pub to: String,
    /// Job, sale, customer or delivery it belongs to.
    pub reference: String,
    /// The last day of a hold; as long as the shop holds for a quote when empty.
    pub until: String,
    /// What one received piece cost; the average so far when empty.
    pub each: String,
    /// Who else saw what was counted.
    pub second: String,
}

/// What was done.
#[derive(Debug, Clone, PartialEq)]
pub struct Handled {
    /// In words, with its number.
    pub says: String,
    /// How it is taken back, when it can be.
    pub back: Option<TakeBack>,
    /// The count sheet as it stands, blind.
    pub sheet: Option<Sheet>,
}

/// What can be taken back.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TakeBack {
    /// A posting, by counter-movements.
    Posting(i64),
    /// A hold, by letting it go.
    Hold(i64),
}

/// What a code stands for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Scanned {
    /// A bin.
    Bin(String),
    /// A part.
    Part {
        /// House number.
        number: String,
        /// What it is.
        description: String,
    },
}

impl Shop {
    /// Says what the scanned `code` stands for: a bin, else the one part that bears it.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when it is neither, or several parts bear it.
    pub fn scanned(&self, code: &str) -> Result<Scanned, ShopError> {
        let code = code.trim();
        if self.store.is_bin(code)? {
            return Ok(Scanned::Bin(code.to_owned()));
        }
        let part = self.part(self.part_numbered(code)?)?;
        Ok(Scanned::Part { number: part.house, description: part.description })
    }

    /// Does what the slip says. A count goes on the bin's open sheet, which is drawn up when there
    /// is none; without part and quantity it posts that sheet.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when something on the slip cannot be read, is not known, or less is free than
    /// goes out; nothing was done then.
    pub fn by_hand(&mut self, typed: &Typed, who: &str) -> Result<Handled, ShopError> {
        let mut sent_to = None;
        let act = match typed.deed {
            Deed::Count => return self.count_by_hand(typed, who),
            Deed::Hold => return self.hold_by_hand(typed),
            Deed::Receive => Act::Receive(self.cost(&typed.each)?),
            Deed::Issue => Act::Issue,
            Deed::Sell => Act::Sell,
            Deed::Arrive => return self.arrive_by_hand(typed, who),
            Deed::Move => {
                let (from, to) = (typed.bin.trim(), typed.to.trim());
                sent_to = self.other_branch(from, to)?;
                let to = to.to_owned();
                if sent_to.is_some() { Act::Transfer(to) } else { Act::Move(to) }
            }
        };
        let slip = Slip {
            reference: typed.reference.trim().to_owned(),
            who: who.to_owned(),
            ..Slip::default()
        };
        let task = Task {
            act,
            part: typed.part.trim().to_owned(),
            bin: typed.bin.trim().to_owned(),
            condition: condition(&typed.condition)?,
            quantity: quantity(&typed.quantity)?,
            slip,
        };
        let mut handled = Handled::of(&self.post(&task, Keep::Yes)?);
        if let Some(branch) = sent_to {
            handled.says += &format!("; on its way to {branch}");
        }
        Ok(handled)
    }

    /// The branch of the bin `to` where it is another than that of `from`. A bin that is not known is no
    /// branch's: who posts says so.
    fn other_branch(&self, from: &str, to: &str) -> Result<Option<String>, ShopError> {
        if !self.store.is_bin(from)? || !self.store.is_bin(to)? {
            return Ok(None);
        }
        let (from, to) = (self.store.branch_of_bin(from)?, self.store.branch_of_bin(to)?);
        Ok((from != to).then_some(to))
    }

    /// Takes in what another branch sent to that of the bin, of what was sent first.
    fn arrive_by_hand(&mut self, typed: &Typed, who: &str) -> Result<Handled, ShopError> {
        let part = self.part(self.part_numbered(typed.part.trim())?)?.house;
        let (bin, condition) = (typed.bin.trim().to_owned(), condition(&typed.condition)?);
        let (came, branch) = (quantity(&typed.quantity)?, self.store.branch_of_bin(&bin)?);
        let mut on_way = self.in_transit()?;
        on_way.retain(|line| {
            line.part == part && line.condition == condition && line.to_branch == branch
        });
        let Some(first) = on_way.iter().find(|line| line.quantity >= came) else {
            let most = on_way.iter().map(|line| line.quantity).max();
            let most = most.unwrap_or(Quantity::ZERO);
            return Err(ShopError::NotSent { part, branch, came, most });
        };
        let slip = Slip { who: who.to_owned(), ..Slip::default() };
        let (transfer, lost) = (first.transfer, Quantity::ZERO);
        let left = first.quantity.checked_sub(came).unwrap_or(Quantity::ZERO);
        let come = Come { transfer, came: Some(came), lost, bin: Some(bin), slip };
        let mut handled = Handled::of(&self.arrive(&come, Keep::Yes)?);
        if left.is_positive() {
            handled.says += &format!("; {left} of transfer {transfer} are still on their way");
        }
        Ok(handled)
    }

    /// Takes back what was done by hand.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when it was taken back already, or what came in is gone.
    pub fn take_back(&mut self, back: TakeBack, who: &str) -> Result<Handled, ShopError> {
        match back {
            TakeBack::Posting(posting) => {
                let posted = self.undo(posting, who, Keep::Yes)?;
                let says = format!("{}; {posting} is taken back", in_words(&posted));
                Ok(Handled { says, back: None, sheet: None })
            }
            TakeBack::Hold(hold) => {
                self.release(hold, Keep::Yes)?;
                Ok(Handled { says: format!("hold {hold} is let go"), back: None, sheet: None })
            }
        }
    }

    fn cost(&self, each: &str) -> Result<Option<Money>, ShopError> {
        let each = each.trim();
        if each.is_empty() {
            return Ok(None);
        }
        Ok(Some(self.money(each)?))
    }

    fn hold_by_hand(&mut self, typed: &Typed) -> Result<Handled, ShopError> {
        let until = match typed.until.trim() {
            "" => {
                let days = Settings::of(self.store.dir())?.quoting.hold_days;
                self.today.saturating_add(Span::new().days(days))
            }
            text => text.parse::<Date>().map_err(|_| ShopError::NotReadAs {
                found: text.to_owned(),
                wanted: "day",
                hint: "Write it like 2026-12-01.",
            })?,
        };
        let line = self.hold(
            &Hold {
                reference: typed.reference.trim().to_owned(),
                part: typed.part.trim().to_owned(),
                bin: typed.bin.trim().to_owned(),
                condition: condition(&typed.condition)?,
                quantity: quantity(&typed.quantity)?,
                until,
            },
            Keep::Yes,
        )?;
        let says = format!(
            "hold {}: {} x {} in {} {}, kept for {} until {until}",
            line.hold, line.quantity, line.part, line.bin, line.condition, line.reference
        );
        Ok(Handled { says, back: Some(TakeBack::Hold(line.hold)), sheet: None })
    }

    fn count_by_hand(&mut self, typed: &Typed, who: &str) -> Result<Handled, ShopError> {
        let bin = typed.bin.trim();
        let open = self.open_sheet_of(bin)?;
        if typed.part.trim().is_empty() && typed.quantity.trim().is_empty() {
            let sheet = open.ok_or(binwright_store::StoreError::NothingToCount)?;
            // After each count the slip said how many lines are left: to post now is to mean it.
            let left = self.review_count(sheet)?.not_counted;
            let posted = self.post_count(sheet, &typed.second, true, who, Keep::Yes)?;
            let Handled { says, back, .. } = Handled::of(&posted);
            let left = match left {
                0 => String::new(),
                left => format!("; not counted and left as booked: {left}"),
            };
            return Ok(Handled { says: format!("sheet {sheet}: {says}{left}"), back, sheet: None });
        }
        let counted = Counted {
            part: typed.part.trim().to_owned(),
            bin: bin.to_owned(),
            condition: condition(&typed.condition)?,
            quantity: quantity(&typed.quantity)?,
            who: who.to_owned(),
            at: None,
        };
        // What is counted must be known before a sheet is drawn up for it.
        self.part_numbered(&counted.part)?;
        let sheet = if let Some(sheet) = open {
            sheet
        } else {
            let counting = Settings::of(self.store.dir())?.counting;
            let scope = Scope::Bin(bin.to_owned());
            self.draw_count_sheet(&scope, &counting, who, Keep::Yes)?.sheet
        };
        self.enter_counts(sheet, &[counted], Keep::Yes)?;
        let drawn = self.count_sheet(sheet)?;
        let left = drawn.lines.iter().filter(|line| line.counted.is_none() || line.again).count();
        let rest = match left {
            0 => "all is counted".to_owned(),
            1 => "1 line is left".to_owned(),
            left => format!("{left} lines are left"),
        };
        let Typed { quantity, part, .. } = typed;
        let says =
            format!("{} x {} counted on sheet {sheet}; {rest}", quantity.trim(), part.trim());
        Ok(Handled { says, back: None, sheet: Some(drawn) })
    }

    /// The newest open sheet that has a line of `bin`.
    fn open_sheet_of(&self, bin: &str) -> Result<Option<i64>, ShopError> {
        let same = |name: &str| {
            binwright_catalog::number::fold(name) == binwright_catalog::number::fold(bin)
        };
        let mut newest = None;
        for head in self.count_sheets()? {
            let sheet = self.count_sheet(head.sheet)?;
            if sheet.lines.iter().any(|line| same(&line.bin)) {
                newest = newest.max(Some(head.sheet));
            }
        }
        Ok(newest)
    }
}

impl Handled {
    fn of(posted: &Posted) -> Self {
        let back = posted.posting.map(TakeBack::Posting);
        Self { says: in_words(posted), back, sheet: None }
    }
}

/// `posted as 17, move: -2 x RP-1107C in A2-04 new, +2 x RP-1107C in B1-01 new`
fn in_words(posted: &Posted) -> String {
    let (Some(posting), Some(first)) = (posted.posting, posted.movements.first()) else {
        return "the book is right: nothing to post".to_owned();
    };
    let lines: Vec<String> = posted
        .movements
        .iter()
        .map(|line| {
            let sign = if line.quantity.is_positive() { "+" } else { "" };
            format!("{sign}{} x {} in {} {}", line.quantity, line.part, line.bin, line.condition)
        })
        .collect();
    format!("posted as {posting}, {}: {}", first.reason, lines.join(", "))
}

fn condition(word: &str) -> Result<Condition, ShopError> {
    let word = word.trim();
    if word.is_empty() {
        return Ok(Condition::New);
    }
    word.parse().map_err(|_| ShopError::NotReadAs {
        found: word.to_owned(),
        wanted: "condition",
        hint: "It is new, used-good or core.",
    })
}

fn quantity(text: &str) -> Result<Quantity, ShopError> {
    let text = text.trim();
    text.parse().map_err(|_| ShopError::NotReadAs {
        found: text.to_owned(),
        wanted: "quantity",
        hint: "Write a number with at most three decimals.",
    })
}
