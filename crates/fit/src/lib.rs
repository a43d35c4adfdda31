//! Which part is this: what do the measures and the layout of a removed part say?
//!
//! Pure functions of their arguments: no store, no clock, no chance. Independent measures add.
//! Lengths are millimetres, logarithms natural, gains in bits.

pub mod kin;
pub mod table;
