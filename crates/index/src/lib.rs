//! What is looked up fast: the tantivy index that follows the store's change log.
//!
//! A derived thing in a cache folder: delete it and [`Index::rebuild`] brings it back. Numbers and
//! words serve [`Index::find`]; measures, points and kin are columns that [`Index::load`] reads
//! whole, one kind at a time, for the fit. What change of the store it holds stands in its own
//! commit, so that a crash between the two is mended by [`Index::apply`].

mod columns;
mod distance;
mod entry;
mod error;
mod find;
mod index;
mod lending;
mod mark;
mod numbers;
mod schema;
mod segment;
mod sheet;
mod typed;
mod walk;

pub use columns::Shelf;
pub use entry::Entry;
pub use error::IndexError;
pub use find::{Hit, How};
pub use index::{Gaps, Index};
