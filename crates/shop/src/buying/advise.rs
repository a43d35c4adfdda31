//! What must be ordered, how many, and why? Gathers the shop's past and hands it to the buyer's rules.
//!
//! Of the past count imported months and what left the bins, up to the as-of day. Stock is what the
//! ledger shows for that day. Promises and orders are known for today alone: asked about an earlier
//! day, they are left out, so that nothing later than the day is seen.

use std::collections::HashMap;

use binwright_buying::demand::Reason;
use binwright_buying::{self as buying, Input, Item, Line, PastLoss, Supply, Target};
use binwright_catalog::{Condition, CrossKind, Money, Quantity, number};
use binwright_store::{DemandMark, Offer, Supplier};
use jiff::civil::Date;
use serde::Serialize;

use crate::files::csv_text;
use crate::{Shop, ShopError};

/// Days in a month, on average over the Gregorian calendar.
const MONTH_DAYS: f64 = 30.436_875;

/// What the buyer wants to know.
#[derive(Debug, Clone, PartialEq)]
pub struct AdviceAsked {
    /// Nothing later is seen.
    pub as_of: Date,
    /// The service asked for.
    pub target: Target,
    /// Months from order to shelf, for every part; what suppliers say where not given.
    pub lead_months: Option<f64>,
    /// Months from one look to the next.
    pub review_months: f64,
    /// What may be spent, in the shop's currency.
    pub budget: Option<Money>,
    /// What placing an order for a part costs; lots are then weighed against holding them.
    pub order_cost: Option<Money>,
    /// Cost of holding stock a year, as a share of its value.
    pub holding_a_year: f64,
}

/// What is to be bought, and how the ways of forecasting did so far.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Advised {
    /// The day it was advised for.
    pub as_of: Date,
    /// A line a part that is or was wanted, by what is most likely to run short.
    pub lines: Vec<AdvisedLine>,
    /// Loss of each method on the shop's own past, the least first.
    pub past: Vec<Lost>,
}

/// How a way of forecasting did on the shop's own past.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Lost {
    /// Its name.
    pub method: &'static str,
    /// Mean pinball loss of its quantiles of lead-time demand, in units of issue.
    pub loss: f64,
    /// Parts times horizons compared.
    pub looks: usize,
}

/// What is advised of one part.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AdvisedLine {
    /// House number; the number as it was written where no card bears it.
    pub part: String,
    /// What a person calls it.
    pub description: String,
    /// `smooth`, `erratic`, `intermittent` or `lumpy`; `none` when nothing was ever wanted.
    pub class: &'static str,
    /// How it was forecast.
    pub method: &'static str,
    /// Units a month.
    pub forecast_per_month: f64,
    /// `rising`, `steady` or `falling`.
    pub trend: buying::advise::Trend,
    /// Order when what is free and on order has fallen to this.
    pub reorder_point: i64,
    /// Order up to this.
    pub order_up_to: u64,
    /// On hand and promised to nobody.
    pub free: Quantity,
    /// Promised.
    pub held: Quantity,
    /// On its way.
    pub on_order: Quantity,
    /// What to order now, in whole packs.
    pub order: u64,
    /// The supplier the order was reckoned with.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub supplier: Option<String>,
    /// What the order costs, in the shop's currency.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cost: Option<Money>,
    /// What kept the order below what was wanted.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub cut: Option<buying::advise::Cut>,
    /// The chance to be short before the next order could come, when nothing is ordered.
    pub chance_short: f64,
    /// Why, in one sentence of figures.
    pub why: String,
    /// What happens when nothing is ordered.
    pub if_not: String,
    /// Units wanted by month, oldest first, up to the as-of day.
    #[serde(skip)]
    pub months: Vec<f64>,
}

impl Advised {
    /// All lines as CSV with the headers `part`, `forecast_per_month`, `reorder_point`, `order_up_to`,
    /// `class` and `method`.
    ///
    /// # Errors
    ///
    /// [`ShopError::Csv`] when a line cannot be written.
    pub fn csv(&self) -> Result<String, ShopError> {
        let header =
            ["part", "forecast_per_month", "reorder_point", "order_up_to", "class", "method"];
        let row = |line: &AdvisedLine| {
            [
                line.part.clone(),
                format!("{:.6}", line.forecast_per_month),
                line.reorder_point.to_string(),
                line.order_up_to.to_string(),
                line.class.to_owned(),
                line.method.to_owned(),
            ]
        };
        csv_text(header, self.lines.iter().map(row))
    }
}

/// A part while its past is gathered.
#[derive(Default)]
struct Gathered {
    id: Option<u64>,
    name: String,
    description: String,
    supplier: Option<String>,
    item: Item,
}

