//! The suite on a file of SQLite, and what is about files alone.

mod damage;
mod faults;
mod folder;
pub mod ground;
#[path = "../suite/mod.rs"]
mod suite;
