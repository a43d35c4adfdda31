//! How did buying go? Fast movers, dead stock, turns, service reached, aged old parts.

use std::collections::{BTreeMap, HashMap, HashSet};

use binwright_catalog::{Condition, Money, Quantity};
use binwright_store::{DemandMark, History, Moved, Reason};
use jiff::civil::Date;
use jiff::{ToSpan, Unit};
use serde::Serialize;

use crate::cores::Core;
use crate::{Shop, ShopError};

/// The days a report looks at, both counted in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Period {
    /// The first.
    pub from: Date,
    /// The last.
    pub to: Date,
}

impl Period {
    fn holds(self, day: Date) -> bool {
        (self.from..=self.to).contains(&day)
    }

    pub(super) fn days(self) -> i64 {
        self.to.since((Unit::Day, self.from)).map_or(0, |span| i64::from(span.get_days())) + 1
    }
}

/// By what fast movers are ranked.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Rank {
    /// How often somebody went to the bin.
    Picks,
    /// What they earned.
    Margin,
}

/// What moves fast.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FastReport {
    /// The days.
    pub period: Period,
    /// Part by part, the fastest first.
    pub lines: Vec<FastLine>,
}

/// How fast a part moves.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct FastLine {
    /// House number.
    pub part: String,
    /// What a person calls it.
    pub description: String,
    /// How often somebody went to the bin; of an imported month at least once is known.
    pub picks: u64,
    /// What was wanted, less what came back.
    pub units: Quantity,
    /// What that earned at list price over what one costs now: on average in the bins, else at the
    /// cheapest offer. `None` without either price.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub margin: Option<Money>,
}

/// What lies in the bins and nobody wants.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DeadReport {
    /// The days nobody wanted it in.
    pub period: Period,
    /// The first day anything is known to have been wanted: nothing is dead for being older.
    pub known_since: Option<Date>,
    /// Part by part, the dearest first.
    pub lines: Vec<DeadLine>,
    /// What all of it is worth whose cost is known.
    pub total: Money,
}

/// A part that nobody wants.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DeadLine {
    /// House number.
    pub part: String,
    /// In what condition.
    pub condition: Condition,
    /// How many lie there.
    pub quantity: Quantity,
    /// What they are worth; nought is not known, for they came in without a cost.
    pub value: Money,
    /// When it was last wanted; `None` is never.
    pub last_wanted: Option<Date>,
}

/// How often the stock turns over.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TurnsReport {
    /// The days.
    pub period: Period,
    /// Kind by kind of part.
    pub kinds: Vec<Turns>,
    /// All together.
    pub all: Turns,
}

/// Goods that went out against goods that lay there.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Turns {
    /// The kind; empty for all.
    pub kind: String,
    /// Cost of what was issued and sold, less what came back.
    pub cost: Money,
    /// Mean worth of the stock: before the first day, at every month's end, when the last day ended.
    pub mean_value: Money,
    /// How often that went out in a year; `None` when nothing of worth lay there.
    pub a_year: Option<f64>,
}

/// How much of what was wanted was there.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ServiceReport {
    /// The days.
    pub period: Period,
    /// What was wanted and went out.
    pub served: Quantity,
    /// What was wanted and was not there.
    pub lost: Quantity,
    /// The share of what was wanted that went out; `None` when nothing was wanted.
    pub reached: Option<f64>,
    /// The share asked for.
    pub asked: f64,
    /// The parts that were not there, the most wanted first.
    pub short: Vec<ShortLine>,
}

/// A part that was not there when it was wanted.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ShortLine {
    /// Its number.
    pub part: String,
    /// How many.
    pub lost: Quantity,
}

/// An old part that is owed, and for how long.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct AgedCore {
    /// For how many days it is owed.
    pub age_days: i64,
    /// The debt.
    #[serde(flatten)]
    pub core: Core,
}

/// What is known of a part's use in a period.
#[derive(Debug, Clone, Copy, Default)]
struct Use {
    picks: u64,
    thousandths: i64,
}

