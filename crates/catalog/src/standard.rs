//! What do the published standards say? Bearings, threads, terminals, check digits.

pub mod thread;
