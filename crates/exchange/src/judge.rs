//! What does a row stand for, or what is wrong with it?

mod cells;

use binwright_catalog::{
    BillLine, Condition, Cross, CrossKind, Currency, DecimalMark, IssueUnit, Machine, Measure,
    Money, Part, PartNumber, Quantity, Unit, suggest::nearest,
};

use crate::cell::{CELL_BYTES_MAX, key_fault, looks_converted, unguard};
use crate::columns::{Columns, MeasureColumn, Plan};
use crate::numbers::parse_numbers;
use crate::record::Warning;
use crate::rows::Cells;
use crate::table::month;
use crate::{Bin, Class, Demand, Offer, Price, Record, Stock, Supplier, Table};

/// More may come back in a month than went.
const DEMAND_LEAST: Quantity = Quantity::from_thousandths(i64::MIN + 1);

/// What is wrong with a row.
#[derive(Debug)]
pub(crate) struct Wrong {
    pub column: String,
    pub value: String,
    pub reason: String,
    pub would_be_right: String,
}

impl Wrong {
    pub fn row(reason: impl Into<String>, right: impl Into<String>) -> Self {
        let nothing = String::new;
        Self {
            column: nothing(),
            value: nothing(),
            reason: reason.into(),
            would_be_right: right.into(),
        }
    }
}

fn wrong(column: &str, value: &str, reason: impl Into<String>, right: impl Into<String>) -> Wrong {
    let value = value.chars().take(80).collect();
    Wrong { column: column.to_owned(), value, ..Wrong::row(reason, right) }
}

type Judged<T> = Result<T, Box<Wrong>>;

impl<'k> Columns<'k> {
    /// Returns what `cells` stand for. `typed` says which cells a spreadsheet held as numbers.
    pub fn record(&mut self, cells: Cells<'_>, typed: &dyn Fn(usize) -> bool) -> Judged<Record> {
        self.shape(cells)?;
        if self.table == Table::Parts {
            let kind = self.slots[1].word(cells);
            if !self.plans.contains_key(kind) {
                let (kind, plan) = (kind.to_owned(), self.plan(kind)?);
                self.plans.insert(kind, plan);
            }
        }
        // The numbers count in the order of `Table::fields`.
        let row = Judge { columns: self, cells, typed };
        Ok(match self.table {
            Table::Parts => Record::Part(row.part()?),
            Table::Crosses => Record::Cross(Cross {
                from: row.key(0)?,
                kind: row.one_of::<CrossKind>(1, "same, replaces, stands-in or contains")?,
                to: row.key(2)?,
                quantity: row.pieces(3)?,
                remark: row.text(4),
            }),
            Table::Units => Record::Unit(Unit {
                number: row.key(0)?,
                machine: row.one_of::<Machine>(1, "alternator or starter")?,
                description: row.text(2),
                maker: row.text(3),
                volts: row.whole(4)?,
                amps: row.whole(5)?,
            }),
            Table::Bills => Record::BillLine(BillLine {
                unit: row.key(0)?,
                role: row.key(1)?,
                part: row.key(2)?,
                quantity: row.pieces(3)?,
                remark: row.text(4),
            }),
            Table::Bins => Record::Bin(Bin {
                bin: row.key(0)?,
                aisle: row.text(1),
                description: row.text(2),
                holds_most: row.limit(3)?,
                branch: Some(row.text(4)).filter(|branch| !branch.is_empty()),
            }),
            Table::Stock => Record::Stock(Stock {
                part: row.key(0)?,
                bin: row.key(1)?,
                condition: row.one_of::<Condition>(2, "new, used-good or core")?,
                quantity: row.quantity(3, Quantity::ZERO)?,
            }),
            Table::Prices => Record::Price(Price {
                part: row.key(0)?,
                list: row.key(1)?,
                price: row.money(2, 3)?,
                user: self.user.clone(),
            }),
            Table::Demand => Record::Demand(row.demand()?),
            Table::Suppliers => Record::Supplier(row.supplier()?),
            Table::Offers => Record::Offer(row.offer()?),
        })
    }

