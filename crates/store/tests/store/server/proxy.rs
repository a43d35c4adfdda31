//! Where is the line cut? A relay between a store and its server that drops the connection at a message
//! of one's choice.
//!
//! PostgreSQL 15, "Frontend/Backend Protocol", chapter "Message Formats": a message is one byte of type
//! and four of length, the length counting itself; the first of a client has no type.

use std::io::{self, Read, Write};
use std::net::{Shutdown, TcpListener, TcpStream};
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use std::thread;

/// Messages that still pass; never that many are sent.
const ALL: i64 = i64::MAX / 2;
/// None at all.
const NONE: i64 = i64::MIN / 2;

pub struct Proxy {
    pub port: u16,
    gate: Arc<Gate>,
}

/// What is let pass, and what has.
struct Gate {
    left: AtomicI64,
    messages: AtomicI64,
    asked: AtomicI64,
    rows: AtomicI64,
    told: AtomicI64,
}

impl Proxy {
    /// Relays to the server on `to`.
    pub fn start(to: u16) -> Self {
        let listener = TcpListener::bind("127.0.0.1:0").unwrap();
        let port = listener.local_addr().unwrap().port();
        let none = AtomicI64::default;
        let left = AtomicI64::new(ALL);
        let gate =
            Arc::new(Gate { left, messages: none(), asked: none(), rows: none(), told: none() });
        let passes = Arc::clone(&gate);
        thread::spawn(move || {
            for client in listener.incoming().flatten() {
                if passes.left.load(Ordering::SeqCst) < 0 {
                    continue;
                }
                let server = TcpStream::connect(("127.0.0.1", to)).unwrap();
                let back = (server.try_clone().unwrap(), client.try_clone().unwrap());
                let (one, other) = (Arc::clone(&passes), Arc::clone(&passes));
                thread::spawn(move || relay(client, server, 0, &one));
                thread::spawn(move || relay(back.0, back.1, 1, &other));
            }
        });
        Self { port, gate }
    }

    /// Cuts the line at the `nth` message from now, whoever sends it, once.
    pub fn cut_at(&self, nth: i64) {
        self.gate.left.store(nth, Ordering::SeqCst);
    }

    /// Lets nothing pass.
    pub fn close(&self) {
        self.gate.left.store(NONE, Ordering::SeqCst);
    }

    /// Lets everything pass again.
    pub fn open(&self) {
        self.gate.left.store(ALL, Ordering::SeqCst);
    }

    /// The messages that have passed, either way.
    pub fn messages(&self) -> i64 {
        self.gate.messages.load(Ordering::SeqCst)
    }

    /// How often the server was asked and its answer waited for.
    pub fn asked(&self) -> i64 {
        self.gate.asked.load(Ordering::SeqCst)
    }

    /// The rows that the server has sent.
    pub fn rows(&self) -> i64 {
        self.gate.rows.load(Ordering::SeqCst)
    }

    /// How often the server told somebody unasked.
    pub fn told(&self) -> i64 {
        self.gate.told.load(Ordering::SeqCst)
    }

    /// Whether it was cut; it is not from here on.
    pub fn was_cut(&self) -> bool {
        self.gate.left.swap(ALL, Ordering::SeqCst) > ALL / 2
    }
}

/// Passes on messages until one is to be cut; `types` bytes stand before the length of the first.
fn relay(mut from: TcpStream, mut to: TcpStream, mut types: usize, gate: &Gate) {
    let of_server = types == 1;
    // Each is written by itself: else it would wait until the one before is confirmed.
    to.set_nodelay(true).unwrap();
    while let Ok(message) = read_message(&mut from, types) {
        types = 1;
        gate.messages.fetch_add(1, Ordering::SeqCst);
        // `Query` and `Sync`; `DataRow` and `NotificationResponse`.
        match message[0] {
            b'Q' | b'S' if !of_server => gate.asked.fetch_add(1, Ordering::SeqCst),
            b'D' if of_server => gate.rows.fetch_add(1, Ordering::SeqCst),
            b'A' if of_server => gate.told.fetch_add(1, Ordering::SeqCst),
            _ => 0,
        };
        let passing = gate.left.fetch_sub(1, Ordering::SeqCst);
        if passing == 1 {
            gate.left.store(ALL, Ordering::SeqCst);
        }
        if passing <= 1 || to.write_all(&message).is_err() {
            break;
        }
    }
    for end in [from, to] {
        let _ = end.shutdown(Shutdown::Both);
    }
}

fn read_message(from: &mut TcpStream, types: usize) -> io::Result<Vec<u8>> {
    let mut message = vec![0; types + 4];
    from.read_exact(&mut message)?;
    let length = u32::from_be_bytes(message[types..].try_into().unwrap()) as usize;
    message.resize(types + length, 0);
    from.read_exact(&mut message[types + 4..])?;
    Ok(message)
}
