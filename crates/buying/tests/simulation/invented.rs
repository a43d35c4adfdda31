//! What does an invented shop sell? Parts of all four classes, and dying, trending and newborn ones.

use rand::{Rng, SeedableRng};
use rand_chacha::ChaCha8Rng;

use crate::{COVER, KNOWN, SERVED};

/// A part and all its months, past and to come.
pub struct Part {
    pub months: Vec<f64>,
    /// The month it came into the shop.
    pub starts: usize,
    pub unit_cost: f64,
}

/// How a part's demand goes.
#[derive(Clone, Copy)]
struct Way {
    /// Chance of any demand in a month, at first.
    often: f64,
    /// Mean size beyond the first piece.
    more: f64,
    /// Factor on the chance in a month.
    drift: f64,
    starts: usize,
}

/// Invents `count` parts whose rates wander: by a factor of about `1 + wander` either way in the long run, half of
/// it within a year.
pub fn shop(seed: u64, count: usize, wander: f64) -> Vec<Part> {
    let mut chance = ChaCha8Rng::seed_from_u64(seed);
    (0..count)
        .map(|nth| {
            let way = way(nth % 10, &mut chance);
            // A uniform step of width w has variance w²/12; kept by 0.95 a month it adds up to a tenfold.
            let step = wander * (12.0_f64 * (1.0 - 0.95 * 0.95)).sqrt();
            let mut stray = 0.0_f64;
            let months = (0..KNOWN + SERVED + COVER)
                .map(|month| {
                    stray = 0.95 * stray + step * (chance.random::<f64>() - 0.5);
                    let age = month.saturating_sub(way.starts) as f64;
                    let often = way.often * (stray + way.drift.ln() * age).exp();
                    if month < way.starts { 0.0 } else { month_of(often, way.more, &mut chance) }
                })
                .collect();
            // Dear parts sell less, as a rule.
            let unit_cost = (20.0 * chance.random::<f64>() + 2.0) / (way.often + 0.1);
            Part { months, starts: way.starts, unit_cost }
        })
        .collect()
}

fn way(which: usize, chance: &mut ChaCha8Rng) -> Way {
    let slow = 0.02 + 0.45 * chance.random::<f64>().powi(2);
    let base = Way { often: slow, more: 0.2, drift: 1.0, starts: 0 };
    match which {
        0 => Way { often: 3.0, more: 0.3, ..base }, // smooth
        1 => Way { often: 1.8, more: 4.0, ..base }, // erratic
        2..=4 => base,                              // intermittent
        5 | 6 => Way { more: 3.0, ..base },         // lumpy
        7 => Way { often: 4.0 * slow, drift: 0.96, ..base }, // dying
        8 => Way { drift: 1.02, ..base },           // trending
        _ => Way { often: 2.0 * slow, starts: chance.random_range(24..KNOWN), ..base }, // newborn
    }
}

/// Demands come at random, `often` of them a month, each of one piece and some more.
fn month_of(often: f64, more: f64, chance: &mut ChaCha8Rng) -> f64 {
    let mut sold = 0.0;
    let mut waited = -(1.0 - chance.random::<f64>()).ln();
    while waited < often {
        sold += 1.0;
        while chance.random_bool(more / (1.0 + more)) {
            sold += 1.0;
        }
        waited -= (1.0 - chance.random::<f64>()).ln();
    }
    sold
}
