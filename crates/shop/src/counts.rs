//! The counting desk: what is due, what was found, and is the book right?

use std::collections::BTreeSet;
use std::io::Read;

use binwright_catalog::{Condition, Money, Quantity};
use binwright_store::{CountPlace, CountSheet, Counted, Keep, NewSheet, StoreError};
use jiff::civil::Date;
use jiff::{Span, Timestamp};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};

use crate::files::csv_text;
use crate::stock::{Posted, posted};
use crate::{Shop, ShopError};

/// Days over which picks are counted.
const YEAR_DAYS: i64 = 365;

/// How the shop counts: a part of its settings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Counting {
    /// Classes of parts by how often they are picked, fastest first.
    pub classes: Vec<CountClass>,
    /// A difference above so many percent of the book is counted again.
    pub recount_above_percent: Decimal,
    /// Corrections worth more than this in all need a second person, in the shop's currency.
    pub second_above: Decimal,
}

/// A class of parts by how often they are picked.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CountClass {
    /// What it is called.
    pub name: String,
    /// Issued or sold at least so often in a year.
    pub picks_a_year: u32,
    /// Counted again after so many days.
    pub days: i64,
}

/// What is to be counted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Scope {
    /// One bin.
    Bin(String),
    /// All bins of an aisle.
    Aisle(String),
    /// All parts of a class of the settings.
    Class(String),
    /// Whatever was not counted within the days of its class.
    Due,
}

/// A sheet that was drawn up: blind, it does not say what the book says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Sheet {
    /// Its number.
    pub sheet: i64,
    /// What is counted.
    pub what: String,
    /// When it was drawn up.
    pub day: Date,
    /// Where to look, along the aisles.
    pub lines: Vec<SheetLine>,
    /// Whether it was only judged.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub dry_run: bool,
}

/// A line to be filled in.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SheetLine {
    /// The bin.
    pub bin: String,
    /// House number.
    pub part: String,
    /// In what condition.
    pub condition: Condition,
    /// What was counted, nothing yet on a new sheet.
    pub counted: Option<Quantity>,
    /// Whether it is to be counted again.
    pub again: bool,
}

/// An open sheet, in short.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct SheetHead {
    /// Its number.
    pub sheet: i64,
    /// What is counted.
    pub what: String,
    /// Who drew it up.
    pub who: String,
    /// When.
    pub day: Date,
    /// Its lines.
    pub lines: u32,
    /// Those that were counted.
    pub counted: u32,
}

/// What was counted against what the book says.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Review {
    /// The sheet.
    pub sheet: i64,
    /// Lines that were not counted.
    pub not_counted: usize,
    /// Lines that are to be counted again.
    pub to_recount: usize,
    /// Lines where the book is wrong.
    pub differences: Vec<Difference>,
}

/// A place where the book is wrong.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Difference {
    /// The bin.
    pub bin: String,
    /// House number.
    pub part: String,
    /// In what condition.
    pub condition: Condition,
    /// What was counted.
    pub counted: Quantity,
    /// What the book said at that moment.
    pub book: Quantity,
    /// What posting would change.
    pub correction: Quantity,
    /// Who counted.
    pub counter: String,
    /// Whether it is to be counted again.
    pub again: bool,
}

impl Shop {
    /// Draws up a sheet.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when nothing lies there, or the class is not one of the settings.
    pub fn draw_count_sheet(
        &mut self,
        scope: &Scope,
        counting: &Counting,
        who: &str,
        keep: Keep,
    ) -> Result<Sheet, ShopError> {
        let since = self.today.saturating_sub(Span::new().days(YEAR_DAYS));
        let places = self.store.count_places(since)?;
        let places = chosen(places, scope, counting, self.today)?;
        let currency = self.currency()?;
        let permille = counting.recount_above_percent * Decimal::TEN;
        let drawn = NewSheet {
            what: scope.words(),
            who: who.to_owned(),
            day: self.today,
            recount_above_permille: permille.round().try_into().unwrap_or(u32::MAX),
            second_above: Money::rounded(counting.second_above, currency)?,
        };
        self.store.write(keep, |w| {
            let id = w.draw_sheet(&drawn, &places)?;
            Ok(Sheet { dry_run: keep == Keep::DryRun, ..Sheet::of(&w.sheet(id)?) })
        })
    }

