//! Which units does the shop know, and what sits in them? Units, bills, bins.

use binwright_catalog::{BillLine, Quantity, Unit, number};

use crate::engine::{Row, values};
use crate::put::{Put, put};
use crate::{Store, StoreError, Writer, sql};

/// A shelf position.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Bin {
    /// Its name, unique by its folded form.
    pub name: String,
    /// Where to walk.
    pub aisle: String,
    /// What lies there.
    pub description: String,
    /// The most it takes, all parts together; no limit when not given.
    pub holds_most: Option<Quantity>,
    /// Its branch; not given in a shop that is one place. Put without, it stays where it is, and a new
    /// one is the first branch's.
    pub branch: Option<String>,
}

/// One line of a bill with the part's id.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BillRow {
    /// The part.
    pub part_id: u64,
    /// The line, the part by house number.
    pub line: BillLine,
}

impl Store {
    /// The unit with `number`.
    ///
    /// # Errors
    ///
    /// What the engine says; so all reading here.
    pub fn unit(&self, number: &str) -> Result<Option<Unit>, StoreError> {
        self.near().first(sql!("unit_by_folded"), values![number::fold(number)], read_unit)
    }

    /// Hands every unit to `take`.
    ///
    /// # Errors
    ///
    /// What the engine or `take` says.
    pub fn each_unit<E: From<StoreError>>(
        &self,
        take: impl FnMut(Unit) -> Result<(), E>,
    ) -> Result<(), E> {
        self.near().each(sql!("units_all"), &[], read_unit, take)
    }

    /// The units that take the part with `id`, with the role it has there.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn units_with(&self, id: u64) -> Result<Vec<(Unit, String)>, StoreError> {
        self.near()
            .all(sql!("units_with_part"), values![id], |row| Ok((read_unit(row)?, row.get(7)?)))
    }

    /// The bill of the unit with `number`; empty when there is no such unit.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn bill(&self, number: &str) -> Result<Vec<BillRow>, StoreError> {
        let unit: Option<u64> =
            self.near()
                .first(sql!("unit_by_folded"), values![number::fold(number)], |row| row.get(0))?;
        self.near().all(sql!("bill_of_unit"), values![unit.unwrap_or(0)], read_bill)
    }

    /// Hands every line of every bill to `take`.
    ///
    /// # Errors
    ///
    /// What the engine or `take` says.
    pub fn each_bill_line<E: From<StoreError>>(
        &self,
        take: impl FnMut(BillRow) -> Result<(), E>,
    ) -> Result<(), E> {
        self.near().each(sql!("bill_lines_all"), &[], read_bill, take)
    }

    /// All bins, in the order they were made.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn bins(&self) -> Result<Vec<Bin>, StoreError> {
        self.near().all(sql!("bins_all"), &[], |row| {
            Ok(Bin {
                name: row.get(0)?,
                aisle: row.get(1)?,
                description: row.get(2)?,
                holds_most: row.get::<Option<i64>>(3)?.map(Quantity::from_thousandths),
                branch: row.get(4)?,
            })
        })
    }
}

impl Writer<'_> {
    /// Puts `unit`, known by the folded form of its number.
    ///
    /// # Errors
    ///
    /// When its number is empty or the engine fails.
    pub fn put_unit(&mut self, unit: &Unit) -> Result<Put, StoreError> {
        let folded = number::fold(&unit.number);
        if folded.is_empty() {
            return Err(StoreError::EmptyNumber { number: unit.number.clone() });
        }
        let there = self.unit_id(&unit.number)?.is_some();
        let changed = self.session.run(
            sql!("unit_put"),
            values![
                &unit.number,
                folded,
                unit.machine.word(),
                &unit.description,
                &unit.maker,
                unit.volts,
                unit.amps
            ],
        )?;
        Ok(put(there, changed))
    }

    /// Puts a line of a unit's bill; unit and part must be there.
    ///
    /// # Errors
    ///
    /// When one of them is not, or the engine fails.
    pub fn put_bill_line(&mut self, line: &BillLine) -> Result<Put, StoreError> {
        let unit = self
            .unit_id(&line.unit)?
            .ok_or_else(|| StoreError::NoSuchUnit { number: line.unit.clone() })?;
        let part = self.part_id(&line.part)?;
        let bill = self.session.all(sql!("bill_of_unit"), values![unit], read_bill)?;
        let there = bill.iter().any(|known| known.part_id == part && known.line.role == line.role);
        let changed = self.session.run(
            sql!("bill_line_put"),
            values![unit, &line.role, part, line.quantity.thousandths(), &line.remark],
        )?;
        Ok(put(there, changed))
    }

    fn unit_id(&self, number: &str) -> Result<Option<u64>, StoreError> {
        self.session.first(sql!("unit_by_folded"), values![number::fold(number)], |row| row.get(0))
    }
}

fn read_unit(row: &Row<'_>) -> Result<Unit, StoreError> {
    let machine: String = row.get(2)?;
    Ok(Unit {
        number: row.get(1)?,
        machine: machine
            .parse()
            .map_err(|_| StoreError::Damaged { what: format!("machine `{machine}`") })?,
        description: row.get(3)?,
        maker: row.get(4)?,
        volts: row.get(5)?,
        amps: row.get(6)?,
    })
}

fn read_bill(row: &Row<'_>) -> Result<BillRow, StoreError> {
    Ok(BillRow {
        part_id: row.get(5)?,
        line: BillLine {
            unit: row.get(0)?,
            role: row.get(1)?,
            part: row.get(2)?,
            quantity: Quantity::from_thousandths(row.get(3)?),
            remark: row.get(4)?,
        },
    })
}
