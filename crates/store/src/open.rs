//! How is a shop made and opened, and who is it?

use std::fs;
use std::path::{Path, PathBuf};

use binwright_catalog::Currency;

use crate::engine::{Line, Session, values};
use crate::follower::Follower;
use crate::migrations::{migrate, newest, refuse_newer, version};
use crate::near::{Near, Standing};
use crate::own::lay_out;
use crate::roles::{as_tables_owner, renew_grants, tables_owner};
use crate::{Place, StoreError, folder, sql};

/// One shop's store.
#[derive(Debug)]
pub struct Store {
    pub(crate) session: Session,
    pub(crate) dir: PathBuf,
    pub(crate) read_only: bool,
    /// Where it is on a server: what is looked up, at the desk.
    pub(crate) near: Option<Near>,
    pub(crate) follower: Option<Follower>,
}

/// Who the shop is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Identity {
    /// Drawn at random when the shop was made: names its index.
    pub id: String,
    /// What people call it.
    pub name: String,
    /// What it counts money in.
    pub currency: Currency,
}

impl Store {
    /// Makes a new, empty shop in `dir`, which is made when it is not there.
    ///
    /// # Errors
    ///
    /// [`StoreError::IsAShop`] when there is one; else what the folder or the engine says.
    pub fn create(dir: &Path, name: &str, currency: Currency) -> Result<Self, StoreError> {
        folder::create(dir, name, currency)
    }

    /// Opens the shop in `dir`; a store of an older version is backed up and brought up to date.
    /// In a folder that cannot be written the store opens for reading.
    ///
    /// # Errors
    ///
    /// [`StoreError::NotAShop`], [`StoreError::TooNew`] (nothing is touched), or what the engine
    /// says.
    pub fn open(dir: &Path) -> Result<Self, StoreError> {
        folder::open(dir)
    }

    /// As [`Store::create`], in a folder or in an empty database of a server.
    ///
    /// # Errors
    ///
    /// As [`Store::create`]; [`StoreError::OutOfReach`], [`StoreError::PasswordWanted`].
    pub fn create_at(place: &Place, name: &str, currency: Currency) -> Result<Self, StoreError> {
        let server = match place {
            Place::Folder(dir) => return Self::create(dir, name, currency),
            Place::Server(server) => server,
        };
        let mut session = Session::Server(Box::new(Line::to(server)?));
        if identity_there(&session)?.is_some() {
            return Err(StoreError::IsAShop { dir: server.to_string().into() });
        }
        migrate(&mut session)?;
        session.run(sql!("identity_put"), values![new_identity(), name, currency.code()])?;
        Self::open_at(place)
    }

    /// As [`Store::open`], in a folder or on a server.
    ///
    /// # Errors
    ///
    /// As [`Store::open`]; [`StoreError::OutOfReach`], [`StoreError::PasswordWanted`].
    pub fn open_at(place: &Place) -> Result<Self, StoreError> {
        let server = match place {
            Place::Folder(dir) => return Self::open(dir),
            Place::Server(server) => server,
        };
        let mut session = Session::Server(Box::new(Line::to(server)?));
        let found = version(&session)?;
        refuse_newer(found)?;
        if found > 0 && found < newest() {
            if !tables_owner(&session)?.mine {
                return Err(StoreError::TooOld { found, known: newest() });
            }
            as_tables_owner(&mut session, migrate)?;
        }
        refuse_unfinished(&session, server.to_string().as_ref())?;
        renew_grants(&session)?;
        let dir = server.folder(&identity(&session)?.id);
        let failed = |source| StoreError::File { path: dir.clone(), source };
        fs::create_dir_all(&dir).map_err(failed)?;
        lay_out(&session, &dir)?;
        Ok(Self::of(session, &dir, false))
    }

