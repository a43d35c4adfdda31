//! From whom is all that is due bought, and how many, when everything is weighed together?
//!
//! Suppliers, offers, lead times learnt and what is used are gathered for the pure basket, and its
//! answer is told line by line with the figures that decided.

use std::collections::HashMap;

use binwright_buying::basket::{self as pure, Limits, Proof, Spare};
use binwright_catalog::money::MoneyError;
use binwright_catalog::{Condition, Money, Quantity};
use binwright_store::{Keep, NewLine, NewOrder, Order, Supplier, UnderWay};
use jiff::ToSpan;
use jiff::civil::Date;
use rust_decimal::Decimal;
use serde::Serialize;

use super::advise::AdvisedLine;
use super::orders::OrderCard;
use super::supply::{Offered, Suppliers};
use crate::{Shop, ShopError};

/// How a basket is weighed. What is not said elsewhere is our own choice, not a finding.
#[derive(Debug, Clone, PartialEq)]
pub struct BasketTerms {
    /// The search ends after so many seconds with the best it has.
    pub seconds: f64,
    /// A basket is good enough when none can cost less by more than this share.
    pub gap_share: f64,
    /// What a day of waiting costs, as a share of the price of what is waited for; [`HURRY`] times as much
    /// where none is free.
    pub day_share: Decimal,
    /// What holding stock for a year costs, as a share of its price.
    pub holding_a_year: Decimal,
    /// Fast movers are bought ahead for at most so many months, and only where that pays.
    pub ahead_months: u32,
}

impl Default for BasketTerms {
    fn default() -> Self {
        Self {
            seconds: 10.0,
            gap_share: 0.001,
            day_share: Decimal::new(2, 3),
            holding_a_year: Decimal::new(25, 2),
            ahead_months: 3,
        }
    }
}

/// What to order from whom.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Weighed {
    /// One order a supplier.
    pub orders: Vec<WeighedOrder>,
    /// What is bought from nobody, and why.
    pub left: Vec<LeftLine>,
    /// Goods and freight, in the shop's currency.
    pub paid: Money,
    /// What was weighed: that, less what extra pieces are worth, and what waiting and leaving cost.
    pub cost: Money,
    /// `least`, `within` or `rule of thumb`.
    pub proof: &'static str,
    /// No basket costs less by more than this; not known after a rule of thumb.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub gap: Option<Money>,
}

/// What to order from one supplier; all money in its currency.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeighedOrder {
    /// Who.
    pub supplier: String,
    /// Its lines.
    pub lines: Vec<WeighedLine>,
    /// The goods.
    pub goods: Money,
    /// The freight; nought when the goods come free of it.
    pub freight: Money,
    /// The supplier takes no order of less; nought when it takes any.
    pub minimum: Money,
    /// From which amount of goods on it is free.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub freight_free_from: Option<Money>,
}

/// What to order of one part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WeighedLine {
    /// House number.
    pub part: String,
    /// The supplier's number.
    pub number: String,
    /// How many are wanted.
    pub wanted: Quantity,
    /// How many are bought.
    pub quantity: Quantity,
    /// Price of one.
    pub each: Money,
    /// Price of all.
    pub amount: Money,
    /// Days until it is here.
    pub lead_days: u32,
    /// When that is.
    pub due: Date,
    /// Why, in figures.
    pub why: String,
}

/// What is bought from nobody.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LeftLine {
    /// House number.
    pub part: String,
    /// How many were wanted.
    pub wanted: Quantity,
    /// Why.
    pub why: String,
}

/// Orders that were drafted of a basket.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Drafted {
    /// The basket.
    #[serde(flatten)]
    pub weighed: Weighed,
    /// The drafts.
    pub drafts: Vec<OrderCard>,
    /// Whether they were only judged.
    pub dry_run: bool,
}

/// A day of waiting costs so many times as much where none is free: the next one who asks goes away. Our choice.
pub const HURRY: Decimal = Decimal::TEN;

/// What is known of a part that is used often.
#[derive(Debug, Clone, Copy)]
struct Fast {
    monthly: Decimal,
}

/// Months looked back on to tell what is used often.
const MONTHS_BACK: i32 = 12;
/// A part is used often when it was wanted in so many of them.
const MONTHS_WANTED_MIN: usize = 6;

/// What there is of a part, and what of it was meant to be ordered before.
#[derive(Debug, Clone)]
struct Shelf {
    /// None is free.
    empty: bool,
    /// Drafts of it that were not sent.
    drafts: Vec<UnderWay>,
}

