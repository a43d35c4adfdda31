//! How many pieces are worth ordering at a time, in theory and in packs?
//!
//! Costs are plain numbers in one currency; rates are per any one unit of time, the same throughout.
//! Worked values: `tests/reference/eoq_worked.csv`, `quantity_discount_worked.csv`.

/// What ordering and holding one part costs.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OrderCosts {
    /// Cost of one order, whatever its size.
    pub order: f64,
    /// Cost of holding one unit for one unit of time.
    pub holding: f64,
    /// Units wanted in one unit of time.
    pub demand: f64,
}

/// How much to order, and what ordering and holding then cost in one unit of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lot {
    /// Units in an order.
    pub quantity: f64,
    /// Cost in one unit of time; see the function for whether the goods are in it.
    pub cost: f64,
}

impl OrderCosts {
    /// The economic order quantity `sqrt(2 K d / h)`, cost without the goods. Source: Harris (1913).
    pub fn lot(self) -> Lot {
        let quantity = (2.0 * self.order * self.demand / self.holding).sqrt();
        Lot { quantity, cost: self.holding * quantity }
    }

    /// The same when shortages may be planned: owed units cost `owing` each in one unit of time. Returns the
    /// lot and the share of demand that is owed. Source: Snyder and Shen, 2nd edition, section 3.5.
    pub fn lot_with_owing(self, owing: f64) -> (Lot, f64) {
        let plain = self.lot();
        let stretch = ((self.holding + owing) / owing).sqrt();
        let lot = Lot { quantity: plain.quantity * stretch, cost: plain.cost / stretch };
        (lot, self.holding / (self.holding + owing))
    }

    /// The same when the lot arrives as it is made, `production` units in one unit of time (more than demand).
    /// Source: Snyder and Shen, 2nd edition, section 3.6.
    pub fn lot_while_made(self, production: f64) -> Lot {
        Self { holding: self.holding * (1.0 - self.demand / production), ..self }.lot()
    }
}

/// From how many pieces on does a piece cost how much? The first break starts at 0 or 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Break {
    /// The least quantity that gets this price.
    pub from: f64,
    /// Cost of one unit.
    pub unit_cost: f64,
}

/// Returns the lot and the break it is bought at when the price of the quantity holds for all of it; holding
/// costs `holding_rate` of the unit cost, the goods are in the cost. `None` without breaks.
/// Source: Snyder and Shen, 2nd edition, section 3.4.
pub fn lot_all_units(
    order: f64,
    holding_rate: f64,
    demand: f64,
    breaks: &[Break],
) -> Option<(Lot, usize)> {
    cheapest(breaks.iter().enumerate().filter_map(|(at, step)| {
        let costs = OrderCosts { order, holding: holding_rate * step.unit_cost, demand };
        let quantity = costs.lot().quantity.max(step.from);
        // A larger lot belongs to the next, cheaper break, which is weighed itself.
        (quantity < end_of(breaks, at)).then(|| {
            let cost =
                demand * (step.unit_cost + order / quantity) + costs.holding * quantity / 2.0;
            (Lot { quantity, cost }, at)
        })
    }))
}

/// The same when each price holds only for the units above its break.
/// Source: Snyder and Shen, 2nd edition, section 3.4.
pub fn lot_incremental(
    order: f64,
    holding_rate: f64,
    demand: f64,
    breaks: &[Break],
) -> Option<(Lot, usize)> {
    let mut paid_more = 0.0; // what the units below the break cost over this price
    let mut last_cost = None;
    cheapest(breaks.iter().enumerate().filter_map(|(at, step)| {
        paid_more += last_cost.map_or(0.0, |last: f64| step.from * (last - step.unit_cost));
        last_cost = Some(step.unit_cost);
        let holding = holding_rate * step.unit_cost;
        let lot = OrderCosts { order: order + paid_more, holding, demand }.lot();
        let inside = (step.from..end_of(breaks, at)).contains(&lot.quantity);
        let goods = demand * step.unit_cost + holding_rate * paid_more / 2.0;
        inside.then_some((Lot { cost: lot.cost + goods, ..lot }, at))
    }))
}

fn end_of(breaks: &[Break], at: usize) -> f64 {
    breaks.get(at + 1).map_or(f64::INFINITY, |next| next.from)
}

fn cheapest(lots: impl Iterator<Item = (Lot, usize)>) -> Option<(Lot, usize)> {
    lots.min_by(|(a, _), (b, _)| a.cost.total_cmp(&b.cost))
}

/// Returns the least orderable quantity that is at least `wanted`: whole packs, and no less than `minimum`.
/// Nothing wanted is nothing ordered. A pack of 0 counts as 1.
pub fn in_packs(wanted: u64, pack: u32, minimum: u32) -> u64 {
    if wanted == 0 { 0 } else { wanted.max(minimum.into()).next_multiple_of(pack.max(1).into()) }
}

#[cfg(test)]
mod tests {
    use super::in_packs;

    #[test]
    fn orders_come_in_packs_and_above_the_minimum() {
        let rows = [
            ("nothing wanted", 0, 10, 20, 0),
            ("a pack begun is a pack bought", 1, 10, 0, 10),
            ("exact packs stay", 20, 10, 0, 20),
            ("the minimum in packs", 1, 6, 10, 12),
            ("a missing pack is one", 3, 0, 0, 3),
        ];
        for (shows, wanted, pack, minimum, ordered) in rows {
            assert_eq!(in_packs(wanted, pack, minimum), ordered, "{shows}");
        }
    }
}
