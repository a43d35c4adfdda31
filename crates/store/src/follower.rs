//! Who keeps the copy at a desk up to the server, while somebody looks up in it? A thread of its own,
//! told by the server where it can tell.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::{Duration, Instant};

use crate::StoreError;
use crate::engine::{Line, Session};
use crate::near::Near;
use crate::place::Server;

/// How often one asks a server that does not tell, or cannot be reached.
const ASKED: Duration = Duration::from_secs(1);
/// How often one asks a server that tells, all the same.
const ASKED_TOO: Duration = Duration::from_secs(10);
/// How long it may go on after its end.
const LINGERS: Duration = Duration::from_millis(500);

/// The thread; it ends when this is dropped.
#[derive(Debug)]
pub(crate) struct Follower {
    ended: Arc<AtomicBool>,
}

impl Follower {
    /// Follows `server` in the copy `near`.
    pub fn start(server: &Server, near: Near) -> Self {
        let ended = Arc::new(AtomicBool::new(false));
        let (server, is_over) =
            (Session::Server(Box::new(Line::later(server))), Arc::clone(&ended));
        thread::spawn(move || {
            let Session::Server(line) = &server else { return };
            let mut asks_every = ASKED_TOO;
            let mut told = true;
            while !is_over.load(Ordering::Relaxed) {
                // Before it is asked: what comes in between is told.
                let tells = line.listen().unwrap_or(false);
                match near.follow(&server) {
                    // One that had something to tell and did not is asked more often.
                    Ok(rows) if rows > 0 => asks_every = if told { ASKED_TOO } else { ASKED },
                    Ok(_) => {}
                    Err(_) => asks_every = ASKED,
                }
                let pause = if tells { asks_every } else { ASKED };
                told = wait(line, tells, pause, &is_over);
            }
        });
        Self { ended }
    }
}

/// Waits until the server tells of a turn, `pause` at the longest; whether it did.
fn wait(line: &Line, tells: bool, pause: Duration, is_over: &AtomicBool) -> bool {
    let since = Instant::now();
    while since.elapsed() < pause && !is_over.load(Ordering::Relaxed) {
        if !tells {
            thread::sleep(LINGERS);
            continue;
        }
        match line.hears_of_turn(LINGERS) {
            Ok(true) => return true,
            Ok(false) => {}
            Err(StoreError::OutOfReach { .. }) => return false,
            Err(_) => thread::sleep(LINGERS),
        }
    }
    false
}

impl Drop for Follower {
    fn drop(&mut self) {
        self.ended.store(true, Ordering::Relaxed);
    }
}
