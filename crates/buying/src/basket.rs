//! From whom is each line bought, and how many, when the whole basket is weighed together?
//!
//! Start at [`basket`]. Every line may be bought whole from one of its offers in one of a few
//! quantities, or be left for another day; each such choice is priced exactly. A mixed-integer model
//! then picks one choice a line so that prices, breaks, packs, minimum orders, freight, days of waiting
//! and extra stock cost least in all. The solver counts in floats, but only picks: what it picked is
//! added up in whole minor units and checked.

mod choice;
mod pick;
mod solver;
mod thumb;

use binwright_catalog::money::MoneyError;
use binwright_catalog::{Currency, Money, Quantity};
use rust_decimal::Decimal;

use choice::{Choice, choices};
use pick::{Supply, Table};

/// Who sells, and on what terms. All money is in the supplier's own currency.
#[derive(Debug, Clone, PartialEq)]
pub struct Supplier {
    /// Its name.
    pub name: String,
    /// What one of its currency costs in the shop's.
    pub rate: Decimal,
    /// It takes no order of less; goods alone, without freight.
    pub order_minimum: Money,
    /// Freight of one order.
    pub freight: Money,
    /// Goods of that much come free of freight.
    pub freight_free_from: Option<Money>,
}

/// What a supplier sells a part for.
#[derive(Debug, Clone, PartialEq)]
pub struct Offer {
    /// Place of the supplier in the list of suppliers.
    pub supplier: usize,
    /// The supplier's number.
    pub number: String,
    /// It is sold in multiples of this.
    pub pack: Quantity,
    /// It is not sold in less.
    pub minimum: Quantity,
    /// From which quantity on *all* pieces cost how much each; the least quantity first. Less than
    /// the first quantity costs the first price.
    pub breaks: Vec<(Quantity, Money)>,
    /// Days from order to receipt.
    pub lead_days: u32,
}

/// More of a part than is wanted now.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spare {
    /// How many more have a use at all.
    pub most: Quantity,
    /// What each of them saves on a later order, less what keeping it until then costs.
    pub worth_each: Money,
}

/// A part that is due.
#[derive(Debug, Clone, PartialEq)]
pub struct Line {
    /// House number of the part.
    pub part: String,
    /// How many are wanted.
    pub wanted: Quantity,
    /// What more of it would be good for; `None` when it must not be bought to fill an order up.
    pub spare: Option<Spare>,
    /// What each day until receipt costs.
    pub day_costs: Money,
    /// What leaving it out of this basket costs.
    pub left_costs: Money,
    /// Who sells it.
    pub offers: Vec<Offer>,
}

/// How long to look, and for what.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// The search ends after so many seconds with the best it has.
    pub seconds: f64,
    /// A basket is good enough when none can cost less by more than this share of its cost.
    pub gap_share: f64,
}

/// What is bought of one line.
#[derive(Debug, Clone, PartialEq)]
pub struct Bought {
    /// Place of the line.
    pub line: usize,
    /// Place of the offer among the line's offers.
    pub offer: usize,
    /// How many.
    pub quantity: Quantity,
    /// What of it is more than was wanted.
    pub extra: Quantity,
    /// Price of one, in the supplier's currency.
    pub each: Money,
    /// Price of all, in the supplier's currency.
    pub amount: Money,
}

/// What is ordered from one supplier.
#[derive(Debug, Clone, PartialEq)]
pub struct BasketOrder {
    /// Place of the supplier.
    pub supplier: usize,
    /// Its lines, in the order they were given.
    pub lines: Vec<Bought>,
    /// The goods, in the supplier's currency.
    pub goods: Money,
    /// The freight, in the supplier's currency; nought when the goods come free of it.
    pub freight: Money,
}

/// How good the basket is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Proof {
    /// No basket costs less.
    Least,
    /// No basket costs less by more than this.
    Within(Money),
    /// Found by rule of thumb: the search ended before it could tell what the least is.
    RuleOfThumb,
}

/// What to order from whom.
#[derive(Debug, Clone, PartialEq)]
pub struct Basket {
    /// One order a supplier, those without lines left out.
    pub orders: Vec<BasketOrder>,
    /// Places of the lines that are bought from nobody: none sells them, or leaving them costs less.
    pub left: Vec<usize>,
    /// Goods and freight, in the shop's currency; each line and freight is converted and rounded
    /// by itself.
    pub paid: Money,
    /// What was weighed: `paid`, less what extra pieces are worth, and what waiting and leaving cost.
    pub cost: Money,
    /// How good it is.
    pub proof: Proof,
}

/// Why a basket cannot be weighed.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum BasketError {
    #[error("the quantity wanted of `{part}` is not above nought")]
    NothingWanted { part: String },
    #[error("offer `{number}` for `{part}` names no supplier in the list")]
    NoSuchSupplier { part: String, number: String },
    #[error("the pack of offer `{number}` is not above nought")]
    Pack { number: String },
    #[error("offer `{number}` has no price")]
    NoPrice { number: String },
    #[error("the price breaks of offer `{number}` do not rise in quantity")]
    Breaks { number: String },
    #[error("the rate `{rate}` of `{supplier}` is not above nought")]
    Rate { supplier: String, rate: Decimal },
    #[error("the basket cannot be added up")]
    Money(#[from] MoneyError),
}

