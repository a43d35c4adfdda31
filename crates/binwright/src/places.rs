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
    /// Where the made-up shop is built that is offered to who has none.
    pub demo: PathBuf,
    /// The file of what was entered before.
    pub history: PathBuf,
    /// The user's own file of keys.
    pub keys: PathBuf,
}

impl Places {
    /// Returns the places in force: `shop` where it was named, the platform's folders otherwise.
    ///
    /// # Errors
    ///
    /// When the user has no home folder.
    pub fn find(shop: Option<PathBuf>) -> Result<Self, etcetera::HomeDirError> {
        let base = etcetera::choose_base_strategy()?;
        let own = |folder: PathBuf| folder.join("binwright");
        let state = base.state_dir().unwrap_or_else(|| base.data_dir());
        Ok(Self {
            shop: shop.unwrap_or_else(|| own(base.data_dir()).join("shop")),
            cache: own(base.cache_dir()),
            demo: own(base.data_dir()).join("demo"),
            history: own(state).join("entries"),
            keys: own(base.config_dir()).join("keys.toml"),
        })
    }
}
