//! Where are things kept when nobody says? The user's own data and cache folders.

use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};

use binwright_shop::{Place, Shop, ShopError};
use etcetera::BaseStrategy;
use serde::Deserialize;

use crate::act::Failure;

/// The folders in force.
#[derive(Debug, Clone)]
pub struct Places {
    /// Where the shop is.
    pub shop: Place,
    /// The branch this is, when it was said.
    pub branch: Option<String>,
    /// Whether it was said on the command line.
    branch_is_typed: bool,
    /// Where search indexes are kept, one folder a shop.
    pub cache: PathBuf,
    /// Where the made-up shop is built that is offered to who has none.
    pub demo: PathBuf,
    /// The file of what was entered before.
    pub history: PathBuf,
    /// The user's own file of keys.
    pub keys: PathBuf,
    /// The file that says of which branch this desk is.
    pub desk: PathBuf,
}

impl Places {
    /// Returns the places in force: `shop` where it was named, the platform's folders otherwise. A
    /// server's password is looked for where its standard client looks.
    ///
    /// # Errors
    ///
    /// When the user has no home folder, or the shop's address, the password file or the desk's file is
    /// not right.
    pub fn find(
        shop: Option<OsString>,
        branch: Option<String>,
        branch_is_typed: bool,
    ) -> Result<Self, Failure> {
        let base = etcetera::choose_base_strategy()?;
        let own = |folder: PathBuf| folder.join("binwright");
        let state = base.state_dir().unwrap_or_else(|| base.data_dir());
        let shop = shop.unwrap_or_else(|| own(base.data_dir()).join("shop").into());
        let mut shop =
            Place::named(&shop, &own(base.data_dir()).join("servers")).map_err(ShopError::from)?;
        if let Place::Server(server) = &mut shop {
            server.look_up_password(|name| std::env::var_os(name)).map_err(ShopError::from)?;
        }
        let desk = own(base.config_dir()).join("desk.toml");
        let branch = match branch.filter(|branch| !branch.is_empty()) {
            None => Desk::read(&desk)?.branch,
            said => said,
        };
        Ok(Self {
            shop,
            branch,
            branch_is_typed,
            desk,
            cache: own(base.cache_dir()),
            demo: own(base.data_dir()).join("demo"),
            history: own(state).join("entries"),
            keys: own(base.config_dir()).join("keys.toml"),
        })
    }

    /// The branch that was typed on the command line: the one that is bought for.
    pub fn bought_for(&self) -> Option<&str> {
        self.branch.as_deref().filter(|_| self.branch_is_typed)
    }

    /// The shop, seen from the branch that was said.
    ///
    /// # Errors
    ///
    /// When it has no such branch.
    pub fn standing(&self, mut shop: Shop) -> Result<Shop, ShopError> {
        match &self.branch {
            Some(branch) if self.branch_is_typed => shop.stand_at(branch)?,
            Some(branch) => shop.work_at(branch)?,
            None => {}
        }
        Ok(shop)
    }
}

/// What is said of this desk, whichever its shop.
#[derive(Debug, Default, Deserialize)]
#[serde(deny_unknown_fields)]
struct Desk {
    /// The branch it is at.
    branch: Option<String>,
}

impl Desk {
    /// Reads the file at `path`, which need not be there.
    fn read(path: &Path) -> Result<Self, Failure> {
        let Ok(text) = fs::read_to_string(path) else { return Ok(Self::default()) };
        toml::from_str(&text).map_err(|error| Failure::Option {
            found: path.display().to_string(),
            wanted: "file of a desk",
            hint: format!("{}. It says: branch = \"North\"", error.message()),
        })
    }
}
