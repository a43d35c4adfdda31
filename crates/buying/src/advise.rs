//! What must be ordered now, how many of it, and why?

use binwright_catalog::{Currency, Money, Quantity};
use jiff::civil::Date;
use serde::Serialize;

use crate::budget::{self, Wanted};
use crate::demand::{self, History, Line};
use crate::economic::{self, Break};
use crate::outlook::Outlook;
use crate::past::{Method, PastLoss};
use crate::policy::Need;
use crate::pooled::{Forecast, Series};
use crate::{BuyingError, DemandClass, LeadDemand, Target, why};

/// The question: all parts of the shop at once, for they are judged together.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// The day; nothing later is read.
    pub as_of: Date,
    /// The parts. Answers come in the same order.
    pub items: Vec<Item>,
    /// The service asked for.
    pub target: Target,
    /// Months from one look at the stock to the next.
    pub review_months: f64,
    /// What may be spent now; no bound when not given.
    pub budget: Option<Money>,
    /// Cost of holding stock a year, as a share of its value.
    pub holding_a_year: f64,
    /// How every part that ever sold is forecast; the pooled way, in the shape that did best, when not given.
    pub method: Option<Method>,
}

/// One part, as far as it is known. History and lead time are enough.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Item {
    /// What left the bins, in any order.
    pub lines: Vec<Line>,
    /// What is there.
    pub stock: Stock,
    /// How it is bought.
    pub supply: Supply,
    /// The most its shelf takes, in units of issue; what the parts it replaces have lies elsewhere.
    pub shelf_limit: Option<u32>,
    /// A number for the kind or the closer relatives, which rise and fall together.
    pub family: Option<u32>,
    /// The item that takes its place: sales and stock are counted there.
    pub replaced_by: Option<usize>,
    /// Demand a month expected from elsewhere, such as the units that carry it: used while it has not sold.
    pub expected_monthly: Option<f64>,
}

/// What is there and on its way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Stock {
    /// On hand and promised to nobody; negative when more is owed than there is.
    pub free: Quantity,
    /// On hand and promised.
    pub held: Quantity,
    /// Ordered and not yet here.
    pub on_order: Quantity,
}

impl Stock {
    fn position(self) -> i64 {
        self.free.saturating_add(self.on_order).thousandths()
    }

    fn add(&mut self, other: Self) {
        *self = Self {
            free: self.free.saturating_add(other.free),
            held: self.held.saturating_add(other.held),
            on_order: self.on_order.saturating_add(other.on_order),
        };
    }
}

/// How a part is bought.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Supply {
    /// Months from order to shelf.
    pub lead_months: f64,
    /// Units in a pack; 0 counts as 1.
    pub pack: u32,
    /// The least that can be ordered.
    pub minimum: u32,
    /// Price of one unit from so many on, the whole order at that price; least quantity first.
    pub prices: Vec<(u32, Money)>,
    /// What placing an order for it costs.
    pub order_cost: Option<Money>,
}

/// Where demand goes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Trend {
    /// Of late more than in the long run.
    Rising,
    /// Much the same.
    Steady,
    /// Of late less.
    Falling,
}

/// Demand over lead and review time, in units of issue.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Ahead {
    /// One time in ten it is less.
    pub least: f64,
    /// On average.
    pub mean: f64,
    /// One time in ten it is more.
    pub most: f64,
}

impl Ahead {
    fn of(demand: &LeadDemand) -> Self {
        let level = |chance| demand.level_for_cycle_service(chance) as f64;
        Self { least: level(0.1), mean: demand.mean(), most: level(0.9) }
    }
}

/// What kept an order below what was wanted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Cut {
    /// The money went where it saves more shortage.
    Budget,
    /// The shelf takes no more.
    Shelf,
}

