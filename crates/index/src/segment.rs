//! What of a segment is kept open, because opening it is dear and reading it is not?

use std::io;
use std::sync::OnceLock;

use tantivy::SegmentReader;
use tantivy::columnar::Column;
use tantivy::termdict::TermDictionary;

use crate::numbers::Numbers;

/// The columns of a segment that every search reads, and its numbers once they are walked.
pub(crate) struct Segment {
    /// The store's ids.
    pub parts: Column<u64>,
    /// The numbers as typed, packed.
    pub typed: Column<u64>,
    numbers: OnceLock<Option<Numbers>>,
}

impl Segment {
    pub fn open(segment: &SegmentReader) -> tantivy::Result<Self> {
        let columns = segment.fast_fields();
        let (parts, typed) = (columns.u64("part")?, columns.u64("typed")?);
        Ok(Self { parts, typed, numbers: OnceLock::new() })
    }

    /// The numbers of this segment, whose `dictionary` has them, when they are few enough to be laid
    /// out.
    pub fn numbers(&self, dictionary: &TermDictionary) -> io::Result<Option<&Numbers>> {
        if self.numbers.get().is_none() {
            // Another thread may have been first: theirs is the same.
            let _ = self.numbers.set(Numbers::of(dictionary)?);
        }
        Ok(self.numbers.get().and_then(Option::as_ref))
    }
}
