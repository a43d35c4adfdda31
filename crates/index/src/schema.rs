//! Which fields are laid down of a part?

use binwright_catalog::Kind;
use tantivy::schema::{
    FAST, Field, IndexRecordOption, NumericOptions, STRING, Schema, TextFieldIndexing, TextOptions,
};
use tantivy::tokenizer::NgramTokenizer;
use tantivy::{Index, Term};

/// The fields of a document.
#[derive(Debug, Clone)]
pub(crate) struct Fields {
    /// Key of the kind.
    pub kind: Field,
    /// Folded numbers.
    pub number: Field,
    /// Folded numbers without their leading zeros, where they have any.
    pub bare: Field,
    /// Every three characters in a row of the folded numbers with [`END`] behind them.
    pub gram: Field,
    /// Words of description, maker and kind.
    pub word: Field,
    /// The store's id.
    pub part: Field,
    /// Interchangeable parts share it.
    pub group: Field,
    /// Hash of the house number's stem.
    pub stem: Field,
    /// The change it was written at: a relative's claim on a part that changed later is void.
    pub stamp: Field,
    /// Numbers as typed, the house number first, packed.
    pub typed: Field,
    /// The layout's packed points.
    pub points: Field,
    /// Relatives: id << 16 | odds.
    pub kin: Field,
    /// `m00`, `m01` ...: the measures by their place in the kind.
    pub measures: Vec<Field>,
}

/// Name of the column of the measure at place `slot` of its kind.
pub(crate) fn slot_name(slot: usize) -> String {
    format!("m{slot:02}")
}

/// Stands behind the last character of a number, which is a letter or a digit.
pub(crate) const END: char = '$';

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
        kind: schema.add_text_field("kind", STRING),
        number: schema.add_text_field("number", terms("raw")),
        bare: schema.add_text_field("bare", terms("raw")),
        gram: schema.add_text_field("gram", terms(GRAMS)),
        word: schema.add_text_field("word", terms("default")),
        part: schema.add_u64_field("part", column()),
        group: schema.add_u64_field("group", column()),
        stem: schema.add_u64_field("stem", column()),
        stamp: schema.add_u64_field("stamp", column()),
        typed: schema.add_u64_field("typed", column()),
        points: schema.add_u64_field("points", column()),
        kin: schema.add_u64_field("kin", column()),
        measures: (0..Kind::MEASURES_MAX)
            .map(|slot| schema.add_f64_field(&slot_name(slot), column()))
            .collect(),
    };
    (schema.build(), fields)
}

impl Fields {
    /// The term that names the parts of the kind with key `kind`.
    pub fn kind_term(&self, kind: &str) -> Term {
        Term::from_field_text(self.kind, kind)
    }
}