/// Everything the pure basket is asked, and what its places stand for.
struct Gathered {
    stated: Suppliers,
    suppliers: Vec<pure::Supplier>,
    lines: Vec<pure::Line>,
    /// Offers whose days were learnt, by line and offer.
    learnt: Vec<Vec<bool>>,
    /// What else there is to know, by line.
    shelves: Vec<Shelf>,
    left: Vec<LeftLine>,
}

impl Shop {
    /// Weighs all that is `wanted`, by any number of each part, against all offers together. A line
    /// is left only when nobody sells it or no order with it reaches its supplier's minimum.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when a part is not known, a quantity is not above nought, or an offer makes no
    /// sense.
    pub fn weigh_basket(
        &self,
        wanted: &[(String, Quantity)],
        terms: &BasketTerms,
    ) -> Result<Weighed, ShopError> {
        let gathered = self.gather_basket(wanted, terms)?;
        let limits = Limits { seconds: terms.seconds, gap_share: terms.gap_share };
        let Gathered { stated, suppliers, lines, .. } = &gathered;
        let found = pure::basket(stated.own, suppliers, lines, limits)?;
        gathered.told(&found, self.today)
    }

    /// Weighs all that is to be ordered of `lines`. What has no card cannot be ordered and is left.
    ///
    /// # Errors
    ///
    /// As [`Shop::weigh_basket`].
    pub fn weigh_due(
        &self,
        lines: &[AdvisedLine],
        terms: &BasketTerms,
    ) -> Result<Weighed, ShopError> {
        let due = lines.iter().filter(|line| line.order > 0);
        let wanted = |line: &AdvisedLine| {
            let thousandths =
                i64::try_from(line.order).ok().and_then(|order| order.checked_mul(1000));
            let quantity = thousandths.ok_or(MoneyError::TooLarge)?;
            Ok((line.part.clone(), Quantity::from_thousandths(quantity)))
        };
        let (carded, bare): (Vec<_>, Vec<_>) = due.partition(|line| line.card.is_some());
        let carded = carded.into_iter().map(wanted).collect::<Result<Vec<_>, ShopError>>()?;
        let mut weighed = self.weigh_basket(&carded, terms)?;
        for line in bare {
            let (part, wanted) = wanted(line)?;
            let why = "no card bears that number".to_owned();
            weighed.left.push(LeftLine { part, wanted, why });
        }
        Ok(weighed)
    }

    /// Drafts an order for each supplier of a basket, all or none; for one branch where it is named.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when suppliers or parts have changed meanwhile.
    pub fn draft_basket(
        &mut self,
        weighed: Weighed,
        who: &str,
        branch: Option<&str>,
        keep: Keep,
    ) -> Result<Drafted, ShopError> {
        let new = |order: &WeighedOrder| NewOrder {
            supplier: order.supplier.clone(),
            freight: order.freight,
            who: who.to_owned(),
            day: self.today,
            branch: branch.map(str::to_owned),
            lines: order.lines.iter().map(new_line).collect(),
        };
        let new: Vec<NewOrder> = weighed.orders.iter().map(new).collect();
        let drafted = self.store.write(keep, |w| -> Result<Vec<Order>, ShopError> {
            let drafted = new.iter().map(|order| {
                let id = w.draft_order(order)?;
                Ok(w.order(id)?)
            });
            drafted.collect()
        })?;
        let drafts =
            drafted.iter().map(|order| self.order_card(order)).collect::<Result<_, _>>()?;
        Ok(Drafted { weighed, drafts, dry_run: keep == Keep::DryRun })
    }

    fn gather_basket(
        &self,
        wanted: &[(String, Quantity)],
        terms: &BasketTerms,
    ) -> Result<Gathered, ShopError> {
        let (stated, fast) = (self.suppliers(self.today)?, self.fast_movers()?);
        let mut gathered = Gathered {
            suppliers: stated.all.iter().map(pure_supplier).collect(),
            stated,
            lines: Vec::new(),
            learnt: Vec::new(),
            shelves: Vec::new(),
            left: Vec::new(),
        };
        let drafts = self.store.drafted()?;
        let mut by_part: Vec<(u64, Quantity)> = Vec::new();
        for (number, quantity) in wanted {
            let id = self.part_numbered(number)?;
            match by_part.iter_mut().find(|(part, _)| *part == id) {
                Some((_, sum)) => {
                    *sum =
                        sum.checked_add(*quantity).ok_or(binwright_store::StoreError::TooLarge)?;
                }
                None => by_part.push((id, *quantity)),
            }
        }
        for (id, wanted) in by_part {
            let part = self.store.house_of(id)?.unwrap_or_default();
            let offers = gathered.stated.offers(self, id)?;
            if offers.is_empty() {
                gathered.left.push(LeftLine { part, wanted, why: "nobody offers it".to_owned() });
                continue;
            }
            let stock = self.store.stock(id, self.today)?;
            let mut sold = stock.iter().filter(|line| line.condition != Condition::Core);
            let shelf = Shelf {
                empty: !sold.any(|line| line.free().is_positive()),
                drafts: drafts.iter().filter(|draft| draft.part_id == id).cloned().collect(),
            };
            gathered.add(part, wanted, offers, fast.get(&id), shelf, terms)?;
        }
        Ok(gathered)
    }

