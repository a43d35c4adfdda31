//! Which choice of each line makes the cheapest basket? A model for the solver, and a rule of thumb.

use std::collections::BTreeMap;

use good_lp::{Constraint, Expression, ProblemVariables, Variable, variable};

use super::Limits;
use super::choice::Choice;
use super::solver::{self, Searched};

/// Terms of a supplier: goods in minor units of its own currency, freight in the shop's.
#[derive(Debug, Clone, Copy)]
pub(super) struct Supply {
    pub minimum: i64,
    pub free_from: Option<i64>,
    pub freight: i64,
}

impl Supply {
    fn comes_free(&self, goods: i64) -> bool {
        self.free_from.is_some_and(|from| goods >= from)
    }
}

/// Who sells on what terms, and what can be done with every line.
#[derive(Debug)]
pub(super) struct Table {
    pub supplies: Vec<Supply>,
    pub choices: Vec<Vec<Choice>>,
}

impl Choice {
    pub fn supplier(&self) -> Option<usize> {
        self.buy.as_ref().map(|buy| buy.supplier)
    }

    /// Goods at the supplier, minor units of its currency.
    pub fn goods(&self) -> i64 {
        self.buy.as_ref().map_or(0, |buy| buy.bought.amount.minor)
    }
}

impl Table {
    /// What one choice a line costs with freight; `i128::MAX` when an order is below its minimum.
    pub fn cost(&self, picked: &[usize]) -> i128 {
        let nets = self.choices.iter().zip(picked).map(|(of_line, &at)| of_line[at].net);
        let mut cost: i128 = nets.map(i128::from).sum();
        for (supply, goods) in self.supplies.iter().zip(self.goods(picked)) {
            match goods {
                Some(goods) if goods < supply.minimum => return i128::MAX,
                Some(goods) if !supply.comes_free(goods) => cost += i128::from(supply.freight),
                _ => {}
            }
        }
        cost
    }

    /// The goods at every supplier; `None` where nothing is ordered.
    pub fn goods(&self, picked: &[usize]) -> Vec<Option<i64>> {
        let mut goods = vec![None; self.supplies.len()];
        for (of_line, &at) in self.choices.iter().zip(picked) {
            if let Some(supplier) = of_line[at].supplier() {
                *goods[supplier].get_or_insert(0_i64) += of_line[at].goods();
            }
        }
        goods
    }

    /// Looks for the cheapest basket from `start` on. Returns it with the most by which another could
    /// cost less, in minor units; `None` in that place when the search ended before it knew, `None`
    /// altogether when it failed.
    pub fn by_search(&self, start: &[usize], limits: Limits) -> Option<(Vec<usize>, Option<i64>)> {
        let mut variables = ProblemVariables::new();
        let picks: Vec<Vec<Variable>> = self
            .choices
            .iter()
            .map(|of_line| variables.add_vector(variable().binary(), of_line.len()))
            .collect();
        let ordered = variables.add_vector(variable().binary(), self.supplies.len());
        let free = variables.add_vector(variable().binary(), self.supplies.len());
        let model = variables.minimise(self.cost_of(&picks, &ordered, &free));
        let rules = self.rules(&picks, &ordered, &free);
        let added = picks.iter().flatten().chain(&ordered).chain(&free).copied();
        let start: Vec<(Variable, f64)> = added.zip(self.values(start)).collect();
        let Searched { values, short } = solver::search(model, rules, &start, limits)?;
        let mut values = values.into_iter();
        let picked = picks.iter().map(|picks| {
            let set: Vec<f64> = values.by_ref().take(picks.len()).collect();
            set.iter().position(|&value| value > 0.5)
        });
        let picked = picked.collect::<Option<Vec<_>>>()?;
        Some((picked, short.map(|short| short.ceil() as i64)))
    }

    fn cost_of(
        &self,
        picks: &[Vec<Variable>],
        ordered: &[Variable],
        free: &[Variable],
    ) -> Expression {
        let mut cost = Expression::with_capacity(picks.iter().map(Vec::len).sum());
        for (choice, &pick) in self.choices.iter().flatten().zip(picks.iter().flatten()) {
            cost.add_mul(choice.net as f64, pick);
        }
        for (supply, (&ordered, &free)) in self.supplies.iter().zip(ordered.iter().zip(free)) {
            cost.add_mul(supply.freight as f64, ordered);
            cost.add_mul(-(supply.freight as f64), free);
        }
        cost
    }

    /// One choice a line; no line at a supplier without an order; an order reaches its minimum, and
    /// comes free of freight only when it reaches that, too.
    fn rules(
        &self,
        picks: &[Vec<Variable>],
        ordered: &[Variable],
        free: &[Variable],
    ) -> Vec<Constraint> {
        let mut rules = Vec::new();
        let mut goods = vec![Expression::default(); self.supplies.len()];
        for (of_line, picks) in self.choices.iter().zip(picks) {
            rules.push(picks.iter().sum::<Expression>().eq(1));
            let mut at = BTreeMap::<usize, Expression>::new();
            for (choice, &pick) in of_line.iter().zip(picks) {
                if let Some(supplier) = choice.supplier() {
                    *at.entry(supplier).or_default() += pick;
                    goods[supplier].add_mul(choice.goods() as f64, pick);
                }
            }
            rules.extend(at.into_iter().map(|(supplier, at)| at.leq(ordered[supplier])));
        }
        for (at, (supply, goods)) in self.supplies.iter().zip(goods).enumerate() {
            rules.push(goods.clone().geq(supply.minimum as f64 * ordered[at]));
            match supply.free_from {
                Some(from) => {
                    rules.push(goods.geq(from as f64 * free[at]));
                    rules.push((free[at] - ordered[at]).leq(0));
                }
                None => rules.push(Expression::from(free[at]).leq(0)),
            }
        }
        rules
    }

    /// What `picked` sets the variables to: those of the lines, then of orders, then of freight that is free.
    fn values(&self, picked: &[usize]) -> Vec<f64> {
        let goods = self.goods(picked);
        let choices = self.choices.iter().zip(picked);
        let lines =
            choices.flat_map(|(of_line, &picked)| (0..of_line.len()).map(move |at| at == picked));
        let ordered = goods.iter().map(Option::is_some);
        let free = self.supplies.iter().zip(&goods);
        let free = free.map(|(supply, goods)| goods.is_some_and(|goods| supply.comes_free(goods)));
        lines.chain(ordered).chain(free).map(f64::from).collect()
    }
}
