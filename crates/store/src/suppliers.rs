//! Who sells what, on which terms? Suppliers and their offers with price breaks.

use binwright_catalog::{Currency, Money, Quantity, number};
use rust_decimal::Decimal;

use crate::catalogue::money;
use crate::engine::{Row, Session, values};
use crate::put::{Put, put};
use crate::{Store, StoreError, Writer, sql};

/// Who sells, and on what terms. All money is in the supplier's own currency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Supplier {
    /// Its name, unique by its folded form.
    pub name: String,
    /// Where orders go, as it stands on paper.
    pub address: String,
    /// What one of its currency costs in the shop's.
    pub rate: Decimal,
    /// It takes no order of less.
    pub order_minimum: Money,
    /// Freight of one order.
    pub freight: Money,
    /// Goods of that much come free of freight.
    pub freight_free_from: Option<Money>,
    /// Days from order to receipt where an offer says nothing else.
    pub lead_days: u32,
}

/// What a supplier sells a part for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Offer {
    /// The supplier's name.
    pub supplier: String,
    /// Any number of the part; the house number when it is read back.
    pub part: String,
    /// The supplier's own number.
    pub number: String,
    /// It is sold in multiples of this.
    pub pack: Quantity,
    /// It is not sold in less.
    pub minimum: Quantity,
    /// Days from order to receipt; `None` is as long as the supplier says.
    pub lead_days: Option<u32>,
    /// From which quantity on all pieces cost how much each; the least quantity first.
    pub breaks: Vec<(Quantity, Money)>,
}

impl Writer<'_> {
    /// Puts a supplier, known by the folded form of its name.
    ///
    /// # Errors
    ///
    /// [`StoreError::Terms`] when they make no sense; when the name is empty or the engine fails.
    pub fn put_supplier(&mut self, supplier: &Supplier) -> Result<Put, StoreError> {
        let folded = number::fold(&supplier.name);
        if folded.is_empty() {
            return Err(StoreError::EmptyNumber { number: supplier.name.clone() });
        }
        let terms = |what| Err(StoreError::Terms { of: supplier.name.clone(), what });
        let own = supplier.order_minimum.currency;
        let amounts =
            [Some(supplier.order_minimum), Some(supplier.freight), supplier.freight_free_from];
        if amounts.iter().flatten().any(|amount| amount.currency != own) {
            return terms("the amounts are in more than one currency");
        }
        if amounts.iter().flatten().any(|amount| amount.minor < 0) {
            return terms("an amount is below nought");
        }
        if supplier.rate <= Decimal::ZERO {
            return terms("the rate is not above nought");
        }
        let there = supplier_id(self.session, &supplier.name).is_ok();
        let changed = self.session.run(
            sql!("supplier_put"),
            values![
                &supplier.name,
                folded,
                &supplier.address,
                own.code(),
                supplier.rate.normalize().to_string(),
                supplier.order_minimum.minor,
                supplier.freight.minor,
                supplier.freight_free_from.map(|from| from.minor),
                supplier.lead_days
            ],
        )?;
        Ok(put(there, changed))
    }

    /// Puts an offer, known by supplier, part and the supplier's number. Price breaks it does not
    /// name stay as they are, so that a list can be put row by row; see [`Writer::drop_offers`]. One
    /// with a price break that was not there counts as added.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchSupplier`]; when the part is not known; [`StoreError::Terms`] when they
    /// make no sense.
    pub fn put_offer(&mut self, offer: &Offer) -> Result<Put, StoreError> {
        let (supplier, currency) = supplier_id(self.session, &offer.supplier)?;
        let part = self.part_id(&offer.part)?;
        let terms = |what| Err(StoreError::Terms { of: offer.part.clone(), what });
        if !offer.pack.is_positive() {
            return terms("the pack is not above nought");
        }
        let negative = |quantity: &Quantity| *quantity < Quantity::ZERO;
        if negative(&offer.minimum)
            || offer.breaks.iter().any(|(from, each)| negative(from) || each.minor < 0)
        {
            return terms("a quantity or price is below nought");
        }
        if offer.breaks.iter().any(|(_, each)| each.currency != currency) {
            return terms("a price is not in the supplier's currency");
        }
        let id = |w: &Self| -> Result<Option<i64>, StoreError> {
            w.session
                .first(sql!("offer_id"), values![supplier, part, offer.number], |row| row.get(0))
        };
        let before = id(self)?;
        let known: Vec<i64> =
            self.session.all(sql!("offer_breaks"), values![before], |row| row.get(0))?;
        let is_known = |from: &Quantity| known.contains(&from.thousandths());
        let there = before.is_some() && offer.breaks.iter().all(|(from, _)| is_known(from));
        let mut changed = self.session.run(
            sql!("offer_put"),
            values![
                supplier,
                part,
                &offer.number,
                offer.pack.thousandths(),
                offer.minimum.thousandths(),
                offer.lead_days
            ],
        )?;
        let id = id(self)?;
        for (from, each) in &offer.breaks {
            changed += self
                .session
                .run(sql!("offer_break_put"), values![id, from.thousandths(), each.minor])?;
        }
        Ok(put(there, changed))
    }

    /// Takes out all offers of a supplier, before its new list is put; returns how many there were.
    ///
    /// # Errors
    ///
    /// [`StoreError::NoSuchSupplier`], or what the engine says.
    pub fn drop_offers(&mut self, supplier: &str) -> Result<usize, StoreError> {
        let (supplier, _) = supplier_id(self.session, supplier)?;
        self.session.run(sql!("offer_breaks_drop"), values![supplier])?;
        self.session.run(sql!("offers_drop"), values![supplier])
    }
}

