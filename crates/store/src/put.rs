//! How do parts, bins and prices get in? Each is put as it should be; the same again changes nothing.

use binwright_catalog::{Layout, Money, Part, Quantity, number};
use rusqlite::{Connection, OptionalExtension};

use crate::catalogue::{parts_by_number, read_part, with_numbers};
use crate::{Bin, Store, StoreError, Writer, sql};

/// What putting something did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Put {
    /// It was not there.
    Added,
    /// It was there and is different now.
    Changed,
    /// It was there just so.
    Unchanged,
}

impl Store {
    /// The id of the one part that `number` names: a house number first, another only when it is
    /// not shared.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchPart`] or [`StoreError::ManyParts`], or what the engine says.
    pub fn part_named(&self, number: &str) -> Result<u64, StoreError> {
        part_id(&self.connection, number)
    }
}

impl Writer<'_> {
    /// Puts `part`, known by the folded form of its house number, and returns its id.
    ///
    /// # Errors
    ///
    /// When its number is empty, one of its numbers is not finite, or the engine fails.
    pub fn put_part(&mut self, part: &Part) -> Result<(u64, Put), StoreError> {
        let folded = number::fold(&part.house);
        if folded.is_empty() {
            return Err(StoreError::EmptyNumber { number: part.house.clone() });
        }
        if part.layout.as_ref().is_some_and(Layout::is_empty) {
            return self.put_part(&Part { layout: None, ..part.clone() });
        }
        let not_finite = |value: &binwright_catalog::Value| {
            value.number().is_some_and(|number| !number.is_finite())
        };
        if let Some((measure, _)) = part.measures.iter().find(|(_, value)| not_finite(value)) {
            let (number, measure) = (part.house.clone(), measure.clone());
            return Err(StoreError::NotFinite { number, measure });
        }
        let measures = serde_json::to_string(&part.measures)?;
        let layout = part.layout.as_ref().map(ToString::to_string);
        let fields =
            (&part.kind, &part.description, &part.maker, part.issue.code(), &measures, &layout);
        let added: Option<u64> = self
            .transaction
            .prepare_cached(sql!("part_add"))?
            .query_row(
                (&part.house, &folded, fields.0, fields.1, fields.2, fields.3, fields.4, fields.5),
                |row| row.get(0),
            )
            .optional()?;
        if let Some(id) = added {
            self.put_numbers(id, part)?;
            self.log(id)?;
            return Ok((id, Put::Added));
        }
        let known = self
            .transaction
            .prepare_cached(sql!("part_by_folded"))?
            .query_row([&folded], |row| Ok(read_part(row)))??;
        let known = with_numbers(&self.transaction, known)?;
        if known.part == *part {
            return Ok((known.id, Put::Unchanged));
        }
        self.transaction.prepare_cached(sql!("part_change"))?.execute((
            known.id,
            &part.house,
            fields.0,
            fields.1,
            fields.2,
            fields.3,
            fields.4,
            fields.5,
        ))?;
        if known.part.numbers != part.numbers {
            self.transaction.prepare_cached(sql!("numbers_drop"))?.execute([known.id])?;
            self.put_numbers(known.id, part)?;
        }
        self.log(known.id)?;
        Ok((known.id, Put::Changed))
    }

    fn put_numbers(&mut self, id: u64, part: &Part) -> Result<(), StoreError> {
        let mut add = self.transaction.prepare_cached(sql!("number_add"))?;
        for (place, known) in part.numbers.iter().enumerate() {
            add.execute((id, place, &known.text, &known.user, number::fold(&known.text)))?;
        }
        Ok(())
    }

    /// Notes that what is looked up of the part with `id` changed.
    pub(crate) fn log(&mut self, id: u64) -> Result<(), StoreError> {
        self.transaction.prepare_cached(sql!("change_add"))?.execute([id])?;
        Ok(())
    }

    /// Puts a shelf position, known by the folded form of its name.
    ///
    /// # Errors
    ///
    /// When its name is empty or the engine fails.
    pub fn put_bin(&mut self, bin: &Bin) -> Result<Put, StoreError> {
        let folded = number::fold(&bin.name);
        if folded.is_empty() {
            return Err(StoreError::EmptyNumber { number: bin.name.clone() });
        }
        let there = bin_id(&self.transaction, &bin.name)?.is_some();
        let changed = self.transaction.prepare_cached(sql!("bin_put"))?.execute((
            &bin.name,
            folded,
            &bin.aisle,
            &bin.description,
            bin.holds_most.map(Quantity::thousandths),
        ))?;
        Ok(put(there, changed))
    }

    /// Puts the price of a part on a list. The part is named by house number or another; with a
    /// `user`, by that user's own number.
    ///
    /// # Errors
    ///
    /// When no part or more than one bears the number, or the engine fails.
    pub fn put_price(
        &mut self,
        part: &str,
        user: &str,
        list: &str,
        price: Money,
    ) -> Result<Put, StoreError> {
        let id = if user.is_empty() { self.part_id(part)? } else { self.user_part_id(part, user)? };
        let there = self
            .transaction
            .prepare_cached(sql!("prices_of_part"))?
            .query_map([id], |row| row.get::<_, String>(0))?
            .any(|known| known.is_ok_and(|known| known == list));
        let changed = self.transaction.prepare_cached(sql!("price_put"))?.execute((
            id,
            list,
            price.minor,
            price.currency.code(),
        ))?;
        Ok(put(there, changed))
    }

    /// The id of the one part that `number` names: a house number first, another only when it
    /// is not shared.
    pub(crate) fn part_id(&self, number: &str) -> Result<u64, StoreError> {
        part_id(&self.transaction, number)
    }

    fn user_part_id(&self, number: &str, user: &str) -> Result<u64, StoreError> {
        let mut query = self.transaction.prepare_cached(sql!("parts_by_user_number"))?;
        let ids: Vec<u64> = query
            .query_map((number::fold(number), user), |row| row.get(0))?
            .collect::<Result<_, _>>()?;
        match ids[..] {
            [id] => Ok(id),
            [] => self.part_id(number),
            _ => Err(many_parts(&self.transaction, number, &ids)?),
        }
    }
}

