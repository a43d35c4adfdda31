//! Policies of a textbook (Snyder and Shen, 2nd edition) and a grid of Poisson cases, by stockpyl 1.0.2.
//!
//! The rows with normal demand are not ours to answer: parts are counted.

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