    /// What was wanted in at least half of the last twelve months, with its mean a month.
    fn fast_movers(&self) -> Result<HashMap<u64, Fast>, ShopError> {
        let since = self.today.first_of_month().saturating_sub(MONTHS_BACK.months());
        let month = |day: Date| i32::from(day.year()) * 12 + i32::from(day.month());
        let mut used: HashMap<u64, HashMap<i32, i64>> = HashMap::new();
        let add = |part, day: Date, quantity: Quantity| {
            if day >= since && day < self.today.first_of_month() {
                let months = used.entry(part).or_default();
                *months.entry(month(day)).or_default() += quantity.thousandths();
            }
        };
        self.each_wanted(self.today, add)?;
        let fast = |(part, months): (u64, HashMap<i32, i64>)| {
            let wanted = months.values().filter(|units| **units > 0).count();
            let units: i64 = months.values().sum();
            let monthly = Decimal::new(units, 3) / Decimal::from(MONTHS_BACK);
            (wanted >= MONTHS_WANTED_MIN && units > 0).then_some((part, Fast { monthly }))
        };
        Ok(used.into_iter().filter_map(fast).collect())
    }
}

fn new_line(line: &WeighedLine) -> NewLine {
    NewLine {
        part: line.part.clone(),
        number: line.number.clone(),
        quantity: line.quantity,
        each: line.each,
        due: Some(line.due),
    }
}

fn pure_supplier(supplier: &Supplier) -> pure::Supplier {
    pure::Supplier {
        name: supplier.name.clone(),
        rate: supplier.rate,
        order_minimum: supplier.order_minimum,
        freight: supplier.freight,
        freight_free_from: supplier.freight_free_from,
    }
}

/// The price of one when `quantity` is bought.
fn price_of(breaks: &[(Quantity, Money)], quantity: Quantity) -> Option<Money> {
    let reached = breaks.iter().rev().find(|(from, _)| *from <= quantity);
    reached.or(breaks.first()).map(|(_, each)| *each)
}

impl Gathered {
    fn add(
        &mut self,
        part: String,
        wanted: Quantity,
        offered: Vec<Offered>,
        fast: Option<&Fast>,
        shelf: Shelf,
        terms: &BasketTerms,
    ) -> Result<(), ShopError> {
        let (mut offers, mut learnt) = (Vec::new(), Vec::new());
        let own = self.stated.own;
        let (mut least, mut left_costs) = (None::<Money>, Money::zero(own));
        for Offered { offer, by, days, learnt: seen } in offered {
            let Some(each) = price_of(&offer.breaks, wanted) else { continue };
            let stated = &self.stated.all[by];
            let here = self.stated.in_own(each, by)?;
            if least.is_none_or(|least| here.minor < least.minor) {
                least = Some(here);
            }
            // Leaving it costs more than any way to buy it: at least, packed, alone, all freight.
            let most = wanted.max(offer.minimum).decimal() + offer.pack.decimal();
            let alone = each.checked_mul(most)?.checked_add(stated.order_minimum)?;
            let alone = self.stated.in_own(alone.checked_add(stated.freight)?, by)?;
            left_costs = left_costs.checked_add(alone)?;
            offers.push(pure::Offer {
                supplier: by,
                number: offer.number,
                pack: offer.pack,
                minimum: offer.minimum,
                breaks: offer.breaks,
                lead_days: days,
            });
            learnt.push(seen);
        }
        let least = least.unwrap_or(Money::zero(own));
        let hurry = if shelf.empty { HURRY } else { Decimal::ONE };
        let share = terms.day_share.checked_mul(hurry);
        let share = share.and_then(|share| wanted.decimal().checked_mul(share));
        let share = share.ok_or(MoneyError::TooLarge)?;
        let day_costs = least.checked_mul(share)?;
        let waited = offers.iter().map(|offer| offer.lead_days).max().unwrap_or_default();
        let left_costs = left_costs.checked_add(day_costs.checked_mul(Decimal::from(waited))?)?;
        let spare = fast.map(|fast| spare(fast, wanted, least, terms)).transpose()?.flatten();
        self.lines.push(pure::Line { part, wanted, spare, day_costs, left_costs, offers });
        self.learnt.push(learnt);
        self.shelves.push(shelf);
        Ok(())
    }

