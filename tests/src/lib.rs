//! Whole-program checks share this: the seeded, invented catalogue they run on.

pub mod corpus;
