//! What does the shop know of one part?

use std::collections::BTreeMap;

use crate::{IssueUnit, Layout, Value};

/// Something that can be stocked under one house number.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Part {
    /// The shop's own number, unique by its folded form.
    pub house: String,
    /// Key of its kind.
    pub kind: String,
    /// What a person would call it.
    pub description: String,
    /// Who makes it, as written.
    pub maker: String,
    /// What is known of it, by measure key.
    pub measures: BTreeMap<String, Value>,
    /// Its planar points, when known.
    pub layout: Option<Layout>,
    /// What it is counted in.
    pub issue: IssueUnit,
    /// Other numbers the trade knows it by, besides the house number.
    pub numbers: Vec<PartNumber>,
}

/// A number the trade knows a part by.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct PartNumber {
    /// As written.
    pub text: String,
    /// Who uses it (a maker, a supplier), as written; empty when nobody said.
    pub user: String,
}
