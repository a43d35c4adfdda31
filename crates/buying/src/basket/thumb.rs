//! Which basket does a buyer find without a solver? Every line where it costs least, orders filled up
//! where that pays, suppliers dropped one by one while that pays.

use super::pick::Table;

impl Table {
    /// Returns one choice a line; never below an order's minimum, often the cheapest, but without
    /// proof.
    pub fn by_rule_of_thumb(&self) -> Vec<usize> {
        let mut open = vec![true; self.supplies.len()];
        let mut best = self.settled(open.clone());
        let mut least = self.cost(&best);
        loop {
            let one_fewer = (0..open.len()).filter(|&at| open[at]).map(|closed| {
                let fewer: Vec<bool> = (0..open.len()).map(|at| open[at] && at != closed).collect();
                let picked = self.settled(fewer.clone());
                (self.cost(&picked), fewer, picked)
            });
            let Some(next) = one_fewer.min_by_key(|(cost, ..)| *cost).filter(|n| n.0 < least)
            else {
                return best;
            };
            (least, open, best) = next;
        }
    }

    /// Every line where it costs least among the suppliers that are `open`. Those whose minimum is
    /// not reached even when filled up are closed, and the lines settled anew.
    fn settled(&self, mut open: Vec<bool>) -> Vec<usize> {
        let lines = 0..self.choices.len();
        let mut picked: Vec<usize> = lines.map(|line| self.cheapest(line, &open)).collect();
        for (at, goods) in self.goods(&picked).into_iter().enumerate() {
            let (supply, Some(goods)) = (self.supplies[at], goods) else { continue };
            if goods < supply.minimum {
                let Some((filled, _)) = self.filled_up(&picked, at, supply.minimum) else {
                    open[at] = false;
                    return self.settled(open);
                };
                picked = filled;
            }
            if let Some(from) = supply.free_from.filter(|&from| goods < from)
                && let Some((filled, dearer)) = self.filled_up(&picked, at, from)
                && dearer < supply.freight
            {
                picked = filled;
            }
        }
        picked
    }

    fn cheapest(&self, line: usize, open: &[bool]) -> usize {
        let of_line = self.choices[line].iter().enumerate();
        let can = of_line.filter(|(_, choice)| choice.supplier().is_none_or(|at| open[at]));
        can.min_by_key(|(_, choice)| choice.net).map_or(0, |(at, _)| at)
    }

    /// `picked` with more of its lines bought at `supplier` until the goods there come to `target`,
    /// each time what costs least for what it adds; and how much dearer that is.
    fn filled_up(
        &self,
        picked: &[usize],
        supplier: usize,
        target: i64,
    ) -> Option<(Vec<usize>, i64)> {
        let mut picked = picked.to_vec();
        let mut goods = self.goods(&picked)[supplier]?;
        let mut dearer = 0;
        while goods < target {
            let mut best: Option<(f64, usize, usize)> = None;
            for (line, of_line) in self.choices.iter().enumerate() {
                let now = &of_line[picked[line]];
                for (at, more) in of_line.iter().enumerate() {
                    let adds = (more.goods() - now.goods()).min(target - goods);
                    let here = [now, more].iter().all(|c| c.supplier() == Some(supplier));
                    let costs = (more.net - now.net) as f64 / adds as f64;
                    if here && adds > 0 && best.is_none_or(|(least, ..)| costs < least) {
                        best = Some((costs, line, at));
                    }
                }
            }
            let (_, line, at) = best?;
            let (now, more) = (&self.choices[line][picked[line]], &self.choices[line][at]);
            goods += more.goods() - now.goods();
            dearer += more.net - now.net;
            picked[line] = at;
        }
        Some((picked, dearer))
    }
}
