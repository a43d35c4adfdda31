//! Does paper hold what was asked for? Pages rendered by poppler and measured; where it is not
//! installed, that is passed over, and said so.

#![allow(clippy::unwrap_used, clippy::print_stdout, reason = "a test that breaks off has failed")]

/// Ends a test that has nothing to measure with.
macro_rules! needs_poppler {
    () => {
        if !crate::render::is_possible() {
            return;
        }
    };
}

mod documents;
mod labels;
mod outlines;
mod render;
