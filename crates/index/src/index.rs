//! How is the index opened, built and kept in step with the store?

use std::collections::{BTreeMap, BTreeSet};
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

use binwright_catalog::{Kind, Kinds};
use binwright_fit::kin;
use binwright_fit::table::{Table, stem_hash};
use tantivy::indexer::{NoMergePolicy, UserOperation};
use tantivy::query::Query;
use tantivy::query::doc_predicate_query::{DocPredicateQuery, FunctionPredicate};
use tantivy::{
    DocId, IndexBuilder, IndexReader, IndexWriter, ReloadPolicy, Searcher, SegmentReader,
};

use crate::columns::{self, Shelf};
use crate::lending;
use crate::mark::{KindMark, Mark, measures_of};
use crate::schema::{self, Fields};
use crate::segment::Segment;
use crate::sheet::Sheet;
use crate::{Entry, IndexError};

/// Counts up when the documents are laid down otherwise.
const FORMAT: u32 = 3;
/// What the writer may hold before it flushes a segment; the true peak is about twice that.
const BUDGET_BYTES: usize = 20_000_000;
/// Parts handed to the writer at a time. One by one, handing over costs more than laying down; and ten
/// thousand batches may wait for their turn, which is memory.
const BATCH: usize = 4;

/// The index of one shop in a folder of its own.
pub struct Index {
    dir: PathBuf,
    inner: tantivy::Index,
    reader: IndexReader,
    pub(crate) segments: Vec<Segment>,
    pub(crate) fields: Arc<Fields>,
    mark: Mark,
}

/// Whether gaps are lent values by relatives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gaps {
    /// Relatives are sought and kept.
    Lent,
    /// They are not: for measuring what lending costs and gains.
    Left,
}

impl Index {
    /// Opens the index in the folder `dir`, making both when they are missing. An index that is
    /// damaged or of another `version` (the caller's: anything that makes old documents wrong) is
    /// thrown away; [`Self::last_change`] is then 0 and the caller rebuilds.
    ///
    /// # Errors
    ///
    /// [`IndexError`] for a folder, disk or lock that does not serve; nothing is deleted then.
    pub fn open(dir: &Path, version: u32) -> Result<Self, IndexError> {
        let own = dir.join("parts");
        let folder = |source: io::Error| IndexError::Folder {
            folder: own.display().to_string(),
            source: Arc::new(source),
        };
        fs::create_dir_all(&own).map_err(folder)?;
        let version = format!("{FORMAT}.{version}");
        match Self::open_as_is(dir, &own, &version) {
            Err(IndexError::Damaged(_)) => {}
            other => return other,
        }
        // Another program may have mended it while we waited for its turn.
        let _turn = turn(dir)?;
        match Self::open_as_is(dir, &own, &version) {
            Err(IndexError::Damaged(_)) => {}
            other => return other,
        }
        fs::remove_dir_all(&own).map_err(folder)?;
        fs::create_dir_all(&own).map_err(folder)?;
        let (schema, _) = schema::schema();
        let made = IndexBuilder::new().schema(schema).create_in_dir(&own)?;
        let mark = Mark { version: version.clone(), ..Mark::default() };
        let mut writer: IndexWriter<Sheet> = made.writer_with_num_threads(1, BUDGET_BYTES)?;
        commit(&mut writer, &mark)?;
        drop(writer);
        Self::open_as_is(dir, &own, &version)
    }

    fn open_as_is(dir: &Path, own: &Path, version: &str) -> Result<Self, IndexError> {
        let inner = tantivy::Index::open_in_dir(own)?;
        let (schema, fields) = schema::schema();
        if inner.schema() != schema {
            return Err(IndexError::Damaged("its fields are others".to_owned()));
        }
        schema::register(&inner)?;
        let mark = mark_of(&inner)?;
        if mark.version != version {
            return Err(IndexError::Damaged(format!("it is of version `{}`", mark.version)));
        }
        let reader = inner.reader_builder().reload_policy(ReloadPolicy::Manual).try_into()?;
        let segments = segments_of(&reader)?;
        Ok(Self { dir: dir.to_owned(), inner, reader, segments, fields: Arc::new(fields), mark })
    }