    /// The sheets that are not posted yet.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the store fails.
    pub fn count_sheets(&self) -> Result<Vec<SheetHead>, ShopError> {
        let heads = self.store.open_sheets()?.into_iter().map(|open| SheetHead {
            sheet: open.id,
            what: open.what,
            who: open.who,
            day: open.day,
            lines: open.lines,
            counted: open.counted,
        });
        Ok(heads.collect())
    }

    /// A sheet to be filled in, without what the book says.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when there is no such sheet.
    pub fn count_sheet(&self, sheet: i64) -> Result<Sheet, ShopError> {
        Ok(Sheet::of(&self.store.sheet(sheet)?))
    }

    /// Takes in counts, all or none; returns how many.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when a part or bin is not known or the sheet is closed.
    pub fn enter_counts(
        &mut self,
        sheet: i64,
        counts: &[Counted],
        keep: Keep,
    ) -> Result<usize, ShopError> {
        self.store.write(keep, |w| {
            counts.iter().try_for_each(|counted| w.count(sheet, counted))?;
            Ok(counts.len())
        })
    }

    /// Bins of `counts` that are not on the sheet: what lies there is counted in all the same.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when there is no such sheet.
    pub fn bins_not_on(&self, sheet: i64, counts: &[Counted]) -> Result<Vec<String>, ShopError> {
        let fold = binwright_catalog::number::fold;
        let lines = self.store.sheet(sheet)?.lines;
        let on: BTreeSet<String> = lines.iter().map(|line| fold(&line.bin)).collect();
        let off = counts.iter().filter(|counted| !on.contains(&fold(&counted.bin)));
        let off: BTreeSet<&String> = off.map(|counted| &counted.bin).collect();
        Ok(off.into_iter().cloned().collect())
    }

    /// Sets what was counted against the book: for who posts, not for who counts.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when there is no such sheet.
    pub fn review_count(&self, sheet: i64) -> Result<Review, ShopError> {
        let CountSheet { id, lines, .. } = self.store.sheet(sheet)?;
        let mut review = Review {
            sheet: id,
            not_counted: lines.iter().filter(|line| line.times == 0).count(),
            to_recount: lines.iter().filter(|line| line.recount).count(),
            differences: Vec::new(),
        };
        let differs =
            |line: &binwright_store::CountLine| line.times > 0 && line.counted != line.book;
        for line in lines.into_iter().filter(differs) {
            review.differences.push(Difference {
                bin: line.bin,
                part: line.part,
                condition: line.condition,
                counted: line.counted,
                book: line.book,
                correction: line.correction,
                counter: line.counter,
                again: line.recount,
            });
        }
        Ok(review)
    }

    /// Corrects the book by what was counted, and closes the sheet; `partly` lets lines stay
    /// uncounted, where the book stays as it is.
    ///
    /// # Errors
    ///
    /// [`ShopError::NotCounted`]; [`ShopError`] when a line is to be counted again, a second person
    /// is needed, or what is missing is promised.
    pub fn post_count(
        &mut self,
        sheet: i64,
        second: &str,
        partly: bool,
        who: &str,
        keep: Keep,
    ) -> Result<Posted, ShopError> {
        let drawn = self.store.sheet(sheet)?;
        let lines = drawn.lines.iter().filter(|line| line.times == 0).count();
        if drawn.open && lines > 0 && !partly {
            return Err(ShopError::NotCounted { sheet, lines });
        }
        let (today, now) = (self.today, Timestamp::now());
        self.store.write(keep, |w| {
            let posting = w.post_sheet(sheet, second, who, now, today)?;
            posted(w, posting, keep)
        })
    }

    /// Whether `code` is the name of a bin.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the store fails.
    pub fn is_bin(&self, code: &str) -> Result<bool, ShopError> {
        Ok(self.store.is_bin(code)?)
    }

    /// Throws an open sheet away.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when it is not open.
    pub fn drop_count(&mut self, sheet: i64, keep: Keep) -> Result<(), ShopError> {
        Ok(self.store.write(keep, |w| w.drop_sheet(sheet))?)
    }
}

