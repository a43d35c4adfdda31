//! How does a kit become its parts, and parts a kit? By what it contains, at no gain and no loss.

use crate::engine::values;
use crate::ledger::Entry;
use crate::post::Leg;
use crate::worth::Worth;
use crate::{Movement, Reason, StoreError, Writer, sql};

impl Writer<'_> {
    /// Posts the kit's own movement, out to break it and in to build it, with those of the parts
    /// it contains, which lie in `parts_bin` in the same condition; returns the number of the
    /// first. The value of what goes out passes to what comes in: to the parts of a broken kit by
    /// what they cost on average, or by their number where none has a cost yet. Under the same
    /// `key` again it posts nothing.
    ///
    /// # Errors
    ///
    /// [`StoreError::NotAKit`] when nothing is known to be in it, [`StoreError::WrongWay`] when
    /// the reason is not [`Reason::Break`] (out) or [`Reason::Build`] (in), else as
    /// [`Writer::post_once`].
    pub fn post_kit(
        &mut self,
        key: &str,
        kit: &Movement,
        parts_bin: &str,
    ) -> Result<i64, StoreError> {
        let kits = kit.quantity.thousandths();
        let breaks = kits < 0;
        if kit.reason != if breaks { Reason::Break } else { Reason::Build } {
            return Err(StoreError::WrongWay { reason: kit.reason.word() });
        }
        let (kit_id, kit_bin) = self.place(&kit.part, &kit.bin)?;
        let (_, parts_bin) = self.place(&kit.part, parts_bin)?;
        let own = if breaks { Worth::Average } else { Worth::Carried(1) };
        let mut legs = vec![Leg { entry: Entry::of(kit, kit_id, kit_bin), worth: own }];
        for (part, in_one) in self.kit_parts(kit_id)? {
            let quantity = i128::from(in_one) * -i128::from(kits);
            if quantity % 1000 != 0 {
                let (number, kits) = (kit.part.clone(), kit.quantity);
                return Err(StoreError::TooFine { number, kits });
            }
            let quantity = i64::try_from(quantity / 1000).map_err(|_| StoreError::TooLarge)?;
            let worth = if breaks {
                let cost = self.at_average(part, kit.condition.word(), quantity)?;
                Worth::Carried(cost.unsigned_abs())
            } else {
                Worth::Average
            };
            let entry = Entry { quantity, ..Entry::of(kit, part, parts_bin) };
            legs.push(Leg { entry, worth });
        }
        if legs.len() == 1 {
            return Err(StoreError::NotAKit { number: kit.part.clone() });
        }
        if breaks && legs.iter().all(|leg| leg.worth.weight() == 0) {
            for leg in &mut legs[1..] {
                leg.worth = Worth::Carried(leg.entry.quantity.unsigned_abs());
            }
        }
        match self.posted_before(key, &legs)? {
            Some(first) => Ok(first),
            None => self.post_legs(key, legs),
        }
    }

    /// What one of a kit contains: part and thousandths.
    fn kit_parts(&self, kit: u64) -> Result<Vec<(u64, i64)>, StoreError> {
        self.session.all(sql!("kit_parts"), values![kit], |row| Ok((row.get(0)?, row.get(1)?)))
    }
}