impl Shop {
    /// What moves fast, by `rank`; margins at the prices of the list named.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when a sum is too large or the store fails.
    pub fn fast_report(
        &self,
        period: Period,
        rank: Rank,
        price_list: &str,
    ) -> Result<FastReport, ShopError> {
        let mut uses: HashMap<u64, Use> = HashMap::new();
        self.each_imported(period.to, |line| {
            if let (DemandMark::Regular | DemandMark::OneOff, Some(id), true) =
                (line.mark, line.part, period.holds(line.day))
            {
                let used = uses.entry(id).or_default();
                used.picks += u64::from(line.quantity.is_positive());
                used.thousandths += line.quantity.thousandths();
            }
        })?;
        for moved in self.gone(period)? {
            let Some(id) = self.store.parts_by_number(&moved.part)?.first().copied() else {
                continue;
            };
            let used = uses.entry(id).or_default();
            used.picks += u64::from(moved.reason != Reason::ReturnIn);
            used.thousandths -= moved.quantity.thousandths();
        }
        let (costs, suppliers) = (self.average_costs(period.to)?, self.suppliers(period.to)?);
        let mut lines = Vec::with_capacity(uses.len());
        for (id, used) in uses {
            let Some(card) = self.store.part(id)?.map(|stored| stored.part) else { continue };
            if used.picks == 0 {
                continue;
            }
            let units = Quantity::from_thousandths(used.thousandths);
            let cost = match costs.get(&card.house) {
                Some(cost) => Some(*cost),
                None => suppliers.least_price(self, id)?,
            };
            let margin = self.margin(id, price_list, cost, units)?;
            let (part, description) = (card.house, card.description);
            lines.push(FastLine { part, description, picks: used.picks, units, margin });
        }
        let earned = |line: &FastLine| line.margin.map(|margin| margin.minor);
        lines.sort_by(|a, b| {
            let first = match rank {
                Rank::Picks => b.picks.cmp(&a.picks),
                Rank::Margin => earned(b).cmp(&earned(a)),
            };
            first.then(b.units.cmp(&a.units)).then_with(|| a.part.cmp(&b.part))
        });
        Ok(FastReport { period, lines })
    }

    /// What went to jobs and customers in the period, and what came back, without what was undone.
    fn gone(&self, period: Period) -> Result<Vec<Moved>, ShopError> {
        let mut moved = self.store.history(&History { limit: usize::MAX, ..History::default() })?;
        moved.retain(|line| {
            let gone = matches!(line.reason, Reason::Issue | Reason::Sale | Reason::ReturnIn);
            gone && line.undone_by.is_none() && period.holds(line.day)
        });
        Ok(moved)
    }

    /// What one new part costs on average, of all that are worth something.
    fn average_costs(&self, day: Date) -> Result<HashMap<String, Money>, ShopError> {
        let mut costs = HashMap::new();
        for line in self.store.value_on(day)? {
            let worth = line.value.minor > 0 && line.quantity.is_positive();
            if worth && line.condition == Condition::New {
                let each = line.value.decimal() / line.quantity.decimal();
                costs.insert(line.part, Money::rounded(each, line.value.currency)?);
            }
        }
        Ok(costs)
    }

    fn margin(
        &self,
        id: u64,
        price_list: &str,
        cost: Option<Money>,
        units: Quantity,
    ) -> Result<Option<Money>, ShopError> {
        let prices = self.store.prices(id)?;
        let price = prices.into_iter().find(|(list, _)| list == price_list).map(|(_, price)| price);
        let Some((price, cost)) = price.zip(cost) else { return Ok(None) };
        if price.currency != cost.currency {
            return Ok(None);
        }
        let each = price.checked_add(Money { minor: -cost.minor, ..cost })?;
        Ok(Some(each.checked_mul(units.decimal())?))
    }

    /// What lay in the bins when the period ended and was wanted in none of its days. What came from
    /// a supplier within them is not dead yet; cores are none.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when a sum is too large or the store fails.
    pub fn dead_report(&self, period: Period) -> Result<DeadReport, ShopError> {
        let (mut last, mut known_since) = (HashMap::<u64, Date>::new(), None::<Date>);
        self.each_wanted(period.to, |part, day, quantity| {
            if quantity.is_positive() {
                let latest = last.entry(part).or_insert(day);
                *latest = day.max(*latest);
                known_since = Some(known_since.map_or(day, |known| known.min(day)));
            }
        })?;
        let came: HashSet<String> = self
            .store
            .history(&History { limit: usize::MAX, ..History::default() })?
            .into_iter()
            .filter(|m| m.reason == Reason::Receive && m.undone_by.is_none())
            .filter(|m| period.holds(m.day))
            .map(|m| m.part)
            .collect();
        let mut total = Money::zero(self.currency()?);
        let mut lines = Vec::new();
        for line in self.store.value_on(period.to)? {
            let is_core = line.condition == Condition::Core;
            if is_core || !line.quantity.is_positive() || came.contains(&line.part) {
                continue;
            }
            let id = self.store.parts_by_number(&line.part)?.first().copied();
            let last_wanted = id.and_then(|id| last.get(&id).copied());
            // A month is known by its first day alone: it counts when any of its days does.
            if last_wanted.is_some_and(|day| day >= period.from.first_of_month()) {
                continue;
            }
            total = total.checked_add(line.value)?;
            let binwright_store::ValueLine { part, condition, quantity, value } = line;
            lines.push(DeadLine { part, condition, quantity, value, last_wanted });
        }
        lines.sort_by(|a, b| b.value.minor.cmp(&a.value.minor).then(b.quantity.cmp(&a.quantity)));
        Ok(DeadReport { period, known_since, lines, total })
    }

