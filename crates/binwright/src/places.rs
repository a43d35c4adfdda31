//! Where are things kept when nobody says? The user's own data and cache folders.

use std::ffi::OsString;
use std::path::PathBuf;

use binwright_shop::{Place, Shop, ShopError};
use etcetera::BaseStrategy;

use crate::act::Failure;

/// The folders in force.
#[derive(Debug, Clone)]
pub struct Places {
    /// Where the shop is.
    pub shop: Place,
    /// The branch this is, when it was said.
    pub branch: Option<String>,
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
    /// Returns the places in force: `shop` where it was named, the platform's folders otherwise. A
    /// server's password is looked for where its standard client looks.
    ///
    /// # Errors
    ///
    /// When the user has no home folder, or the shop's address or the password file is not right.
    pub fn find(shop: Option<OsString>, branch: Option<String>) -> Result<Self, Failure> {
        let base = etcetera::choose_base_strategy()?;
        let own = |folder: PathBuf| folder.join("binwright");
        let state = base.state_dir().unwrap_or_else(|| base.data_dir());
        let shop = shop.unwrap_or_else(|| own(base.data_dir()).join("shop").into());
        let mut shop =
            Place::named(&shop, &own(base.data_dir()).join("servers")).map_err(ShopError::from)?;
        if let Place::Server(server) = &mut shop {
            server.look_up_password(|name| std::env::var_os(name)).map_err(ShopError::from)?;
        }
        Ok(Self {
            shop,
            branch: branch.filter(|branch| !branch.is_empty()),
            cache: own(base.cache_dir()),
            demo: own(base.data_dir()).join("demo"),
            history: own(state).join("entries"),
            keys: own(base.config_dir()).join("keys.toml"),
        })
    }

    /// The shop, seen from the branch that was said.
    ///
    /// # Errors
    ///
    /// When it has no such branch.
    pub fn standing(&self, mut shop: Shop) -> Result<Shop, ShopError> {
        self.branch.as_deref().map_or(Ok(()), |branch| shop.stand_at(branch))?;
        Ok(shop)
    }
}
