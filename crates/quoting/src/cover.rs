//! Which sets of stocked parts and rework answer all that the findings call for?

use binwright_catalog::{Condition, Currency, Money, Quantity, money::MoneyError};
use rust_decimal::Decimal;

use crate::{
    QuotingError,
    pareto::{Choice, unbeaten},
    quote::labour,
};

/// How strongly a role is called for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Grade {
    /// The unit does not work without.
    Must,
    /// Worth doing while the unit is open.
    WhileInThere,
    /// To be looked at.
    LookAt,
}

/// A role that is called for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Need {
    /// The role in the unit's bill.
    pub role: String,
    /// How many pieces.
    pub pieces: u32,
    /// How strongly.
    pub grade: Grade,
}

/// A part, or work on the old part, that can fill one or several roles.
///
/// Work fills a role only where the findings allow it: the caller leaves it out otherwise.
#[derive(Debug, Clone, PartialEq)]
pub struct Candidate {
    /// House number of the part; empty for work on the old one.
    pub part: String,
    /// What a person reads.
    pub words: String,
    /// Roles it fills.
    pub roles: Vec<String>,
    /// Selling price of a piece.
    pub price: Money,
    /// In what condition; `None` for work on the old part.
    pub condition: Option<Condition>,
    /// Pieces that are free in the bins.
    pub free: Quantity,
    /// Days until it is here when too few are free.
    pub days: u32,
    /// Bench minutes to fit it, or to do the work.
    pub minutes: u32,
    /// What must be done to it or said of it before it fits.
    pub remark: Option<String>,
}

/// A candidate with the pieces a cover takes of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Take {
    /// Place of the candidate.
    pub candidate: usize,
    /// How many pieces.
    pub pieces: u32,
}

/// One repair option.
#[derive(Debug, Clone, PartialEq)]
pub struct Cover {
    /// What it takes.
    pub takes: Vec<Take>,
    /// Parts and labour at the hourly rate, before the minimum charge, consumables and tax.
    pub price: Money,
    /// The parts of that alone.
    pub parts: Money,
    /// Bench minutes.
    pub minutes: u32,
    /// Days until all of it is here.
    pub days: u32,
    /// Roles of the unit that get another part; the rest is kept.
    pub replaces: Vec<String>,
    /// Roles worth doing while in there that it fills as well.
    pub fills_as_well: Vec<String>,
    /// Why it is offered, at least one reason.
    pub reasons: Vec<Reason>,
}

/// Why a cover is offered.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reason {
    /// None costs less.
    LowestPrice,
    /// None is ready sooner.
    SoonestReady,
    /// None keeps more of the unit's own parts, and some keep fewer.
    KeepsMost,
    /// It is done without any part.
    NoPart,
    /// Dearer than the cheapest, but sooner or keeping more.
    Between {
        /// How much dearer.
        dearer: Money,
        /// How many days sooner than the cheapest.
        days_sooner: u32,
        /// How many more parts it keeps than the cheapest.
        more_kept: usize,
    },
}

impl std::fmt::Display for Reason {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            Self::LowestPrice => f.write_str("lowest price"),
            Self::SoonestReady => f.write_str("ready soonest"),
            Self::KeepsMost => f.write_str("keeps most of the unit's own parts"),
            Self::NoPart => f.write_str("needs no part"),
            Self::Between { dearer, days_sooner, more_kept } => {
                write!(f, "{dearer} dearer than the cheapest, but")?;
                match (days_sooner, more_kept) {
                    (0, kept) => write!(f, " keeps {kept} more of its own parts"),
                    (days, 0) => write!(f, " ready {days} days sooner"),
                    (days, kept) => write!(f, " ready {days} days sooner and keeps {kept} more"),
                }
            }
        }
    }
}

/// All repair options of a job.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Covers {
    /// Covers not beaten by another in price, days and parts kept; cheapest first.
    pub covers: Vec<Cover>,
    /// Roles that must be filled and that no candidate fills; the covers answer the others.
    pub missing: Vec<String>,
}

const MOST_ROLES: usize = 64;

/// Returns every cover that no other beats in price, days to ready and parts kept.
///
/// Only needs of grade [`Grade::Must`] have to be filled. A cover's days are those of its slowest
/// part, none when all pieces are free. Work on the old part replaces nothing.
///
/// # Errors
///
/// [`QuotingError`] when prices are of two currencies, below nought or too large, or when more than 64
/// roles are in play.
pub fn covers(
    needs: &[Need],
    candidates: &[Candidate],
    labour_hour: Money,
) -> Result<Covers, QuotingError> {
    let musts: Vec<&Need> = needs.iter().filter(|need| need.grade == Grade::Must).collect();
    let fills = |need: &Need| candidates.iter().any(|c| c.roles.contains(&need.role));
    let missing = musts.iter().filter(|need| !fills(need)).map(|need| need.role.clone()).collect();
    let mut table = Roles { names: Vec::new() };
    let mut needed = 0;
    for need in musts.iter().filter(|need| fills(need)) {
        needed |= table.bit(&need.role)?;
    }
    let mut places = Vec::new();
    let mut choices = Vec::new();
    for (place, candidate) in candidates.iter().enumerate() {
        let Some(pieces) = pieces_of(candidate, &musts) else { continue };
        choices.push(choice(candidate, pieces, labour_hour, &mut table)?);
        places.push((place, pieces));
    }
    let mut covers = Vec::new();
    for set in unbeaten(needed, &choices) {
        let taken = set.chosen.iter().map(|at| places[*at]);
        let takes: Vec<Take> =
            taken.map(|(candidate, pieces)| Take { candidate, pieces }).collect();
        if takes.is_empty() {
            continue;
        }
        let used = || takes.iter().map(|take| (&candidates[take.candidate], take.pieces));
        let mut parts = Money::zero(labour_hour.currency);
        for (candidate, pieces) in used() {
            parts = parts.checked_add(candidate.price.checked_mul(Decimal::from(pieces))?)?;
        }
        let as_well = |need: &&Need| {
            need.grade == Grade::WhileInThere && used().any(|(c, _)| c.roles.contains(&need.role))
        };
        covers.push(Cover {
            price: minor(set.cost, labour_hour.currency)?,
            parts,
            minutes: used().map(|(candidate, _)| candidate.minutes).sum(),
            days: set.days,
            replaces: table.names_of(set.replaces),
            fills_as_well: needs.iter().filter(as_well).map(|need| need.role.clone()).collect(),
            reasons: Vec::new(),
            takes,
        });
    }
    give_reasons(&mut covers);
    Ok(Covers { covers, missing })
}

