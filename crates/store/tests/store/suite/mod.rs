//! What does a store promise, wherever it is kept?

pub mod branches;
mod catalogue;
mod cost;
mod counts;
mod crash;
mod meddling;
mod model;
mod orders;
mod plain;
mod quotes;
mod shelf;
pub mod support;
