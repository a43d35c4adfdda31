//! The suite on a PostgreSQL server, and what is about the line to it alone.

mod cluster;
mod copy;
mod ground;
mod line;
mod load;
mod near;
mod place;
mod proxy;
mod roles;
mod stops;
#[path = "../suite/mod.rs"]
mod suite;
mod worked;