    /// As [`Store::open_at`], to look up in: of a shop on a server a copy of what is looked up is kept at
    /// the desk and read from there on. With the server out of reach the copy is opened alone.
    ///
    /// # Errors
    ///
    /// As [`Store::open_at`]; [`StoreError::OutOfReach`] when there is no copy yet.
    pub fn open_near(place: &Place) -> Result<Self, StoreError> {
        match (Self::open_at(place), place) {
            (Ok(mut store), Place::Server(server)) => {
                server.remember(&identity(&store.session)?.id)?;
                store.near = Some(Near::of(&store.session, &store.dir)?);
                Ok(store)
            }
            (Err(StoreError::OutOfReach { place, source, .. }), Place::Server(server)) => {
                let dir = server.remembered().map(|id| server.folder(&id));
                let near = dir.as_deref().map(Near::find).transpose()?.flatten();
                let (Some(dir), Some(near)) = (dir, near) else {
                    return Err(StoreError::OutOfReach { place, since: None, source });
                };
                let line = Session::Server(Box::new(Line::later(server)));
                Ok(Self { near: Some(near), ..Self::of(line, &dir, false) })
            }
            (opened, _) => opened,
        }
    }

    pub(crate) fn of(session: Session, dir: &Path, read_only: bool) -> Self {
        Self { session, dir: dir.to_owned(), read_only, near: None, follower: None }
    }

    /// Has the copy of what is looked up kept up to the server from now on, on a thread of its own,
    /// as long as this is open.
    ///
    /// # Errors
    ///
    /// What the copy says.
    pub fn keep_following(&mut self) -> Result<(), StoreError> {
        if let (Session::Server(line), Some(near), None) =
            (&self.session, &self.near, &self.follower)
            && let Some(again) = near.again()?
        {
            self.follower = Some(Follower::start(line.server(), again));
        }
        Ok(())
    }

    /// Brings the copy of what is looked up to the server, unless a thread does; returns how many rows
    /// were read for it. Where the server is out of reach, the copy stays as it is.
    ///
    /// # Errors
    ///
    /// What the engines say.
    pub fn follow_server(&self) -> Result<usize, StoreError> {
        let Some(near) = self.near.as_ref().filter(|_| self.follower.is_none()) else {
            return Ok(0);
        };
        match near.follow(&self.session) {
            Err(StoreError::OutOfReach { .. }) => Ok(0),
            done => done,
        }
    }

    /// How the desk stands with the server; `None` where nothing is kept at the desk.
    pub fn standing(&self) -> Option<Standing> {
        self.near.as_ref().map(Near::standing)
    }

    /// Where what is looked up is read.
    pub(crate) fn near(&self) -> &Session {
        let Some(near) = &self.near else { return &self.session };
        near.catch_up(&self.session);
        near.session()
    }

    /// Who the shop is.
    ///
    /// # Errors
    ///
    /// What the engine says.
    pub fn identity(&self) -> Result<Identity, StoreError> {
        identity(self.near())
    }

    /// Whether the store can only be read.
    pub fn is_read_only(&self) -> bool {
        self.read_only
    }

    /// The shop's folder; of one on a server, its folder at this desk.
    pub fn dir(&self) -> &Path {
        &self.dir
    }
}

pub(crate) fn identity(session: &Session) -> Result<Identity, StoreError> {
    session.one(sql!("identity"), &[], |row| {
        let code: String = row.get(2)?;
        let damaged = |_| StoreError::Damaged { what: format!("currency `{code}`") };
        let currency = code.parse().map_err(damaged)?;
        Ok(Identity { id: row.get(0)?, name: row.get(1)?, currency })
    })
}

/// The identity in the database of a server, empty while a copy is under way; `None` when it holds no
/// shop, or one that was not made to the end.
pub(crate) fn identity_there(session: &Session) -> Result<Option<String>, StoreError> {
    match version(session) {
        Ok(0) | Err(StoreError::NotAShop { .. }) => Ok(None),
        Ok(_) => session.first(sql!("identity"), &[], |row| row.get(0)),
        Err(error) => Err(error),
    }
}

/// Refuses a place where a copy was not finished.
pub(crate) fn refuse_unfinished(session: &Session, place: &Path) -> Result<(), StoreError> {
    match session.first(sql!("identity"), &[], |row| row.get::<String>(0))? {
        Some(id) if id.is_empty() => Err(StoreError::Unfinished { dir: place.to_owned() }),
        Some(_) => Ok(()),
        None => Err(StoreError::NotAShop { dir: place.to_owned() }),
    }
}

pub(crate) fn new_identity() -> String {
    format!("{:032x}", rand::random::<u128>())
}
