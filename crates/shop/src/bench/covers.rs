//! Which stocked parts and work answer the call, at what price, ready when?

use std::collections::{BTreeMap, BTreeSet};

use binwright_catalog::{Condition, CrossKind, Money, Quantity};
use binwright_diagnosis::{Calls, Table};
use binwright_quoting::{
    Advice, Candidate, Cover, Grade, LineClass, Need, Quote, Take, Terms, Wanted, Yardstick,
    YardstickKind, advise, covers, extras,
};
use binwright_store::{Hold, StockLine, out_of_bins};
use rust_decimal::Decimal;
use serde::Serialize;

use super::work::{JobWork, minutes_of, rework, reworked};
use super::{OnBench, Rules};
use crate::settings::Quoting;
use crate::{Shop, ShopError};

/// A part that the measures make at least this likely is worth offering.
const FITS: f64 = 0.1;
/// At most so many for one role.
const FITTING: usize = 3;
/// Roles in a bill that stand for the unit as a whole.
const WHOLE: [(&str, &str, YardstickKind); 2] = [
    ("exchange", "exchange-unit", YardstickKind::Exchange),
    ("new", "new-unit", YardstickKind::New),
];

/// The repair options of one unit.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct Repair {
    /// Roles to be filled, and those worth filling while the unit is open.
    pub needs: Vec<RoleNeed>,
    /// The options no other beats, cheapest first, then whole units.
    pub options: Vec<RepairOption>,
    /// Roles nothing fills: not in the bill, or nothing that fits can be had.
    pub missing: Vec<String>,
    /// Parts that would fit but have no price on the list.
    pub unpriced: Vec<String>,
    /// The list that says what new parts cost.
    pub price_list: String,
}

impl Repair {
    /// Which parts would fit but have no price, in words.
    pub fn without_price(&self) -> Option<String> {
        let (has, list) = (if self.unpriced.len() > 1 { "have" } else { "has" }, &self.price_list);
        let parts = self.unpriced.join(", ");
        (!parts.is_empty()).then(|| format!("{parts} {has} no price in list `{list}`"))
    }

    /// Why nothing comes along with `option`, when it is asked what else is worth changing.
    pub fn nothing_along(&self, option: &RepairOption) -> Option<String> {
        option.extras.is_empty().then(|| {
            let why = self.without_price();
            let why =
                why.unwrap_or_else(|| "nothing else is worth changing or to be had".to_owned());
            format!("nothing comes along while in there: {why}")
        })
    }
}

/// A role that is called for.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RoleNeed {
    /// The role in the unit's bill.
    pub role: String,
    /// How many pieces.
    pub pieces: u32,
    /// Whether it must be filled.
    pub must: bool,
}

/// One way to make the unit good.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RepairOption {
    /// What it is chosen by: `1`, `2` ..., `exchange`, `new`.
    pub name: String,
    /// What it takes.
    pub takes: Vec<Taken>,
    /// Parts worth changing while the unit is open; not in the price.
    pub extras: Vec<Taken>,
    /// Parts before tax.
    pub parts: Money,
    /// What a quote of it comes to: labour with its minimum, consumables, deposit, tax.
    pub total: Money,
    /// Bench minutes beyond testing.
    pub minutes: u32,
    /// Days until all of it is here.
    pub days: u32,
    /// Roles that get another part.
    pub replaces: Vec<String>,
    /// Roles worth filling that it fills as well.
    pub fills_as_well: Vec<String>,
    /// Why it is offered.
    pub reasons: Vec<String>,
    /// What speaks for a whole unit instead, and what would kill the new part again.
    pub advice: Vec<String>,
    /// The lines of its quote.
    #[serde(skip)]
    pub(crate) wanted: Vec<Wanted>,
}

/// Pieces of one part, or work on the old one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Taken {
    /// House number; empty for work.
    pub part: String,
    /// What a person reads.
    pub words: String,
    /// In what condition; `None` for work.
    pub condition: Option<Condition>,
    /// How many.
    pub pieces: u32,
    /// Price of one.
    pub each: Money,
    /// Roles it fills.
    pub roles: Vec<String>,
    /// Out of which bins.
    pub from: Vec<FromBin>,
    /// How many are in no bin and must be ordered.
    pub to_order: Quantity,
    /// What must be done to it or said of it.
    pub remark: Option<String>,
}

