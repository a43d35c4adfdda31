//! How does a PostgreSQL server answer the calls of the engine?
//!
//! A session is one line to it. Lost between two steps it is taken up anew and nobody notices; lost
//! within a step, the step is taken back there and refused here. Who loses it while a step is being
//! kept asks what became of it: the step's key stands beside what it wrote, or neither is there.
//!
//! What is asked of the server beyond plain SQL: prepared statements, savepoints, cursors, `READ
//! COMMITTED` whose `UPDATE` waits for a row, `WITH` that writes, `ON CONFLICT`, `RETURNING`, `FULL JOIN`,
//! partial indexes, identity columns, `COLLATE "C"`, triggers in PL/pgSQL that refuse a change and that
//! stamp a row with its turn, `REPEATABLE READ` for who reads much at one moment, `lock_timeout`.
//! Roles ask for grants by column, `SET ROLE` and what the catalogue says of roles and owners; a copy for
//! `setval`. No locks of a session, no extension. `LISTEN` and `pg_notify` are made use of where they are
//! there: without them desks ask from time to time. Tried on PostgreSQL 15 alone.

use std::cell::RefCell;
use std::collections::HashMap;
use std::error::Error;
use std::fmt;
use std::time::{Duration, Instant};

use postgres::error::SqlState;
use postgres::fallible_iterator::FallibleIterator;
use postgres::types::ToSql;
use postgres::{Client, Statement};
use refinery::error::Kind;

use super::Value;
use crate::place::Server;
use crate::roles::needed_by;
use crate::{Role, StoreError, sql};

/// Rows that are fetched at a time where there may be many.
const FETCHED: usize = 1000;
/// How long one waits for a turn.
pub(crate) const QUEUED: Duration = Duration::from_secs(30);
/// How often one asks what became of a step, with a pause that doubles between.
const ASKED: u32 = 7;
/// The first pause.
const PAUSE: Duration = Duration::from_millis(50);
/// The last turns of which the server remembers the keys.
const KEYS: i64 = 1024;

/// A line to a server.
pub(crate) struct Line {
    server: Server,
    state: RefCell<State>,
}

/// A turn to write, with the key its step is known by.
#[derive(Debug)]
pub(crate) struct Turn {
    number: i64,
    key: String,
}

/// Statements that are prepared on the line, by their texts.
type Prepared = HashMap<String, Statement>;

#[derive(Default)]
struct State {
    client: Option<Client>,
    prepared: Prepared,
    /// Whether a transaction is open. A line that is lost meanwhile is not taken up before its end.
    open: bool,
    /// Whether something failed in it, so that the server takes no more of it.
    failed: bool,
    /// Whether it failed for no fault of its own.
    disturbed: bool,
    cursors: u64,
    /// Turns that were had through this line and kept.
    kept: i64,
    /// Whether the server was asked to tell of turns.
    listening: bool,
}

impl fmt::Debug for Line {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Line").field("server", &self.server).finish_non_exhaustive()
    }
}

impl Line {
    /// Reaches the server.
    pub fn to(server: &Server) -> Result<Self, StoreError> {
        let line = Self::later(server);
        line.with(|_, _| Ok(()))?;
        Ok(line)
    }

    /// A line that is taken up when it is first needed.
    pub fn later(server: &Server) -> Self {
        Self { server: server.clone(), state: RefCell::default() }
    }

    /// Where it leads.
    pub fn server(&self) -> &Server {
        &self.server
    }

