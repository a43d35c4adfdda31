//! How do the parts of one kind come out of the index as a table for the fit?

use std::collections::HashMap;

use binwright_catalog::Kind;
use binwright_fit::Model;
use binwright_fit::kin::{self, Kin, Lending, Weights};
use binwright_fit::table::{Table, UNKNOWN};
use tantivy::schema::IndexRecordOption;
use tantivy::{DocId, DocSet, Searcher, SegmentReader, TERMINATED, Term};

use crate::IndexError;
use crate::lending;
use crate::schema::slot_name;

/// The parts of one kind, as the fit takes them.
#[derive(Debug, Clone, Default)]
pub struct Shelf {
    /// One row a part.
    pub table: Table,
    /// Which rows are relatives.
    pub kin: Kin,
    /// How relatives agree; absent when gaps are to be lent nothing.
    pub weights: Option<Weights>,
}

impl Shelf {
    /// Returns what the gaps are lent: nothing when no weights were learnt.
    pub fn lending(&self, kind: &Kind) -> Lending {
        self.weights.as_ref().map_or_else(Lending::default, |weights| {
            kin::lend(kind, &self.table, &self.kin, weights)
        })
    }

    /// Returns the parts ready to be weighed.
    pub fn model(self, kind: &Kind) -> Model {
        let lending = self.lending(kind);
        Model::new(kind.clone(), self.table, lending)
    }
}

/// Reads the rows of `kind` and who claims whom for a relative.
pub(crate) fn read(
    searcher: &Searcher,
    term: &Term,
    kind: &Kind,
) -> Result<(Table, Kin), IndexError> {
    let mut table = Table::new(kind);
    let mut claims = Claims::default();
    for segment in searcher.segment_readers() {
        let rows = rows_of(segment, term)?;
        if !rows.is_empty() {
            read_segment(segment, &rows, &mut table, &mut claims)?;
        }
    }
    let kin = claims.settle(&table.parts);
    Ok((table, kin))
}

fn rows_of(segment: &SegmentReader, term: &Term) -> Result<Vec<DocId>, IndexError> {
    let mut rows = Vec::new();
    let index = segment.inverted_index(term.field())?;
    if let Some(mut postings) = index.read_postings(term, IndexRecordOption::Basic)? {
        let mut row = postings.doc();
        while row != TERMINATED {
            if !segment.is_deleted(row) {
                rows.push(row);
            }
            row = postings.advance();
        }
    }
    Ok(rows)
}

fn read_segment(
    segment: &SegmentReader,
    rows: &[DocId],
    table: &mut Table,
    claims: &mut Claims,
) -> Result<(), IndexError> {
    let columns = segment.fast_fields();
    let single = |name: &str, into: &mut Vec<u64>| -> Result<(), IndexError> {
        let column = columns.u64(name)?;
        into.extend(rows.iter().map(|&row| column.first(row).unwrap_or(0)));
        Ok(())
    };
    let base = table.parts.len() as u32;
    single("part", &mut table.parts)?;
    single("group", &mut table.groups)?;
    single("stem", &mut table.stems)?;
    single("stamp", &mut claims.stamps)?;
    let mut values = vec![None; rows.len()];
    for (slot, into) in table.columns.iter_mut().enumerate() {
        match columns.column_opt::<f64>(&slot_name(slot))? {
            Some(column) => {
                column.first_vals(rows, &mut values);
                into.extend(values.iter().map(|value| value.unwrap_or(UNKNOWN)));
            }
            None => into.resize(into.len() + rows.len(), UNKNOWN),
        }
        values.fill(None);
    }
    let points = columns.column_opt::<u64>("points")?;
    let kin = columns.column_opt::<u64>("kin")?;
    for (at, &row) in rows.iter().enumerate() {
        if let Some(points) = &points {
            table.points.extend(points.values_for_doc(row).map(binwright_fit::table::PackedPoint));
        }
        table.point_starts.push(table.points.len() as u32);
        if let Some(kin) = &kin {
            let own = base + at as u32;
            claims.claims.extend(kin.values_for_doc(row).map(|packed| (own, packed)));
        }
    }
    Ok(())
}

/// Who claims whom for a relative, before it is known which rows are there.
#[derive(Default)]
struct Claims {
    /// The change each row was written at.
    stamps: Vec<u64>,
    /// Row and packed relative.
    claims: Vec<(u32, u64)>,
}

impl Claims {
    /// A claim holds when the relative is still there and has not changed since.
    fn settle(self, parts: &[u64]) -> Kin {
        if self.claims.is_empty() {
            return Kin::default();
        }
        let rows: HashMap<u64, u32> =
            parts.iter().enumerate().map(|(row, part)| (*part, row as u32)).collect();
        let mut pairs: Vec<(u32, u32, f32)> = self
            .claims
            .into_iter()
            .filter_map(|(row, packed)| {
                let (part, odds) = lending::unpack(packed);
                let other = *rows.get(&part)?;
                (self.stamps[row as usize] >= self.stamps[other as usize] && other != row)
                    .then_some((row.min(other), row.max(other), odds))
            })
            .collect();
        pairs.sort_unstable_by_key(|&(low, high, _)| (low, high));
        pairs.dedup_by_key(|&mut (low, high, _)| (low, high));
        Kin { pairs }
    }
}
