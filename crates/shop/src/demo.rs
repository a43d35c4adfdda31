//! What is in the made-up shop? The sample files, carried in the program, taken in one by one.

use std::path::Path;

use binwright_catalog::Currency;
use binwright_store::Place;
use jiff::civil::Date;

use crate::files::{ImportOptions, Imported};
use crate::{Shop, ShopError};

macro_rules! sample {
    ($name:literal) => {
        ($name, include_bytes!(concat!("../../../import-samples/", $name)).as_slice())
    };
}

/// The sample files in the order they build on one another.
pub const FILES: [(&str, &[u8]); 10] = [
    sample!("parts.csv"),
    sample!("crosses.csv"),
    sample!("units.csv"),
    sample!("bills.csv"),
    sample!("bins.csv"),
    sample!("stock.csv"),
    sample!("prices.csv"),
    sample!("demand.csv"),
    sample!("suppliers.csv"),
    sample!("offers.csv"),
];

/// The made-up shop's name.
pub const NAME: &str = "Brackwater Rebuilds";

impl Shop {
    /// Makes the made-up shop at `place` and returns it with what each file brought.
    ///
    /// # Errors
    ///
    /// As [`Shop::create`] and [`Shop::import`].
    pub fn demo(
        place: impl Into<Place>,
        cache: &Path,
        today: Date,
    ) -> Result<(Self, Vec<Imported>), ShopError> {
        let mut shop = Self::create(place, cache, today, NAME, Currency::EUR)?;
        let options = ImportOptions { who: "demo".to_owned(), ..ImportOptions::default() };
        let mut brought = Vec::with_capacity(FILES.len());
        for (name, bytes) in FILES {
            brought.push(shop.import(name, bytes, &options, |_| ())?);
        }
        shop.follow()?;
        Ok((shop, brought))
    }
}