    /// What should be looked at: numbers that a spreadsheet seems to have written its own way.
    pub fn warnings(&self, cells: Cells<'_>, mangled: &dyn Fn(usize) -> bool) -> Vec<Warning> {
        let keys = self.table.fields().iter().zip(&self.slots);
        keys.filter(|(field, _)| field.class == Class::Key)
            .filter_map(|(_, slot)| Some((slot, slot.at?)))
            .filter(|(slot, at)| mangled(*at) || looks_converted(slot.word(cells)))
            .map(|(slot, at)| Warning {
                column: slot.header.clone(),
                value: cells.get(at).to_owned(),
                reason: "it looks like a number that a spreadsheet wrote its own way; zeros, \
                         digits or an E may be lost"
                    .to_owned(),
            })
            .collect()
    }

    fn shape(&self, cells: Cells<'_>) -> Judged<()> {
        let (found, due) = (cells.len(), self.headers.len());
        if found != due {
            let right =
                "as many cells as headers; a cell that holds the separator stands in quotes";
            let reason = format!("the row has {found} cells under {due} headers");
            return Err(Wrong::row(reason, right).into());
        }
        if cells.text().len() > CELL_BYTES_MAX
            && let Some(at) = (0..found).find(|at| cells.get(*at).len() > CELL_BYTES_MAX)
        {
            let reason = format!("the cell has {} bytes", cells.get(at).len());
            let right = format!("at most {CELL_BYTES_MAX} bytes");
            return Err(wrong(&self.headers[at], cells.get(at), reason, right).into());
        }
        if cells.text().contains('\0') {
            let at = (0..found).find(|at| cells.get(*at).contains('\0')).unwrap_or(0);
            let right = "text without it; the file may be UTF-16, then say its encoding";
            let (column, cell) = (&self.headers[at], cells.get(at));
            return Err(wrong(column, cell, "the cell holds a NUL", right).into());
        }
        Ok(())
    }

    fn plan(&self, word: &str) -> Judged<Plan<'k>> {
        let kinds = self.kinds;
        let Some(kind) = kinds.get(word) else {
            let known = kinds.iter().map(|kind| kind.key.as_str());
            let right = match nearest(word, known) {
                Some(near) => {
                    format!("perhaps `{near}`; a map's [words.kind] turns words into kinds")
                }
                None => "the key of a kind; a map's [words.kind] turns words into kinds".to_owned(),
            };
            let reason = if word.is_empty() {
                "the kind is missing".to_owned()
            } else {
                format!("kind `{word}` is not known")
            };
            return Err(wrong(&self.slots[1].header, word, reason, right).into());
        };
        let own = |column: &MeasureColumn| kind.measure(&column.to).map(|(_, measure)| measure);
        Ok(Plan { kind, measures: self.measures.iter().map(own).collect() })
    }
}

/// One row while it is judged.
struct Judge<'a, 'k> {
    columns: &'a Columns<'k>,
    cells: Cells<'a>,
    typed: &'a dyn Fn(usize) -> bool,
}

impl Judge<'_, '_> {
    fn part(&self) -> Judged<Part> {
        let plan = self.columns.plans.get(self.word(1));
        let plan = plan.ok_or_else(|| Wrong::row("the kind is missing", "the key of a kind"))?;
        let layout = match self.slot(5).text(self.cells) {
            "" => None,
            text => {
                Some(text.parse().map_err(|error: binwright_catalog::layout::LayoutError| {
                    let right = error.hint().unwrap_or_default();
                    wrong(&self.slot(5).header, text, error.to_string(), right)
                })?)
            }
        };
        let mut part = Part {
            house: self.key(0)?,
            kind: plan.kind.key.clone(),
            description: self.text(2),
            maker: self.text(3),
            issue: self.issue(plan.kind.issue)?,
            layout,
            numbers: self.numbers()?,
            ..Part::default()
        };
        for (column, measure) in self.columns.measures.iter().zip(&plan.measures) {
            let text = column.slot.word(self.cells);
            if text.is_empty() {
                continue;
            }
            match measure {
                Some(measure) => {
                    let value = self.value(column, measure, text)?;
                    part.measures.insert(measure.key.clone(), value);
                }
                // A constant is meant for the kinds that have it.
                None if column.slot.at.is_none() => {}
                None => {
                    let known = plan.kind.measures.iter().map(|measure| measure.key.as_str());
                    let reason = format!("kind `{}` has no measure `{}`", plan.kind.key, column.to);
                    let right = match nearest(&column.to, known) {
                        Some(near) => format!("leave it blank, or give `{near}`"),
                        None => "leave it blank for this kind".to_owned(),
                    };
                    return Err(wrong(&column.slot.header, text, reason, right).into());
                }
            }
        }
        Ok(part)
    }

