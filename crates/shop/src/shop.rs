//! How is a shop opened? Store, kinds and index together, the index brought up to the store.

use std::cell::RefCell;
use std::collections::{BTreeSet, HashMap, HashSet};
use std::fs;
use std::path::Path;

use binwright_catalog::{Currency, Kind, Kinds, Money};
use binwright_fit::Model;
use binwright_index::{Entry, Gaps, Index};
use binwright_store::{Keep, Place, Store, StoredQuote};
use jiff::civil::Date;

use crate::ShopError;
use crate::branches::Chain;

/// Rises when what the index keeps of a part changes: an older index is built anew.
const INDEX_VERSION: u32 = 1;
/// Changes read at a time when the index follows the store.
const CHANGES: usize = 10_000;
/// Above this many changed parts, and a quarter of all, their kinds are built anew instead.
const REBUILD_ABOVE: usize = 2_000;

/// An open shop.
pub struct Shop {
    pub(crate) store: Store,
    pub(crate) kinds: Kinds,
    pub(crate) index: Index,
    pub(crate) today: Date,
    /// Its branches, seen from this one.
    pub(crate) chain: Chain,
    models: HashMap<String, Model>,
    /// What [`Shop::follow_others`] saw last.
    outside: i64,
    /// Closed jobs as they were read last.
    pub(crate) closed: RefCell<Vec<StoredQuote>>,
}

impl Shop {
    /// Makes a new, empty shop at `place`. `cache` is the folder that holds the indexes of all
    /// shops, `today` the day it is.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when there is a shop already or a folder cannot be written.
    pub fn create(
        place: impl Into<Place>,
        cache: &Path,
        today: Date,
        name: &str,
        currency: Currency,
    ) -> Result<Self, ShopError> {
        let place = place.into();
        drop(Store::create_at(&place, name, currency)?);
        Self::open(place, cache, today)
    }

    /// Opens the shop at `place` and brings its index up to its store. What is looked up of a shop on a
    /// server is read at the desk; with the server out of reach it opens as it was known last.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when there is no shop, its own kinds have mistakes, or a folder fails.
    pub fn open(place: impl Into<Place>, cache: &Path, today: Date) -> Result<Self, ShopError> {
        let mut shop = Self::open_behind(place, cache, today)?;
        shop.follow()?;
        Ok(shop)
    }

    /// Opens the shop at `place` with its index as it is, for work that changes the store first.
    ///
    /// # Errors
    ///
    /// As [`Shop::open`].
    pub fn open_behind(
        place: impl Into<Place>,
        cache: &Path,
        today: Date,
    ) -> Result<Self, ShopError> {
        let store = Store::open_near(&place.into())?;
        let kinds = Kinds::load(&own_files(store.dir(), "kinds")?)?;
        let index = Index::open(&cache.join(store.identity()?.id), INDEX_VERSION)?;
        let outside = store.seen_from_outside()?;
        let chain = Chain::read(&store, None)?;
        Ok(Self {
            chain,
            store,
            kinds,
            index,
            today,
            models: HashMap::new(),
            outside,
            closed: RefCell::default(),
        })
    }

    /// The kinds of part the shop knows.
    pub fn kinds(&self) -> &Kinds {
        &self.kinds
    }

    /// The store.
    pub fn store(&self) -> &Store {
        &self.store
    }

    /// The currency it counts in.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the store fails.
    pub fn currency(&self) -> Result<Currency, ShopError> {
        Ok(self.store.identity()?.currency)
    }

    /// The amount `text` says, in the shop's currency.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when it is no plain decimal or too fine for the currency.
    pub fn money(&self, text: &str) -> Result<Money, ShopError> {
        Ok(Money::parse(text, self.currency()?)?)
    }

    /// The day it is.
    pub fn today(&self) -> Date {
        self.today
    }

    /// Goes on on another day: what lapses and what is due goes by it.
    pub fn turn_to(&mut self, today: Date) {
        self.today = today;
    }

    /// How many parts can be looked up.
    pub fn parts(&self) -> u64 {
        self.index.len()
    }

    /// Puts the shop's own files in the folder `from` (settings, logo, kinds, faults, labels) on its
    /// server, for all desks; returns how many there are.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the shop lies in a folder, or a file cannot be read.
    pub fn share_own_files(&mut self, from: &Path) -> Result<usize, ShopError> {
        Ok(self.store.write(Keep::Yes, |w| w.share_own_files(from))?)
    }

    /// Brings the index up to the store: nothing when nothing changed, the changed parts when they
    /// are few, their kinds anew when they are many.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when store or index fails; the next call takes up where this one ended.
    pub fn follow(&mut self) -> Result<(), ShopError> {
        self.store.follow_server()?;
        let last = self.store.last_change()?;
        if self.index.last_change() == 0 && last > 0 {
            return self.rebuild();
        }
        let mut stale: Vec<String> =
            self.index.stale(&self.kinds).iter().map(|kind| kind.key.clone()).collect();
        // Counted only when asked: the count goes over all parts.
        if !stale.is_empty() {
            let present = self.store.kinds_present()?;
            stale.retain(|key| present.iter().any(|(kind, _)| kind == key));
        }
        let mut changed = BTreeSet::new();
        let mut seq = self.index.last_change();
        while seq < last {
            let changes = self.store.changes_since(seq, CHANGES)?;
            let Some(newest) = changes.last() else { break };
            seq = newest.seq;
            changed.extend(changes.into_iter().map(|change| change.part));
        }
        if changed.is_empty() && stale.is_empty() {
            return Ok(());
        }
        self.models.clear();
        if changed.len() > REBUILD_ABOVE && changed.len() as u64 * 4 > self.index.len() {
            return self.rebuild();
        }
        if !stale.is_empty() {
            let at = self.index.last_change();
            self.build(&stale, at)?;
        }
        let entries = self.entries(&changed)?;
        Ok(self.index.apply(&self.kinds, seq, entries, &[])?)
    }