    /// The number of the store's last change that is in; 0 when nothing is.
    pub fn last_change(&self) -> u64 {
        self.mark.last_change
    }

    /// The number of parts that are in.
    pub fn len(&self) -> u64 {
        self.searcher().num_docs()
    }

    /// Whether no part is in.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Takes in what other programs have committed since.
    ///
    /// # Errors
    ///
    /// [`IndexError`] when the folder can no longer be read.
    pub fn refresh(&mut self) -> Result<(), IndexError> {
        self.mark = mark_of(&self.inner)?;
        self.reader.reload()?;
        self.segments = segments_of(&self.reader)?;
        Ok(())
    }

    /// The ids of the parts that are in, in no order.
    pub fn parts(&self) -> Vec<u64> {
        let mut parts = Vec::new();
        for (segment, own) in self.searcher().segment_readers().iter().zip(&self.segments) {
            parts.extend(segment.doc_ids_alive().filter_map(|doc| own.parts.first(doc)));
        }
        parts
    }

    /// The files whose bytes are not those that were written, by their checksums.
    ///
    /// # Errors
    ///
    /// [`IndexError`] when the folder can no longer be read.
    pub fn damaged_files(&self) -> Result<Vec<PathBuf>, IndexError> {
        let mut files: Vec<PathBuf> = self.inner.validate_checksum()?.into_iter().collect();
        files.sort_unstable();
        Ok(files)
    }

