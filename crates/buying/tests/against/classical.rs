//! Forecasts of 16 series: seeded intermittent ones and edge cases, by statsforecast 2.1.1
//! (an independent implementation agreed within 1e-7).

use binwright_buying::{DemandClass, classical};

use crate::{close, rows};

#[test]
fn textbook_methods_forecast_what_statsforecast_does() {
    type Method = fn(&[f64]) -> f64;
    let methods: [(&str, Method, f64); 7] = [
        ("ses_0.1", |months| classical::ses(months, 0.1), 1e-12),
        ("croston_classic", classical::croston, 1e-12),
        ("croston_sba", classical::sba, 1e-12),
        ("tsb_0.1_0.1", classical::tsb, 1e-12),
        // Its search for the smoothing constant is only good to about 1e-6.
        ("croston_optimized", classical::croston_optimised, 1e-6),
        ("adida", classical::adida, 1e-6),
        ("imapa", classical::imapa, 1e-6),
    ];
    let rows = rows("intermittent_worked.csv");
    assert_eq!(rows.len(), 16);
    for row in &rows {
        let months = row.numbers("values");
        for (column, method, tolerance) in methods {
            let what = format!("{column} of {}", row.text("series"));
            close(&what, method(&months), row.must(column), tolerance);
        }
    }
}

#[test]
fn the_class_of_each_series_is_as_published_cut_offs_say() {
    for row in rows("intermittent_worked.csv") {
        let class = DemandClass::of_history(&row.numbers("values")).map_or("", DemandClass::word);
        assert_eq!(class, row.text("class_ddof0"), "{}", row.text("series"));
    }
}
