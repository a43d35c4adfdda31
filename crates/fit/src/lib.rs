//! Which part is this: what do the measures and the layout of a removed part say?
//!
//! Pure functions of their arguments: no store, no clock, no chance. Independent measures add.
//! Lengths are millimetres, logarithms natural, gains in bits.

mod agreement;
mod classes;
mod column;
mod error;
mod fast;
pub mod kin;
mod layout_weight;
mod layouts;
mod likelihood;
mod model;
mod multiply;
mod next;
mod none;
mod query;
pub mod registration;
mod sample;
pub mod table;
mod weigh;

pub use error::FitError;
pub use model::Model;
pub use query::{Answer, Candidate, Deviation, Next, Observation, Query, Verdict};