/// Pieces out of one bin.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct FromBin {
    /// The bin.
    pub bin: String,
    /// How many.
    pub quantity: Quantity,
}

/// A part that can stand in roles of the unit.
#[derive(Debug, Clone, Default)]
struct Fitting {
    roles: BTreeSet<String>,
    remarks: Vec<String>,
    /// It can still be ordered: nothing replaced it.
    current: bool,
}

/// One line of the bill, or what stands for it while the unit is unknown.
struct Sits {
    role: String,
    part: u64,
    pieces: u32,
    remark: String,
}

/// What an option is priced on.
struct On<'a> {
    settings: &'a Quoting,
    terms: &'a Terms,
    own: &'a [Hold],
}

impl Shop {
    /// Lays out the repair options for `calls`.
    ///
    /// # Errors
    ///
    /// When a part named is not known or prices are of two currencies.
    pub(super) fn repair(
        &mut self,
        rules: &Rules,
        table: &Table,
        calls: &Calls,
        asked: &OnBench,
    ) -> Result<Repair, ShopError> {
        let settings = &rules.settings.quoting;
        let sits = self.sits(asked)?;
        let needs = needs(table, calls, asked, &sits);
        let terms = settings.terms(self.currency()?)?;
        let (mut all, unpriced) = self.candidates(&needs, &sits, settings, &asked.own)?;
        minutes_of(&mut all, table, calls, asked);
        all.extend(rework(table, calls, &terms));
        let found = covers(&needs, &all, terms.labour_hour)?;
        // A used part is cheaper and no later: what is to be had of new parts alone is shown beside.
        let new = new_only(&all);
        let unused = covers(&needs, &new, terms.labour_hour)?.covers.into_iter();
        let beside = unused.filter(|cover| found.covers.iter().all(|c| c.takes != cover.takes));
        let mut ways: Vec<(Cover, bool)> = beside.map(|cover| (cover, true)).collect();
        ways.extend(found.covers.into_iter().map(|cover| (cover, false)));
        ways.sort_by_key(|(cover, _)| cover.price.minor);
        let job = JobWork::of(table, calls, settings, &terms)?;
        let wholes = self.whole_units(&sits, settings, &asked.own)?;
        let yardsticks: Vec<Yardstick> = wholes.iter().map(|whole| whole.1.clone()).collect();
        let on = On { settings, terms: &terms, own: &asked.own };
        let mut options = Vec::new();
        for (at, (cover, is_new)) in ways.iter().enumerate() {
            let advice = advise(
                cover,
                &yardsticks,
                terms.labour_hour,
                settings.exchange_percent,
                &calls.root_causes,
            )?;
            let name = (at + 1).to_string();
            let extras = extras(&needs, if *is_new { &new } else { &all }, cover);
            let mut option = self.option(name, cover, &extras, &all, &job, &advice, &on)?;
            if *is_new {
                option.reasons = vec!["new parts only".to_owned()];
            }
            options.push(option);
        }
        if needs.iter().all(|need| need.grade != Grade::Must) && job.minutes() > 0 {
            options.push(job.alone(&calls.root_causes, &terms)?);
        }
        for (name, yardstick, candidate) in wholes {
            options.push(self.whole_option(name, &yardstick, candidate, &on)?);
        }
        Ok(Repair {
            needs: needs
                .into_iter()
                .map(|need| RoleNeed {
                    must: need.grade == Grade::Must,
                    role: need.role,
                    pieces: need.pieces,
                })
                .collect(),
            options,
            missing: found.missing,
            unpriced,
            price_list: settings.price_list.clone(),
        })
    }

