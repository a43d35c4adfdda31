//! What does a person see and press? The screens, one a desk, over the shop.
//!
//! State, update and view are apart: [`app`] routes, each [`desk`] changes only in its `update` and
//! is only read in its `view`; what it asks is a [`question`], which the [`worker`] takes to the
//! shop; [`run()`] is the loop. All keys come from one table, [`actions`].

pub mod actions;
pub mod app;
pub mod bench;
pub mod buying;
pub mod counter;
pub mod desk;
pub mod history;
pub mod keys;
mod keys_screen;
pub mod offer;
pub mod question;
pub mod run;
pub mod scanner;
mod terminal;
pub mod text;
pub mod theme;
pub mod worker;

pub use run::{Ended, Start, TuiError, run};
pub use terminal::Within;
