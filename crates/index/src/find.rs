//! Which parts are meant by what was typed: a number, a piece of one, or words?
//!
//! Every hit is judged by the number as the catalogue has it: the index only nets candidates.

use std::collections::{BTreeMap, HashSet};
use std::io;

use binwright_catalog::number::{fold, without_leading_zeros};
use tantivy::index::InvertedIndexReader;
use tantivy::postings::{SegmentPostings, TermInfo};
use tantivy::schema::{Field, IndexRecordOption};
use tantivy::termdict::TermOrdinal;
use tantivy::{DocAddress, DocId, DocSet, Searcher, SegmentReader, TERMINATED};

use crate::distance::{Close, EDIT, LOOK_ALIKE, Pattern, Row, Tenths, WILD, Whole};
use crate::schema::{END, Fields};
use crate::segment::Segment;
use crate::walk::Walk;
use crate::{Index, IndexError, typed};

/// How a hit matches what was typed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum How {
    /// The same folded number.
    Exact,
    /// The same but for zeros in front.
    LeadingZeros,
    /// Characters swapped for others that are read for them.
    LookAlike,
    /// It has what was legible, in its places.
    Worn,
    /// What was typed is a piece of it.
    Fragment,
    /// All words stand in its description.
    Words,
    /// Characters wrong, missing, too many or swapped.
    Typo,
}

/// A part that may be meant.
#[derive(Debug, Clone, PartialEq)]
pub struct Hit {
    /// The store's id of the part.
    pub part: u64,
    /// The number that matches, as typed in the catalogue; the house number for words.
    pub number: String,
    /// How it matches.
    pub how: How,
    /// Distance: 0 the same, 0.3 a look-alike, 0.5 a character not legible or an open end of a
    /// piece, 1 an edit. `common practice, no source`.
    pub cost: f64,
}

/// Zeros in front are less than any character misread. `common practice, no source`.
const ZEROS: Tenths = 2;
/// All words found stand before a number with a typo. `common practice, no source`.
const WORDS: Tenths = 9;
/// With what is not legible, two characters may be misread.
const WORN_SLACK: Tenths = 2 * LOOK_ALIKE;
/// Two typos are sought in numbers of so many characters.
const FAR_MIN: usize = 6;
/// To look into so many parts takes no longer than to open a list of those with three characters.
const FEW: usize = 4;
/// Hits that room is made for at once.
const USUAL: usize = 32;
/// Parts looked into for a piece or for words, a segment.
const LOOKS_MAX: usize = 400;

impl Index {
    /// Returns the parts that `text` may mean, the nearest first, at most `limit`: the same number
    /// whatever its case, spaces and marks; zeros in front more or less; look-alike characters;
    /// `?` and `*` for characters that are not legible; pieces of three characters or more, and
    /// beginnings; the words of the description; one typo from four characters on, two (when
    /// nothing nearer than one is found, and less than half of `limit`) from six.
    ///
    /// # Errors
    ///
    /// [`IndexError`] when the index cannot be read.
    pub fn find(&self, text: &str, limit: usize) -> Result<Vec<Hit>, IndexError> {
        let folded = fold_worn(text);
        let searcher = self.searcher();
        let mut search = Search {
            searcher: &searcher,
            segments: &self.segments,
            bytes: Vec::new(),
            fields: &self.fields,
            limit: limit.min(10_000),
            seen: HashSet::with_capacity(USUAL),
            hits: Vec::with_capacity(USUAL),
            farther: Nearest::new(),
        };
        if limit == 0 {
            return Ok(Vec::new());
        }
        let worn = folded.contains(['?', '*']);
        let pattern = Pattern::new(&folded);
        match &pattern {
            Some(pattern) if worn => search.worn(&folded, pattern)?,
            _ if worn || folded.is_empty() => {}
            pattern => search.number(&folded, pattern.as_ref())?,
        }
        search.words(text)?;
        match &pattern {
            Some(pattern) if !worn && folded.len() >= FAR_MIN && search.is_lost() => {
                search.far(&folded, pattern)?;
            }
            _ => {}
        }
        Ok(search.ranked())
    }
}

/// The last few characters of a number that is long enough for two typos.
fn last_few(folded: &str) -> &str {
    &folded[folded.floor_char_boundary(folded.len().saturating_sub(4))..]
}

/// A piece that a number ends with, as its threes have it.
fn ended(piece: &str) -> String {
    format!("{piece}{END}")
}