    /// What sits where: the unit's bill, then what was named or measured.
    fn sits(&mut self, asked: &OnBench) -> Result<Vec<Sits>, ShopError> {
        let mut sits = Vec::new();
        if let Some(unit) = &asked.unit {
            for row in self.store.bill(unit)? {
                let pieces = (row.line.quantity.thousandths() / 1000).max(1) as u32;
                let (role, remark) = (row.line.role, row.line.remark);
                sits.push(Sits { role, part: row.part_id, pieces, remark });
            }
        }
        for (role, number) in &asked.parts {
            sits.retain(|line| line.role != *role);
            let part = self.part_numbered(number)?;
            sits.push(Sits { role: role.clone(), part, pieces: 1, remark: String::new() });
        }
        for (role, measured) in &asked.fits {
            sits.retain(|line| line.role != *role);
            for candidate in self.fit(measured, FITTING)?.candidates {
                if candidate.probability < FITS {
                    continue;
                }
                let percent = candidate.probability * 100.0;
                let remark = format!("by its measures with {percent:.0} %: lay it on the old one");
                for number in std::iter::once(&candidate.number).chain(&candidate.also) {
                    let (part, remark) = (self.part_numbered(number)?, remark.clone());
                    sits.push(Sits { role: role.clone(), part, pieces: 1, remark });
                }
            }
        }
        Ok(sits)
    }

    /// Follows the crosses of what sits in the unit: what is the same, what replaced it, what may
    /// stand in for it (no further from there), and assemblies and kits that contain it.
    fn fitting(&self, sits: &[Sits]) -> Result<BTreeMap<u64, Fitting>, ShopError> {
        let mut all: BTreeMap<u64, Fitting> = BTreeMap::new();
        for line in sits {
            let mut open = vec![(line.part, line.remark.clone(), true)];
            let mut seen = BTreeSet::new();
            while let Some((id, remark, follow)) = open.pop() {
                if !seen.insert(id) {
                    continue;
                }
                let crosses = self.store.crosses_of(id)?;
                let into = |kind| {
                    move |line: &&binwright_store::CrossLine| {
                        line.cross.kind == kind && line.to_id == id
                    }
                };
                let fitting = all.entry(id).or_default();
                fitting.current = !crosses.iter().any(|c| into(CrossKind::Replaces)(&c));
                fitting.roles.insert(line.role.clone());
                if !remark.is_empty() && !fitting.remarks.contains(&remark) {
                    fitting.remarks.push(remark.clone());
                }
                if !follow {
                    continue;
                }
                for cross in &crosses {
                    let onward = match cross.cross.kind {
                        CrossKind::Same => true,
                        CrossKind::Replaces if cross.to_id == id => true,
                        CrossKind::StandsIn | CrossKind::Contains if cross.to_id == id => false,
                        _ => continue,
                    };
                    let other = if cross.to_id == id { cross.from_id } else { cross.to_id };
                    open.push((other, joined(&remark, &cross.cross.remark), onward));
                }
            }
        }
        Ok(all)
    }

    /// Every part in every condition that can fill a role that is needed, and the numbers of those
    /// that could but for their price.
    fn candidates(
        &self,
        needs: &[Need],
        sits: &[Sits],
        settings: &Quoting,
        own: &[Hold],
    ) -> Result<(Vec<Candidate>, Vec<String>), ShopError> {
        let (mut all, mut unpriced) = (Vec::new(), Vec::new());
        let suppliers = self.suppliers(self.today)?;
        for (id, fitting) in self.fitting(sits)? {
            let filled = needs.iter().filter(|need| fitting.roles.contains(&need.role));
            let Some(pieces) = filled.map(|need| need.pieces).max() else { continue };
            let part = self.part(id)?;
            let prices = self.store.prices(id)?;
            let on = |list: &str| prices.iter().find(|(name, _)| name == list).map(|p| p.1);
            let new = on(&settings.price_list);
            let share = settings.used_percent / Decimal::ONE_HUNDRED;
            let used = match on(&settings.used_price_list) {
                Some(price) => Some(price),
                None => new.map(|price| price.checked_mul(share)).transpose()?,
            };
            let stock = self.stock_but(id, &part.house, own)?;
            let free = |condition| {
                let lines = stock.iter().filter(|line| line.condition == condition);
                lines.fold(Quantity::ZERO, |sum, line| sum.saturating_add(line.free()))
            };
            let never = settings.never_used.contains(&part.kind);
            for (condition, price) in [(Condition::New, new), (Condition::UsedGood, used)] {
                let free = free(condition);
                let enough = free >= Quantity::from(pieces);
                let used = condition == Condition::UsedGood;
                if (used || !fitting.current) && !enough || used && never {
                    continue;
                }
                let Some(price) = price else {
                    unpriced.push(part.house.clone());
                    continue;
                };
                all.push(Candidate {
                    part: part.house.clone(),
                    words: part.description.clone(),
                    roles: fitting.roles.iter().cloned().collect(),
                    price,
                    condition: Some(condition),
                    free,
                    days: suppliers.least_days(self, id)?.unwrap_or(settings.order_days),
                    minutes: 0,
                    remark: (!fitting.remarks.is_empty()).then(|| fitting.remarks.join("; ")),
                });
            }
        }
        unpriced.dedup();
        Ok((all, unpriced))
    }