impl Store {
    /// The suppliers, by name.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn suppliers(&self) -> Result<Vec<Supplier>, StoreError> {
        self.session.all(sql!("suppliers_all"), &[], read_supplier)
    }

    /// Hands every offer to `take`, by part.
    ///
    /// # Errors
    ///
    /// What the engine or `take` says.
    pub fn each_offer<E: From<StoreError>>(
        &self,
        mut take: impl FnMut(Offer) -> Result<(), E>,
    ) -> Result<(), E> {
        for part in self.session.all(sql!("parts_offered"), &[], |row| row.get(0))? {
            self.offers(part)?.into_iter().try_for_each(&mut take)?;
        }
        Ok(())
    }

    /// What the part with `id` is sold for, by supplier.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn offers(&self, id: u64) -> Result<Vec<Offer>, StoreError> {
        self.session.all(sql!("offers_of_part"), values![id], |row| {
            let currency: String = row.get(7)?;
            let breaks =
                self.session.all(sql!("offer_breaks"), values![row.get::<i64>(0)?], |row| {
                    let from = Quantity::from_thousandths(row.get(0)?);
                    Ok((from, money(row.get(1)?, &currency)?))
                })?;
            Ok(Offer {
                supplier: row.get(1)?,
                part: row.get(2)?,
                number: row.get(3)?,
                pack: Quantity::from_thousandths(row.get(4)?),
                minimum: Quantity::from_thousandths(row.get(5)?),
                lead_days: row.get(6)?,
                breaks,
            })
        })
    }
}

/// The id and currency of the supplier with that name.
pub(crate) fn supplier_id(session: &Session, name: &str) -> Result<(i64, Currency), StoreError> {
    let (id, supplier) = supplier(session, name)?;
    Ok((id, supplier.order_minimum.currency))
}

/// The supplier with that name and its id.
pub(crate) fn supplier(session: &Session, name: &str) -> Result<(i64, Supplier), StoreError> {
    let found = session.first(sql!("supplier_by_folded"), values![number::fold(name)], |row| {
        Ok((row.get(0)?, read_supplier(row)?))
    })?;
    found.ok_or_else(|| StoreError::NoSuchSupplier { name: name.to_owned() })
}

fn read_supplier(row: &Row<'_>) -> Result<Supplier, StoreError> {
    let currency: String = row.get(3)?;
    let free_from: Option<i64> = row.get(7)?;
    Ok(Supplier {
        name: row.get(1)?,
        address: row.get(2)?,
        rate: rate(&row.get::<String>(4)?)?,
        order_minimum: money(row.get(5)?, &currency)?,
        freight: money(row.get(6)?, &currency)?,
        freight_free_from: free_from.map(|from| money(from, &currency)).transpose()?,
        lead_days: row.get(8)?,
    })
}

pub(crate) fn rate(text: &str) -> Result<Decimal, StoreError> {
    text.parse().map_err(|_| StoreError::Damaged { what: format!("rate `{text}`") })
}