    /// The rows of `query`.
    pub fn rows(
        &self,
        query: &str,
        values: &[Value<'_>],
    ) -> Result<Vec<postgres::Row>, StoreError> {
        let values = sent(values);
        self.prepared(query, |client, statement| client.query(statement, &values))
    }

    /// Runs a statement; how many rows it wrote.
    pub fn run(&self, statement: &str, values: &[Value<'_>]) -> Result<usize, StoreError> {
        let values = sent(values);
        let wrote = self.prepared(statement, |client, known| client.execute(known, &values))?;
        Ok(usize::try_from(wrote).unwrap_or(usize::MAX))
    }

    /// Runs statements as one.
    pub fn run_together(&self, statements: &[(&str, &[Value<'_>])]) -> Result<(), StoreError> {
        let values: Vec<_> = statements.iter().flat_map(|(_, values)| sent(values)).collect();
        self.prepared(&together(statements), |client, known| client.execute(known, &values))?;
        Ok(())
    }

    /// Hands each row of `query` to `take`, some fetched at a time. All are of one moment.
    pub fn each<E: From<StoreError>>(
        &self,
        query: &str,
        values: &[Value<'_>],
        mut take: impl FnMut(&postgres::Row) -> Result<(), E>,
    ) -> Result<(), E> {
        if self.state.borrow().open {
            return self.fetch_each(query, values, &mut take);
        }
        self.at_one_moment(|| self.fetch_each(query, values, &mut take))
    }

    /// Reads all that `read` reads as it is at one moment.
    pub fn at_one_moment<T, E: From<StoreError>>(
        &self,
        read: impl FnOnce() -> Result<T, E>,
    ) -> Result<T, E> {
        self.say("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")?;
        self.state.borrow_mut().open = true;
        let done = read();
        // Nothing was written.
        let _ = self.roll_back();
        done
    }

    /// Asks to be told of every turn from now on; whether the server can.
    pub fn listen(&self) -> Result<bool, StoreError> {
        let closed = |client: &Client| client.is_closed();
        let listens = {
            let state = self.state.borrow();
            state.listening && !state.client.as_ref().is_none_or(closed)
        };
        if listens {
            return Ok(true);
        }
        match self.say("LISTEN shop_turn") {
            Ok(()) => {
                self.state.borrow_mut().listening = true;
                Ok(true)
            }
            Err(error @ StoreError::OutOfReach { .. }) => Err(error),
            Err(_) => Ok(false),
        }
    }

    /// Waits until the server tells of a turn, `most` at the longest; whether it did. Nothing is sent.
    pub fn hears_of_turn(&self, most: Duration) -> Result<bool, StoreError> {
        let state = &mut *self.state.borrow_mut();
        let gone = || self.server.out_of_reach("the line was lost");
        let client = state.client.as_mut().ok_or_else(gone)?;
        let told = client.notifications().timeout_iter(most).next();
        let told = told.map_err(|error| said(error, &self.server))?.is_some();
        if client.is_closed() {
            return Err(gone());
        }
        // What else was told meanwhile is the same news.
        while client.notifications().iter().next().is_ok_and(|more| more.is_some()) {}
        Ok(told)
    }

    fn fetch_each<E: From<StoreError>>(
        &self,
        query: &str,
        values: &[Value<'_>],
        take: &mut impl FnMut(&postgres::Row) -> Result<(), E>,
    ) -> Result<(), E> {
        // A name of its own: one that was not read to its end stays until the transaction's.
        let cursor = {
            let state = &mut *self.state.borrow_mut();
            state.cursors += 1;
            format!("rows_{}", state.cursors)
        };
        let declare = in_its_words(&format!("DECLARE {cursor} NO SCROLL CURSOR FOR {query}"));
        let values = sent(values);
        self.with(|client, _| client.execute(&*declare, &values))?;
        let fetch = format!("FETCH {FETCHED} FROM {cursor}");
        loop {
            let rows = self.with(|client, _| client.query(&*fetch, &[]))?;
            rows.iter().try_for_each(&mut *take)?;
            if rows.len() < FETCHED {
                break;
            }
        }
        self.say(&format!("CLOSE {cursor}"))?;
        Ok(())
    }

    /// Says something that has neither parameters nor rows.
    pub fn say(&self, words: &str) -> Result<(), StoreError> {
        self.with(|client, _| client.batch_execute(words))?;
        if words.starts_with("ROLLBACK") {
            self.state.borrow_mut().failed = false;
        }
        Ok(())
    }

    /// Waits for a turn to write and begins the transaction.
    pub fn begin(&self) -> Result<Turn, StoreError> {
        let key = format!("{:032x}", rand::random::<u128>());
        let (since, mut pause, mut anew) = (Instant::now(), PAUSE, false);
        self.state.borrow_mut().disturbed = false;
        loop {
            match self.take_turn(&key) {
                Ok(number) => return Ok(Turn { number, key }),
                // Nothing was done yet that could be lost with the line: it is taken up anew, once.
                Err(StoreError::OutOfReach { .. }) if self.state.borrow().open && !anew => {
                    anew = true;
                    self.roll_back()?;
                }
                // Another was given the way: the queue is joined again.
                Err(StoreError::Locked) if since.elapsed() < QUEUED => {
                    self.roll_back()?;
                    std::thread::sleep(pause);
                    pause *= 2;
                }
                Err(error) => {
                    let _ = self.roll_back();
                    return Err(error);
                }
            }
        }
    }

    fn take_turn(&self, key: &str) -> Result<i64, StoreError> {
        self.say("BEGIN ISOLATION LEVEL READ COMMITTED")?;
        {
            let state = &mut *self.state.borrow_mut();
            (state.open, state.failed, state.disturbed) = (true, false, false);
        }
        // Prepared: planning it each time costs a server more than one message more.
        let rows = self.rows(sql!("turn_take"), &[Value::Text(key)])?;
        let none = || StoreError::Damaged { what: "the shop has no row".to_owned() };
        rows.first().map(|row| row.get(0)).ok_or_else(none)
    }

    /// Keeps what was written in `turn`. When the line is lost over it, one asks on another whether it
    /// was kept.
    pub fn commit(&self, turn: &Turn) -> Result<(), StoreError> {
        if self.state.borrow().failed {
            self.roll_back()?;
            let why = "something in the step failed, and all of it was taken back";
            return Err(StoreError::Engine(why.into()));
        }
        let done = self.with(|client, _| client.batch_execute("COMMIT"));
        self.state.borrow_mut().open = false;
        match done {
            Ok(()) => {}
            Err(error @ StoreError::OutOfReach { .. }) => {
                let kept = self.was_kept(turn)?;
                self.state.borrow_mut().disturbed = !kept;
                if !kept {
                    return Err(error);
                }
            }
            Err(error) => {
                let _ = self.roll_back();
                return Err(error);
            }
        }
        self.state.borrow_mut().kept += 1;
        Ok(())
    }

    /// Whether the last transaction failed for no fault of its own.
    pub fn was_disturbed(&self) -> bool {
        self.state.borrow().disturbed
    }

    /// Whether `turn` was kept. The shop's row is free only once its transaction is at an end, so that
    /// one who has it knows.
    fn was_kept(&self, turn: &Turn) -> Result<bool, StoreError> {
        let mut pause = PAUSE;
        for _ in 0..ASKED {
            std::thread::sleep(pause);
            pause *= 2;
            let asked = self.begin().and_then(|after| {
                let row = |row: &postgres::Row| row.get::<_, bool>(0);
                let rows = self.rows(sql!("turn_is_kept"), &[Value::Text(&turn.key)])?;
                let forgotten = after.number - turn.number > KEYS;
                Ok((rows.first().is_some_and(row), forgotten))
            });
            let _ = self.roll_back();
            match asked {
                Ok((false, true)) => break,
                Ok((kept, _)) => return Ok(kept),
                Err(StoreError::OutOfReach { .. } | StoreError::Locked) => {}
                Err(error) => return Err(error),
            }
        }
        Err(StoreError::Unsure)
    }

    /// Takes back the transaction that is open.
    pub fn roll_back(&self) -> Result<(), StoreError> {
        let state = &mut *self.state.borrow_mut();
        (state.open, state.failed) = (false, false);
        match state.client.as_mut().filter(|client| !client.is_closed()) {
            Some(client) => client.batch_execute("ROLLBACK").map_err(|e| said(e, &self.server)),
            // The server takes it back by itself.
            None => Ok(()),
        }
    }

    /// The turns that were had through this line and kept.
    pub fn own_turns(&self) -> i64 {
        self.state.borrow().kept
    }

    /// Brings the shop on the server up to date.
    pub fn migrate(&self, runner: &refinery::Runner) -> Result<(), StoreError> {
        let state = &mut *self.state.borrow_mut();
        let client = state.reach(&self.server)?;
        runner.run(client).map(drop).map_err(|error| match error.kind() {
            Kind::Connection(_, cause) if is_of_rights(&**cause) => {
                self.server.refused("make a shop in this database", vec![Role::Owner])
            }
            _ => StoreError::Engine(error.into()),
        })
    }

    /// Asks with `text`, which is prepared once.
    fn prepared<T>(
        &self,
        text: &str,
        ask: impl Fn(&mut Client, &Statement) -> Result<T, postgres::Error>,
    ) -> Result<T, StoreError> {
        let asked = self.with(|client, prepared| {
            if let Some(known) = prepared.get(text) {
                return ask(client, known);
            }
            let statement = client.prepare(&in_its_words(text))?;
            ask(client, prepared.entry(text.to_owned()).or_insert(statement))
        });
        asked.map_err(|error| match (error, needed_by(text)) {
            (StoreError::NotAllowed { .. }, Some((what, may))) => self.refused(what, may),
            (error, _) => error,
        })
    }

    /// What one reads who is not of those who may do `what`.
    pub fn refused(&self, what: &'static str, may: Vec<Role>) -> StoreError {
        self.server.refused(what, may)
    }

    /// Asks the server something. Outside a transaction nothing is lost with a line that is: it is
    /// taken up anew, once.
    fn with<T>(
        &self,
        ask: impl Fn(&mut Client, &mut Prepared) -> Result<T, postgres::Error>,
    ) -> Result<T, StoreError> {
        let state = &mut *self.state.borrow_mut();
        let may_be_old = state.client.is_some() && !state.open;
        match state.ask(&self.server, &ask) {
            Err(StoreError::OutOfReach { .. }) if may_be_old => state.ask(&self.server, &ask),
            done => done,
        }
    }
}

impl State {
    fn ask<T>(
        &mut self,
        server: &Server,
        ask: impl Fn(&mut Client, &mut Prepared) -> Result<T, postgres::Error>,
    ) -> Result<T, StoreError> {
        self.reach(server)?;
        let client = self.client.as_mut().expect("reached above");
        ask(client, &mut self.prepared).map_err(|error| {
            let error = said(error, server);
            let disturbed = matches!(error, StoreError::OutOfReach { .. } | StoreError::Locked);
            (self.failed, self.disturbed) = (self.open, self.open && disturbed);
            if matches!(error, StoreError::OutOfReach { .. }) {
                self.client = None;
            }
            error
        })
    }

    /// Takes up the line where it is down.
    fn reach(&mut self, server: &Server) -> Result<&mut Client, StoreError> {
        if self.client.as_ref().is_none_or(Client::is_closed) {
            if self.open {
                (self.failed, self.disturbed) = (true, true);
                return Err(server.out_of_reach("the line was lost within a step"));
            }
            self.prepared.clear();
            self.listening = false;
            self.client = Some(server.connect()?);
        }
        Ok(self.client.as_mut().expect("taken up above"))
    }
}

/// Parameters as they are sent.
fn sent<'a>(values: &'a [Value<'a>]) -> Vec<&'a (dyn ToSql + Sync)> {
    values.iter().map(|value| value as &(dyn ToSql + Sync)).collect()
}

/// A query with its parameters as PostgreSQL numbers them: `$1` for `?1`.
fn in_its_words(query: &str) -> String {
    numbered_after(0, query)
}

/// The same where so many parameters come before its own.
fn numbered_after(others: usize, query: &str) -> String {
    let mut words = String::with_capacity(query.len());
    let mut rest = query;
    while let Some(at) = rest.find('?') {
        let (before, after) = (&rest[..at], &rest[at + 1..]);
        words.push_str(before);
        let digits = after.find(|c: char| !c.is_ascii_digit()).unwrap_or(after.len());
        match after[..digits].parse::<usize>() {
            Ok(number) => words.push_str(&format!("${}", number + others)),
            Err(_) => words.push('?'),
        }
        rest = &after[digits..];
    }
    words.push_str(rest);
    words
}

/// Whether `error` is a refusal of a grant.
fn is_of_rights(error: &(dyn Error + 'static)) -> bool {
    let error = error.downcast_ref::<postgres::Error>();
    error.is_some_and(|error| error.code() == Some(&SqlState::INSUFFICIENT_PRIVILEGE))
}

/// Statements as one: all but the last stand before it in a `WITH`.
fn together(statements: &[(&str, &[Value<'_>])]) -> String {
    let mut others = 0;
    let mut all: Vec<_> = statements
        .iter()
        .map(|(statement, values)| {
            let words = numbered_after(others, statement);
            others += values.len();
            words
        })
        .collect();
    let last = all.pop().unwrap_or_default();
    let before = all.iter().enumerate().map(|(nth, one)| format!("s{nth} AS ({one})"));
    let before = before.collect::<Vec<_>>().join(", ");
    if before.is_empty() { last } else { format!("WITH {before} {last}") }
}

/// What an error of the line means.
pub(crate) fn said(error: postgres::Error, server: &Server) -> StoreError {
    let Some(state) = error.code() else {
        let of_the_line =
            error.is_closed() || error.source().is_some_and(<dyn Error>::is::<std::io::Error>);
        return if of_the_line {
            server.out_of_reach(error)
        } else {
            StoreError::Engine(error.into())
        };
    };
    match *state {
        SqlState::T_R_SERIALIZATION_FAILURE
        | SqlState::T_R_DEADLOCK_DETECTED
        | SqlState::LOCK_NOT_AVAILABLE => StoreError::Locked,
        SqlState::DISK_FULL => StoreError::Full,
        SqlState::READ_ONLY_SQL_TRANSACTION => StoreError::ReadOnly,
        SqlState::UNDEFINED_TABLE => StoreError::NotAShop { dir: server.to_string().into() },
        SqlState::INSUFFICIENT_PRIVILEGE => server.refused("work in this shop", Role::ALL.to_vec()),
        SqlState::DATA_CORRUPTED | SqlState::INDEX_CORRUPTED => {
            StoreError::Damaged { what: error.to_string() }
        }
        SqlState::INVALID_PASSWORD | SqlState::INVALID_AUTHORIZATION_SPECIFICATION => {
            StoreError::Refused { place: server.to_string() }
        }
        _ if ["08", "57P", "53"].iter().any(|class| state.code().starts_with(class)) => {
            server.out_of_reach(error)
        }
        _ => StoreError::Engine(error.into()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_parameter_is_numbered_as_the_server_does_and_a_question_stays_one() {
        let query = "SELECT COALESCE(a, '?') FROM b WHERE c = ?1 AND d = ?12";
        let words = "SELECT COALESCE(a, '?') FROM b WHERE c = $1 AND d = $12";
        assert_eq!(in_its_words(query), words);
    }

    #[test]
    fn statements_that_run_as_one_count_their_parameters_through() {
        let (one, two) = ([Value::Integer(7), Value::Text("a")], [Value::Integer(8)]);
        let both: [(&str, &[Value<'_>]); 2] =
            [("INSERT INTO a VALUES (?1, ?2)", &one), ("DELETE FROM b WHERE c = ?1", &two)];
        let words = "WITH s0 AS (INSERT INTO a VALUES ($1, $2)) DELETE FROM b WHERE c = $3";
        assert_eq!(together(&both), words);
        assert_eq!(together(&both[1..]), "DELETE FROM b WHERE c = $1");
    }
}