    fn whole_units(
        &self,
        sits: &[Sits],
        settings: &Quoting,
        own: &[Hold],
    ) -> Result<Vec<(&'static str, Yardstick, Candidate)>, ShopError> {
        let mut wholes = Vec::new();
        for (name, role, kind) in WHOLE {
            let of_role: Vec<Sits> = sits
                .iter()
                .filter(|line| line.role == role)
                .map(|line| Sits { role: line.role.clone(), remark: String::new(), ..*line })
                .collect();
            let need = [Need { role: role.to_owned(), pieces: 1, grade: Grade::Must }];
            let (found, _) = self.candidates(&need, &of_role, settings, own)?;
            let new = found.into_iter().filter(|c| c.condition == Some(Condition::New));
            let Some(candidate) = new.min_by_key(|candidate| candidate.price.minor) else {
                continue;
            };
            let here = candidate.free >= Quantity::ONE;
            let yardstick = Yardstick {
                kind,
                price: candidate.price,
                days: if here { 0 } else { candidate.days },
                minutes: settings.exchange_minutes,
            };
            wholes.push((name, yardstick, candidate));
        }
        Ok(wholes)
    }

    fn whole_option(
        &self,
        name: &str,
        yardstick: &Yardstick,
        candidate: Candidate,
        on: &On<'_>,
    ) -> Result<RepairOption, ShopError> {
        let cover = Cover {
            price: candidate.price,
            parts: candidate.price,
            minutes: 0,
            days: yardstick.days,
            replaces: Vec::new(),
            fills_as_well: Vec::new(),
            reasons: Vec::new(),
            takes: vec![Take { candidate: 0, pieces: 1 }],
        };
        let job = JobWork::change_over(on.settings.exchange_minutes);
        let whole = self.option(name.to_owned(), &cover, &[], &[candidate], &job, &[], on)?;
        Ok(RepairOption { reasons: vec![yardstick.kind.to_string()], ..whole })
    }

    fn deposit(&self, house: &str, settings: &Quoting) -> Result<Option<Money>, ShopError> {
        let prices = self.store.prices(self.part_numbered(house)?)?;
        let list = &settings.core_deposit_list;
        Ok(prices.into_iter().find(|(name, _)| name == list).map(|(_, price)| price))
    }

    #[allow(clippy::too_many_arguments, reason = "one call gathers what an option is made of")]
    fn option(
        &self,
        name: String,
        cover: &Cover,
        extras: &[Take],
        all: &[Candidate],
        job: &JobWork,
        advice: &[Advice],
        on: &On<'_>,
    ) -> Result<RepairOption, ShopError> {
        let taken = |takes: &[Take]| -> Result<Vec<Taken>, ShopError> {
            takes.iter().map(|take| self.taken(&all[take.candidate], take.pieces, on.own)).collect()
        };
        let (takes, extras) = (taken(&cover.takes)?, taken(extras)?);
        let mut wanted = Vec::new();
        for take in &takes {
            wanted.extend(self.lines_of(take, on.settings)?);
        }
        for take in &cover.takes {
            let candidate = &all[take.candidate];
            if candidate.minutes > 0 {
                let words = match candidate.condition {
                    Some(_) => format!("fit {}", candidate.part),
                    None => candidate.words.clone(),
                };
                wanted.push(Wanted::Labour { words, minutes: candidate.minutes });
            }
        }
        wanted.extend(job.lines.iter().cloned());
        Ok(RepairOption {
            name,
            extras,
            parts: cover.parts,
            total: Quote::priced(&wanted, on.terms)?.total,
            minutes: cover.minutes + job.minutes(),
            days: cover.days,
            replaces: cover.replaces.clone(),
            fills_as_well: cover.fills_as_well.clone(),
            reasons: cover.reasons.iter().map(ToString::to_string).collect(),
            advice: advice.iter().map(ToString::to_string).collect(),
            takes,
            wanted,
        })
    }

