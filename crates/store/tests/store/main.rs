//! What does the store promise, and does it keep it, on either engine? One module a promise.
//!
//! `suite` is what a store promises wherever it is kept: it is run on a file and on a server, each of
//! which says on its `ground` how a shop is made there. What is about files alone (damaged pages, calls
//! of the disk that fail, what else lies in the folder) is in `file`; what is about the line to a server
//! is in `server`. The server is the tests' own; where none is installed that half says so and runs on a
//! file.

#![allow(clippy::unwrap_used, reason = "a test may stop where its ground gives way")]
#![allow(clippy::duplicate_mod, reason = "the suite is there once an engine")]

mod file;
mod server;
