//! At what stock is how much ordered, at the least cost on average? Exact for Poisson demand.
//!
//! Worked values: `tests/reference/inventory_policy_worked.csv`. Costs are plain numbers in one currency,
//! holding and shortage per unit and unit of time (or period).

use crate::levels::LeadDemand;

/// What stock and its lack cost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct StockCosts {
    /// Holding one unit for one unit of time.
    pub holding: f64,
    /// Being short of one unit for one unit of time.
    pub shortage: f64,
    /// One order, whatever its size.
    pub order: f64,
}

/// Two levels and the cost they lead to in one unit of time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Levels {
    /// Order when stock and what is on order have fallen to this.
    pub reorder_at: i64,
    /// Order up to this.
    pub up_to: i64,
    /// Cost in one unit of time.
    pub cost: f64,
}

impl StockCosts {
    /// Expected cost of starting a period with `stock` (what is owed is negative).
    fn of_stock(self, demand: &LeadDemand, stock: i64) -> f64 {
        let (level, owed) = (stock.max(0).unsigned_abs(), (-stock).max(0) as f64);
        let short = demand.expected_short(level) + owed;
        self.holding * (stock as f64 - demand.mean() + short) + self.shortage * short
    }

    /// The stock that costs least for one period, order costs aside: the least that lasts with chance
    /// `shortage / (shortage + holding)`. It is also the base stock over the lead time.
    pub fn base_stock(self, demand: &LeadDemand) -> Levels {
        let level = demand.level_for_cycle_service(self.shortage / (self.shortage + self.holding));
        let up_to = level as i64;
        Levels { reorder_at: up_to - 1, up_to, cost: self.of_stock(demand, up_to) }
    }

    /// Fixed quantity under continuous review of Poisson demand: `rate` units in one unit of time, `demand` that
    /// of the lead time. The quantity is `up_to - reorder_at`. Source: Federgruen and Zheng (1992), Oper. Res.
    /// 40(4), 808–813: the levels are taken in, cheapest first, while that lowers the mean cost.
    pub fn fixed_quantity(self, demand: &LeadDemand, rate: f64) -> Levels {
        let best = self.base_stock(demand).up_to;
        let (mut low, mut high) = (best, best); // the levels taken in
        let mut sum = self.order * rate + self.of_stock(demand, best);
        loop {
            let (below, above) = (self.of_stock(demand, low - 1), self.of_stock(demand, high + 1));
            let count = (high - low + 1) as f64;
            if below.min(above) >= sum / count {
                return Levels { reorder_at: low - 1, up_to: high, cost: sum / count };
            }
            sum += below.min(above);
            if below < above { low -= 1 } else { high += 1 }
        }
    }

    /// Order up to `up_to` whenever a review finds stock at `reorder_at` or below; `demand` is that of one
    /// period. Source: Zheng and Federgruen (1991), Oper. Res. 39(4), 654–665.
    pub fn min_max(self, demand: &LeadDemand) -> Levels {
        let best = self.base_stock(demand).up_to;
        let mut renewals = Renewals::of(demand);
        let cost = |renewals: &mut Renewals, at: i64, up_to: i64| {
            let span = (up_to - at) as usize;
            let held: f64 = (0..span)
                .map(|down| renewals.visits(down) * self.of_stock(demand, up_to - down as i64))
                .sum();
            (self.order + held) / (0..span).map(|down| renewals.visits(down)).sum::<f64>()
        };
        let mut at = best - 1;
        while cost(&mut renewals, at, best) > self.of_stock(demand, at) {
            at -= 1;
        }
        let mut chosen =
            Levels { reorder_at: at, up_to: best, cost: cost(&mut renewals, at, best) };
        let mut up_to = best + 1;
        while self.of_stock(demand, up_to) <= chosen.cost {
            let mut found = cost(&mut renewals, chosen.reorder_at, up_to);
            if found < chosen.cost {
                let mut at = chosen.reorder_at;
                while found <= self.of_stock(demand, at + 1) {
                    at += 1;
                    found = cost(&mut renewals, at, up_to);
                }
                chosen = Levels { reorder_at: at, up_to, cost: found };
            }
            up_to += 1;
        }
        chosen
    }
}

/// How often, on average, a period starts exactly so many units below the order-up-to level.
struct Renewals {
    chances: Vec<f64>,
    visits: Vec<f64>,
}

impl Renewals {
    fn of(demand: &LeadDemand) -> Self {
        let mut last = 0.0;
        let chances = demand
            .cumulative()
            .iter()
            .map(|&p| std::mem::replace(&mut last, p))
            .zip(demand.cumulative())
            .map(|(before, &p)| p - before)
            .collect::<Vec<_>>();
        Self { visits: vec![1.0 / (1.0 - chances[0])], chances }
    }

    fn visits(&mut self, down: usize) -> f64 {
        while self.visits.len() <= down {
            let at = self.visits.len();
            let reached: f64 = (1..=at)
                .map(|size| self.chances.get(size).unwrap_or(&0.0) * self.visits[at - size])
                .sum();
            self.visits.push(reached / (1.0 - self.chances[0]));
        }
        self.visits[down]
    }
}
