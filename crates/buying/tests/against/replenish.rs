//! Policies of a textbook (Snyder and Shen, 2nd edition) and a grid of Poisson cases, by stockpyl 1.0.2.
//!
//! Parts are counted, so normal demand stands for counts of the same mean and variance: levels come within a
//! piece, and no rule of thumb for normal demand costs less than the exact policy for counts.

use binwright_buying::{LeadDemand, replenish::StockCosts};

use crate::{close, rows};

#[test]
fn poisson_policies_are_those_of_the_textbook() {
    let mut tested = 0;
    for row in rows("inventory_policy_worked.csv") {
        let costs = StockCosts {
            holding: row.must("holding_cost_h"),
            shortage: row.must("stockout_cost_p"),
            order: row.number("fixed_cost_K").unwrap_or(0.0),
        };
        let mean = row.must("demand_mean");
        let (found, wanted) = match row.text("model") {
            "newsvendor_poisson" => {
                let levels = costs.base_stock(&LeadDemand::poisson(mean));
                (levels, (row.must("level_1") - 1.0, row.must("level_1")))
            }
            "rq_poisson_exact" => {
                let demand = LeadDemand::poisson(mean * row.must("lead_time"));
                let reorder_at = row.must("level_1");
                (
                    costs.fixed_quantity(&demand, mean),
                    (reorder_at, reorder_at + row.must("level_2")),
                )
            }
            "sS_poisson_exact" => {
                let levels = costs.min_max(&LeadDemand::poisson(mean));
                (levels, (row.must("level_1"), row.must("level_2")))
            }
            _ => continue,
        };
        let case = row.text("case");
        assert_eq!((found.reorder_at as f64, found.up_to as f64), wanted, "{case}");
        close(case, found.cost, row.must("cost"), 1e-9);
        tested += 1;
    }
    assert_eq!(tested, 27, "rows with Poisson demand");
}

/// Newsvendor and base stock: the level of normal demand, rounded up, or its neighbour.
#[test]
fn counts_of_like_mean_and_variance_ask_for_the_stock_of_normal_demand() {
    let mut tested = 0;
    for row in rows("inventory_policy_worked.csv") {
        if !["newsvendor_normal", "basestock_normal"].contains(&row.text("model")) {
            continue;
        }
        let costs = StockCosts {
            holding: row.must("holding_cost_h"),
            shortage: row.must("stockout_cost_p"),
            order: 0.0,
        };
        let (periods, sd) = (row.must("lead_time") + 1.0, row.must("demand_sd"));
        let mean = row.must("demand_mean");
        let demand = LeadDemand::negative_binomial(mean * periods, sd * sd / mean);
        let (found, wanted) = (costs.base_stock(&demand), row.must("level_1"));
        let case = row.text("case");
        assert!((found.up_to as f64 - wanted).abs() <= 1.5, "{case}: {} for {wanted}", found.up_to);
        assert!((found.cost / row.must("cost") - 1.0).abs() < 0.03, "{case}: {}", found.cost);
        tested += 1;
    }
    assert_eq!(tested, 3, "rows with normal demand and one level");
}

/// The textbook's three rules of thumb for (r, Q) under normal demand, against the exact policy for counts.
#[test]
fn no_rule_of_thumb_for_normal_demand_costs_less_than_the_exact_policy() {
    let mut tested = 0;
    for row in rows("inventory_policy_worked.csv") {
        if !row.text("model").starts_with("rq_normal") {
            continue;
        }
        let costs = StockCosts {
            holding: row.must("holding_cost_h"),
            shortage: row.must("stockout_cost_p"),
            order: row.must("fixed_cost_K"),
        };
        let (mean, sd, lead) =
            (row.must("demand_mean"), row.must("demand_sd"), row.must("lead_time"));
        let demand = LeadDemand::negative_binomial(mean * lead, sd * sd / mean);
        let found = costs.fixed_quantity(&demand, mean);
        let (what, thumb) =
            (format!("{} {}", row.text("case"), row.text("model")), row.must("cost"));
        // Counts scatter upward more than the normal curve does: three hundredths are allowed for that.
        assert!(found.cost <= 1.03 * thumb, "{what}: {} where {thumb} is had", found.cost);
        assert!(found.cost >= 0.9 * thumb, "{what}: {} where {thumb} is had", found.cost);
        tested += 1;
    }
    assert_eq!(tested, 9, "rows with normal demand and two levels");
}