    /// The kinds whose parts must go in again: their measures are others than when they went in,
    /// they never went in, or so many changed since that relatives must be sought anew. Until
    /// then the latter serve as before, with fewer gaps lent.
    pub fn stale<'a>(&self, kinds: &'a Kinds) -> Vec<&'a Kind> {
        let known = |kind: &Kind| {
            let mark = self.mark.kinds.get(&kind.key);
            mark.is_some_and(|mark| mark.measures == measures_of(kind) && !mark.is_due())
        };
        kinds.iter().filter(|kind| !known(kind)).collect()
    }

    /// Puts all parts of `kinds` in anew. `feed` is asked kind by kind and hands over each part of
    /// the kind; what it handed over holds the store's changes up to `last_change`. All kinds are
    /// given to build from nothing, only [`Self::stale`] ones (with [`Self::last_change`]) to mend.
    ///
    /// # Errors
    ///
    /// What `feed` fails with, or [`IndexError`]; the index is then as it was.
    pub fn rebuild<E: From<IndexError>>(
        &mut self,
        kinds: &[&Kind],
        last_change: u64,
        gaps: Gaps,
        mut feed: impl FnMut(&str, &mut dyn FnMut(Entry)) -> Result<(), E>,
    ) -> Result<(), E> {
        let _turn = turn(&self.dir)?;
        self.refresh()?;
        let mut writer = self.writer()?;
        writer.set_merge_policy(Box::new(NoMergePolicy));
        let mut mark = Mark { last_change, ..self.mark.clone() };
        for kind in kinds {
            if !self.is_empty() {
                writer.delete_term(self.fields.kind_term(&kind.key));
            }
            let (mut entries, mut table) = (Vec::new(), Table::new(kind));
            feed(&kind.key, &mut |entry: Entry| {
                push(&mut table, &entry);
                entries.push(entry);
            })?;
            let (found, weights) = match gaps {
                Gaps::Lent => kin::relatives(kind, &table),
                Gaps::Left => Default::default(),
            };
            let claims = lending::claims(&table, &found);
            drop(table);
            let rows = entries.len() as u64;
            let mut sheets = entries.into_iter().zip(claims).map(|(entry, claims)| {
                UserOperation::Add(Sheet::new(&self.fields, entry, claims, last_change))
            });
            while sheets.len() > 0 {
                writer.run(sheets.by_ref().take(BATCH)).map_err(IndexError::from)?;
            }
            let weights = (gaps == Gaps::Lent).then_some(weights);
            let measures = measures_of(kind);
            let own = KindMark { measures, weights, rows, ..KindMark::default() };
            mark.kinds.insert(kind.key.clone(), own);
        }
        commit(&mut writer, &mark)?;
        merge_all(&self.inner, writer)?;
        self.refresh()?;
        Ok(())
    }

    /// Takes in the store's changes up to `last_change`: `changed` parts go in anew, `removed` ones
    /// go. Taking the same changes in twice is taking them in once; changes that another program
    /// has taken in meanwhile are passed over.
    ///
    /// # Errors
    ///
    /// [`IndexError`]; the index is then as it was.
    pub fn apply(
        &mut self,
        kinds: &Kinds,
        last_change: u64,
        changed: Vec<Entry>,
        removed: &[u64],
    ) -> Result<(), IndexError> {
        let _turn = turn(&self.dir)?;
        self.refresh()?;
        if self.last_change() > last_change {
            return Ok(());
        }
        let gone: BTreeSet<u64> =
            removed.iter().copied().chain(changed.iter().map(|entry| entry.part)).collect();
        let claims = self.claims_of(kinds, &changed, &gone)?;
        let mut mark = Mark { last_change, ..self.mark.clone() };
        for (key, places) in by_kind(&changed) {
            let Some(kind) = kinds.get(key) else { continue };
            let fresh = || KindMark { measures: measures_of(kind), ..KindMark::default() };
            let own = mark.kinds.entry(key.to_owned()).or_insert_with(fresh);
            own.since += places.len() as u64;
            own.unsought |= places.len() > KindMark::SOUGHT_MAX;
        }
        let mut writer = self.writer()?;
        if !self.is_empty() {
            writer.delete_query(with_parts(gone))?;
        }
        for (entry, claims) in changed.into_iter().zip(claims) {
            writer.add_document(Sheet::new(&self.fields, entry, claims, last_change))?;
        }
        commit(&mut writer, &mark)?;
        writer.wait_merging_threads()?;
        self.refresh()
    }

    /// Reads the parts of `kind`.
    ///
    /// # Errors
    ///
    /// [`IndexError`] when the index cannot be read, and when the measures of `kind` are others
    /// than when its parts went in: [`Self::rebuild`] it first.
    pub fn load(&self, kind: &Kind) -> Result<Shelf, IndexError> {
        let Some(mark) = self.mark.kinds.get(&kind.key) else {
            return Ok(Shelf { table: Table::new(kind), ..Shelf::default() });
        };
        if mark.measures != measures_of(kind) {
            return Err(IndexError::Damaged(format!("the measures of `{}` changed", kind.key)));
        }
        let (table, kin) =
            columns::read(&self.searcher(), &self.fields.kind_term(&kind.key), kind)?;
        Ok(Shelf { table, kin, weights: mark.weights.clone() })
    }

    pub(crate) fn searcher(&self) -> Searcher {
        self.reader.searcher()
    }

    fn writer(&self) -> Result<IndexWriter<Sheet>, IndexError> {
        Ok(self.inner.writer_with_num_threads(1, BUDGET_BYTES)?)
    }

    /// Returns the relatives that each changed part claims among the parts that stay, which are
    /// not in `gone`, and the changed ones, in the order of `changed`.
    fn claims_of(
        &self,
        kinds: &Kinds,
        changed: &[Entry],
        gone: &BTreeSet<u64>,
    ) -> Result<Vec<Vec<u64>>, IndexError> {
        let mut claims = vec![Vec::new(); changed.len()];
        for (key, places) in by_kind(changed) {
            if places.len() > KindMark::SOUGHT_MAX {
                continue;
            }
            let Some(kind) = kinds.get(key) else { continue };
            let shelf = self.load(kind)?;
            let Some(weights) = shelf.weights else { continue };
            let mut table = without(&shelf.table, kind, gone);
            let first = table.len() as u32;
            for &at in &places {
                push(&mut table, &changed[at]);
            }
            let rows: Vec<u32> = (first..table.len() as u32).collect();
            for (low, high, odds) in kin::relatives_of(kind, &table, &weights, &rows).pairs {
                // The new row claims: its stamp is the younger one.
                let (new, other) = if high >= first { (high, low) } else { (low, high) };
                if new >= first {
                    let place = places[(new - first) as usize];
                    claims[place].push(lending::pack(table.parts[other as usize], odds));
                }
            }
        }
        Ok(claims)
    }
}

