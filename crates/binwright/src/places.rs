//! Where are things kept when nobody says? The user's own data and cache folders.

use std::path::PathBuf;

use etcetera::BaseStrategy;

/// The folders in force.
#[derive(Debug, Clone)]
pub struct Places {
    /// The shop's folder.
    pub shop: PathBuf,
    /// Where search indexes are kept, one folder a shop.
    pub cache: PathBuf,
}

impl Places {
    /// Returns the places in force: `shop` where it was named, the platform's folders otherwise.
    ///
    /// # Errors
    ///
    /// When the user has no home folder.
    pub fn find(shop: Option<PathBuf>) -> Result<Self, etcetera::HomeDirError> {
        let base = etcetera::choose_base_strategy()?;
        Ok(Self {
            shop: shop.unwrap_or_else(|| base.data_dir().join("binwright").join("shop")),
            cache: base.cache_dir().join("binwright"),
        })
    }
}
