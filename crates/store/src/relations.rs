//! Which parts stand for which? Crosses, put and followed; groups of interchangeable parts.

use std::collections::{BTreeSet, HashMap};

use binwright_catalog::cross::chain;
use binwright_catalog::{Cross, CrossKind, Quantity};

use crate::engine::{Row, Session, values};
use crate::put::{Put, put};
use crate::{Store, StoreError, Writer, sql};

/// A relation between two parts of the store.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct CrossLine {
    /// The part on the left.
    pub from_id: u64,
    /// The part on the right.
    pub to_id: u64,
    /// The relation, by house numbers.
    pub cross: Cross,
}

impl Store {
    /// The relations the part with `id` has, on either side.
    ///
    /// # Errors
    ///
    /// What the engine says; so all reading here.
    pub fn crosses_of(&self, id: u64) -> Result<Vec<CrossLine>, StoreError> {
        self.near().all(sql!("crosses_of_part"), values![id], read_cross)
    }

    /// Hands every relation to `take`.
    ///
    /// # Errors
    ///
    /// What the engine or `take` says.
    pub fn each_cross<E: From<StoreError>>(
        &self,
        take: impl FnMut(CrossLine) -> Result<(), E>,
    ) -> Result<(), E> {
        self.near().each(sql!("crosses_all"), &[], read_cross, take)
    }

    /// The parts that took the place of `id`, one after the other, `id` first.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn replacements(&self, id: u64) -> Result<Vec<u64>, StoreError> {
        let mut failed = None;
        let steps = chain(id, |part| {
            let next = self.near().first(sql!("replaced_by"), values![part], |row| row.get(0));
            next.unwrap_or_else(|error| {
                failed = Some(error);
                None
            })
        });
        failed.map_or(Ok(steps), Err)
    }

    /// The smallest id among the parts that are the same as `id`: its group.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn group_of(&self, id: u64) -> Result<u64, StoreError> {
        Ok(same_parts(self.near(), id)?.first().copied().unwrap_or(id))
    }

    /// The group of every part that is the same as another; a part not named is its own group.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn groups(&self) -> Result<HashMap<u64, u64>, StoreError> {
        // Each part points to a smaller one of its group, the smallest to itself.
        let mut towards: HashMap<u64, u64> = HashMap::new();
        let least = |towards: &mut HashMap<u64, u64>, id: u64| {
            let mut at = id;
            while let Some(&next) = towards.get(&at).filter(|next| **next != at) {
                at = next;
            }
            towards.insert(id, at);
            at
        };
        let read = |row: &Row<'_>| Ok((row.get(0)?, row.get(1)?));
        self.near().each(sql!("same_all"), &[], read, |(from, to)| {
            let (a, b) = (least(&mut towards, from), least(&mut towards, to));
            towards.insert(a.max(b), a.min(b));
            Ok::<_, StoreError>(())
        })?;
        let ids: Vec<u64> = towards.keys().copied().collect();
        Ok(ids.into_iter().map(|id| (id, least(&mut towards, id))).collect())
    }
}

impl Writer<'_> {
    /// Puts a relation between two parts named by any number.
    ///
    /// # Errors
    ///
    /// When a part is not known, `replaces` or `contains` would close a loop (the loop is named),
    /// or the engine fails.
    pub fn put_cross(&mut self, cross: &Cross) -> Result<Put, StoreError> {
        let (from, to) = (self.part_id(&cross.from)?, self.part_id(&cross.to)?);
        if from == to {
            return Err(StoreError::CrossToItself { number: cross.from.clone() });
        }
        let kind = cross.kind.word();
        // `same` runs both ways: one row serves, whichever way round it comes.
        let (from, to) =
            if cross.kind == CrossKind::Same && from > to { (to, from) } else { (from, to) };
        let there: bool =
            self.session.one(sql!("cross_is_there"), values![from, kind, to], |row| row.get(0))?;
        if !there && matches!(cross.kind, CrossKind::Replaces | CrossKind::Contains) {
            self.refuse_loop(from, to, cross.kind)?;
        }
        let changed = self.session.run(
            sql!("cross_put"),
            values![from, kind, to, cross.quantity.thousandths(), &cross.remark],
        )?;
        if !there && cross.kind == CrossKind::Same {
            for id in same_parts(self.session, from)? {
                self.log(id)?;
            }
        }
        Ok(put(there, changed))
    }

    /// Walks from `to` along `kind`; coming by `from` would close a loop.
    fn refuse_loop(&self, from: u64, to: u64, kind: CrossKind) -> Result<(), StoreError> {
        let mut came_from: HashMap<u64, u64> = HashMap::from([(to, from)]);
        let mut open = vec![to];
        while let Some(at) = open.pop() {
            if at == from {
                let mut numbers = vec![self.house(from)?];
                let mut back = came_from[&from];
                while back != from {
                    numbers.push(self.house(back)?);
                    back = came_from[&back];
                }
                numbers.push(self.house(from)?);
                numbers.reverse();
                return Err(StoreError::CrossLoop { kind: kind.word(), numbers });
            }
            let ahead = self
                .session
                .all(sql!("cross_ahead"), values![at, kind.word()], |row| row.get(0))?;
            for next in ahead {
                if next == from || !came_from.contains_key(&next) {
                    came_from.insert(next, at);
                    open.push(next);
                }
            }
        }
        Ok(())
    }

    pub(crate) fn house(&self, id: u64) -> Result<String, StoreError> {
        self.session.one(sql!("house_of_part"), values![id], |row| row.get(0))
    }
}

/// The ids of the parts that are the same as `id`, itself among them, smallest first.
fn same_parts(session: &Session, id: u64) -> Result<BTreeSet<u64>, StoreError> {
    let mut all = BTreeSet::from([id]);
    let mut open = vec![id];
    while let Some(at) = open.pop() {
        for next in session.all(sql!("same_neighbours"), values![at], |row| row.get::<u64>(0))? {
            if all.insert(next) {
                open.push(next);
            }
        }
    }
    Ok(all)
}

fn read_cross(row: &Row<'_>) -> Result<CrossLine, StoreError> {
    let kind: String = row.get(2)?;
    Ok(CrossLine {
        from_id: row.get(0)?,
        to_id: row.get(3)?,
        cross: Cross {
            from: row.get(1)?,
            kind: kind
                .parse()
                .map_err(|_| StoreError::Damaged { what: format!("cross `{kind}`") })?,
            to: row.get(4)?,
            quantity: Quantity::from_thousandths(row.get(5)?),
            remark: row.get(6)?,
        },
    })
}