    fn told(&self, found: &pure::Basket, today: Date) -> Result<Weighed, ShopError> {
        let mut left = self.left.clone();
        left.extend(found.left.iter().map(|&line| LeftLine {
            part: self.lines[line].part.clone(),
            wanted: self.lines[line].wanted,
            why: "no order with it reaches the least its suppliers take".to_owned(),
        }));
        let mut orders = Vec::with_capacity(found.orders.len());
        for order in &found.orders {
            let stated = &self.stated.all[order.supplier];
            let lines = order.lines.iter().map(|bought| self.line(bought, today));
            orders.push(WeighedOrder {
                supplier: stated.name.clone(),
                lines: lines.collect::<Result<_, _>>()?,
                goods: order.goods,
                freight: order.freight,
                minimum: stated.order_minimum,
                freight_free_from: stated.freight_free_from,
            });
        }
        let (proof, gap) = match found.proof {
            Proof::Least => ("least", Some(Money::zero(self.stated.own))),
            Proof::Within(gap) => ("within", Some(gap)),
            Proof::RuleOfThumb => ("rule of thumb", None),
        };
        Ok(Weighed { orders, left, paid: found.paid, cost: found.cost, proof, gap })
    }

    fn line(&self, bought: &pure::Bought, today: Date) -> Result<WeighedLine, ShopError> {
        let line = &self.lines[bought.line];
        let offer = &line.offers[bought.offer];
        Ok(WeighedLine {
            part: line.part.clone(),
            number: offer.number.clone(),
            wanted: line.wanted,
            quantity: bought.quantity,
            each: bought.each,
            amount: bought.amount,
            lead_days: offer.lead_days,
            due: today.saturating_add(i64::from(offer.lead_days).days()),
            why: self.why(line, bought)?,
        })
    }

    /// "21.24 EUR each in 6 days (learnt); else Tarnbrook Supply 20.66 EUR in 3 days; 2 more than
    /// wanted".
    fn why(&self, line: &pure::Line, bought: &pure::Bought) -> Result<String, ShopError> {
        let days = |place: usize| {
            let learnt = if self.learnt[bought.line][place] { " (learnt)" } else { "" };
            format!("in {} days{learnt}", line.offers[place].lead_days)
        };
        let mut said = vec![format!("{} each {}", bought.each, days(bought.offer))];
        let mut others = Vec::new();
        for (place, offer) in line.offers.iter().enumerate() {
            let each = price_of(&offer.breaks, line.wanted.max(offer.minimum));
            if let Some(each) = each.filter(|_| place != bought.offer) {
                let name = &self.stated.all[offer.supplier].name;
                let own = self.stated.in_own(each, offer.supplier)?;
                others.push((own.minor, format!("{name} {each} {}", days(place))));
            }
        }
        others.sort();
        said.push(match others.first() {
            Some((_, next)) => format!("else {next}"),
            None => "no other offer".to_owned(),
        });
        let shelf = &self.shelves[bought.line];
        let soonest = line.offers.iter().map(|offer| offer.lead_days).min().unwrap_or_default();
        let later = line.offers[bought.offer].lead_days.saturating_sub(soonest);
        if shelf.empty && later > 0 {
            said.push(format!("none free, and {later} days later than the soonest"));
        }
        let drafted = |d: &UnderWay| format!("{} drafted already in {}", d.quantity, d.name());
        said.extend(shelf.drafts.iter().map(drafted));
        if bought.extra.is_positive() {
            said.push(format!("{} more than the {} wanted", bought.extra, line.wanted));
        }
        Ok(said.join("; "))
    }
}

/// What more of a fast mover is good for: what is used in the months ahead, each at the least price
/// less what holding the last of them costs until it is used.
fn spare(
    fast: &Fast,
    wanted: Quantity,
    least: Money,
    terms: &BasketTerms,
) -> Result<Option<Spare>, ShopError> {
    let most = (fast.monthly * Decimal::from(terms.ahead_months)).floor();
    let Ok(most) = most.to_string().parse::<Quantity>() else { return Ok(None) };
    let months = wanted.decimal() / fast.monthly + Decimal::from(terms.ahead_months);
    let kept = Decimal::ONE - terms.holding_a_year * months / Decimal::from(12);
    if !most.is_positive() || kept <= Decimal::ZERO {
        return Ok(None);
    }
    Ok(Some(Spare { most, worth_each: least.checked_mul(kept)? }))
}