/// The parts that are advised on, found by id or, where no card bears it, by folded number.
#[derive(Default)]
struct Parts {
    all: Vec<Gathered>,
    by_id: HashMap<u64, usize>,
    by_number: HashMap<String, usize>,
}

impl Parts {
    fn of_id(&mut self, id: u64) -> usize {
        *self.by_id.entry(id).or_insert_with(|| {
            self.all.push(Gathered { id: Some(id), ..Gathered::default() });
            self.all.len() - 1
        })
    }

    /// The part that bears `text`; a line of its own when none does, or several do.
    fn of_number(&mut self, shop: &Shop, text: &str) -> Result<usize, ShopError> {
        let folded = number::fold(text);
        if let Some(at) = self.by_number.get(&folded) {
            return Ok(*at);
        }
        let at = if let [id] = shop.store.parts_by_number(text)?[..] {
            self.of_id(id)
        } else {
            self.all.push(Gathered { name: text.to_owned(), ..Gathered::default() });
            self.all.len() - 1
        };
        self.by_number.insert(folded, at);
        Ok(at)
    }
}

impl Shop {
    /// Says of every part that is or was wanted how many to order, and why.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the question makes no sense or the store fails.
    pub fn advise(&self, asked: &AdviceAsked) -> Result<Advised, ShopError> {
        let mut parts = Parts::default();
        self.gather_demand(asked.as_of, &mut parts)?;
        self.gather_replacements(&mut parts)?;
        self.gather_cards(&mut parts)?;
        self.gather_stock(asked.as_of, &mut parts)?;
        self.gather_offers(asked, &mut parts)?;
        let items = parts.all.iter_mut().map(|part| std::mem::take(&mut part.item)).collect();
        let input = Input {
            as_of: asked.as_of,
            items,
            target: asked.target,
            review_months: asked.review_months,
            budget: asked.budget,
            holding_a_year: asked.holding_a_year,
        };
        let plan = buying::advise(&input)?;
        let mut lines: Vec<AdvisedLine> =
            plan.advice.into_iter().map(|advice| line(advice, &parts.all, &input)).collect();
        lines.sort_by(|a, b| {
            let due = |line: &AdvisedLine| line.order == 0;
            due(a)
                .cmp(&due(b))
                .then(b.chance_short.total_cmp(&a.chance_short))
                .then_with(|| a.part.cmp(&b.part))
        });
        let mut past: Vec<Lost> = plan.past.iter().map(lost).collect();
        past.sort_by(|a, b| a.loss.total_cmp(&b.loss));
        Ok(Advised { as_of: asked.as_of, lines, past })
    }

    fn gather_demand(&self, as_of: Date, parts: &mut Parts) -> Result<(), ShopError> {
        let until = format!("{:04}-{:02}", as_of.year(), as_of.month());
        self.store.each_demand(&until, |demand| {
            // A single job says nothing of the months to come.
            if demand.mark == DemandMark::OneOff {
                return Ok(());
            }
            let Ok(first) = format!("{}-01", demand.month).parse::<Date>() else { return Ok(()) };
            let at = parts.of_number(self, &demand.number)?;
            let mut line = Line::of_month(first, demand.quantity);
            if demand.mark == DemandMark::Lost {
                line.reason = Reason::Lost;
            }
            parts.all[at].item.lines.push(line);
            Ok::<_, ShopError>(())
        })?;
        self.store.each_used(as_of, |used| {
            let at = parts.of_id(used.part_id);
            let line = Line { day: used.day, quantity: used.quantity, reason: Reason::Issued };
            parts.all[at].item.lines.push(line);
            Ok::<_, ShopError>(())
        })
    }

    /// Sales of a part that was replaced count with the one that took its place.
    fn gather_replacements(&self, parts: &mut Parts) -> Result<(), ShopError> {
        let mut at = 0;
        // The part that takes the place joins the list, and may have been replaced in its turn.
        while at < parts.all.len() {
            if let Some(id) = parts.all[at].id {
                let crosses = self.store.crosses_of(id)?;
                let by = crosses
                    .iter()
                    .find(|line| line.cross.kind == CrossKind::Replaces && line.to_id == id);
                if let Some(by) = by {
                    parts.all[at].item.replaced_by = Some(parts.of_id(by.from_id));
                }
            }
            at += 1;
        }
        Ok(())
    }

    fn gather_cards(&self, parts: &mut Parts) -> Result<(), ShopError> {
        let kinds: HashMap<&str, u32> =
            self.kinds.iter().map(|kind| kind.key.as_str()).zip(1..).collect();
        for part in &mut parts.all {
            let Some(id) = part.id else { continue };
            let Some(card) = self.store.part(id)? else { continue };
            part.item.family = kinds.get(card.part.kind.as_str()).copied();
            part.name = card.part.house;
            part.description = card.part.description;
        }
        Ok(())
    }

