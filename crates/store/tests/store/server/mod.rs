//! The suite on a PostgreSQL server, and what is about the line to it alone.

mod cluster;
mod ground;
mod line;
mod load;
mod near;
mod place;
mod proxy;
mod stops;
#[path = "../suite/mod.rs"]
mod suite;