/// Folds what was typed, keeping `?` and `*`.
fn fold_worn(text: &str) -> String {
    let mut folded = String::new();
    for piece in text.split_inclusive(['?', '*']) {
        let legible = piece.trim_end_matches(['?', '*']);
        folded.push_str(&fold(legible));
        let mark = &piece[legible.len()..];
        if mark != "*" || !folded.ends_with('*') {
            folded.push_str(mark);
        }
    }
    folded
}

/// Returns what `number` costs when all of `folded` was legible: the least of all ways to match.
fn legible(
    folded: &str,
    pattern: Option<&Pattern>,
    most: Tenths,
    number: &str,
) -> Option<(Tenths, How)> {
    let bare = without_leading_zeros(folded);
    let zeros = !bare.is_empty() && without_leading_zeros(number) == bare;
    let ends = Tenths::from(!number.starts_with(folded)) + Tenths::from(!number.ends_with(folded));
    let cost = match pattern {
        _ if number == folded => 0,
        Some(pattern) => pattern.cost::<Close>(number.as_bytes()),
        None => Tenths::MAX,
    };
    // Up to two edits no sum with an edit in it is a multiple of a look-alike's cost.
    let how = match cost {
        0 => How::Exact,
        _ if cost.is_multiple_of(LOOK_ALIKE) => How::LookAlike,
        _ => How::Typo,
    };
    let ways = [
        (cost <= most).then_some((cost, how)),
        zeros.then_some((ZEROS, How::LeadingZeros)),
        number.contains(folded).then_some((ends * WILD, How::Fragment)),
    ];
    ways.into_iter().flatten().min()
}

/// One search: what was found so far.
struct Search<'a> {
    searcher: &'a Searcher,
    segments: &'a [Segment],
    /// Room to read numbers into.
    bytes: Vec<u8>,
    fields: &'a Fields,
    limit: usize,
    seen: HashSet<u64>,
    hits: Vec<Hit>,
    /// Numbers two edits away that a walk has met, for when nothing nearer is found.
    farther: Nearest,
}

/// Terms of the dictionaries of numbers by what they cost, length, segment and place in it.
type Nearest = BTreeMap<(Tenths, usize, usize, TermOrdinal), TermInfo>;

/// What a folded number costs and how it matches; `None` when it does not.
type Judge<'a> = &'a dyn Fn(&str) -> Option<(Tenths, How)>;

