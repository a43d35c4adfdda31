//! Does paper hold what was asked for? Pages rendered by poppler and measured. Needs `pdftoppm` and
//! `pdftotext`; without them these tests fail.

#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a test that breaks off has failed")]

mod documents;
mod labels;
mod outlines;
mod render;
