//! What of a shop on a server lies at the desk, so that looking up asks nobody?
//!
//! A copy of the tables that are looked up, in a file of the other engine: the same queries read it. Each
//! row of theirs bears on the server the turn that wrote it last. Following is asking for the rows of
//! later turns, all at one moment; the turn of that moment is kept with them. The copy is never the only
//! one: where it is of another version, or of another shop, it is made anew.

use std::cell::Cell;
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};

use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp, ZonedDateTime};

use crate::engine::{Access, Bind, Kept, Session, Value, file, values};
use crate::migrations::{migrate, newest, version};
use crate::open::{Identity, identity};
use crate::tables::{TABLES, Table};
use crate::write::wait_for_turn;
use crate::{StoreError, sql};

/// The tables that are looked up.
const LOOKED_UP: [&str; 12] = [
    "branch",
    "branch_way",
    "part",
    "number",
    "change",
    "unit",
    "cross_reference",
    "bill_line",
    "bin",
    "price",
    "balance",
    "hold",
];
/// Before the first turn.
const NOTHING: i64 = -1;
/// How often it is written down that the copy is still what the server has.
const NOTED: SignedDuration = SignedDuration::from_secs(30);

/// How a desk stands with the server of its shop.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Standing {
    /// The moment whose stock is looked up: the last at which the server was reached.
    pub as_of: Timestamp,
    /// Whether the server could not be asked, when it was tried last.
    pub away: bool,
}

/// `14:02`, by the clock on the wall; with the day when it is another.
pub fn on_the_clock(at: Timestamp) -> String {
    let at = at.to_zoned_datetime(TimeZone::system());
    let today = at.date() == ZonedDateTime::now().date();
    at.strftime(if today { "%H:%M" } else { "%Y-%m-%d %H:%M" }).to_string()
}

/// The copy at a desk.
#[derive(Debug)]
pub(crate) struct Near {
    session: Session,
    dir: PathBuf,
    standing: Arc<Mutex<Standing>>,
    /// Whether a step of one's own may be missing in it.
    behind: Cell<bool>,
}

impl Near {
    /// The copy in `dir`; `None` where there is none that can be read.
    pub fn find(dir: &Path) -> Result<Option<Self>, StoreError> {
        let path = dir.join("look-up.db");
        if !path.is_file() {
            return Ok(None);
        }
        let session = file::open(&path, Access::Write)?;
        settle(&session)?;
        if version(&session)? != newest() {
            return Ok(None);
        }
        let Some((_, at)) = mark(&session)? else { return Ok(None) };
        let standing = Arc::new(Mutex::new(Standing { as_of: at, away: true }));
        Ok(Some(Self { session, dir: dir.to_owned(), standing, behind: Cell::new(false) }))
    }

    /// The copy in `dir` of the shop of `server`, brought up to it; made where there is none.
    pub fn of(server: &Session, dir: &Path) -> Result<Self, StoreError> {
        let is_of = |near: &Self| {
            let turn: i64 = server.one(sql!("turns"), &[], |row| row.get(0))?;
            let (kept, _) = mark(&near.session)?.unwrap_or((NOTHING, Timestamp::UNIX_EPOCH));
            // Who has seen a turn that the server has yet to come to follows another past.
            Ok::<_, StoreError>(kept <= turn && near.identity()?.id == identity(server)?.id)
        };
        let near = match Self::find(dir) {
            Ok(Some(near)) if is_of(&near)? => near,
            Ok(_) | Err(StoreError::Damaged { .. }) => Self::make(dir)?,
            Err(error) => return Err(error),
        };
        near.follow(server)?;
        Ok(near)
    }

    fn make(dir: &Path) -> Result<Self, StoreError> {
        let _turn = wait_for_turn(dir)?;
        let path = dir.join("look-up.db");
        for name in ["look-up.db", "look-up.db-wal", "look-up.db-shm"] {
            let _ = fs::remove_file(dir.join(name));
        }
        let mut session = file::open(&path, Access::Make)?;
        settle(&session)?;
        migrate(&mut session)?;
        session.run(sql!("mark_make"), &[])?;
        let standing = Standing { as_of: Timestamp::UNIX_EPOCH, away: true };
        let standing = Arc::new(Mutex::new(standing));
        Ok(Self { session, dir: dir.to_owned(), standing, behind: Cell::new(false) })
    }

    /// The same copy for another thread.
    pub fn again(&self) -> Result<Option<Self>, StoreError> {
        let again = Self::find(&self.dir)?;
        Ok(again.map(|near| Self { standing: Arc::clone(&self.standing), ..near }))
    }

    /// Where it is read.
    pub fn session(&self) -> &Session {
        &self.session
    }