impl Search<'_> {
    /// Whether nothing was found but a few numbers with a typo: one with two may be meant as well.
    fn is_lost(&self) -> bool {
        2 * self.hits.len() < self.limit && self.hits.iter().all(|hit| hit.how == How::Typo)
    }

    /// Everything that a legible number finds, but two typos.
    fn number(&mut self, folded: &str, pattern: Option<&Pattern>) -> Result<(), IndexError> {
        let most = if folded.len() < 4 { EDIT - 1 } else { EDIT };
        let judge: Judge = &|number| legible(folded, pattern, most, number);
        let bare = without_leading_zeros(folded);
        let Fields { number, bare: without, .. } = *self.fields;
        let keys = [(number, folded), (without, bare), (number, bare)];
        for (field, key) in &keys[..if bare == folded { 2 } else { 3 }] {
            for at in 0..self.searcher.segment_readers().len() {
                self.term(at, *field, key.as_bytes(), judge)?;
            }
        }
        match pattern {
            // Most that is not found as it stands is mistyped: one walk for one edit and for two.
            Some(pattern) if folded.len() >= FAR_MIN && self.hits.is_empty() => {
                let before = folded.len() - last_few(folded).len();
                let mut met = self.walk(&Walk::near(pattern, 2 * EDIT, before))?;
                self.farther = met.split_off(&(EDIT + 1, 0, 0, 0));
                self.take_all(met, judge)?;
            }
            Some(pattern) => self.near(pattern, most, folded, judge)?,
            None => {}
        }
        // What begins or ends with it has it inside, where that is not too many to look into.
        if !self.inside(&[folded], judge)? {
            self.beginning(folded, judge)?;
            self.inside(&[&ended(folded)], judge)?;
        }
        Ok(())
    }

    /// Numbers that cost no more than `most`, an edit at most. Those that cost all of it in the first
    /// half end as `folded` does and are found by that: a walk for the others visits far less than
    /// one for all.
    fn near(
        &mut self,
        pattern: &Pattern,
        most: Tenths,
        folded: &str,
        judge: Judge,
    ) -> Result<(), IndexError> {
        let (first, last) = folded.split_at(folded.floor_char_boundary(folded.len() / 2));
        let alike = self.ending(last)?;
        let before = if alike.is_some() { first.len() } else { folded.len() };
        let met = self.walk(&Walk::near(pattern, most, before))?;
        self.take_all(met, judge)?;
        alike.into_iter().flatten().for_each(|address| self.take(address, judge));
        Ok(())
    }

    /// Numbers two edits away: those the walk for one edit met, and those with both edits before the
    /// last few characters, which end with these.
    fn far(&mut self, folded: &str, pattern: &Pattern) -> Result<(), IndexError> {
        let most = 2 * EDIT;
        let judge: Judge = &|number| legible(folded, Some(pattern), most, number);
        let Some(alike) = self.ending(last_few(folded))? else {
            let met = self.walk(&Walk::near(pattern, most, folded.len()))?;
            return self.take_all(met, judge);
        };
        let met = std::mem::take(&mut self.farther);
        self.take_all(met, judge)?;
        alike.into_iter().for_each(|address| self.take(address, judge));
        Ok(())
    }

    /// What is legible, in its places.
    fn worn(&mut self, folded: &str, pattern: &Pattern) -> Result<(), IndexError> {
        let marks = folded.bytes().filter(|byte| matches!(byte, b'?' | b'*')).count();
        if marks == folded.len() {
            return Ok(());
        }
        let most = (marks * usize::from(WILD)).min(200) as Tenths + WORN_SLACK;
        let marked = ended(folded);
        let runs: Vec<&str> = marked.split(['?', '*']).filter(|run| run.len() >= 3).collect();
        let judge: Judge = &|number| {
            let cost = pattern.cost::<Whole>(number.as_bytes());
            (cost <= most).then_some((cost, How::Worn))
        };
        let found = self.hits.len();
        if folded.starts_with('*') && !runs.is_empty() {
            self.inside(&runs, judge)?;
        }
        // Without a beginning a walk visits every number there is.
        if self.hits.len() > found {
            return Ok(());
        }
        let met = self.walk(&Walk::new(pattern, most))?;
        self.take_all(met, judge)
    }

    /// Walks the dictionaries of numbers and returns the nearest, as many as are asked for.
    fn walk<R: Row>(&self, walk: &Walk<'_, R>) -> Result<Nearest, IndexError> {
        let mut nearest = Nearest::new();
        for (at, segment) in self.searcher.segment_readers().iter().enumerate() {
            let index = segment.inverted_index(self.fields.number)?;
            let dictionary = index.terms();
            let mut meet = |cost, length, place, term: &TermInfo| {
                let rank = (cost, length, at, place);
                let full = nearest.len() >= self.limit;
                if full && nearest.last_key_value().is_some_and(|(worst, _)| *worst <= rank) {
                    return Ok(());
                }
                if segment.has_deletes() && none_alive(segment, rows_of(&index, term)?) {
                    return Ok(());
                }
                nearest.insert(rank, term.clone());
                if full {
                    nearest.pop_last();
                }
                io::Result::Ok(())
            };
            if let Some(numbers) = self.segments[at].numbers(dictionary)? {
                for met in numbers.search(walk) {
                    meet(walk.cost_at(&met.come), met.length, met.place, met.term)?;
                }
            } else {
                let mut terms = dictionary.search(walk).into_stream()?;
                while terms.advance() {
                    let cost = walk.cost(terms.key());
                    meet(cost, terms.key().len(), terms.term_ord(), terms.value())?;
                }
            }
        }
        Ok(nearest)
    }

    /// Looks into the parts that have one of `terms`.
    fn take_all(&mut self, terms: Nearest, judge: Judge) -> Result<(), IndexError> {
        let segments = self.searcher.segment_readers().iter();
        let indexes = segments.map(|segment| segment.inverted_index(self.fields.number));
        let indexes: Vec<_> = indexes.collect::<Result<_, _>>()?;
        for ((_, _, at, _), found) in terms {
            self.parts_of(at, &indexes[at], &found, judge)?;
        }
        Ok(())
    }

    /// Numbers that begin with `folded`.
    fn beginning(&mut self, folded: &str, judge: Judge) -> Result<(), IndexError> {
        let field = self.fields.number;
        for (at, segment) in self.searcher.segment_readers().iter().enumerate() {
            let index = segment.inverted_index(field)?;
            let mut terms = index.terms().range().ge(folded).into_stream()?;
            let mut left = self.limit + 1;
            while left > 0 && terms.advance() && terms.key().starts_with(folded.as_bytes()) {
                self.term(at, field, terms.key(), judge)?;
                left -= 1;
            }
        }
        Ok(())
    }

    /// Numbers that have every three characters in a row of `runs`; whether all were looked into.
    fn inside(&mut self, runs: &[&str], judge: Judge) -> Result<bool, IndexError> {
        let threes = threes(runs);
        // The nearest may come last.
        Ok(self.all_of(self.fields.gram, &threes, FEW, LOOKS_MAX, judge)? && !threes.is_empty())
    }

    /// Parts that may have a number with every three characters in a row of `last` and of its end;
    /// nothing when there are too many to look into, or fewer than three characters to tell by.
    fn ending(&self, last: &str) -> Result<Option<Vec<DocAddress>>, IndexError> {
        let marked = ended(last);
        let threes = threes(&[&marked]);
        if threes.is_empty() {
            return Ok(None);
        }
        let mut found = Vec::new();
        for at in 0..self.searcher.segment_readers().len() {
            found.extend(self.with_all(at, self.fields.gram, &threes, FEW)?);
        }
        Ok(Some(found).filter(|found| found.len() <= LOOKS_MAX))
    }

    /// Parts whose description has every word of `text`; the last may be a word's beginning.
    fn words(&mut self, text: &str) -> Result<(), IndexError> {
        let mut words: Vec<String> = text
            .split(|letter: char| !letter.is_alphanumeric())
            .filter(|word| !word.is_empty())
            .map(str::to_lowercase)
            .collect();
        if let Some(last) = words.pop() {
            words.push(self.completed(&last)?.unwrap_or(last));
        }
        let words: Vec<&str> = words.iter().map(String::as_str).collect();
        self.all_of(self.fields.word, &words, 0, self.limit, &|_| Some((WORDS, How::Words)))?;
        Ok(())
    }

    /// The first word in the catalogue that begins with `word`: itself, when it is one.
    fn completed(&self, word: &str) -> Result<Option<String>, IndexError> {
        let mut first: Option<String> = None;
        for segment in self.searcher.segment_readers() {
            let index = segment.inverted_index(self.fields.word)?;
            let mut terms = index.terms().range().ge(word).into_stream()?;
            if terms.advance() && terms.key().starts_with(word.as_bytes()) {
                let found = String::from_utf8_lossy(terms.key()).into_owned();
                first = Some(first.map_or(found.clone(), |known| known.min(found)));
            }
        }
        Ok(first)
    }

    /// Looks into the parts that have all of `terms` in `field`, and `few` others, until `wanted` of
    /// them are hits; whether all were looked into.
    fn all_of(
        &mut self,
        field: Field,
        terms: &[&str],
        few: usize,
        wanted: usize,
        judge: Judge,
    ) -> Result<bool, IndexError> {
        let enough = self.hits.len() + wanted;
        let mut all = true;
        for at in 0..self.searcher.segment_readers().len() {
            for (looks, address) in self.with_all(at, field, terms, few)?.into_iter().enumerate() {
                if looks == LOOKS_MAX || self.hits.len() >= enough {
                    all = false;
                    break;
                }
                self.take(address, judge);
            }
        }
        Ok(all)
    }

    /// The parts of segment `at` that have all of `terms` in `field`, and up to `few` that lack some;
    /// one more than may be looked into when there are more.
    fn with_all(
        &self,
        at: usize,
        field: Field,
        terms: &[&str],
        few: usize,
    ) -> Result<Vec<DocAddress>, IndexError> {
        let segment = &self.searcher.segment_readers()[at];
        let index = segment.inverted_index(field)?;
        let (mut sought, mut found) = (Vec::with_capacity(terms.len()), Vec::new());
        for term in terms {
            // Most that is misread has a three that no number has: told before any list is opened.
            let Some(info) = index.terms().get(term)? else { return Ok(found) };
            sought.push(info);
        }
        sought.sort_by_key(|info| info.doc_freq);
        let mut lists = Vec::with_capacity(sought.len());
        let all = f64::from(segment.max_doc());
        let mut expected = all;
        let (mut sought, mut row) = (sought.iter(), 0);
        while found.len() <= LOOKS_MAX {
            // The rarest first, as long as they leave more than one part to look into by chance; all,
            // when more than a few are left.
            while lists.is_empty() || expected > 1.0 || found.len() >= few {
                let Some(info) = sought.next() else { break };
                expected *= f64::from(info.doc_freq) / all;
                lists.push(rows_of(&index, info)?);
            }
            row = if lists.is_empty() { TERMINATED } else { in_all(&mut lists, row) };
            if row == TERMINATED {
                break;
            }
            if !segment.is_deleted(row) {
                found.push(DocAddress::new(at as u32, row));
            }
            row += 1;
        }
        Ok(found)
    }

    /// Looks into the parts of segment `at` that have the term `key` in `field`.
    fn term(
        &mut self,
        at: usize,
        field: Field,
        key: &[u8],
        judge: Judge,
    ) -> Result<(), IndexError> {
        let index = self.searcher.segment_readers()[at].inverted_index(field)?;
        match index.terms().get(key)? {
            Some(found) => self.parts_of(at, &index, &found, judge),
            None => Ok(()),
        }
    }

    /// Looks into the parts of segment `at` that have the term of `index` that `found` tells of.
    fn parts_of(
        &mut self,
        at: usize,
        index: &InvertedIndexReader,
        found: &TermInfo,
        judge: Judge,
    ) -> Result<(), IndexError> {
        let segment = &self.searcher.segment_readers()[at];
        let mut postings = rows_of(index, found)?;
        let mut left = self.limit;
        while postings.doc() != TERMINATED && left > 0 {
            if !segment.is_deleted(postings.doc()) {
                self.take(DocAddress::new(at as u32, postings.doc()), judge);
                left -= 1;
            }
            postings.advance();
        }
        Ok(())
    }

    /// Keeps the part at `address` by the number of it that matches best, if any does.
    fn take(&mut self, address: DocAddress, judge: Judge) {
        let segment = &self.segments[address.segment_ord as usize];
        let part = segment.parts.first(address.doc_id).unwrap_or(0);
        if self.seen.contains(&part) {
            return;
        }
        let best = typed::read(&segment.typed, address.doc_id, &mut self.bytes)
            .filter_map(|typed| judge(&fold(&typed)).map(|(cost, how)| (cost, how, typed)))
            .min_by_key(|(cost, how, _)| (*cost, *how));
        if let Some((cost, how, typed)) = best {
            self.seen.insert(part);
            let cost = f64::from(cost) / 10.0;
            self.hits.push(Hit { part, number: typed.into_owned(), how, cost });
        }
    }

    fn ranked(mut self) -> Vec<Hit> {
        self.hits.sort_by(|a, b| {
            let order = a.cost.total_cmp(&b.cost).then(a.how.cmp(&b.how));
            order.then(a.number.len().cmp(&b.number.len())).then(a.number.cmp(&b.number))
        });
        self.hits.truncate(self.limit);
        self.hits
    }
}