/// What an upsert did, from whether the row was there and how many rows it touched.
pub(crate) fn put(there: bool, changed: usize) -> Put {
    match (there, changed) {
        (_, 0) => Put::Unchanged,
        (true, _) => Put::Changed,
        (false, _) => Put::Added,
    }
}

pub(crate) fn part_id(connection: &Connection, text: &str) -> Result<u64, StoreError> {
    let house: Option<u64> = connection
        .prepare_cached(sql!("part_id_by_folded"))?
        .query_row([number::fold(text)], |row| row.get(0))
        .optional()?;
    if let Some(id) = house {
        return Ok(id);
    }
    let ids = parts_by_number(connection, text)?;
    match ids[..] {
        [id] => Ok(id),
        [] => Err(StoreError::NoSuchPart { number: text.to_owned() }),
        _ => Err(many_parts(connection, text, &ids)?),
    }
}

/// The error that `text` is the number of more parts than one, naming them.
fn many_parts(connection: &Connection, text: &str, ids: &[u64]) -> Result<StoreError, StoreError> {
    let mut query = connection.prepare_cached(sql!("house_of_part"))?;
    let houses = ids.iter().map(|id| query.query_row([id], |row| row.get(0)));
    let houses = houses.collect::<Result<_, _>>()?;
    Ok(StoreError::ManyParts { number: text.to_owned(), houses })
}

pub(crate) fn bin_id(connection: &Connection, name: &str) -> Result<Option<u64>, StoreError> {
    let mut query = connection.prepare_cached(sql!("bin_by_folded"))?;
    Ok(query.query_row([number::fold(name)], |row| row.get(0)).optional()?)
}