    fn issue(&self, of_kind: IssueUnit) -> Judged<IssueUnit> {
        let (slot, text) = self.cell(4);
        if text.is_empty() {
            return Ok(of_kind);
        }
        IssueUnit::named(text).ok_or_else(|| {
            let reason = format!("unit of issue `{text}` is not known");
            wrong(&slot.header, text, reason, "C62 (pieces), MTR (metres) or GRM (grams)").into()
        })
    }

    fn numbers(&self) -> Judged<Vec<PartNumber>> {
        let mut numbers = Vec::new();
        for (at, user) in &self.columns.numbers {
            for number in parse_numbers(unguard(self.cells.get(*at)), user) {
                let fault = key_fault(&number.text)
                    .or_else(|| key_fault(&number.user).filter(|_| !number.user.is_empty()));
                if let Some((reason, right)) = fault {
                    let header = &self.columns.headers[*at];
                    return Err(wrong(header, &number.text, reason, right).into());
                }
                numbers.push(number);
            }
        }
        Ok(numbers)
    }

    fn value(
        &self,
        column: &MeasureColumn,
        measure: &Measure,
        text: &str,
    ) -> Judged<binwright_catalog::Value> {
        if measure.domain.is_number() {
            self.ask(&column.slot, text)?;
        }
        let mark = self.columns.decimal;
        measure.parse(text, column.unit, mark).map_err(|error| {
            let right = match error.hint() {
                _ if mark == DecimalMark::Comma && text.contains('.') => {
                    "decimals after a comma, as the map or an option says"
                }
                Some(hint) => hint,
                None => measure.how.as_str(),
            };
            wrong(&column.slot.header, text, error.to_string(), right).into()
        })
    }

    /// One month in the long form; in the wide form those whose cell is not blank.
    fn demand(&self) -> Judged<Demand> {
        let part = self.key(0)?;
        let mark = match self.word(3) {
            "" => "regular",
            mark @ ("regular" | "one-off" | "lost" | "asked") => mark,
            mark => {
                let reason = format!("mark `{mark}` is not known");
                return Err(wrong(
                    &self.slot(3).header,
                    mark,
                    reason,
                    "regular, one-off, lost or asked",
                )
                .into());
            }
        };
        let mut months = Vec::new();
        if self.columns.months.is_empty() {
            let (slot, text) = self.cell(1);
            let month = month(text).ok_or_else(|| {
                let reason = format!("`{text}` is not a month");
                wrong(&slot.header, text, reason, "YYYY-MM, or a day as YYYY-MM-DD")
            })?;
            months.push((month, self.quantity(2, DEMAND_LEAST)?));
        }
        for (slot, month) in &self.columns.months {
            if !slot.word(self.cells).is_empty() {
                months.push((month.clone(), self.quantity_in(slot, DEMAND_LEAST)?));
            }
        }
        Ok(Demand { part, months, mark: mark.to_owned() })
    }

    fn supplier(&self) -> Judged<Supplier> {
        let currency: Currency = self.one_of(1, "three letters, such as EUR")?;
        let nothing = Money::zero(currency);
        Ok(Supplier {
            name: self.key(0)?,
            currency,
            rate: self.rate(2)?,
            order_minimum: self.amount(3, currency)?.unwrap_or(nothing),
            freight: self.amount(4, currency)?.unwrap_or(nothing),
            freight_free_from: self.amount(5, currency)?,
            lead_days: self.whole(6)?,
            address: self.text(7),
        })
    }

    fn offer(&self) -> Judged<Offer> {
        let pack = self.pieces(6)?;
        let number = self.word(4);
        Ok(Offer {
            supplier: self.key(0)?,
            part: self.key(1)?,
            price: self.money(2, 3)?,
            number: if number.is_empty() { String::new() } else { self.key(4)? },
            from: self.pieces(5)?,
            pack,
            minimum: if self.word(7).is_empty() { pack } else { self.pieces(7)? },
            lead_days: self.whole(8)?,
        })
    }
}
