//! How are a part's numbers as typed kept in a column, where reading one takes no time?
//!
//! Eight bytes to a value, each number with [`LAST`] behind it.

use std::borrow::Cow;

use tantivy::DocId;
use tantivy::columnar::Column;

/// No byte of a text.
const LAST: u8 = 0xff;

/// Numbers on their way into the column.
#[derive(Debug, Default)]
pub(crate) struct Packed {
    values: Vec<u64>,
    /// Bytes free in the last value.
    free: usize,
}

impl Packed {
    /// Puts `number` behind the others.
    pub fn push(&mut self, number: &str) {
        for byte in number.bytes().chain([LAST]) {
            if self.free == 0 {
                self.values.push(u64::MAX);
                self.free = size_of::<u64>();
            }
            self.free -= 1;
            if let Some(last) = self.values.last_mut() {
                *last ^= u64::from(!byte) << (8 * self.free);
            }
        }
    }

    pub fn values(&self) -> &[u64] {
        &self.values
    }
}

/// Reads the numbers of `row` into `bytes` and returns them, the house number first.
pub(crate) fn read<'a>(
    column: &Column<u64>,
    row: DocId,
    bytes: &'a mut Vec<u8>,
) -> impl Iterator<Item = Cow<'a, str>> + use<'a> {
    bytes.clear();
    bytes.extend(column.values_for_doc(row).flat_map(u64::to_be_bytes));
    let numbers = bytes.split(|byte| *byte == LAST).filter(|number| !number.is_empty());
    numbers.map(String::from_utf8_lossy)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    proptest! {
        #[test]
        fn what_was_packed_is_read(numbers in prop::collection::vec("\\PC{1,20}", 0..5)) {
            let mut packed = Packed::default();
            numbers.iter().for_each(|number| packed.push(number));
            let (column, mut bytes) = (column_of(packed.values()), Vec::new());
            prop_assert_eq!(read(&column, 0, &mut bytes).collect::<Vec<_>>(), numbers);
        }
    }

    /// One row with these values.
    fn column_of(values: &[u64]) -> Column<u64> {
        use tantivy::schema::{FAST, Schema};
        let mut schema = Schema::builder();
        let field = schema.add_u64_field("typed", FAST);
        let index = tantivy::Index::create_in_ram(schema.build());
        let mut writer = index.writer_with_num_threads(1, 15_000_000).unwrap();
        let mut document = tantivy::TantivyDocument::new();
        values.iter().for_each(|value| document.add_u64(field, *value));
        writer.add_document(document).unwrap();
        writer.commit().unwrap();
        let searcher = index.reader().unwrap().searcher();
        searcher.segment_reader(0).fast_fields().u64("typed").unwrap()
    }
}
