//! How do records go out, so that import gives back what they were?

use std::io::Write;

use binwright_catalog::Value;

use crate::cell::CellStyle;
use crate::error::ExchangeError;
use crate::numbers::write_numbers;
use crate::record::Record;
use crate::sheet::{Cell, Sheet};
use crate::table::BRANCH;
use crate::{Class, Table};

/// A table that is being written, row by row.
pub struct Export<W: Write> {
    table: Table,
    /// Columns behind our own.
    more: Vec<String>,
    sheet: Sheet<W>,
}

impl<W: Write> Export<W> {
    /// Begins a CSV file of `table` in `out` (UTF-8, `,`, CRLF). What stands behind our own
    /// columns is `more`: of parts their measures, of bins `branch` where there are several.
    ///
    /// # Errors
    ///
    /// [`ExchangeError::Write`] when `out` does not take it.
    pub fn csv(
        out: W,
        table: Table,
        more: Vec<String>,
        style: CellStyle,
    ) -> Result<Self, ExchangeError> {
        Self { table, more, sheet: Sheet::csv(out, style) }.begin()
    }

    /// Begins an XLSX file of `table` for `out`: texts are typed as such and numbers as numbers,
    /// so nothing in it is run. It is held in memory until [`Export::finish`].
    ///
    /// # Errors
    ///
    /// [`ExchangeError::Write`] when the headers cannot be written.
    pub fn xlsx(out: W, table: Table, more: Vec<String>) -> Result<Self, ExchangeError> {
        Self { table, more, sheet: Sheet::xlsx(out, table.word())? }.begin()
    }

    fn begin(mut self) -> Result<Self, ExchangeError> {
        let ours = self.table.fields().iter().map(|field| field.name.to_owned());
        let ours = ours.filter(|name| name != BRANCH);
        let headers: Vec<Cell> = ours.chain(self.more.iter().cloned()).map(Cell::Text).collect();
        self.sheet.put(&headers)?;
        Ok(self)
    }

    /// Appends one record.
    ///
    /// # Errors
    ///
    /// [`ExchangeError`] when the record is of another table or has a measure that is no column,
    /// or the file does not take it.
    pub fn write(&mut self, record: &Record) -> Result<(), ExchangeError> {
        if record.table() != self.table {
            let (found, table) = (record.table().word(), self.table.word());
            return Err(ExchangeError::WrongTable { found, table });
        }
        let fields = self.table.fields().iter();
        let mut cells: Vec<Cell> = texts(record)
            .into_iter()
            .zip(fields)
            .map(|(text, field)| match field.class {
                Class::Amount | Class::Whole => Cell::Number(text),
                Class::Key | Class::Text | Class::Word => Cell::Text(text),
            })
            .collect();
        if let Record::Part(part) = record {
            if let Some(stray) = part.measures.keys().find(|key| !self.more.contains(key)) {
                let (part, measure) = (part.house.clone(), stray.clone());
                return Err(ExchangeError::NoMeasureColumn { part, measure });
            }
            cells.extend(self.more.iter().map(|key| match part.measures.get(key) {
                // All digits, not the four that are shown: import must give back the same number.
                Some(Value::Number(number)) => Cell::Number(number.to_string()),
                Some(Value::Word(word)) => Cell::Text(word.clone()),
                None => Cell::Text(String::new()),
            }));
        }
        if let Record::Bin(bin) = record
            && !self.more.is_empty()
        {
            cells.push(Cell::Text(bin.branch.clone().unwrap_or_default()));
        }
        self.sheet.put(&cells)
    }

    /// Ends the file and gives `out` back.
    ///
    /// # Errors
    ///
    /// [`ExchangeError::Write`] when `out` does not take it.
    pub fn finish(self) -> Result<W, ExchangeError> {
        self.sheet.finish()
    }
}

/// The cells of a record in the order of [`Table::fields`].
fn texts(record: &Record) -> Vec<String> {
    let own = str::to_owned;
    let whole = |number: Option<u16>| number.map_or_else(String::new, |n| n.to_string());
    match record {
        Record::Part(part) => vec![
            part.house.clone(),
            part.kind.clone(),
            part.description.clone(),
            part.maker.clone(),
            own(part.issue.code()),
            part.layout.as_ref().map_or_else(String::new, ToString::to_string),
            write_numbers(&part.numbers),
        ],
        Record::Cross(cross) => vec![
            cross.from.clone(),
            own(cross.kind.word()),
            cross.to.clone(),
            cross.quantity.to_string(),
            cross.remark.clone(),
        ],
        Record::Unit(unit) => vec![
            unit.number.clone(),
            own(unit.machine.word()),
            unit.description.clone(),
            unit.maker.clone(),
            whole(unit.volts),
            whole(unit.amps),
        ],
        Record::BillLine(line) => vec![
            line.unit.clone(),
            line.role.clone(),
            line.part.clone(),
            line.quantity.to_string(),
            line.remark.clone(),
        ],
        Record::Bin(bin) => vec![
            bin.bin.clone(),
            bin.aisle.clone(),
            bin.description.clone(),
            bin.holds_most.map_or_else(String::new, |most| most.to_string()),
        ],
        Record::Stock(stock) => vec![
            stock.part.clone(),
            stock.bin.clone(),
            own(stock.condition.word()),
            stock.quantity.to_string(),
        ],
        Record::Price(price) => vec![
            price.part.clone(),
            price.list.clone(),
            price.price.decimal().to_string(),
            own(price.price.currency.code()),
        ],
        Record::Supplier(s) => vec![
            s.name.clone(),
            own(s.currency.code()),
            s.rate.normalize().to_string(),
            s.order_minimum.decimal().to_string(),
            s.freight.decimal().to_string(),
            s.freight_free_from.map_or_else(String::new, |money| money.decimal().to_string()),
            whole(s.lead_days),
            s.address.clone(),
        ],
        Record::Offer(offer) => vec![
            offer.supplier.clone(),
            offer.part.clone(),
            offer.price.decimal().to_string(),
            own(offer.price.currency.code()),
            offer.number.clone(),
            offer.from.to_string(),
            offer.pack.to_string(),
            offer.minimum.to_string(),
            whole(offer.lead_days),
        ],
        // Out it goes in the long form, a record a month.
        Record::Demand(demand) => {
            let (month, quantity) = demand.months.first().cloned().unwrap_or_default();
            vec![demand.part.clone(), month, quantity.to_string(), demand.mark.clone()]
        }
    }
}
