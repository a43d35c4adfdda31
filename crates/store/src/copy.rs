//! How does a shop move from a folder to a server, and back? Row by row, every id and hash as it is.
//!
//! The copy keeps where it is in the place it goes to, in the step that wrote the rows; one that was cut
//! short goes on from there. Until all is there and was compared the place has no shop: its identity is
//! empty, and everything else refuses it. Meanwhile nobody writes in the shop that is copied.

use std::path::Path;

use jiff::civil::Date;
use sha2::{Digest, Sha256};

use crate::engine::{Bind, Kept, Line, Row, Session, Value, values};
use crate::migrations::migrate;
use crate::open::{identity, identity_there, new_identity};
use crate::own::{lay_out, pack, put_all, unpack};
use crate::tables::{TABLES, Table};
use crate::{Identity, Keep, Place, Store, StoreError, folder, sql};

/// Rows that are kept in one step.
const STEP: usize = 4_000;
/// Rows that go into one statement; so many times the widest table's columns any engine takes.
const AT_ONCE: usize = 200;

/// A step of a copy that was kept.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CopyStep {
    /// The table.
    pub table: &'static str,
    /// How many of its rows are there.
    pub rows: u64,
}

/// What was copied.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Copied {
    /// Rows of all tables.
    pub rows: u64,
    /// Each branch's name, and the hash its ledger ends in; empty where it has no movement.
    pub ends: Vec<(String, Vec<u8>)>,
}

impl Store {
    /// Copies the shop to `to`, an empty folder or database, or one where a copy of this shop was cut
    /// short; `told` hears of each step, and an error of its ends the copy. The copy is another shop, with
    /// an identity of its own; everything else is as it was. It is proved before it counts: every row
    /// of every table is compared, then the copy is checked as by [`Store::check`].
    ///
    /// # Errors
    ///
    /// [`StoreError::Damaged`] when the shop or its copy is not sound; [`StoreError::IsAShop`] when there
    /// is another; [`StoreError::OtherCopy`], [`StoreError::Unlike`]; what the engines say.
    pub fn copy_to(
        &mut self,
        to: &Place,
        today: Date,
        mut told: impl FnMut(CopyStep) -> Result<(), StoreError>,
    ) -> Result<Copied, StoreError> {
        self.refuse_unsound(today)?;
        let (identity, dir) = (self.identity()?, self.dir.clone());
        self.write_once(Keep::DryRun, |w| {
            let copy = Copy { from: w.session, to: begin(to, &identity)? };
            copy.go_on(&identity.id, &mut told)?;
            copy.finish(&dir, today)
        })
    }

    fn refuse_unsound(&self, today: Date) -> Result<(), StoreError> {
        match self.check(today)?.into_iter().next() {
            Some(trouble) => Err(StoreError::Damaged { what: trouble.to_string() }),
            None => Ok(()),
        }
    }
}

/// The place for a copy, with all tables and an empty identity.
fn begin(to: &Place, of: &Identity) -> Result<Store, StoreError> {
    let store = match to {
        Place::Folder(dir) => {
            if !folder::store_file(dir).exists() {
                folder::make(dir, "", &of.name, of.currency)?;
            }
            folder::open_any(dir)?
        }
        Place::Server(server) => {
            let mut session = Session::Server(Box::new(Line::to(server)?));
            if identity_there(&session)?.is_none() {
                migrate(&mut session)?;
                session.run(sql!("identity_put"), values!["", of.name, of.currency.code()])?;
            }
            Store::of(session, Path::new(&to.to_string()), false)
        }
    };
    if identity(&store.session)?.id.is_empty() {
        Ok(store)
    } else {
        Err(StoreError::IsAShop { dir: store.dir })
    }
}

struct Copy<'a> {
    from: &'a Session,
    to: Store,
}

