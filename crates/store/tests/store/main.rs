//! What does the store promise, and does it keep it? One module a promise.

#![allow(clippy::unwrap_used, reason = "a test may stop where its ground gives way")]

mod catalogue;
mod cost;
mod counts;
mod crash;
mod damage;
mod faults;
mod folder;
mod model;
mod orders;
mod plain;
mod quotes;
mod shelf;
mod support;