    /// Has what others do on the shop's server come to this desk by itself from now on, as long as the
    /// shop is open; [`Shop::follow_others`] then asks nobody. Nothing to do in a folder.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when what is kept at the desk cannot be read.
    pub fn keep_following(&mut self) -> Result<(), ShopError> {
        Ok(self.store.keep_following()?)
    }

    /// Whether another program has changed anything since this was asked last; the index is brought
    /// up to it. Cheap when nothing has changed.
    ///
    /// # Errors
    ///
    /// As [`Shop::follow`].
    pub fn follow_others(&mut self) -> Result<bool, ShopError> {
        self.store.follow_server()?;
        let outside = self.store.seen_from_outside()?;
        if outside == self.outside {
            return Ok(false);
        }
        self.follow()?;
        self.look_around()?;
        self.outside = outside;
        Ok(true)
    }

    /// Builds the index anew from the store.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when store or index fails; the index is then as it was.
    pub fn rebuild(&mut self) -> Result<(), ShopError> {
        self.models.clear();
        let all: Vec<String> = self.kinds.iter().map(|kind| kind.key.clone()).collect();
        let last = self.store.last_change()?;
        self.build(&all, last)
    }

    /// Checks engine, ledger, balances, holds, the bytes of the index and its parts against the
    /// store; empty when all is sound.
    ///
    /// # Errors
    ///
    /// [`ShopError`] when the store cannot even be read.
    pub fn check(&self) -> Result<Vec<String>, ShopError> {
        let mut troubles: Vec<String> =
            self.store.check(self.today)?.into_iter().map(|trouble| trouble.to_string()).collect();
        let present = self.store.kinds_present()?;
        let known = |key: &String| self.kinds.get(key).is_some();
        troubles.extend(self.check_index()?);
        for (key, n) in present.iter().filter(|(key, _)| !known(key)) {
            troubles.push(format!("{n} parts are of the kind `{key}`, which is not known"));
        }
        Ok(troubles)
    }

    fn check_index(&self) -> Result<Vec<String>, ShopError> {
        let mends = "`index --rebuild` mends it";
        let mut troubles: Vec<String> = match self.index.damaged_files() {
            Ok(files) => files
                .iter()
                .map(|file| format!("`{}` of the index is damaged; {mends}", file.display()))
                .collect(),
            Err(error) => vec![format!("{error}; {mends}")],
        };
        let mut indexed: HashSet<u64> = self.index.parts().into_iter().collect();
        self.store.each_part(None, |stored| {
            let known = self.kinds.get(&stored.part.kind).is_some();
            if known && !indexed.remove(&stored.id) {
                troubles.push(format!("the index lacks `{}`; {mends}", stored.part.house));
            }
            Ok::<_, ShopError>(())
        })?;
        if !indexed.is_empty() {
            let count = indexed.len();
            troubles.push(format!("the index holds {count} parts too many; {mends}"));
        }
        Ok(troubles)
    }

    fn build(&mut self, keys: &[String], last_change: u64) -> Result<(), ShopError> {
        let groups = self.store.groups()?;
        let kinds: Vec<&Kind> = keys.iter().filter_map(|key| self.kinds.get(key)).collect();
        let (store, all) = (&self.store, &self.kinds);
        self.index.rebuild(&kinds, last_change, Gaps::Lent, |key, give| {
            let Some(kind) = all.get(key) else { return Ok(()) };
            store.each_part(Some(key), |stored| {
                let group = groups.get(&stored.id).copied().unwrap_or(stored.id);
                give(Entry::of(stored.id, group, &stored.part, kind));
                Ok(())
            })
        })
    }

    fn entries(&self, ids: &BTreeSet<u64>) -> Result<Vec<Entry>, ShopError> {
        let mut entries = Vec::with_capacity(ids.len());
        for id in ids {
            let Some(stored) = self.store.part(*id)? else { continue };
            let Some(kind) = self.kinds.get(&stored.part.kind) else { continue };
            entries.push(Entry::of(*id, self.store.group_of(*id)?, &stored.part, kind));
        }
        Ok(entries)
    }

    /// The parts of the kind with key `key`, ready to be weighed; loaded once.
    pub(crate) fn model(&mut self, key: &str) -> Result<&Model, ShopError> {
        if !self.models.contains_key(key) {
            let kind =
                self.kinds.get(key).ok_or_else(|| ShopError::unknown_kind(key, &self.kinds))?;
            let model = self.index.load(kind)?.model(kind);
            self.models.insert(key.to_owned(), model);
        }
        Ok(&self.models[key])
    }
}

/// What the shop lays over the built-in data: the TOML files of `folder` in `dir`, by name.
pub(crate) fn own_files(dir: &Path, folder: &str) -> Result<Vec<(String, String)>, ShopError> {
    let folder = dir.join(folder);
    let Ok(entries) = fs::read_dir(&folder) else { return Ok(Vec::new()) };
    let mut files = Vec::new();
    for entry in entries {
        let unreadable = |source| ShopError::Unreadable { path: folder.clone(), source };
        let path = entry.map_err(unreadable)?.path();
        if path.extension().is_some_and(|ending| ending == "toml") {
            let text = fs::read_to_string(&path)
                .map_err(|source| ShopError::Unreadable { path: path.clone(), source })?;
            files.push((path.display().to_string(), text));
        }
    }
    files.sort();
    Ok(files)
}