/// The answer for one part. Quantities in units of issue.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Advice {
    /// The part, counted from 0 as in the question.
    pub item: usize,
    /// The pattern of its demand; `None` when it never sold.
    pub class: Option<DemandClass>,
    /// How it was forecast.
    pub method: Method,
    /// Forecast demand a month.
    pub monthly: f64,
    /// Where it goes.
    pub trend: Trend,
    /// Order when what is free and on order has fallen to this; -1: only when some is owed.
    pub reorder_point: i64,
    /// Order up to this, before packs.
    pub order_up_to: u64,
    /// What to order now, in whole packs.
    pub order: u64,
    /// What that costs; `None` without a price.
    pub cost: Option<Money>,
    /// Why it is less than wanted, if it is.
    pub cut: Option<Cut>,
    /// The chance to be short before an order placed at the next review arrives, when nothing is ordered now.
    pub chance_short: f64,
    /// The figures that led to it, in one sentence.
    pub why: String,
    /// What happens when nothing is ordered.
    pub if_not: String,
    /// Demand until an order placed at the next review is here.
    pub ahead: Ahead,
    /// Demand by month, with that of the parts it replaces; oldest first, up to the as-of day.
    #[serde(skip)]
    pub months: Vec<f64>,
}

/// The answer.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Plan {
    /// One for each item, in the order of the question.
    pub advice: Vec<Advice>,
    /// How each method would have done in this shop so far.
    pub past: Vec<PastLoss>,
}

/// Everything that was worked out of a part before its order is.
pub(crate) struct Worked<'a> {
    pub(crate) item: &'a Item,
    /// With that of the parts it replaces.
    pub(crate) stock: Stock,
    pub(crate) forecast: Forecast,
    pub(crate) demand: LeadDemand,
    pub(crate) level: u64,
}

/// Advises on every part.
///
/// # Errors
///
/// [`BuyingError`] when the service is not a share, a time or rate is not a number above zero (a lead time
/// may be zero), a chain of replacements does not end, or costs differ in currency.
pub fn advise(input: &Input) -> Result<Plan, BuyingError> {
    check(input)?;
    let replaced_by: Vec<_> = input.items.iter().map(|item| item.replaced_by).collect();
    let stands_for = demand::stands_for(&replaced_by)?;
    let (mut histories, stocks) = pooled_by_replacement(input, &stands_for);
    let families = numbered(&input.items);
    // Replaced parts have no series of their own: they would teach that parts die.
    let alive: Vec<usize> = (0..input.items.len()).filter(|&at| stands_for[at] == at).collect();
    let series: Vec<Series<'_>> = alive
        .iter()
        .map(|&at| Series {
            months: &histories[at].months,
            family: families[at],
            expected: input.items[at].expected_monthly,
        })
        .collect();
    let cover: Vec<f64> =
        alive.iter().map(|&at| input.items[at].supply.lead_months + input.review_months).collect();
    let Outlook { forecasts, demands, methods, past } = Outlook::by(input.method, &series, &cover);
    let needs: Vec<Need<'_>> = alive
        .iter()
        .zip(demands.iter().zip(&cover))
        .map(|(&at, (demand, cover))| Need {
            demand,
            unit_cost: unit_cost(&input.items[at]),
            review_share: input.review_months / cover,
        })
        .collect();
    let levels = input.target.levels(&needs);
    let mut worked: Vec<Option<(Worked<'_>, Method)>> = Vec::new();
    worked.resize_with(input.items.len(), || None);
    for (nth, (demand, level)) in demands.into_iter().zip(levels).enumerate() {
        let item = &input.items[alive[nth]];
        let stock = stocks[alive[nth]];
        worked[alive[nth]] =
            Some((Worked { item, stock, forecast: forecasts[nth], demand, level }, methods[nth]));
    }
    let mut advice: Vec<Advice> = worked
        .iter()
        .zip(&mut histories)
        .enumerate()
        .map(|(at, (worked, history))| match worked {
            Some((worked, method)) => {
                of_part(input, at, std::mem::take(&mut history.months), worked, *method)
            }
            None => replaced(at, stands_for[at], &input.items[at]),
        })
        .collect();
    if let Some(budget) = input.budget {
        let wanted: Vec<Wanted<'_>> = worked
            .iter()
            .zip(&advice)
            .filter_map(|(worked, advice)| {
                let (worked, _) = worked.as_ref()?;
                (advice.order > 0).then_some(Wanted {
                    worked,
                    part: advice.item,
                    order: advice.order,
                })
            })
            .collect();
        for (part, order) in budget::share_out(&wanted, budget.minor) {
            let line = &mut advice[part];
            line.order = order;
            line.cut = Some(Cut::Budget);
            line.cost = cost(&input.items[part], order);
        }
    }
    Ok(Plan { advice, past })
}

fn check(input: &Input) -> Result<(), BuyingError> {
    input.target.check()?;
    let positive = |what: &'static str, found: f64| {
        let right = found.is_finite() && found > 0.0;
        if right { Ok(()) } else { Err(BuyingError::NotPositive { what, found }) }
    };
    positive("months of review", input.review_months)?;
    positive("holding cost a year", input.holding_a_year)?;
    let mut currency: Option<Currency> = input.budget.map(|budget| budget.currency);
    for (at, item) in input.items.iter().enumerate() {
        if item.supply.lead_months != 0.0 {
            positive("months of lead time", item.supply.lead_months)?;
        }
        let prices = item.supply.prices.iter().map(|(_, price)| *price);
        for money in prices.chain(item.supply.order_cost) {
            let wanted = *currency.get_or_insert(money.currency);
            if money.currency != wanted {
                let (found, wanted) = (money.currency.to_string(), wanted.to_string());
                return Err(BuyingError::Currencies { item: at, found, wanted });
            }
        }
    }
    Ok(())
}

