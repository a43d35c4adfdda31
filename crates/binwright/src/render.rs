//! How does an answer read on a terminal, and as tab-separated lines?

mod bench;
pub mod branch;
pub mod buy;
mod card;
pub mod count;
mod fit;
mod hits;
pub mod orders;
mod quote;
pub mod server;
pub mod stock;

pub use bench::{bench_answer, check_card, check_list, fault_list, learnt};
pub use card::{kind_card, part_card, unit_card};
pub use fit::fit_answer;
pub use hits::found;
pub use quote::{quote_card, quote_list};

use binwright_catalog::Quantity;
use binwright_shop::answer::{CrossTo, InBin, Supply};

use crate::say::Say;

/// The most units named under one part.
const UNITS_SHOWN: usize = 6;

fn cross_to(cross: &CrossTo) -> String {
    let mut text = format!("{} {}", cross.words(), cross.number);
    if cross.quantity != Quantity::ONE {
        text.push_str(&format!(" x {}", cross.quantity));
    }
    if !cross.by_way_of.is_empty() {
        text.push_str(&format!(" by way of {}", cross.by_way_of.join(", ")));
    }
    if !cross.remark.is_empty() {
        text.push_str(&format!(" ({})", cross.remark));
    }
    let bins: Vec<String> = cross.stock.iter().map(InBin::words).collect();
    text.push_str("; ");
    text.push_str(&if bins.is_empty() { "none in the bins".to_owned() } else { bins.join(", ") });
    text
}

/// Adds bins, prices, crosses and units, each on its own lines under `indent`.
fn supply(say: &mut Say, indent: &str, supply: &Supply) {
    if supply.stock.is_empty() {
        say.line(format!("{indent}bins     none"));
    }
    for line in &supply.stock {
        say.line(format!("{indent}bin      {}", line.words()));
    }
    for price in &supply.prices {
        say.line(format!("{indent}price    {} {}", price.price, price.list));
    }
    for cross in &supply.crosses {
        say.line(format!("{indent}cross    {}", cross_to(cross)));
    }
    for unit in supply.units.iter().take(UNITS_SHOWN) {
        say.line(format!("{indent}unit     {} {}, as {}", unit.unit, unit.description, unit.role));
    }
    if supply.units.len() > UNITS_SHOWN {
        let more = supply.units.len() - UNITS_SHOWN;
        say.line(format!("{indent}unit     and {more} more"));
    }
}

/// Free stock over all bins, and the bins, in one field.
fn stock_field(supply: &Supply) -> String {
    supply.stock.iter().map(InBin::words).collect::<Vec<_>>().join("; ")
}
