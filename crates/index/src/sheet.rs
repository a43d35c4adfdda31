//! How is a part handed to the index, field by field, without being copied?

use std::fmt::Debug;
use std::iter::{self, Empty};
use std::sync::Arc;

use binwright_catalog::number::{fold, without_leading_zeros};
use binwright_fit::table::stem_hash;
use tantivy::schema::Field;
use tantivy::schema::document::{Document, ReferenceValue, ReferenceValueLeaf, Value};

use crate::Entry;
use crate::schema::{END, Fields};
use crate::typed::Packed;

/// A part as it goes in: what is looked up of it and who its relatives are.
pub(crate) struct Sheet {
    fields: Arc<Fields>,
    entry: Entry,
    numbers: Vec<Number>,
    typed: Packed,
    stem: u64,
    kin: Vec<u64>,
    stamp: u64,
}

/// One of a part's numbers: folded, and [`END`] behind it.
struct Number {
    marked: String,
}

impl Number {
    /// Returns nothing for a number that has neither letters nor digits.
    fn new(typed: &str) -> Option<Self> {
        let mut marked = fold(typed);
        marked.push(END);
        (marked.len() > 1).then_some(Self { marked })
    }

    fn folded(&self) -> &str {
        &self.marked[..self.marked.len() - 1]
    }

    /// Without its leading zeros, where it has any and is more than zeros.
    fn bare(&self) -> Option<&str> {
        let bare = without_leading_zeros(self.folded());
        (bare.len() < self.folded().len() && !bare.is_empty()).then_some(bare)
    }
}

impl Sheet {
    /// Returns `entry` with its relatives `kin`, as written at change `stamp`.
    pub fn new(fields: &Arc<Fields>, entry: Entry, kin: Vec<u64>, stamp: u64) -> Self {
        let stem = stem_hash(&entry.house);
        let (mut numbers, mut packed) = (Vec::new(), Packed::default());
        for typed in iter::once(&entry.house).chain(&entry.numbers) {
            let Some(number) = Number::new(typed) else { continue };
            numbers.push(number);
            packed.push(typed);
        }
        Self { fields: Arc::clone(fields), entry, numbers, typed: packed, stem, kin, stamp }
    }
}

/// A value of a field.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Leaf<'a> {
    Text(&'a str),
    Whole(u64),
    Real(f64),
}

impl<'a> Value<'a> for Leaf<'a> {
    type ArrayIter = Empty<Self>;
    type ObjectIter = Empty<(&'a str, Self)>;

    fn as_value(&self) -> ReferenceValue<'a, Self> {
        ReferenceValue::Leaf(match *self {
            Self::Text(text) => ReferenceValueLeaf::Str(text),
            Self::Whole(whole) => ReferenceValueLeaf::U64(whole),
            Self::Real(real) => ReferenceValueLeaf::F64(real),
        })
    }
}

impl Document for Sheet {
    type Value<'a> = Leaf<'a>;
    type FieldsValuesIter<'a> = std::vec::IntoIter<(Field, Leaf<'a>)>;

    /// In the order of the schema: the index sorts them otherwise.
    fn iter_fields_and_values(&self) -> Self::FieldsValuesIter<'_> {
        use Leaf::{Real, Text, Whole};
        let Self { fields, entry, numbers, typed, .. } = self;
        let measures = fields.measures.iter().zip(&entry.values);
        let mut values = Vec::with_capacity(8 + 6 * numbers.len() + entry.values.len());
        values.push((fields.kind, Text(&entry.kind)));
        values.extend(numbers.iter().map(|number| (fields.number, Text(number.folded()))));
        values.extend(numbers.iter().filter_map(|n| Some((fields.bare, Text(n.bare()?)))));
        values.extend(numbers.iter().map(|number| (fields.gram, Text(&number.marked))));
        values.extend([
            (fields.word, Text(&entry.words)),
            (fields.part, Whole(entry.part)),
            (fields.group, Whole(entry.group)),
            (fields.stem, Whole(self.stem)),
            (fields.stamp, Whole(self.stamp)),
        ]);
        values.extend(typed.values().iter().map(|value| (fields.typed, Whole(*value))));
        values.extend(entry.points.iter().map(|point| (fields.points, Whole(point.0))));
        values.extend(self.kin.iter().map(|relative| (fields.kin, Whole(*relative))));
        let known = measures.filter(|(_, value)| !value.is_nan());
        values.extend(known.map(|(field, value)| (*field, Real(*value))));
        values.into_iter()
    }
}
