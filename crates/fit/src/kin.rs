//! Which parts are relatives, and what do they lend to each other's gaps?

/// Pairs of rows that are likely relatives, found from the rows alone.
#[derive(Debug, Clone, Default)]
pub struct Kin {
    /// `(row, row, log odds that the two are relatives)`, lower row first, each pair once. Only
    /// pairs fit to lend are kept (enough equal measures, or the same stem).
    pub pairs: Vec<(u32, u32, f32)>,
}

/// What the gaps of one kind are lent: per column, for each row with a gap, up to four values.
#[derive(Debug, Clone, Default)]
pub struct Lending {
    /// One per measure of the kind.
    pub columns: Vec<LentColumn>,
}

/// What the gaps of one column are lent. `rows` is ascending; a row without relatives is absent
/// and takes the kind's own spread.
#[derive(Debug, Clone, Default)]
pub struct LentColumn {
    /// The rows that are lent something.
    pub rows: Vec<u32>,
    /// Where each row's values start in `values`; one more entry than `rows`.
    pub starts: Vec<u32>,
    /// What is lent, the heaviest first.
    pub values: Vec<Lent>,
    /// Standard deviation by which a lent value may be off, for the blurred share.
    pub blur: f64,
}

/// One value lent to a gap. The rest of the weight, at least 1e-4, is the kind's own spread.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lent {
    /// The lending row, to say where the value comes from.
    pub from: u32,
    /// The value, encoded as in the column.
    pub value: f64,
    /// Weight that the part has exactly this value.
    pub exact: f32,
    /// Weight that the part's value is near it.
    pub near: f32,
}