/// The history and stock of each part with those of the parts it stands for.
fn pooled_by_replacement(input: &Input, stands_for: &[usize]) -> (Vec<History>, Vec<Stock>) {
    let mut lines: Vec<Vec<&Line>> = vec![Vec::new(); input.items.len()];
    let mut stocks = vec![Stock::default(); input.items.len()];
    for (item, &end) in input.items.iter().zip(stands_for) {
        lines[end].extend(&item.lines);
        stocks[end].add(item.stock);
    }
    let gather = |lines: Vec<&Line>| History::gather(lines, input.as_of);
    (lines.into_iter().map(gather).collect(), stocks)
}

/// Families numbered from 1 without gaps; 0 is for parts without one.
fn numbered(items: &[Item]) -> Vec<usize> {
    let mut known: Vec<u32> = items.iter().filter_map(|item| item.family).collect();
    known.sort_unstable();
    known.dedup();
    let number = |family: u32| known.partition_point(|&one| one < family) + 1;
    items.iter().map(|item| item.family.map_or(0, number)).collect()
}

fn of_part(
    input: &Input,
    at: usize,
    months: Vec<f64>,
    worked: &Worked<'_>,
    method: Method,
) -> Advice {
    let Worked { item, stock, forecast, demand, level } = worked;
    let trend = match forecast.trend {
        rising if rising > 1.2 => Trend::Rising,
        falling if falling < 0.8 => Trend::Falling,
        _ => Trend::Steady,
    };
    let position = stock.position();
    let lot = lot(input, item, forecast.rate);
    let up_to = if *level == 0 { 0 } else { level - 1 + lot };
    let missing = (up_to as i64 * 1000 - position).max(0).unsigned_abs().div_ceil(1000);
    let due = position <= (*level as i64 - 1) * 1000;
    let wanted = if due { missing } else { 0 };
    let packs = economic::in_packs(wanted, item.supply.pack, item.supply.minimum);
    let shelf = shelf(item, *stock);
    let there = position.saturating_add(stock.held.thousandths());
    let room = shelf.saturating_sub(there.max(0).unsigned_abs().div_ceil(1000));
    let order = if packs > room { whole_packs_in(room, item) } else { packs };
    let shaped = why::Shaped { wanted, packs, order, room };
    let chance_short =
        1.0 - u64::try_from(position / 1000).map_or(0.0, |free| demand.at_most(free));
    let cover_months = item.supply.lead_months + input.review_months;
    Advice {
        item: at,
        class: DemandClass::of_history(&months),
        method,
        monthly: forecast.rate,
        trend,
        reorder_point: (*level).min(shelf) as i64 - 1,
        order_up_to: up_to.min(shelf),
        order,
        cost: cost(item, order),
        cut: (order < packs).then_some(Cut::Shelf),
        chance_short,
        why: why::figures(*stock, forecast, trend, &item.supply, input.target)
            + &shaped.said(&item.supply),
        if_not: why::if_not(position, forecast.rate, cover_months, chance_short),
        ahead: Ahead::of(demand),
        months,
    }
}