/// Every three characters in a row of `runs`, each once.
fn threes<'a>(runs: &[&'a str]) -> Vec<&'a str> {
    let mut threes = Vec::new();
    for run in runs {
        let places: Vec<usize> = run.char_indices().map(|(at, _)| at).chain([run.len()]).collect();
        threes.extend(places.windows(4).map(|ends| &run[ends[0]..ends[3]]));
    }
    threes.sort_unstable();
    threes.dedup();
    threes
}

/// The first row at or after `from` that is in all `lists`.
fn in_all(lists: &mut [SegmentPostings], from: DocId) -> DocId {
    let mut row = from;
    'again: loop {
        for list in lists.iter_mut() {
            let at = if list.doc() < row { list.seek(row) } else { list.doc() };
            if at == TERMINATED {
                return TERMINATED;
            }
            if at > row {
                row = at;
                continue 'again;
            }
        }
        return row;
    }
}

fn rows_of(index: &InvertedIndexReader, term: &TermInfo) -> io::Result<SegmentPostings> {
    index.read_postings_from_terminfo(term, IndexRecordOption::Basic)
}

fn none_alive(segment: &SegmentReader, mut postings: SegmentPostings) -> bool {
    while postings.doc() != TERMINATED {
        if !segment.is_deleted(postings.doc()) {
            return false;
        }
        postings.advance();
    }
    true
}