impl BasketError {
    /// What to do about it; `None` when the message says it all.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::NothingWanted { .. } => Some("Leave the line out, or say how many."),
            Self::Pack { .. } | Self::NoPrice { .. } | Self::Breaks { .. } => {
                Some("Import the supplier's offers anew.")
            }
            Self::Rate { .. } => Some("Import the supplier anew, with what its money costs."),
            Self::Money(_) => Some("Each supplier's amounts are to be in one currency."),
            Self::NoSuchSupplier { .. } => None,
        }
    }
}

/// Returns the orders that together cost least, in the shop's `currency`.
///
/// A line that has a [`Spare`] may be bought beyond what is wanted, pack by pack; another only where a
/// price break makes more of it cost less than fewer. A line is never split over suppliers.
///
/// The clock of the solver ends a long search; until then the answer depends on the arguments alone.
///
/// # Errors
///
/// [`BasketError`] when a line, an offer or a supplier makes no sense, or currencies are mixed.
pub fn basket(
    currency: Currency,
    suppliers: &[Supplier],
    lines: &[Line],
    limits: Limits,
) -> Result<Basket, BasketError> {
    let supplies =
        suppliers.iter().map(|s| supply(s, currency)).collect::<Result<Vec<_>, BasketError>>()?;
    let choices = lines
        .iter()
        .map(|line| choices(line, suppliers, currency))
        .collect::<Result<Vec<_>, BasketError>>()?;
    let table = Table { supplies, choices };
    let thumb = table.by_rule_of_thumb();
    let (picked, proof) = match table.by_search(&thumb, limits) {
        Some((found, short)) if table.cost(&found) <= table.cost(&thumb) => (found, short),
        _ => (thumb, None),
    };
    let picked = picked.iter().zip(&table.choices).map(|(&at, of_line)| &of_line[at]);
    let mut basket = added_up(currency, suppliers, picked)?;
    basket.proof = match proof {
        None => Proof::RuleOfThumb,
        Some(0) => Proof::Least,
        Some(minor) => Proof::Within(Money { minor, currency }),
    };
    Ok(basket)
}

fn supply(supplier: &Supplier, currency: Currency) -> Result<Supply, BasketError> {
    if supplier.rate <= Decimal::ZERO {
        return Err(BasketError::Rate { supplier: supplier.name.clone(), rate: supplier.rate });
    }
    let own = Money::zero(supplier.order_minimum.currency);
    own.checked_add(supplier.freight)?;
    own.checked_add(supplier.freight_free_from.unwrap_or(own))?;
    Ok(Supply {
        minimum: supplier.order_minimum.minor,
        free_from: supplier.freight_free_from.map(|from| from.minor),
        freight: supplier.freight.converted(supplier.rate, currency)?.minor,
    })
}

/// The basket of one choice a line, every sum taken anew.
fn added_up<'a>(
    currency: Currency,
    suppliers: &[Supplier],
    picked: impl Iterator<Item = &'a Choice>,
) -> Result<Basket, BasketError> {
    let mut orders: Vec<BasketOrder> = suppliers
        .iter()
        .enumerate()
        .map(|(supplier, terms)| {
            let nought = Money::zero(terms.order_minimum.currency);
            BasketOrder { supplier, lines: Vec::new(), goods: nought, freight: nought }
        })
        .collect();
    let (mut left, mut paid) = (Vec::new(), Money::zero(currency));
    let mut cost = paid;
    for (line, choice) in picked.enumerate() {
        cost = cost.checked_add(Money { minor: choice.net, currency })?;
        let Some(buy) = &choice.buy else {
            left.push(line);
            continue;
        };
        let order = &mut orders[buy.supplier];
        order.goods = order.goods.checked_add(buy.bought.amount)?;
        order.lines.push(Bought { line, ..buy.bought.clone() });
        paid =
            paid.checked_add(buy.bought.amount.converted(suppliers[buy.supplier].rate, currency)?)?;
    }
    orders.retain(|order| !order.lines.is_empty());
    for order in &mut orders {
        let terms = &suppliers[order.supplier];
        debug_assert!(
            order.goods.minor >= terms.order_minimum.minor,
            "picked choices are feasible"
        );
        if terms.freight_free_from.is_none_or(|from| order.goods.minor < from.minor) {
            order.freight = terms.freight;
            let freight = terms.freight.converted(terms.rate, currency)?;
            (paid, cost) = (paid.checked_add(freight)?, cost.checked_add(freight)?);
        }
    }
    Ok(Basket { orders, left, paid, cost, proof: Proof::RuleOfThumb })
}