fn replaced(at: usize, by: usize, item: &Item) -> Advice {
    Advice {
        item: at,
        class: None,
        method: Method::Pooled(crate::pooled::spread::Shape::Poisson),
        monthly: 0.0,
        trend: Trend::Steady,
        reorder_point: -1,
        order_up_to: 0,
        order: 0,
        cost: cost(item, 0),
        cut: None,
        chance_short: 0.0,
        why: format!("replaced by item {by}, where its sales and stock are counted"),
        if_not: "nothing".to_owned(),
        ahead: Ahead::default(),
        months: Vec::new(),
    }
}

/// The economic lot at the supplier's prices, no more than a year's demand (common practice, no source); one
/// unit when prices or order costs are not known.
fn lot(input: &Input, item: &Item, rate: f64) -> u64 {
    let yearly = rate * 12.0;
    let breaks: Vec<Break> = item
        .supply
        .prices
        .iter()
        .map(|&(from, price)| Break { from: f64::from(from), unit_cost: price.minor as f64 })
        .collect();
    let order_cost = item.supply.order_cost.map_or(0.0, |cost| cost.minor as f64);
    let priced = order_cost > 0.0 && breaks.iter().all(|step| step.unit_cost > 0.0);
    let lot = priced
        .then(|| economic::lot_all_units(order_cost, input.holding_a_year, yearly, &breaks))
        .flatten();
    lot.map_or(1, |(lot, _)| (lot.quantity.min(yearly).round() as u64).max(1))
}

/// The most there may be of it, with what the parts it replaces have in their own bins.
fn shelf(item: &Item, stock: Stock) -> u64 {
    let there = |stock: Stock| stock.free.saturating_add(stock.held).thousandths();
    let elsewhere = there(stock).saturating_sub(there(item.stock)).max(0).unsigned_abs() / 1000;
    item.shelf_limit.map_or(u64::MAX, |limit| elsewhere + u64::from(limit))
}

fn whole_packs_in(room: u64, item: &Item) -> u64 {
    let pack = u64::from(item.supply.pack.max(1));
    let fits = room / pack * pack;
    if fits < u64::from(item.supply.minimum) { 0 } else { fits }
}

/// The price of one unit of an order of so many, in minor units; 1 when it is not known.
fn unit_cost(item: &Item) -> f64 {
    item.supply.prices.first().map_or(1.0, |(_, price)| (price.minor as f64).max(1.0))
}

/// What an order of so many costs, at the price of its quantity; `None` without a price.
pub(crate) fn cost(item: &Item, order: u64) -> Option<Money> {
    let prices = &item.supply.prices;
    let reached = prices.iter().rev().find(|(from, _)| u64::from(*from) <= order);
    let price = reached.or(prices.first())?.1;
    let minor = i64::try_from(order).ok()?.checked_mul(price.minor)?;
    Some(Money { minor, ..price })
}