    fn gather_stock(&self, as_of: Date, parts: &mut Parts) -> Result<(), ShopError> {
        if as_of >= self.today {
            for part in &mut parts.all {
                let Some(id) = part.id else { continue };
                for line in self.store.stock(id, self.today)? {
                    if line.condition != Condition::Core {
                        let stock = &mut part.item.stock;
                        stock.free = stock.free.saturating_add(line.free());
                        stock.held = stock.held.saturating_add(line.held);
                    }
                }
            }
            for way in self.store.under_way()? {
                if let Some(at) = parts.by_id.get(&way.part_id) {
                    let stock = &mut parts.all[*at].item.stock;
                    stock.on_order = stock.on_order.saturating_add(way.quantity);
                }
            }
            return Ok(());
        }
        let named: HashMap<String, usize> =
            parts.all.iter().enumerate().map(|(at, part)| (part.name.clone(), at)).collect();
        for line in self.store.value_on(as_of)? {
            if let Some(at) = named.get(&line.part).filter(|_| line.condition != Condition::Core) {
                let stock = &mut parts.all[*at].item.stock;
                stock.free = stock.free.saturating_add(line.quantity);
            }
        }
        Ok(())
    }

    /// The offer that costs least for one pack stands for all: the basket weighs them together.
    fn gather_offers(&self, asked: &AdviceAsked, parts: &mut Parts) -> Result<(), ShopError> {
        let suppliers = self.store.suppliers()?;
        let own = self.currency()?;
        for part in &mut parts.all {
            part.item.supply.lead_months = asked.lead_months.unwrap_or(DEFAULT_LEAD_MONTHS);
            part.item.supply.order_cost = asked.order_cost;
            let Some(id) = part.id else { continue };
            let mut best: Option<(i64, Supply, String)> = None;
            for offer in self.store.offers(id)? {
                let Some(by) = suppliers.iter().find(|by| by.name == offer.supplier) else {
                    continue;
                };
                let mut supply = supply(&offer, by, own)?;
                let Some(price) = supply.prices.first().map(|(_, price)| price.minor) else {
                    continue;
                };
                if best.as_ref().is_none_or(|(least, ..)| price < *least) {
                    if let Some(months) = asked.lead_months {
                        supply.lead_months = months;
                    }
                    supply.order_cost = asked.order_cost;
                    best = Some((price, supply, offer.supplier));
                }
            }
            if let Some((_, supply, supplier)) = best {
                part.item.supply = supply;
                part.supplier = Some(supplier);
            }
        }
        Ok(())
    }
}

/// Months from order to shelf where nobody says (a guess; a setting of the question).
const DEFAULT_LEAD_MONTHS: f64 = 1.0;

fn supply(
    offer: &Offer,
    by: &Supplier,
    own: binwright_catalog::Currency,
) -> Result<Supply, ShopError> {
    let whole = |quantity: Quantity| {
        u32::try_from(quantity.thousandths().max(0).unsigned_abs().div_ceil(1000))
            .unwrap_or(u32::MAX)
    };
    let mut prices = Vec::with_capacity(offer.breaks.len());
    for (from, each) in &offer.breaks {
        let amount = each.decimal().checked_mul(by.rate).unwrap_or_default();
        prices.push((whole(*from), Money::rounded(amount, own)?));
    }
    Ok(Supply {
        lead_months: f64::from(offer.lead_days.unwrap_or(by.lead_days)) / MONTH_DAYS,
        pack: whole(offer.pack),
        minimum: whole(offer.minimum),
        prices,
        order_cost: None,
    })
}

fn lost(past: &PastLoss) -> Lost {
    Lost { method: past.method.word(), loss: past.loss, looks: past.looks }
}

fn line(advice: buying::Advice, parts: &[Gathered], input: &Input) -> AdvisedLine {
    let (part, item) = (&parts[advice.item], &input.items[advice.item]);
    let why = match item.replaced_by {
        Some(by) => format!("replaced by {}, where its sales and stock count", parts[by].name),
        None => advice.why,
    };
    AdvisedLine {
        part: part.name.clone(),
        description: part.description.clone(),
        class: advice.class.map_or("none", buying::DemandClass::word),
        method: advice.method.word(),
        forecast_per_month: advice.monthly,
        trend: advice.trend,
        reorder_point: advice.reorder_point,
        order_up_to: advice.order_up_to,
        free: item.stock.free,
        held: item.stock.held,
        on_order: item.stock.on_order,
        order: advice.order,
        supplier: part.supplier.clone().filter(|_| advice.order > 0),
        cost: advice.cost.filter(|_| advice.order > 0),
        cut: advice.cut,
        chance_short: advice.chance_short,
        why,
        if_not: advice.if_not,
        months: buying::History::gather(&item.lines, input.as_of).months,
    }
}
