//! For how much is a part sold, and when is it here? Offers with their suppliers, and days as learnt.

use binwright_catalog::{Currency, Money};
use binwright_store::{Offer, Supplier};
use jiff::civil::Date;

use super::leads::Leads;
use crate::{Shop, ShopError};

/// All suppliers, read once, and how long they truly took.
pub(crate) struct Suppliers {
    /// What the shop counts money in.
    pub own: Currency,
    /// By name.
    pub all: Vec<Supplier>,
    leads: Leads,
}

/// An offer and what its supplier adds to it.
pub(crate) struct Offered {
    /// The offer.
    pub offer: Offer,
    /// Whose it is, by place among all suppliers.
    pub by: usize,
    /// Days until it is here: as learnt, else as the offer says, else the supplier.
    pub days: u32,
    /// Whether they were learnt.
    pub learnt: bool,
}

impl Shop {
    /// The suppliers, with what was learnt of them until `until`.
    pub(crate) fn suppliers(&self, until: Date) -> Result<Suppliers, ShopError> {
        let own = self.store.identity()?.currency;
        Ok(Suppliers { own, all: self.store.suppliers()?, leads: self.leads(until)? })
    }
}

impl Suppliers {
    /// What the part with `id` is sold for, by supplier.
    pub fn offers(&self, shop: &Shop, id: u64) -> Result<Vec<Offered>, ShopError> {
        let offered = |offer: Offer| {
            let by = self.all.iter().position(|by| by.name == offer.supplier)?;
            let seen = self.leads.median_days(&offer.supplier, id);
            let days = seen.or(offer.lead_days).unwrap_or(self.all[by].lead_days);
            Some(Offered { offer, by, days, learnt: seen.is_some() })
        };
        Ok(shop.store.offers(id)?.into_iter().filter_map(offered).collect())
    }

    /// Money of the supplier at place `by` in the shop's currency.
    pub fn in_own(&self, money: Money, by: usize) -> Result<Money, ShopError> {
        Ok(money.converted(self.all[by].rate, self.own)?)
    }

    /// The least price of one at which the part is offered, in the shop's currency.
    pub fn least_price(&self, shop: &Shop, id: u64) -> Result<Option<Money>, ShopError> {
        let mut least: Option<Money> = None;
        for Offered { offer, by, .. } in self.offers(shop, id)? {
            let Some((_, each)) = offer.breaks.first() else { continue };
            let each = self.in_own(*each, by)?;
            if least.is_none_or(|least| each.minor < least.minor) {
                least = Some(each);
            }
        }
        Ok(least)
    }

    /// Days until a part that is in no bin is here, of the quickest that sells it; `None` when nobody does.
    pub fn least_days(&self, shop: &Shop, id: u64) -> Result<Option<u32>, ShopError> {
        Ok(self.offers(shop, id)?.iter().map(|offered| offered.days).min())
    }
}
