//! Does the command do what its help says? The real program on the made-up shop.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]
#![allow(clippy::float_cmp, reason = "quantities of few digits come out as they went in")]

mod away;
mod bench;
mod branches;
mod buying;
#[path = "../../../store/tests/store/server/cluster.rs"]
#[allow(dead_code, reason = "the store's tests do more with a server")]
mod cluster;
mod counter;
mod crash;
mod files;
mod manners;
mod orders;
mod paper;
mod quote;
mod readings;
mod screens;
mod shape;
#[cfg(unix)]
mod soak;
mod stock;