    /// How often the stock turned over, by kind of part and in all, from the ledger alone.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the store fails.
    pub fn turns_report(&self, period: Period) -> Result<TurnsReport, ShopError> {
        let mut kind_of: HashMap<String, String> = HashMap::new();
        self.store.each_part(None, |stored| {
            kind_of.insert(stored.part.house, stored.part.kind);
            Ok::<_, ShopError>(())
        })?;
        let kind = |part: &str| kind_of.get(part).cloned().unwrap_or_default();
        let mut sums: BTreeMap<String, (i64, i64)> = BTreeMap::new();
        for moved in self.gone(period)? {
            sums.entry(kind(&moved.part)).or_default().0 -= moved.value.minor;
        }
        let looks = looks(period);
        for day in &looks {
            for line in self.store.value_on(*day)? {
                sums.entry(kind(&line.part)).or_default().1 += line.value.minor;
            }
        }
        let currency = self.currency()?;
        let turns = |kind: &str, (cost, values): (i64, i64)| {
            let mean = values / i64::try_from(looks.len()).unwrap_or(1).max(1);
            let years = period.days() as f64 / 365.25;
            Turns {
                kind: kind.to_owned(),
                cost: Money { minor: cost, currency },
                mean_value: Money { minor: mean, currency },
                a_year: (mean > 0).then(|| cost as f64 / mean as f64 / years),
            }
        };
        let all = sums.values().fold((0, 0), |(c, v), (cost, value)| (c + cost, v + value));
        let kinds = sums.iter().map(|(kind, sum)| turns(kind, *sum));
        let kinds = kinds.filter(|t| t.cost.minor != 0 || t.mean_value.minor != 0).collect();
        Ok(TurnsReport { period, kinds, all: turns("", all) })
    }

    /// How much of what was wanted was there, against the share `asked`. What was wanted and was not
    /// there is known from what the counter noted and from imported demand marked `lost`.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the store fails.
    pub fn service_report(&self, period: Period, asked: f64) -> Result<ServiceReport, ShopError> {
        let (mut served, mut lost) = (0, BTreeMap::<String, i64>::new());
        self.each_imported(period.to, |line| {
            let thousandths = line.quantity.thousandths();
            match line.mark {
                _ if !period.holds(line.day) => {}
                mark if mark.is_lost() => {
                    *lost.entry(line.number.to_owned()).or_default() += thousandths;
                }
                _ => served += thousandths,
            }
        })?;
        self.store.each_used(period.to, |used| {
            if period.holds(used.day) {
                served += used.quantity.thousandths();
            }
            Ok::<_, ShopError>(())
        })?;
        let all_lost: i64 = lost.values().sum();
        let wanted = served + all_lost;
        let mut short: Vec<ShortLine> = lost
            .into_iter()
            .map(|(part, lost)| ShortLine { part, lost: Quantity::from_thousandths(lost) })
            .collect();
        short.sort_by_key(|line| std::cmp::Reverse(line.lost));
        Ok(ServiceReport {
            period,
            served: Quantity::from_thousandths(served),
            lost: Quantity::from_thousandths(all_lost),
            reached: (wanted > 0).then(|| served as f64 / wanted as f64),
            asked,
            short,
        })
    }

    /// The old parts that are owed, the longest owed first.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when a sum is too large or the store fails.
    pub fn aged_cores(&self) -> Result<Vec<AgedCore>, ShopError> {
        let mut aged: Vec<AgedCore> = self
            .cores(None)?
            .lines
            .into_iter()
            .map(|core| AgedCore {
                age_days: Period { from: core.day, to: self.today }.days() - 1,
                core,
            })
            .collect();
        aged.sort_by(|a, b| b.age_days.cmp(&a.age_days).then(a.core.debt.cmp(&b.core.debt)));
        Ok(aged)
    }
}

/// The days whose end the stock is valued at: the one before the period, every month's last within
/// it, and the last.
fn looks(period: Period) -> Vec<Date> {
    let mut days = vec![period.from.saturating_sub(1.day())];
    let mut day = period.from.last_of_month();
    while day < period.to {
        days.push(day);
        day = day.saturating_add(1.day()).last_of_month();
    }
    days.push(period.to);
    days
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_stock_is_looked_at_before_within_and_after() {
        let day = |text: &str| text.parse::<Date>().unwrap();
        let period = Period { from: day("2031-01-15"), to: day("2031-03-10") };
        let days: Vec<String> = looks(period).iter().map(Date::to_string).collect();
        assert_eq!(days, ["2031-01-14", "2031-01-31", "2031-02-28", "2031-03-10"]);
        assert_eq!(period.days(), 17 + 28 + 10);
    }
}
