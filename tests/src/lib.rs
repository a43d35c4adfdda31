//! Whole-program checks share this: the seeded, invented catalogue they run on, and how time is
//! taken and told by the benches.

pub mod corpus;
pub mod hostile;
pub mod timing;
