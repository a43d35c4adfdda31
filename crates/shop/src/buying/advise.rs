//! What must be ordered, how many, and why? Gathers the shop's past and hands it to the buyer's rules.
//!
//! Of the past count imported months, what left the bins and what was not in, up to the as-of day. Stock is what the
//! ledger shows for that day. Promises, orders and room on the shelf are known for today alone: asked about an earlier
//! day, they are left out, so that nothing later than the day is seen.

use std::collections::HashMap;

use binwright_buying::demand::Reason;
use binwright_buying::{
    self as buying, Ahead, Input, Item, Line, MONTH_DAYS, Method, PastLoss, Supply, Target,
};
use binwright_catalog::{Condition, CrossKind, Money, Quantity, number};
use binwright_store::{DemandMark, UnderWay};
use jiff::civil::Date;
use serde::Serialize;

use super::supply::{Offered, Suppliers};
use crate::files::csv_text;
use crate::{Shop, ShopError};

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
    /// How every part is forecast; as the shop's own past makes best when not given.
    pub method: Option<Method>,
    /// The branch whose demand, stock and orders count; those of all together when not given.
    pub branch: Option<String>,
}

impl AdviceAsked {
    /// The service that is usual.
    pub const SERVICE: f64 = 0.95;
    /// Months between looks that are usual.
    pub const REVIEW_MONTHS: f64 = 1.0;
    /// The holding cost that is usual (common practice, no source).
    pub const HOLDING_A_YEAR: f64 = 0.25;

    /// What is asked on a day when nothing else is said.
    pub fn on(as_of: Date) -> Self {
        Self {
            as_of,
            target: Target::CycleService(Self::SERVICE),
            lead_months: None,
            review_months: Self::REVIEW_MONTHS,
            budget: None,
            order_cost: None,
            holding_a_year: Self::HOLDING_A_YEAR,
            method: None,
            branch: None,
        }
    }
}

/// What is to be bought, and how the ways of forecasting did so far.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Advised {
    /// The day it was advised for.
    pub as_of: Date,
    /// The branch it was advised for; `None` for all together.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub branch: Option<String>,
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
    /// What is on its way, the first due first.
    pub coming: Vec<Coming>,
    /// What stands in drafts that were not sent: not on its way, but somebody meant to order it.
    pub drafted: Vec<Coming>,
    /// Days from an order to the shelf.
    pub lead_days: u32,
    /// Days until an order placed at the next look is here.
    pub cover_days: u32,
    /// What will be wanted until then.
    pub ahead: Ahead,
    /// Units wanted by month, oldest first, up to the as-of day.
    #[serde(skip)]
    pub months: Vec<f64>,
    /// The card; `None` where no card bears the number.
    #[serde(skip)]
    pub card: Option<u64>,
}

/// Something that was ordered and is not here yet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Coming {
    /// The order: `O-12`; between branches `transfer 17`.
    pub order: String,
    /// How many.
    pub quantity: Quantity,
    /// When it should be here.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub due: Option<Date>,
}

impl Advised {
    /// What is to be ordered at a price nobody knows: no budget can hold it.
    pub fn unpriced(&self) -> impl Iterator<Item = &AdvisedLine> {
        self.lines.iter().filter(|line| line.order > 0 && line.cost.is_none())
    }

    /// Which way of forecasting is the default here, and why, by the table of past losses; `None` without a past.
    pub fn verdict(&self) -> Option<String> {
        let least = |pooled: bool| {
            // The least stand first.
            self.past
                .iter()
                .find(|lost| lost.method.starts_with("pooled") == pooled && lost.looks > 0)
        };
        let (pooled, alone) = (least(true)?, least(false)?);
        let less = 100.0 * (1.0 - alone.loss / pooled.loss);
        let name = alone.method;
        Some(if less <= 0.0 {
            "all parts together (pooled) lost least: they are the default, in the shape that did best by size".to_owned()
        } else if less < 100.0 * (1.0 - buying::CLEARLY) {
            format!(
                "{name} lost {less:.1} % less, not the twentieth that a change asks for: all parts together \
                 (pooled) stay the default, for their chances come true over all services, which one \
                 shop's loss hardly tells"
            )
        } else {
            format!(
                "{name} lost {less:.1} % less than all parts together (pooled), a twentieth or more: it is the default here where there are looks enough"
            )
        })
    }

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
    coming: Vec<Coming>,
    drafted: Vec<Coming>,
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

