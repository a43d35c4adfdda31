//! In which quantities can a line be bought at each offer, and what does each come to?

use binwright_catalog::money::MoneyError;
use binwright_catalog::{Currency, Money, Quantity};
use rust_decimal::Decimal;

use super::{BasketError, Bought, Line, Offer, Spare, Supplier};

/// Packs beyond what is wanted that are weighed one by one. Nobody fills an order up with more packs
/// of one part, and each is a column of the model.
const PACKS_MORE: i64 = 40;

/// One way to treat a line.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Choice {
    /// What it costs in all, in minor units of the shop's currency.
    pub net: i64,
    /// What is bought; `None` when the line is left.
    pub buy: Option<Buy>,
}

#[derive(Debug, Clone, PartialEq)]
pub(super) struct Buy {
    pub supplier: usize,
    pub bought: Bought,
}

/// Every choice of `line`: to leave it first, then by offer and rising quantity.
pub(super) fn choices(
    line: &Line,
    suppliers: &[Supplier],
    currency: Currency,
) -> Result<Vec<Choice>, BasketError> {
    if !line.wanted.is_positive() {
        return Err(BasketError::NothingWanted { part: line.part.clone() });
    }
    let nought = Money::zero(currency);
    let mut all = vec![Choice { net: nought.checked_add(line.left_costs)?.minor, buy: None }];
    for (place, offer) in line.offers.iter().enumerate() {
        let supplier = suppliers.get(offer.supplier).ok_or_else(|| {
            BasketError::NoSuchSupplier { part: line.part.clone(), number: offer.number.clone() }
        })?;
        refuse_senseless(offer)?;
        let spare = line.spare.unwrap_or(Spare { most: Quantity::ZERO, worth_each: nought });
        let useful = sum(line.wanted, spare.most)?;
        let mut least = None;
        for quantity in quantities(offer, line.wanted, useful)? {
            let bought = bought(offer, place, quantity, line.wanted)?;
            let paid = bought.amount.converted(supplier.rate, currency)?;
            let worth = times(spare.worth_each, bought.extra.min(spare.most))?;
            let waiting = line.day_costs.checked_mul(Decimal::from(offer.lead_days))?;
            let credit = Money { minor: -worth.minor, ..worth };
            let net = paid.checked_add(waiting)?.checked_add(credit)?.minor;
            if quantity <= useful || least.is_none_or(|least| net < least) {
                all.push(Choice { net, buy: Some(Buy { supplier: offer.supplier, bought }) });
            }
            least = Some(least.map_or(net, |least: i64| least.min(net)));
        }
    }
    Ok(all)
}

fn refuse_senseless(offer: &Offer) -> Result<(), BasketError> {
    let number = || offer.number.clone();
    if !offer.pack.is_positive() {
        return Err(BasketError::Pack { number: number() });
    }
    if offer.breaks.is_empty() {
        return Err(BasketError::NoPrice { number: number() });
    }
    if !offer.breaks.is_sorted_by(|(from, _), (next, _)| from < next) {
        return Err(BasketError::Breaks { number: number() });
    }
    Ok(())
}

/// What may be bought: whole packs for what is wanted, the first packs of every higher price break,
/// and pack by pack until all that is `useful` is there; rising.
fn quantities(
    offer: &Offer,
    wanted: Quantity,
    useful: Quantity,
) -> Result<Vec<Quantity>, MoneyError> {
    let pack = offer.pack.thousandths();
    let packs_up = |of: Quantity| of.thousandths() / pack + i64::from(of.thousandths() % pack > 0);
    let start = packs_up(wanted.max(offer.minimum));
    let last = packs_up(useful).min(start + PACKS_MORE);
    let breaks = offer.breaks.iter().map(|(from, _)| packs_up(*from)).filter(|n| *n > start);
    let mut packs: Vec<i64> = breaks.chain(start..=last.max(start)).collect();
    packs.sort_unstable();
    packs.dedup();
    let quantity = |n: i64| n.checked_mul(pack).map(Quantity::from_thousandths);
    packs.into_iter().map(|n| quantity(n).ok_or(MoneyError::TooLarge)).collect()
}

fn bought(
    offer: &Offer,
    place: usize,
    quantity: Quantity,
    wanted: Quantity,
) -> Result<Bought, MoneyError> {
    let reached = offer.breaks.iter().rev().find(|(from, _)| *from <= quantity);
    let (_, each) = *reached.unwrap_or(&offer.breaks[0]);
    let extra = quantity.checked_sub(wanted).ok_or(MoneyError::TooLarge)?;
    let amount = times(each, quantity)?;
    Ok(Bought { line: 0, offer: place, quantity, extra, each, amount })
}

fn times(each: Money, quantity: Quantity) -> Result<Money, MoneyError> {
    each.checked_mul(quantity.decimal())
}

fn sum(one: Quantity, other: Quantity) -> Result<Quantity, MoneyError> {
    one.checked_add(other).ok_or(MoneyError::TooLarge)
}
