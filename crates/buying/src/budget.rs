//! The money does not reach for everything: what is bought?

use std::collections::BinaryHeap;

use crate::advise::{Worked, cost};
use crate::economic::in_packs;
use crate::policy::Next;

/// An order that would be placed if money were no matter.
pub(crate) struct Wanted<'a> {
    pub(crate) worked: &'a Worked<'a>,
    pub(crate) part: usize,
    pub(crate) order: u64,
}

/// Returns the orders that had to be cut, and to what, so that all together cost no more than `money`
/// (minor units). Money goes, pack by pack, where it saves most shortage. What has no price is not cut.
pub(crate) fn share_out(wanted: &[Wanted<'_>], money: i64) -> Vec<(usize, u64)> {
    let priced = |order: &Wanted<'_>, pieces: u64| {
        if pieces == 0 { Some(0) } else { cost(order.worked.item, pieces).map(|cost| cost.minor) }
    };
    let mut left = money;
    let mut given: Vec<u64> = vec![0; wanted.len()];
    let more = |nth: usize, given: u64| {
        let (order, supply) = (&wanted[nth], &wanted[nth].worked.item.supply);
        let least = if given == 0 { in_packs(1, supply.pack, supply.minimum) } else { given + 1 };
        let next = in_packs(least, supply.pack, 0).min(order.order);
        let cost = priced(order, next)? - priced(order, given)?;
        let saved = order.worked.short_with(given) - order.worked.short_with(next);
        // A price break can make the larger order the cheaper one: take it at once.
        let worth = if cost <= 0 { f64::INFINITY } else { saved / cost as f64 };
        (next > given).then_some((Next { worth, part: nth }, next, cost))
    };
    let mut heap: BinaryHeap<Next> =
        (0..wanted.len()).filter_map(|nth| more(nth, 0)).map(|(next, ..)| next).collect();
    while let Some(Next { part: nth, .. }) = heap.pop() {
        let Some((_, next, cost)) = more(nth, given[nth]).filter(|&(.., cost)| cost <= left) else {
            continue;
        };
        left -= cost;
        given[nth] = next;
        heap.extend(more(nth, next).map(|(next, ..)| next));
    }
    wanted
        .iter()
        .zip(given)
        .filter(|&(order, given)| given < order.order && priced(order, order.order).is_some())
        .map(|(order, given)| (order.part, given))
        .collect()
}

impl Worked<'_> {
    /// Expected shortage over lead and review time with so many ordered.
    fn short_with(&self, ordered: u64) -> f64 {
        let position = self.stock.free.thousandths() + self.stock.on_order.thousandths();
        let pieces = position as f64 / 1000.0 + ordered as f64;
        self.demand.expected_short(pieces.max(0.0) as u64) - pieces.min(0.0)
    }
}
