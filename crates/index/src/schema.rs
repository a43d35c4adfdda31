//! How is a part laid down as a document?

use binwright_catalog::{Kind, number};
use binwright_fit::table::stem_hash;
use tantivy::schema::{
    FAST, Field, INDEXED, IndexRecordOption, NumericOptions, STORED, STRING, Schema,
    TextFieldIndexing, TextOptions,
};
use tantivy::tokenizer::NgramTokenizer;
use tantivy::{Index, Term};

use crate::Entry;
use crate::find::backwards;

/// The fields of a document.
#[derive(Debug, Clone)]
pub(crate) struct Fields {
    /// The store's id: term and column.
    pub part: Field,
    /// Key of the kind.
    pub kind: Field,
    /// Folded numbers.
    pub number: Field,
    /// Folded numbers without their leading zeros, where they have any.
    pub bare: Field,
    /// Folded numbers turned around.
    pub back: Field,
    /// Every three characters in a row of the folded numbers.
    pub gram: Field,
    /// Words of description, maker and kind.
    pub word: Field,
    /// Numbers as typed, the house number first.
    pub typed: Field,
    /// Interchangeable parts share it.
    pub group: Field,
    /// Hash of the house number's stem.
    pub stem: Field,
    /// The layout's packed points.
    pub points: Field,
    /// Relatives: id << 16 | odds.
    pub kin: Field,
    /// The change it was written at: a relative's claim on a part that changed later is void.
    pub stamp: Field,
    /// `m00`, `m01` ...: the measures by their place in the kind.
    pub measures: Vec<Field>,
}

/// Name of the column of the measure at place `slot` of its kind.
pub(crate) fn slot_name(slot: usize) -> String {
    format!("m{slot:02}")
}

const GRAMS: &str = "three";

/// Registers the tokenizer that cuts numbers into threes.
pub(crate) fn register(index: &Index) -> tantivy::Result<()> {
    index.tokenizers().register(GRAMS, NgramTokenizer::new(3, 3, false)?);
    Ok(())
}

/// Returns the schema and its fields.
pub(crate) fn schema() -> (Schema, Fields) {
    let mut schema = Schema::builder();
    let terms = |tokenizer: &str| {
        TextOptions::default().set_indexing_options(
            TextFieldIndexing::default()
                .set_tokenizer(tokenizer)
                .set_index_option(IndexRecordOption::Basic)
                .set_fieldnorms(false),
        )
    };
    let column = || NumericOptions::default() | FAST;
    let fields = Fields {
        part: schema.add_u64_field("part", INDEXED | FAST),
        kind: schema.add_text_field("kind", STRING),
        number: schema.add_text_field("number", terms("raw")),
        bare: schema.add_text_field("bare", terms("raw")),
        back: schema.add_text_field("back", terms("raw")),
        gram: schema.add_text_field("gram", terms(GRAMS)),
        word: schema.add_text_field("word", terms("default")),
        typed: schema.add_text_field("typed", STORED),
        group: schema.add_u64_field("group", column()),
        stem: schema.add_u64_field("stem", column()),
        points: schema.add_u64_field("points", column()),
        kin: schema.add_u64_field("kin", column()),
        stamp: schema.add_u64_field("stamp", column()),
        measures: (0..Kind::MEASURES_MAX)
            .map(|slot| schema.add_f64_field(&slot_name(slot), column()))
            .collect(),
    };
    (schema.build(), fields)
}

impl Fields {
    /// Returns the document of `entry` with its relatives, as written at change `stamp`.
    pub fn document(&self, entry: &Entry, kin: &[u64], stamp: u64) -> tantivy::TantivyDocument {
        let mut document = tantivy::TantivyDocument::default();
        document.add_u64(self.part, entry.part);
        document.add_text(self.kind, &entry.kind);
        for typed in std::iter::once(&entry.house).chain(&entry.numbers) {
            let folded = number::fold(typed);
            if folded.is_empty() {
                continue;
            }
            document.add_text(self.typed, typed);
            document.add_text(self.number, &folded);
            document.add_text(self.back, backwards(&folded));
            document.add_text(self.gram, &folded);
            let bare = number::without_leading_zeros(&folded);
            if bare.len() < folded.len() && !bare.is_empty() {
                document.add_text(self.bare, bare);
            }
        }
        document.add_text(self.word, &entry.words);
        document.add_u64(self.group, entry.group);
        document.add_u64(self.stem, stem_hash(&entry.house));
        document.add_u64(self.stamp, stamp);
        for (field, value) in self.measures.iter().zip(&entry.values) {
            if !value.is_nan() {
                document.add_f64(*field, *value);
            }
        }
        for point in &entry.points {
            document.add_u64(self.points, point.0);
        }
        for relative in kin {
            document.add_u64(self.kin, *relative);
        }
        document
    }

    /// The term that names the part with store id `part`.
    pub fn part_term(&self, part: u64) -> Term {
        Term::from_field_u64(self.part, part)
    }

    /// The term that names the parts of the kind with key `kind`.
    pub fn kind_term(&self, kind: &str) -> Term {
        Term::from_field_text(self.kind, kind)
    }
}
