//! Which service is asked for, and how much stock does each part need for it?

use std::cmp::Ordering;
use std::collections::BinaryHeap;

use crate::{BuyingError, LeadDemand};

/// What the buyer wants of all the stock.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Target {
    /// Parts last, from order to next arrival, with this chance on average; none is short more than twice
    /// as likely. Stock is whole, so parts that last longer make up for those that last less.
    CycleService(f64),
    /// Every part serves this share of its demand at once.
    Fill(f64),
    /// All parts together serve this share of demand at once, for the least money: the next unit goes where
    /// the shortage saved per money is highest.
    Value(f64),
}

impl Target {
    /// The share that was asked for.
    pub fn share(self) -> f64 {
        match self {
            Self::CycleService(share) | Self::Fill(share) | Self::Value(share) => share,
        }
    }

    /// Checks that the share can be promised.
    ///
    /// # Errors
    ///
    /// [`BuyingError::NotAShare`] unless it lies between 0 and 1, both excluded.
    pub fn check(self) -> Result<(), BuyingError> {
        let found = self.share();
        if found > 0.0 && found < 1.0 {
            return Ok(());
        }
        Err(BuyingError::NotAShare { what: "service", found })
    }

    /// Returns the base stock of each part.
    pub fn levels(self, needs: &[Need<'_>]) -> Vec<u64> {
        match self {
            Self::CycleService(service) => on_average(needs, service),
            Self::Fill(fill) => needs
                .iter()
                .map(|need| need.demand.level_for_fill(1.0 - (1.0 - fill) * need.review_share))
                .collect(),
            Self::Value(fill) => by_value(needs, fill),
        }
    }
}

/// What the stock of one part is chosen by.
#[derive(Debug, Clone, Copy)]
pub struct Need<'a> {
    /// Demand over lead and review time.
    pub demand: &'a LeadDemand,
    /// What a unit costs, above zero, in any one currency; read by [`Target::Value`] alone.
    pub unit_cost: f64,
    /// The review time's share of lead and review time. What is short at their end was asked for, but for a
    /// rest we take for none, since the last arrival: in the review time, whose demand the fill is a share of.
    pub review_share: f64,
}

/// Something worth buying next.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Next {
    /// What it saves per money.
    pub(crate) worth: f64,
    /// The part.
    pub(crate) part: usize,
}

impl Ord for Next {
    fn cmp(&self, other: &Self) -> Ordering {
        // Of equals the first part, so that the same question gets the same answer.
        self.worth.total_cmp(&other.worth).then_with(|| other.part.cmp(&self.part))
    }
}

impl PartialOrd for Next {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Next {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Next {}

/// The least common chance at which parts last with chance `service` on average, and the stock it asks for.
fn on_average(needs: &[Need<'_>], service: f64) -> Vec<u64> {
    let levels_at = |chance: f64| -> Vec<u64> {
        needs.iter().map(|need| need.demand.level_for_cycle_service(chance)).collect()
    };
    let mean = |levels: &[u64]| {
        let lasts = needs.iter().zip(levels).map(|(need, &level)| need.demand.at_most(level));
        lasts.sum::<f64>() / needs.len() as f64
    };
    let (mut low, mut high) = ((2.0 * service - 1.0).max(0.0), service);
    let mut levels = levels_at(low);
    if mean(&levels) >= service {
        return levels;
    }
    levels = levels_at(high);
    // Twelve halvings tell the chance to a ten-thousandth.
    for _ in 0..12 {
        let between = f64::midpoint(low, high);
        let found = levels_at(between);
        if mean(&found) >= service {
            (levels, high) = (found, between);
        } else {
            low = between;
        }
    }
    levels
}

/// Adds units where the shortage saved per money is highest until `fill` of all demand is served. What a
/// unit saves falls from unit to unit of a part, so no other stock of the same money leaves less shortage.
/// Source: Fox (1966), Management Science 13(3), 210–216 (marginal allocation).
fn by_value(needs: &[Need<'_>], fill: f64) -> Vec<u64> {
    let next = |part: usize, level: u64| {
        let saved = 1.0 - needs[part].demand.at_most(level);
        Next { worth: saved / needs[part].unit_cost, part }
    };
    let mut levels = vec![0; needs.len()];
    let mut heap: BinaryHeap<Next> = (0..needs.len()).map(|part| next(part, 0)).collect();
    let mut short: f64 = needs.iter().map(|need| need.demand.mean()).sum();
    let asked: f64 = needs.iter().map(|need| need.demand.mean() * need.review_share).sum();
    while short > (1.0 - fill) * asked {
        let Some(Next { worth, part }) = heap.pop().filter(|next| next.worth > 0.0) else { break };
        let step = needs[part].demand.step();
        short -= worth * needs[part].unit_cost * step as f64;
        levels[part] += step;
        heap.push(next(part, levels[part]));
    }
    levels
}

#[cfg(test)]
mod tests {
    use super::*;

    /// All stocks of three parts up to nine each are tried: none costs as little and is as seldom short.
    #[test]
    fn no_other_stock_of_the_same_money_leaves_less_shortage() {
        let demands = [
            LeadDemand::poisson(0.4),
            LeadDemand::negative_binomial(1.5, 2.5),
            LeadDemand::negative_binomial(3.0, 1.4),
        ];
        let costs = [40.0, 7.0, 12.0];
        let money = |levels: &[u64]| -> f64 {
            levels.iter().zip(costs).map(|(&level, cost)| level as f64 * cost).sum()
        };
        let short = |levels: &[u64]| -> f64 {
            levels.iter().zip(&demands).map(|(&level, demand)| demand.expected_short(level)).sum()
        };
        let needs = [0, 1, 2].map(|part| Need {
            demand: &demands[part],
            unit_cost: costs[part],
            review_share: 1.0,
        });
        for fill in [0.3, 0.6, 0.8, 0.9, 0.95] {
            let chosen = Target::Value(fill).levels(&needs);
            assert!(1.0 - short(&chosen) / 4.9 >= fill);
            for other in (0..1000).map(|n| [n / 100, n / 10 % 10, n % 10]) {
                let cheaper = money(&other) <= money(&chosen);
                assert!(
                    !cheaper || short(&other) >= short(&chosen) - 1e-9,
                    "{other:?} beats {chosen:?}"
                );
            }
        }
    }

    /// By hand: ten parts that sell once in fifty times last 98 times of 100 with an empty shelf. They make up for
    /// one that alone would get a third piece.
    #[test]
    fn parts_that_last_longer_make_up_for_others_but_none_is_short_twice_as_often() {
        let (slow, fast) = (LeadDemand::poisson(0.02), LeadDemand::poisson(1.0));
        let need = |demand| Need { demand, unit_cost: 1.0, review_share: 1.0 };
        let mut needs = vec![need(&fast)];
        let alone = Target::CycleService(0.95).levels(&needs);
        assert_eq!(alone, [fast.level_for_cycle_service(0.95)]);
        needs.extend((0..10).map(|_| need(&slow)));
        let together = Target::CycleService(0.95).levels(&needs);
        assert!(together[0] < alone[0] && fast.at_most(together[0]) >= 0.9, "{together:?}");
        let lasts: f64 = needs.iter().zip(&together).map(|(n, &s)| n.demand.at_most(s)).sum();
        assert!(lasts / 11.0 >= 0.95, "{together:?}");
    }

    #[test]
    fn a_share_that_cannot_be_promised_is_refused() {
        for share in [0.0, 1.0, 95.0, f64::NAN] {
            assert!(Target::Fill(share).check().is_err(), "{share}");
        }
        assert!(Target::Value(0.95).check().is_ok());
    }
}
