//! What of a part is looked up?

use binwright_catalog::{Kind, Part};
use binwright_fit::table::{PackedPoint, UNKNOWN, encode};

/// One part as the index takes it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Entry {
    /// The store's id of the part, below 2^48.
    pub part: u64,
    /// Key of its kind.
    pub kind: String,
    /// The house number, as typed.
    pub house: String,
    /// The other numbers the trade knows it by, as typed.
    pub numbers: Vec<String>,
    /// Description, maker and kind, as one text.
    pub words: String,
    /// Parts of the same group are interchangeable; a part alone has its own id.
    pub group: u64,
    /// One encoded value per measure of the kind, [`UNKNOWN`] for a gap.
    pub values: Vec<f64>,
    /// Its layout; empty when not known.
    pub points: Vec<PackedPoint>,
}

impl Entry {
    /// Returns what is looked up of `part`, a part of `kind` with store id `id` in `group`.
    pub fn of(id: u64, group: u64, part: &Part, kind: &Kind) -> Self {
        let value = |measure: &binwright_catalog::Measure| {
            part.measures.get(&measure.key).map_or(UNKNOWN, |value| encode(measure, value))
        };
        Self {
            part: id,
            kind: part.kind.clone(),
            house: part.house.clone(),
            numbers: part.numbers.iter().map(|number| number.text.clone()).collect(),
            words: format!("{} {} {}", part.description, part.maker, kind.label),
            group,
            values: kind.measures.iter().map(value).collect(),
            points: part.layout.as_ref().map(PackedPoint::pack).unwrap_or_default(),
        }
    }
}