    /// How the desk stands with the server.
    pub fn standing(&self) -> Standing {
        *self.standing.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// The last turn that is in it.
    pub fn turn(&self) -> Result<i64, StoreError> {
        Ok(mark(&self.session)?.map_or(NOTHING, |(turn, _)| turn))
    }

    /// Notes that a step of one's own was kept on the server.
    pub fn fall_behind(&self) {
        self.behind.set(true);
    }

    /// Takes over the step of one's own that is missing, if one is. Where the server is out of reach
    /// meanwhile it comes with the rest.
    pub fn catch_up(&self, server: &Session) {
        if self.behind.replace(false) {
            let _ = self.follow(server);
        }
    }

    /// Takes over what has changed on the server since; returns how many rows were read.
    pub fn follow(&self, server: &Session) -> Result<usize, StoreError> {
        let done = self.take_over(server);
        let now = Timestamp::now();
        let mut standing = self.standing.lock().unwrap_or_else(PoisonError::into_inner);
        match &done {
            Ok(_) => *standing = Standing { as_of: now, away: false },
            Err(_) => standing.away = true,
        }
        done
    }

    fn take_over(&self, server: &Session) -> Result<usize, StoreError> {
        let now = Timestamp::now();
        let turn: i64 = server.one(sql!("turns"), &[], |row| row.get(0))?;
        if let Some((kept, at)) = mark(&self.session)?
            && kept == turn
        {
            if now.duration_since(at) > NOTED {
                self.session.run(sql!("mark_put"), values![kept, now.to_string()])?;
            }
            return Ok(0);
        }
        let _turn = wait_for_turn(&self.dir)?;
        server.at_one_moment(|| {
            let step = self.session.begin()?;
            // Another program at this desk may have been quicker.
            let kept = self.turn()?;
            let newest = newest_turns(server)?;
            if kept == NOTHING {
                let Identity { id, name, currency } = identity(server)?;
                self.session.run(sql!("identity_put"), values![id, name, currency.code()])?;
            }
            let mut rows = 0;
            for (table, newest) in looked_up().zip(&newest[1..]) {
                let kept = if table.name == "change" { self.last_change()? } else { kept };
                if *newest > kept {
                    rows += self.copy(server, table, kept)?;
                }
            }
            self.session.run(sql!("mark_put"), values![newest[0], now.to_string()])?;
            step.commit()?;
            Ok(rows)
        })
    }

    /// Copies the rows of `table` that changed after `kept`; how many.
    fn copy(&self, server: &Session, table: &Table, kept: i64) -> Result<usize, StoreError> {
        let after = match table.name {
            "change" => "seq > ?1",
            "number" => "part_id IN (SELECT part_id FROM part WHERE turn > ?1)",
            // Of those that are at an end only what was open before is news.
            "hold" => "turn > ?1 AND (?1 >= 0 OR state = 'open')",
            _ => "turn > ?1",
        };
        let put = table.replace();
        let mut rows = 0;
        server.each(
            &table.rows_where(after),
            values![kept],
            |row| table.read(row),
            |row| {
                rows += 1;
                let row: Vec<Value<'_>> = row.iter().map(Kept::value).collect();
                if table.name == "part" {
                    self.session.run(sql!("numbers_drop"), &row[..1])?;
                }
                self.session.run(&put, &row).map(drop)
            },
        )?;
        Ok(rows)
    }

    fn last_change(&self) -> Result<i64, StoreError> {
        self.session.one(sql!("last_change"), &[], |row| row.get(0))
    }

    fn identity(&self) -> Result<Identity, StoreError> {
        identity(&self.session)
    }
}

/// The tables that are looked up, each after those it points to.
fn looked_up() -> impl Iterator<Item = &'static Table> {
    TABLES.iter().filter(|table| LOOKED_UP.contains(&table.name))
}

/// The turn of the server, and the last that is borne by a row of each table.
fn newest_turns(server: &Session) -> Result<Vec<i64>, StoreError> {
    let newest = looked_up().map(|table| match table.name {
        "change" => ", COALESCE((SELECT MAX(seq) FROM change), 0)".to_owned(),
        "number" => ", COALESCE((SELECT MAX(turn) FROM part), 0)".to_owned(),
        table => format!(", COALESCE((SELECT MAX(turn) FROM {table}), 0)"),
    });
    let query = format!("SELECT s.turn{} FROM shop s", newest.collect::<String>());
    server.one(&query, &[], |row| (0..=LOOKED_UP.len()).map(|at| row.get(at)).collect())
}

/// The turn that the copy has, and when it was what the server had; `None` before it has any.
fn mark(session: &Session) -> Result<Option<(i64, Timestamp)>, StoreError> {
    session.first(sql!("mark"), &[], |row| {
        let at: String = row.get(1)?;
        let at = at.parse().map_err(|_| StoreError::Damaged { what: format!("moment `{at}`") })?;
        Ok((row.get(0)?, at))
    })
}

/// A copy that is lost is made anew: nothing waits for the disk, and rows come in the server's order.
fn settle(session: &Session) -> Result<(), StoreError> {
    file::settle(session)?;
    for pragma in ["journal_mode = WAL", "synchronous = NORMAL", "foreign_keys = OFF"] {
        file::set(session, &format!("PRAGMA {pragma}"))?;
    }
    Ok(())
}
