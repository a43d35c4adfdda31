//! Does the command do what its help says? The real program on the made-up shop.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod bench;
mod buying;
mod counter;
mod crash;
mod files;
mod manners;
mod orders;
mod paper;
mod screens;
mod quote;
mod readings;
mod shape;
mod stock;
