//! How do parts, bins and prices get in? Each is put as it should be; the same again changes nothing.

use binwright_catalog::{Layout, Money, Part, Quantity, number};

use crate::branches::{branch, branch_of};
use crate::catalogue::{parts_by_number, read_part, with_numbers};
use crate::engine::{Session, values};
use crate::ledger::FIRST_BRANCH;
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
        part_id(self.near(), number)
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
        let Part { house, kind, description, maker, .. } = part;
        let issue = part.issue.code();
        let added = self.session.add(
            sql!("part_add"),
            values![house, folded, kind, description, maker, issue, measures, layout],
        )?;
        if let Some(id) = added {
            self.put_numbers(id, part)?;
            self.log(id)?;
            return Ok((id, Put::Added));
        }
        let known = self.session.one(sql!("part_by_folded"), values![&folded], read_part)?;
        let known = with_numbers(self.session, known)?;
        if known.part == *part {
            return Ok((known.id, Put::Unchanged));
        }
        self.session.run(
            sql!("part_change"),
            values![known.id, house, kind, description, maker, issue, measures, layout],
        )?;
        if known.part.numbers != part.numbers {
            self.session.run(sql!("numbers_drop"), values![known.id])?;
            self.put_numbers(known.id, part)?;
        }
        self.log(known.id)?;
        Ok((known.id, Put::Changed))
    }

    fn put_numbers(&mut self, id: u64, part: &Part) -> Result<(), StoreError> {
        for (place, known) in part.numbers.iter().enumerate() {
            self.session.run(
                sql!("number_add"),
                values![id, place, &known.text, &known.user, number::fold(&known.text)],
            )?;
        }
        Ok(())
    }

    /// Notes that what is looked up of the part with `id` changed.
    pub(crate) fn log(&mut self, id: u64) -> Result<(), StoreError> {
        self.session.run(sql!("change_add"), values![id])?;
        Ok(())
    }

    /// Puts a shelf position, known by the folded form of its name. One that is new belongs to the branch it
    /// names, else to the one that one works at, else to the first.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchBranch`]; [`StoreError::BinIsUsed`] when it is another branch's and something
    /// moved there; when its name is empty or the engine fails.
    pub fn put_bin(&mut self, bin: &Bin) -> Result<Put, StoreError> {
        let folded = number::fold(&bin.name);
        if folded.is_empty() {
            return Err(StoreError::EmptyNumber { number: bin.name.clone() });
        }
        let known = bin_id(self.session, &bin.name)?;
        let is_of = known.map(|id| Ok::<_, StoreError>((id, branch_of(self.session, id)?.0)));
        let is_of = is_of.transpose()?;
        let branch = match (&bin.branch, is_of) {
            (Some(name), _) => branch(self.session, name)?.0,
            (None, Some((_, branch))) => branch,
            (None, None) => self.home.map_or(FIRST_BRANCH, |(home, _)| *home),
        };
        if let Some((id, was)) = is_of
            && was != branch
            && self.session.one(sql!("bin_is_used"), values![id], |row| row.get(0))?
        {
            return Err(StoreError::BinIsUsed { bin: bin.name.clone() });
        }
        let changed = self.session.run(
            sql!("bin_put"),
            values![
                &bin.name,
                folded,
                &bin.aisle,
                &bin.description,
                bin.holds_most.map(Quantity::thousandths),
                branch
            ],
        )?;
        Ok(put(known.is_some(), changed))
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
        let known: Vec<String> =
            self.session.all(sql!("prices_of_part"), values![id], |row| row.get(0))?;
        let there = known.iter().any(|known| known == list);
        let changed = self
            .session
            .run(sql!("price_put"), values![id, list, price.minor, price.currency.code()])?;
        Ok(put(there, changed))
    }

    /// The id of the one part that `number` names: a house number first, another only when it
    /// is not shared.
    pub(crate) fn part_id(&self, number: &str) -> Result<u64, StoreError> {
        part_id(self.session, number)
    }

    fn user_part_id(&self, number: &str, user: &str) -> Result<u64, StoreError> {
        let ids: Vec<u64> = self.session.all(
            sql!("parts_by_user_number"),
            values![number::fold(number), user],
            |row| row.get(0),
        )?;
        match ids[..] {
            [id] => Ok(id),
            [] => self.part_id(number),
            _ => Err(many_parts(self.session, number, &ids)?),
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

pub(crate) fn part_id(session: &Session, text: &str) -> Result<u64, StoreError> {
    let house: Option<u64> =
        session.first(sql!("part_id_by_folded"), values![number::fold(text)], |row| row.get(0))?;
    if let Some(id) = house {
        return Ok(id);
    }
    let ids = parts_by_number(session, text)?;
    match ids[..] {
        [id] => Ok(id),
        [] => Err(StoreError::NoSuchPart { number: text.to_owned() }),
        _ => Err(many_parts(session, text, &ids)?),
    }
}

/// The error that `text` is the number of more parts than one, naming them.
fn many_parts(session: &Session, text: &str, ids: &[u64]) -> Result<StoreError, StoreError> {
    let houses =
        ids.iter().map(|id| session.one(sql!("house_of_part"), values![id], |row| row.get(0)));
    let houses = houses.collect::<Result<_, _>>()?;
    Ok(StoreError::ManyParts { number: text.to_owned(), houses })
}

/// The id of the bin that must be there.
pub(crate) fn known_bin(session: &Session, name: &str) -> Result<u64, StoreError> {
    bin_id(session, name)?.ok_or_else(|| StoreError::NoSuchBin { bin: name.to_owned() })
}

pub(crate) fn bin_id(session: &Session, name: &str) -> Result<Option<u64>, StoreError> {
    session.first(sql!("bin_by_folded"), values![number::fold(name)], |row| row.get(0))
}