    /// The lines of a quote for `take`: the part, and the deposit that comes back with the old one.
    pub(crate) fn lines_of(
        &self,
        take: &Taken,
        settings: &Quoting,
    ) -> Result<Vec<Wanted>, ShopError> {
        let Some(condition) = take.condition else { return Ok(Vec::new()) };
        let quantity = Quantity::from(take.pieces);
        let mut lines = vec![Wanted::Goods {
            class: LineClass::Part,
            words: take.words.clone(),
            part: Some((take.part.clone(), condition)),
            quantity,
            each: take.each,
        }];
        if let Some(each) = self.deposit(&take.part, settings)? {
            lines.push(Wanted::Goods {
                class: LineClass::CoreDeposit,
                words: format!("deposit, back with the old part for {}", take.part),
                part: None,
                quantity,
                each,
            });
        }
        Ok(lines)
    }

    /// The stock of a part, what `own` promises of it counted as free.
    fn stock_but(&self, id: u64, house: &str, own: &[Hold]) -> Result<Vec<StockLine>, ShopError> {
        let mut stock = self.stock_here_first(id)?;
        for line in &mut stock {
            let ours = own.iter().filter(|hold| {
                hold.part == house && hold.bin == line.bin && hold.condition == line.condition
            });
            for hold in ours.filter(|hold| hold.until >= self.today) {
                line.held = line.held.checked_sub(hold.quantity).unwrap_or(line.held);
            }
        }
        Ok(stock)
    }

    /// `pieces` of `candidate`, out of as few bins as can be.
    fn taken(&self, candidate: &Candidate, pieces: u32, own: &[Hold]) -> Result<Taken, ShopError> {
        let wanted = Quantity::from(pieces);
        let mut from = Vec::new();
        if let Some(condition) = candidate.condition {
            let mut stock =
                self.stock_but(self.part_numbered(&candidate.part)?, &candidate.part, own)?;
            stock.retain(|line| line.condition == condition);
            from = out_of_bins(&stock, self.chain.here(), wanted);
        }
        let here: i64 = from.iter().map(|(_, quantity)| quantity.thousandths()).sum();
        let left = if candidate.condition.is_some() { wanted.thousandths() - here } else { 0 };
        Ok(Taken {
            part: candidate.part.clone(),
            words: candidate.words.clone(),
            condition: candidate.condition,
            pieces,
            each: candidate.price,
            roles: candidate.roles.clone(),
            from: from.into_iter().map(|(bin, quantity)| FromBin { bin, quantity }).collect(),
            to_order: Quantity::from_thousandths(left),
            remark: candidate.remark.clone(),
        })
    }
}

fn joined(a: &str, b: &str) -> String {
    match (a.is_empty(), b.is_empty()) {
        (true, _) => b.to_owned(),
        (_, true) => a.to_owned(),
        _ => format!("{a}; {b}"),
    }
}

/// The same candidates in the same places, used parts filling nothing.
fn new_only(all: &[Candidate]) -> Vec<Candidate> {
    let unused = |candidate: &Candidate| match candidate.condition {
        Some(Condition::UsedGood) => Candidate { roles: Vec::new(), ..candidate.clone() },
        _ => candidate.clone(),
    };
    all.iter().map(unused).collect()
}

/// Roles that must be filled, or may be: those called for, and those asked for whatever was read.
fn needs(table: &Table, calls: &Calls, asked: &OnBench, sits: &[Sits]) -> Vec<Need> {
    let mut needs: Vec<Need> = Vec::new();
    let mut add = |role: &str, pieces: u32, grade| {
        if !needs.iter().any(|need| need.role == role) {
            let in_bill = sits.iter().filter(|line| line.role == role).map(|line| line.pieces);
            let pieces = in_bill.max().unwrap_or(1).max(pieces);
            needs.push(Need { role: role.to_owned(), pieces, grade });
        }
    };
    for call in &calls.must {
        if call.ordered || reworked(table, call) {
            add(&call.role, call.pieces, Grade::Must);
        }
    }
    for role in &asked.with {
        let pieces = calls.while_in_there.iter().find(|call| call.role == *role);
        add(role, pieces.map_or(1, |call| call.pieces), Grade::Must);
    }
    for call in &calls.while_in_there {
        add(&call.role, call.pieces, Grade::WhileInThere);
    }
    needs
}
