//! Order quantities of textbooks (Snyder and Shen; Hillier and Lieberman) and seeded cases, by stockpyl
//! 1.0.2; every discount row was re-checked by direct evaluation.

use binwright_buying::economic::{Break, OrderCosts, lot_all_units, lot_incremental};

use crate::{close, rows};

#[test]
fn order_quantities_are_those_of_the_textbooks() {
    let rows = rows("eoq_worked.csv");
    assert_eq!(rows.len(), 15);
    for row in &rows {
        let case = row.text("case");
        let costs = OrderCosts {
            order: row.must("fixed_cost_K"),
            holding: row.must("holding_cost_h"),
            demand: row.must("demand_rate"),
        };
        let lot = match row.text("model") {
            "eoq" => costs.lot(),
            "epq" => costs.lot_while_made(row.must("production_rate")),
            "eoq_backorders" => {
                let (lot, owed) = costs.lot_with_owing(row.must("stockout_cost_p"));
                close(case, owed, row.must("stockout_fraction_x"), 1e-12);
                lot
            }
            model => panic!("{model} is not tested"),
        };
        close(case, lot.quantity, row.must("order_quantity_Q"), 1e-12);
        close(case, lot.cost, row.must("cost_per_unit_time"), 1e-12);
    }
}

#[test]
fn price_breaks_are_taken_where_the_textbooks_take_them() {
    let rows = rows("quantity_discount_worked.csv");
    assert_eq!(rows.len(), 16);
    for row in &rows {
        let (from, unit_costs) = (row.numbers("breakpoints"), row.numbers("unit_costs"));
        let breaks: Vec<Break> = from
            .iter()
            .zip(unit_costs)
            .map(|(&from, unit_cost)| Break { from, unit_cost })
            .collect();
        let buy = if row.text("kind") == "all_units" { lot_all_units } else { lot_incremental };
        let (lot, at) = buy(
            row.must("fixed_cost_K"),
            row.must("holding_rate_i"),
            row.must("demand_rate"),
            &breaks,
        )
        .expect("there are breaks");
        let case = row.text("case");
        close(case, lot.quantity, row.must("order_quantity_Q"), 1e-12);
        close(case, lot.cost, row.must("cost_per_unit_time"), 1e-12);
        assert_eq!(at, row.must("region_index") as usize, "{case}");
    }
}