/// Returns the candidate that fills each role worth doing while in there best: ready soonest, then
/// cheapest; nothing for roles the cover fills or nobody can.
pub fn extras(needs: &[Need], candidates: &[Candidate], cover: &Cover) -> Vec<Take> {
    let open = |need: &&Need| {
        need.grade == Grade::WhileInThere
            && !cover.fills_as_well.contains(&need.role)
            && !cover.replaces.contains(&need.role)
    };
    let best = |need: &Need| {
        let fits = |(_, c): &(usize, &Candidate)| c.roles == [need.role.as_str()];
        let all = candidates.iter().enumerate().filter(fits);
        let best = all.min_by_key(|(_, c)| (days_of(c, need.pieces), c.price.minor))?;
        Some(Take { candidate: best.0, pieces: need.pieces })
    };
    needs.iter().filter(open).filter_map(best).collect()
}

/// The most pieces any of the roles needs, or nothing when it fills none of them.
fn pieces_of(candidate: &Candidate, musts: &[&Need]) -> Option<u32> {
    let filled = musts.iter().filter(|need| candidate.roles.contains(&need.role));
    filled.map(|need| need.pieces.max(1)).max()
}

fn days_of(candidate: &Candidate, pieces: u32) -> u32 {
    let enough = candidate.free >= Quantity::from(pieces);
    if enough || candidate.condition.is_none() { 0 } else { candidate.days }
}

fn choice(
    candidate: &Candidate,
    pieces: u32,
    labour_hour: Money,
    roles: &mut Roles,
) -> Result<Choice, QuotingError> {
    if candidate.price.minor < 0 {
        return Err(QuotingError::BelowNought { part: candidate.part.clone() });
    }
    let labour = labour(labour_hour, candidate.minutes)?;
    let price = candidate.price.checked_mul(Decimal::from(pieces))?.checked_add(labour)?;
    let mut fills = 0;
    for role in &candidate.roles {
        fills |= roles.bit(role)?;
    }
    let replaces = if candidate.condition.is_some() { fills } else { 0 };
    let cost = i128::from(price.minor);
    Ok(Choice { fills, replaces, cost, days: days_of(candidate, pieces) })
}

fn minor(cost: i128, currency: Currency) -> Result<Money, MoneyError> {
    let minor = i64::try_from(cost).map_err(|_| MoneyError::TooLarge)?;
    Ok(Money { minor, currency })
}

/// Names of roles as bits, in the order they were met.
struct Roles {
    names: Vec<String>,
}

impl Roles {
    fn bit(&mut self, role: &str) -> Result<u64, QuotingError> {
        let at = self.names.iter().position(|name| name == role).unwrap_or_else(|| {
            self.names.push(role.to_owned());
            self.names.len() - 1
        });
        if at >= MOST_ROLES {
            return Err(QuotingError::TooManyRoles { most: MOST_ROLES });
        }
        Ok(1 << at)
    }

    fn names_of(&self, bits: u64) -> Vec<String> {
        let all = self.names.iter().enumerate();
        all.filter(|(at, _)| bits & (1 << at) != 0).map(|(_, name)| name.clone()).collect()
    }
}

/// Covers come cheapest first.
fn give_reasons(covers: &mut [Cover]) {
    let Some(cheapest) = covers.first().cloned() else { return };
    let soonest = covers.iter().map(|cover| cover.days).min();
    let fewest = covers.iter().map(|cover| cover.replaces.len()).min();
    let most = covers.iter().map(|cover| cover.replaces.len()).max();
    for cover in covers {
        let truths = [
            (cover.price == cheapest.price, Reason::LowestPrice),
            (Some(cover.days) == soonest, Reason::SoonestReady),
            (Some(cover.replaces.len()) == fewest && fewest != most, Reason::KeepsMost),
            (cover.replaces.is_empty(), Reason::NoPart),
        ];
        cover.reasons =
            truths.into_iter().filter(|(is, _)| *is).map(|(_, reason)| reason).collect();
        if cover.reasons.is_empty() {
            cover.reasons.push(Reason::Between {
                dearer: Money { minor: cover.price.minor - cheapest.price.minor, ..cover.price },
                days_sooner: cheapest.days.saturating_sub(cover.days),
                more_kept: cheapest.replaces.len().saturating_sub(cover.replaces.len()),
            });
        }
    }
}
