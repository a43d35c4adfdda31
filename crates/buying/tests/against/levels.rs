//! Stock for 396 targets of service, by scipy.stats 1.17.1 (poisson, nbinom).

use binwright_buying::LeadDemand;

use crate::{close, rows};

#[test]
fn levels_and_shortages_are_those_of_scipy() {
    let rows = rows("poisson_negbin_levels.csv");
    assert_eq!(rows.len(), 396);
    for row in &rows {
        let (mean, target) = (row.must("mean"), row.must("target"));
        let demand = match row.text("dist") {
            "poisson" => LeadDemand::poisson(mean),
            _ => LeadDemand::negative_binomial(mean, row.must("variance_to_mean")),
        };
        let what = format!("{} {mean} at {target}", row.text("dist"));
        let level = demand.level_for_cycle_service(target);
        assert_eq!(level, row.must("s_cycle") as u64, "{what}");
        close(&what, demand.at_most(level), row.must("cdf_at_s"), 1e-11);
        close(&what, demand.expected_short(level), row.must("expected_short"), 1e-10);
        close(&what, demand.expected_left(level), row.must("expected_on_hand"), 1e-10);
        let level = demand.level_for_fill(target);
        assert_eq!(level, row.must("s_fill") as u64, "{what}");
        let fill = 1.0 - demand.expected_short(level) / mean;
        close(&what, fill, row.must("fill_at_s_fill"), 1e-10);
    }
}
