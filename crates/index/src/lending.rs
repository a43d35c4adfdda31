//! Which relatives does a part have, as the index keeps them?

use binwright_fit::kin::Kin;
use binwright_fit::table::Table;

/// Steps to one unit of log odds; with 16 bits they reach from -128 to 128.
const STEPS: f32 = 256.0;

/// Packs a relative's part id and the log odds that it is one.
pub fn pack(part: u64, odds: f32) -> u64 {
    part << 16 | ((odds + 128.0) * STEPS).clamp(0.0, 65_535.0) as u64
}

/// Returns the part id and the log odds that [`pack`] put in.
pub fn unpack(packed: u64) -> (u64, f32) {
    (packed >> 16, (packed & 0xffff) as f32 / STEPS - 128.0)
}

/// Returns for every row what its document keeps: a pair stands with its lower row.
pub fn claims(table: &Table, kin: &Kin) -> Vec<Vec<u64>> {
    let mut claims = vec![Vec::new(); table.len()];
    for &(low, high, odds) in &kin.pairs {
        claims[low as usize].push(pack(table.parts[high as usize], odds));
    }
    claims
}