    /// A number that no card bears is a line of its own.
    fn of_number(&mut self, text: &str) -> usize {
        *self.by_number.entry(number::fold(text)).or_insert_with(|| {
            self.all.push(Gathered { name: text.to_owned(), ..Gathered::default() });
            self.all.len() - 1
        })
    }
}

impl Shop {
    /// Says of every part that is or was wanted how many to order, and why.
    ///
    /// Of one branch count what left its bins, what lies in them, and what is ordered for it or on its way
    /// to it. Imported months and what was asked for name no branch: each has the share of them that it
    /// had of the part's use in the year before, and one as large as the others' where nobody used any.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the question makes no sense or the store fails.
    pub fn advise(&self, asked: &AdviceAsked) -> Result<Advised, ShopError> {
        let mut parts = Parts::default();
        let branch =
            asked.branch.as_deref().map(|name| self.store.branch_named(name)).transpose()?;
        let of = branch.as_deref();
        self.gather_demand(asked, of, &mut parts)?;
        self.gather_replacements(&mut parts)?;
        self.gather_cards(&mut parts)?;
        self.gather_stock(asked.as_of, of, &mut parts)?;
        self.gather_offers(asked, &mut parts)?;
        let items = parts.all.iter_mut().map(|part| std::mem::take(&mut part.item)).collect();
        let input = Input {
            as_of: asked.as_of,
            items,
            target: asked.target,
            review_months: asked.review_months,
            budget: asked.budget,
            holding_a_year: asked.holding_a_year,
            method: asked.method,
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
        Ok(Advised { as_of: asked.as_of, branch, lines, past })
    }

    fn gather_demand(
        &self,
        asked: &AdviceAsked,
        of: Option<&str>,
        parts: &mut Parts,
    ) -> Result<(), ShopError> {
        let as_of = asked.as_of;
        let shares = of.map(|branch| self.shares_of(branch, asked)).transpose()?;
        self.each_imported(as_of, |imported| {
            // A single job says nothing of the months to come.
            if imported.mark == DemandMark::OneOff {
                return;
            }
            let at = match imported.part {
                Some(id) => parts.of_id(id),
                None => parts.of_number(imported.number),
            };
            let share = shares.as_ref().map(|shares| shares.of(imported.part, imported.quantity));
            let mut line = Line::of_month(imported.day, share.unwrap_or(imported.quantity));
            if imported.mark.is_lost() {
                line.reason = Reason::Lost;
                // What the counter noted in the month that runs is known today.
                if as_of >= self.today {
                    line.day = line.day.min(as_of);
                }
            }
            parts.all[at].item.lines.push(line);
        })?;
        self.store.each_used(as_of, of, |used| {
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

    fn gather_stock(
        &self,
        as_of: Date,
        of: Option<&str>,
        parts: &mut Parts,
    ) -> Result<(), ShopError> {
        let counts = |branch: Option<&str>| of.is_none() || of == branch;
        if as_of >= self.today {
            for part in &mut parts.all {
                let Some(id) = part.id else { continue };
                for line in self.store.stock(id, self.today)? {
                    if line.condition != Condition::Core && counts(Some(&line.branch)) {
                        let stock = &mut part.item.stock;
                        stock.free = stock.free.saturating_add(line.free());
                        stock.held = stock.held.saturating_add(line.held);
                    }
                }
            }
            let ordered = |way: &UnderWay| counts(way.branch.as_deref());
            for way in self.store.under_way()?.into_iter().filter(ordered) {
                if let Some(at) = parts.by_id.get(&way.part_id) {
                    let part = &mut parts.all[*at];
                    part.item.stock.on_order =
                        part.item.stock.on_order.saturating_add(way.quantity);
                    let order = way.name();
                    part.coming.push(Coming { order, quantity: way.quantity, due: way.due });
                }
            }
            for draft in self.store.drafted()?.into_iter().filter(ordered) {
                if let Some(at) = parts.by_id.get(&draft.part_id) {
                    let order = draft.name();
                    let drafted = Coming { order, quantity: draft.quantity, due: draft.due };
                    parts.all[*at].drafted.push(drafted);
                }
            }
            for way in self.store.in_transit()? {
                if let Some(at) = parts.by_id.get(&way.part_id)
                    && way.condition != Condition::Core
                    && counts(Some(&way.to_branch))
                {
                    let part = &mut parts.all[*at];
                    part.item.stock.on_order =
                        part.item.stock.on_order.saturating_add(way.quantity);
                    let order = format!("transfer {}", way.transfer);
                    part.coming.push(Coming { order, quantity: way.quantity, due: None });
                }
            }
            for (id, room) in self.store.shelf_room(of)? {
                if let Some(at) = parts.by_id.get(&id) {
                    let item = &mut parts.all[*at].item;
                    let most = item.stock.free.saturating_add(item.stock.held).saturating_add(room);
                    let whole = most.thousandths().max(0).unsigned_abs() / 1000;
                    item.shelf_limit = Some(u32::try_from(whole).unwrap_or(u32::MAX));
                }
            }
            return Ok(());
        }
        let named: HashMap<String, usize> =
            parts.all.iter().enumerate().map(|(at, part)| (part.name.clone(), at)).collect();
        for line in self.store.value_at(as_of, of)? {
            if let Some(at) = named.get(&line.part).filter(|_| line.condition != Condition::Core) {
                let stock = &mut parts.all[*at].item.stock;
                stock.free = stock.free.saturating_add(line.quantity);
            }
        }
        Ok(())
    }

    /// The offer that costs least for one pack stands for all: the basket weighs them together.
    fn gather_offers(&self, asked: &AdviceAsked, parts: &mut Parts) -> Result<(), ShopError> {
        let suppliers = self.suppliers(asked.as_of)?;
        for part in &mut parts.all {
            let offers = match part.id {
                Some(id) => suppliers.offers(self, id)?,
                None => Vec::new(),
            };
            let mut best: Option<(Supply, String)> = None;
            for offered in offers {
                let supply = supply(&offered, &suppliers)?;
                let price = |supply: &Supply| supply.prices.first().map(|(_, price)| price.minor);
                let Some(least) = price(&supply) else { continue };
                if best.as_ref().and_then(|(best, _)| price(best)).is_none_or(|best| least < best) {
                    best = Some((supply, offered.offer.supplier));
                }
            }
            let (supply, supplier) = best.unzip();
            let supply = supply.unwrap_or_default();
            let lead_months = match &supplier {
                Some(_) => asked.lead_months.unwrap_or(supply.lead_months),
                None => asked.lead_months.unwrap_or(DEFAULT_LEAD_MONTHS),
            };
            part.item.supply = Supply { lead_months, order_cost: asked.order_cost, ..supply };
            part.supplier = supplier;
        }
        Ok(())
    }
}

/// Months from order to shelf where nobody says (a guess; a setting of the question).
const DEFAULT_LEAD_MONTHS: f64 = 1.0;

pub(super) fn supply(offered: &Offered, suppliers: &Suppliers) -> Result<Supply, ShopError> {
    let whole = |quantity: Quantity| {
        u32::try_from(quantity.thousandths().max(0).unsigned_abs().div_ceil(1000))
            .unwrap_or(u32::MAX)
    };
    let Offered { offer, by, days, .. } = offered;
    let price = |(from, each): &(Quantity, Money)| -> Result<(u32, Money), ShopError> {
        Ok((whole(*from), suppliers.in_own(*each, *by)?))
    };
    Ok(Supply {
        lead_months: f64::from(*days) / MONTH_DAYS,
        pack: whole(offer.pack),
        minimum: whole(offer.minimum),
        prices: offer.breaks.iter().map(price).collect::<Result<_, _>>()?,
        order_cost: None,
    })
}

fn days(months: f64) -> u32 {
    (months * MONTH_DAYS).round() as u32
}

fn lost(past: &PastLoss) -> Lost {
    Lost { method: past.method.word(), loss: past.loss, looks: past.looks }
}

/// ", 5 drafted in O-3, not sent".
fn drafted(drafts: &[Coming]) -> String {
    let said =
        |draft: &Coming| format!(", {} drafted in {}, not sent", draft.quantity, draft.order);
    drafts.iter().map(said).collect()
}

fn line(advice: buying::Advice, parts: &[Gathered], input: &Input) -> AdvisedLine {
    let (part, item) = (&parts[advice.item], &input.items[advice.item]);
    let why = match item.replaced_by {
        Some(by) => format!("replaced by {}, where its sales and stock count", parts[by].name),
        None => advice.why + &drafted(&part.drafted),
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
        coming: part.coming.clone(),
        drafted: part.drafted.clone(),
        lead_days: days(item.supply.lead_months),
        cover_days: days(item.supply.lead_months + input.review_months),
        ahead: advice.ahead,
        months: advice.months,
        card: part.id,
    }
}
