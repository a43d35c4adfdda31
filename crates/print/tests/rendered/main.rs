//! Does paper hold what was asked for? Pages rendered by poppler and measured. Needs `pdftoppm` and
//! `pdftotext`; without them these tests fail.

mod documents;
mod labels;
mod outlines;
mod render;
