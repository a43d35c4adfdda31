//! What can a person do in a shop? The use-cases, one module a desk, over store and index.
//!
//! The library other programs would use. It reads no environment and prints nothing: folders and
//! the day come in as arguments, answers go out as plain values.

pub mod age;
pub mod answer;
mod asked;
pub mod bench;
pub mod branches;
pub mod buying;
pub mod cores;
pub mod counter;
pub mod counts;
pub mod demo;
pub mod entry;
mod error;
pub mod files;
pub mod paper;
pub mod points;
pub mod server;
pub mod settings;
pub mod sheet;
mod shop;
pub mod stock;

pub use asked::Asked;
pub use binwright_catalog as catalog;
pub use binwright_diagnosis as diagnosis;
pub use binwright_quoting as quoting;
pub use binwright_store::{CoreDebt, Counted, Hold, Keep, Place, Settled, Settling, Side};
pub use error::{ShopError, causes, in_words};
pub use shop::Shop;