impl Scope {
    fn words(&self) -> String {
        match self {
            Self::Bin(bin) => format!("bin {bin}"),
            Self::Aisle(aisle) => format!("aisle {aisle}"),
            Self::Class(class) => format!("class {class}"),
            Self::Due => "what is due".to_owned(),
        }
    }
}

impl Sheet {
    fn of(sheet: &CountSheet) -> Self {
        let line = |line: &binwright_store::CountLine| SheetLine {
            bin: line.bin.clone(),
            part: line.part.clone(),
            condition: line.condition,
            counted: (line.times > 0).then_some(line.counted),
            again: line.recount,
        };
        Self {
            sheet: sheet.id,
            what: sheet.drawn.what.clone(),
            day: sheet.drawn.day,
            lines: sheet.lines.iter().map(line).collect(),
            dry_run: false,
        }
    }

    /// The sheet as CSV: what [`read_counts`] takes back once `counted` is filled in.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when it cannot be written.
    pub fn csv(&self) -> Result<String, ShopError> {
        let row = |line: &SheetLine| {
            let counted = line.counted.filter(|_| !line.again);
            let counted = counted.map(|counted| counted.to_string()).unwrap_or_default();
            [line.bin.clone(), line.part.clone(), line.condition.to_string(), counted]
        };
        csv_text(["bin", "part", "condition", "counted"], self.lines.iter().map(row))
    }
}

/// Reads a filled-in sheet: CSV with the columns bin, part, condition and counted. A line without
/// a count says nothing.
///
/// # Errors
///
/// [`ShopError::CountRow`] names the row.
pub fn read_counts(input: impl Read, who: &str) -> Result<Vec<Counted>, ShopError> {
    #[derive(Deserialize)]
    struct Row {
        bin: String,
        part: String,
        #[serde(default)]
        condition: String,
        counted: String,
    }
    let mut reader = csv::ReaderBuilder::new().trim(csv::Trim::All).from_reader(input);
    let mut counts = Vec::new();
    for (at, row) in reader.deserialize().enumerate() {
        let wrong = |message: String| ShopError::CountRow { row: at + 2, message };
        let row: Row = row.map_err(|error| wrong(error.to_string()))?;
        if row.counted.is_empty() {
            continue;
        }
        let word = if row.condition.is_empty() { "new" } else { &row.condition };
        counts.push(Counted {
            condition: word.parse().map_err(|error| wrong(format!("{error}")))?,
            quantity: row.counted.parse().map_err(|error| wrong(format!("{error}")))?,
            part: row.part,
            bin: row.bin,
            who: who.to_owned(),
            at: None,
        });
    }
    Ok(counts)
}

fn chosen(
    places: Vec<CountPlace>,
    scope: &Scope,
    counting: &Counting,
    today: Date,
) -> Result<Vec<CountPlace>, ShopError> {
    let same =
        |a: &str, b: &str| binwright_catalog::number::fold(a) == binwright_catalog::number::fold(b);
    let class_of = |place: &CountPlace| {
        let classes = counting.classes.iter();
        classes.filter(|class| place.picks >= class.picks_a_year).max_by_key(|c| c.picks_a_year)
    };
    if let Scope::Class(name) = scope
        && !counting.classes.iter().any(|class| class.name == *name)
    {
        let known = counting.classes.iter().map(|class| class.name.clone()).collect();
        return Err(ShopError::NoSuchClass { found: name.clone(), known });
    }
    let is_due = |place: &CountPlace| match (place.counted_on, class_of(place)) {
        (None, Some(_)) => true,
        (Some(day), Some(class)) => day.saturating_add(Span::new().days(class.days)) <= today,
        (_, None) => false,
    };
    let wanted = |place: &CountPlace| match scope {
        Scope::Bin(bin) => same(&place.bin, bin),
        Scope::Aisle(aisle) => same(&place.aisle, aisle),
        Scope::Class(name) => class_of(place).is_some_and(|class| class.name == *name),
        Scope::Due => is_due(place),
    };
    let chosen: Vec<_> = places.into_iter().filter(wanted).collect();
    if chosen.is_empty() { Err(StoreError::NothingToCount.into()) } else { Ok(chosen) }
}
