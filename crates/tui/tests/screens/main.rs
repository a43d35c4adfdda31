//! Does every screen show what it must? Keys pressed on the made-up shop, screens kept as files.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on has failed")]

mod bench;
mod buying;
mod counter;
mod desk_at_work;
mod slip;
mod states;