impl Copy<'_> {
    /// Copies what is not there yet.
    fn go_on(
        &self,
        source: &str,
        told: &mut impl FnMut(CopyStep) -> Result<(), StoreError>,
    ) -> Result<(), StoreError> {
        let (first, done) = self.reached(source)?;
        for (at, table) in TABLES.iter().enumerate().skip(first) {
            let done = if at == first { done } else { 0 };
            if at == first {
                // What is there was copied before: it must be what is there now.
                TABLES[..first].iter().try_for_each(|table| self.compare(table, None).map(drop))?;
                self.compare(table, Some(done))?;
            }
            self.copy_table(at, table, done, told)?;
        }
        Ok(())
    }

    /// The table that is being copied, and how many rows of it are there.
    fn reached(&self, source: &str) -> Result<(usize, u64), StoreError> {
        let to = &self.to.session;
        let step = to.begin()?;
        to.run(sql!("copy_make"), &[])?;
        let read = |row: &Row<'_>| Ok((row.get::<String>(0)?, row.get::<u64>(1)?, row.get(2)?));
        let reached = match to.first(sql!("copy_reached"), &[], read)? {
            Some((of, ..)) if of != source => {
                return Err(StoreError::OtherCopy { dir: self.to.dir.clone() });
            }
            Some((_, at, done)) => (usize::try_from(at).unwrap_or(usize::MAX), done),
            None => {
                // A store comes with the one branch of a shop that is one place.
                to.run(sql!("branches_clear"), &[])?;
                to.run(sql!("copy_begin"), values![source])?;
                (0, 0)
            }
        };
        step.commit()?;
        Ok(reached)
    }

    fn copy_table(
        &self,
        at: usize,
        table: &Table,
        mut done: u64,
        told: &mut impl FnMut(CopyStep) -> Result<(), StoreError>,
    ) -> Result<(), StoreError> {
        let mut rows = Vec::with_capacity(STEP);
        self.from.each(
            &table.rows_from(done),
            &[],
            |row| table.read(row),
            |row| {
                rows.push(row);
                if rows.len() == STEP {
                    done = self.keep(at, table, done, &rows, false)?;
                    rows.clear();
                    told(CopyStep { table: table.name, rows: done })?;
                }
                Ok::<_, StoreError>(())
            },
        )?;
        done = self.keep(at, table, done, &rows, true)?;
        told(CopyStep { table: table.name, rows: done })
    }

    /// Writes rows, and in the same step how far the copy is then; returns how many are there.
    fn keep(
        &self,
        at: usize,
        table: &Table,
        done: u64,
        rows: &[Vec<Kept>],
        is_all: bool,
    ) -> Result<u64, StoreError> {
        let to = &self.to.session;
        let step = to.begin()?;
        for rows in rows.chunks(AT_ONCE) {
            let values: Vec<Value<'_>> = rows.iter().flatten().map(Bind::value).collect();
            to.run(&table.insert(rows.len()), &values)?;
        }
        let there = done + rows.len() as u64;
        let next = if is_all { (at + 1, 0) } else { (at, there) };
        if to.run(sql!("copy_go_on"), values![at, done, next.0, next.1])? != 1 {
            let what = "somebody else copies to the same place".to_owned();
            return Err(StoreError::Damaged { what });
        }
        step.commit()?;
        Ok(there)
    }

    /// Proves the copy and makes a shop of it.
    fn finish(self, dir: &Path, today: Date) -> Result<Copied, StoreError> {
        let mut all = 0;
        for table in TABLES {
            all += self.compare(table, None)?;
        }
        let Self { from, to } = self;
        match (from, &to.session) {
            (Session::File(_), Session::File(_)) => {
                pack(dir, &to.session)?;
                unpack(&to.session, &to.dir)?;
            }
            (Session::Server(_), Session::File(_)) => lay_out(from, &to.dir)?,
            (_, Session::Server(_)) => {
                to.session.run(sql!("own_files_clear"), &[])?;
                put_all(dir, &to.session)?;
                for numbers in TABLES.iter().filter_map(Table::numbers_go_on) {
                    to.session.first(&numbers, &[], |_| Ok(()))?;
                }
            }
        }
        to.refuse_unsound(today)?;
        let ends = to.session.all(sql!("ledger_ends"), &[], |row| {
            Ok((row.get(0)?, row.get::<Option<Vec<u8>>>(1)?.unwrap_or_default()))
        })?;
        let step = to.session.begin()?;
        to.session.run(sql!("copy_end"), &[])?;
        to.session.run(sql!("identity_renew"), values![new_identity()])?;
        step.commit()?;
        to.session.close()?;
        Ok(Copied { rows: all, ends })
    }

    /// Refuses a table that is not the same here and there, of the first `rows` alone when so many are
    /// said; returns how many rows it has.
    fn compare(&self, table: &Table, rows: Option<u64>) -> Result<u64, StoreError> {
        let there = digest(&self.to.session, table, None)?;
        if digest(self.from, table, rows)? == there {
            Ok(there.0)
        } else {
            Err(StoreError::Unlike { table: table.name })
        }
    }
}

/// The rows of a table, and a hash over each value of each.
fn digest(
    session: &Session,
    table: &Table,
    rows: Option<u64>,
) -> Result<(u64, Vec<u8>), StoreError> {
    let (mut count, mut hasher) = (0, Sha256::new());
    session.each(
        &table.rows_until(rows),
        &[],
        |row| table.read(row),
        |row| {
            count += 1;
            for value in &row {
                let (sort, bytes) = match value {
                    Kept::Nothing => (0, &[][..]),
                    Kept::Integer(integer) => (1, &integer.to_le_bytes()[..]),
                    Kept::Text(text) => (2, text.as_bytes()),
                    Kept::Bytes(bytes) => (3, &bytes[..]),
                };
                hasher.update([sort]);
                hasher.update((bytes.len() as u64).to_le_bytes());
                hasher.update(bytes);
            }
            Ok::<_, StoreError>(())
        },
    )?;
    Ok((count, hasher.finalize().to_vec()))
}