/// Waits for the turn to write: programs that share a cache folder go one after the other.
fn turn(dir: &Path) -> Result<File, IndexError> {
    let path = dir.join("turn");
    let taken = File::create(&path).and_then(|file| file.lock().map(|()| file));
    taken.map_err(|source| IndexError::Folder {
        folder: path.display().to_string(),
        source: Arc::new(source),
    })
}

fn segments_of(reader: &IndexReader) -> Result<Vec<Segment>, IndexError> {
    let searcher = reader.searcher();
    Ok(searcher.segment_readers().iter().map(Segment::open).collect::<Result<_, _>>()?)
}

/// Matches the documents of `parts`, reading the column of ids: it is cheaper to keep than a
/// dictionary of them.
fn with_parts(parts: BTreeSet<u64>) -> Box<dyn Query> {
    let parts = Arc::new(parts);
    let of_segment = move |segment: &SegmentReader| {
        let (parts, ids) = (Arc::clone(&parts), segment.fast_fields().u64("part")?);
        Ok(move |row: DocId| ids.first(row).is_some_and(|id| parts.contains(&id)))
    };
    Box::new(DocPredicateQuery::from(FunctionPredicate::from(of_segment)))
}

fn mark_of(index: &tantivy::Index) -> Result<Mark, IndexError> {
    let payload = index.load_metas()?.payload.unwrap_or_default();
    serde_json::from_str(&payload).map_err(|error| IndexError::Damaged(error.to_string()))
}

fn commit(writer: &mut IndexWriter<Sheet>, mark: &Mark) -> Result<(), IndexError> {
    let payload = serde_json::to_string(mark).map_err(io::Error::from)?;
    let mut commit = writer.prepare_commit()?;
    commit.set_payload(&payload);
    commit.commit()?;
    Ok(())
}

/// Joins all segments: a dictionary is then walked once, not once a segment.
fn merge_all(index: &tantivy::Index, mut writer: IndexWriter<Sheet>) -> Result<(), IndexError> {
    let segments = index.searchable_segment_ids()?;
    if segments.len() > 1 {
        writer.merge(&segments).wait()?;
    }
    writer.garbage_collect_files().wait()?;
    writer.wait_merging_threads()?;
    Ok(())
}

/// Places in `changed` by key of the kind.
fn by_kind(changed: &[Entry]) -> BTreeMap<&str, Vec<usize>> {
    let mut places: BTreeMap<&str, Vec<usize>> = BTreeMap::new();
    for (at, entry) in changed.iter().enumerate() {
        places.entry(&entry.kind).or_default().push(at);
    }
    places
}

fn push(table: &mut Table, entry: &Entry) {
    table.push(entry.part, entry.group, stem_hash(&entry.house), &entry.values, &entry.points);
}

fn without(table: &Table, kind: &Kind, gone: &BTreeSet<u64>) -> Table {
    let mut kept = Table::new(kind);
    let mut values = Vec::with_capacity(table.columns.len());
    for row in (0..table.len()).filter(|&row| !gone.contains(&table.parts[row])) {
        values.clear();
        values.extend(table.columns.iter().map(|column| column[row]));
        kept.push(
            table.parts[row],
            table.groups[row],
            table.stems[row],
            &values,
            table.points_of(row),
        );
    }
    kept
}
