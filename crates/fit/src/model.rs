//! Which part is this? Weighs every row of a kind against what was taken.

use std::collections::HashMap;

use binwright_catalog::{Domain, Kind, Measure, Wear};

use crate::{
    FitError,
    classes::Classes,
    column::{Column, Weights},
    kin::Lending,
    layout_weight::{Taken, Weigher},
    layouts::{Layouts, site},
    likelihood::{Reading, short_way},
    next, none,
    query::{Answer, Candidate, Deviation, Query, Verdict},
    table::{PackedPoint, Table, encode},
};

/// A row this many nats less likely than the best is as good as ruled out.
pub(crate) const RULED_OUT: f32 = 18.0;
/// As [`RULED_OUT`] where no probability but only the order of the last candidates is at stake.
const ORDER: f32 = 30.0;
/// Rows weighed at a time, so that their scores stay in the nearest cache.
const BLOCK: usize = 4096;
/// The most distances that are weighed.
const DISTANCES_MAX: usize = 16;
/// The share of an unknown layout's worth that is chance and not the kind's own layouts.
const EVEN: f64 = 0.05;

/// The rows of one kind, ready to be weighed.
#[derive(Debug)]
pub struct Model {
    kind: Kind,
    table: Table,
    pub(crate) columns: Vec<Column>,
    /// The width of each column's values.
    pub(crate) spans: Vec<f64>,
    pub(crate) layouts: Layouts,
    classes: Classes,
    lending: Lending,
}

/// One reading and what it says of each value of its column.
pub(crate) struct Weighed<'a> {
    pub column: usize,
    pub reading: Reading<'a>,
    pub weights: Weights,
}

/// What the layout says of the rows, on top of their measures.
pub(crate) struct LayoutScores {
    /// By layout; the last entry stands for a row without one.
    pub ln: Vec<f32>,
    mirrored: Vec<bool>,
}

impl Model {
    /// Makes the rows of `table` ready. `lending` may be empty: a gap then takes the kind's spread.
    pub fn new(kind: Kind, table: Table, lending: Lending) -> Self {
        use rayon::prelude::*;
        let columns: Vec<Column> = table
            .columns
            .par_iter()
            .enumerate()
            .map(|(at, column)| Column::new(column, lending.columns.get(at)))
            .collect();
        let spans =
            columns.iter().zip(&kind.measures).map(|(column, measure)| column.span(measure));
        let spans = spans.collect();
        let layouts = Layouts::new(&table);
        let classes = Classes::new(&table.groups, &columns, &layouts);
        Self { kind, table, columns, spans, layouts, classes, lending }
    }

    /// The kind.
    pub fn kind(&self) -> &Kind {
        &self.kind
    }

    /// The rows.
    pub fn table(&self) -> &Table {
        &self.table
    }

    /// Weighs all parts of the kind and "none of ours" against `query` and returns the likeliest
    /// `limit` of them. The answer is the one that weighing every part in full would give; parts
    /// less likely than the best by a factor of e¹⁸ may be off by their layout.
    ///
    /// # Errors
    ///
    /// [`FitError`] when the query does not suit the kind.
    pub fn fit(&self, query: &Query, limit: usize) -> Result<Answer, FitError> {
        let weighed = self.weighed(query)?;
        let taken = self.taken(query)?;
        let mut scores = self.scan(&weighed);
        let layout = taken.as_ref().map(|taken| self.score_layouts(taken, &mut scores, limit));
        let posterior = none::Posterior::new(self, query, &weighed, &scores, layout.as_ref());
        let asked = limit.max(next::TOLD_APART);
        let rows = self.likeliest(&scores, asked);
        let mut candidates = self.candidates(&rows, &scores, &posterior, asked);
        let ranked = next::rank(self, query, &candidates);
        candidates.truncate(limit);
        let weigher = taken.as_ref().map(|taken| Weigher::new(&self.layouts, taken));
        for candidate in &mut candidates {
            let row = candidate.rows[0] as usize;
            candidate.measures =
                weighed.iter().map(|weighed| self.deviation(weighed, row)).collect();
            let known = self.layouts.of_row[row] as usize;
            if let (Some(scores), Some(weigher)) = (&layout, &weigher)
                && known < self.layouts.len()
            {
                candidate.wrong_hand = scores.mirrored[known];
                candidate.registration = weigher.registration(known);
            }
        }
        Ok(Answer {
            candidates,
            none: posterior.none,
            next: ranked,
            ln_evidence: posterior.ln_evidence
                + weighed.iter().map(|weighed| weighed.weights.ln_background).sum::<f64>(),
        })
    }

    fn weighed(&self, query: &Query) -> Result<Vec<Weighed<'_>>, FitError> {
        if let Some(found) = query.sd_mm.filter(|sd| !(*sd > 0.0 && sd.is_finite())) {
            return Err(FitError::BadSpread { found });
        }
        if !(0.0..1.0).contains(&query.none_prior) {
            return Err(FitError::BadPrior { found: query.none_prior });
        }
        let mut weighed: Vec<Weighed<'_>> = Vec::with_capacity(query.measured.len());
        for (at, value) in &query.measured {
            let Some(measure) = self.kind.measures.get(*at) else {
                return Err(FitError::NoSuchMeasure { kind: self.kind.key.clone(), measure: *at });
            };
            let encoded = encode(measure, value);
            if !encoded.is_finite() {
                let (measure, found) = (measure.key.clone(), value.to_string());
                return Err(FitError::WrongValue { measure, found });
            }
            if weighed.iter().any(|known| known.column == *at) {
                return Err(FitError::Twice { measure: measure.key.clone() });
            }
            let span = self.spans[*at];
            let reading = Reading::new(measure, encoded, query.sd_mm, span);
            let weights = self.columns[*at].weigh(&reading, span);
            weighed.push(Weighed { column: *at, reading, weights });
        }
        Ok(weighed)
    }

    fn taken(&self, query: &Query) -> Result<Option<Taken>, FitError> {
        if let Some(found) = query.distances_mm.iter().find(|mm| !(**mm > 0.0 && mm.is_finite())) {
            return Err(FitError::BadDistance { found: *found });
        }
        if query.distances_mm.len() > DISTANCES_MAX {
            let found = query.distances_mm.len();
            return Err(FitError::TooManyDistances { found, max: DISTANCES_MAX });
        }
        let points = query.layout.as_ref().map_or_else(Vec::new, PackedPoint::pack);
        if points.is_empty() && query.distances_mm.is_empty() {
            return Ok(None);
        }
        let taking = self.kind.layout.as_ref();
        // A kind without a word on its layout: x and y to 0.3 mm (common practice, no source).
        let spread_mm = taking.map_or(0.3, |taking| taking.spread_mm);
        let mut distances_mm = query.distances_mm.clone();
        distances_mm.sort_by(f64::total_cmp);
        Ok(Some(Taken {
            sites: points.into_iter().map(site).collect(),
            distances_mm,
            // A rough caliper takes rough points; a fine one does not make a sketch finer.
            spread_mm: spread_mm.max(query.sd_mm.unwrap_or(0.0)).max(0.02),
            slip: taking.map_or(0.08, |taking| taking.slip),
            mirrored: taking.map_or(0.05, |taking| taking.mirrored),
        }))
    }

    /// Log of how much better each row explains the readings than the kind's spread does.
    fn scan(&self, weighed: &[Weighed<'_>]) -> Vec<f32> {
        let mut scores = vec![0.0; self.table.len()];
        for (at, block) in scores.chunks_mut(BLOCK).enumerate() {
            for weighed in weighed {
                self.columns[weighed.column].add(&weighed.weights, at * BLOCK, block);
            }
        }
        for weighed in weighed {
            self.columns[weighed.column].add_lent(&weighed.weights, &mut scores);
        }
        scores
    }

    /// Adds to `scores` what the layouts say. Only layouts are weighed in full whose bound, on top
    /// of the best row that has them, leaves them a chance; the others keep their bound.
    fn score_layouts(&self, taken: &Taken, scores: &mut [f32], limit: usize) -> LayoutScores {
        let mut weigher = Weigher::new(&self.layouts, taken);
        let none = self.layouts.len();
        let mut ln = weigher.bounds();
        let mut best_measures = vec![f32::NEG_INFINITY; none + 1];
        for (score, layout) in scores.iter().zip(&self.layouts.of_row) {
            let best = &mut best_measures[*layout as usize];
            *best = best.max(*score);
        }
        let mut mirrored = vec![false; none];
        let mut exact = vec![false; none];
        let mut weigh = |layout: usize, ln: &mut [f32]| {
            if !exact[layout] {
                exact[layout] = true;
                let (weight, mirror) = weigher.weigh(layout);
                (ln[layout], mirrored[layout]) = (weight as f32, mirror);
            }
            ln[layout]
        };
        // First for the kind's own spread of layouts: their mean over the rows that have one.
        let mut top = f32::NEG_INFINITY;
        for layout in Descending::new(&ln) {
            if ln[layout] < top - RULED_OUT / 2.0 {
                break;
            }
            top = top.max(weigh(layout, &mut ln));
        }
        let unknown = self.unknown_layout(&ln, top);
        // Then for the order: the likeliest rows.
        let bound: Vec<f32> = ln.iter().zip(&best_measures).map(|(a, b)| a + b).collect();
        let mut totals = Best::new(limit + 8);
        totals.offer(best_measures[none] + unknown);
        for layout in Descending::new(&bound) {
            if bound[layout] < totals.cut() {
                break;
            }
            totals.offer(weigh(layout, &mut ln) + best_measures[layout]);
        }
        ln.push(unknown);
        for (score, layout) in scores.iter_mut().zip(&self.layouts.of_row) {
            *score += ln[*layout as usize];
        }
        LayoutScores { ln, mirrored }
    }

    /// Log of what a row without a layout gets: the mean over the rows that have one, as far as
    /// they count, and a little chance.
    fn unknown_layout(&self, ln: &[f32], top: f32) -> f32 {
        let known: f64 = self.layouts.counts.iter().map(|n| f64::from(*n)).sum();
        if known < 1.0 {
            return 0.0;
        }
        let counted = ln.iter().zip(&self.layouts.counts);
        let sum: f64 = counted
            .filter(|(ln, _)| **ln >= top - RULED_OUT / 2.0)
            .map(|(ln, n)| f64::from(*n) * f64::from(*ln).exp())
            .sum();
        ((1.0 - EVEN) * sum / known + EVEN).ln() as f32
    }

    /// The rows of at least `limit` likeliest answers, the likeliest first.
    fn likeliest(&self, scores: &[f32], limit: usize) -> Vec<u32> {
        let mut rows: Vec<u32> = Vec::new();
        let mut wanted = 4 * limit + 64;
        loop {
            let n = scores.len();
            rows.clear();
            rows.extend(0..n as u32);
            let order = |a: &u32, b: &u32| {
                scores[*b as usize].total_cmp(&scores[*a as usize]).then(a.cmp(b))
            };
            if wanted < n {
                rows.select_nth_unstable_by(wanted, order);
                rows.truncate(wanted);
            }
            rows.sort_unstable_by(order);
            if wanted >= n || self.classes.count(&rows) >= limit {
                return rows;
            }
            wanted *= 4;
        }
    }

    fn candidates(
        &self,
        rows: &[u32],
        scores: &[f32],
        posterior: &none::Posterior,
        limit: usize,
    ) -> Vec<Candidate> {
        let mut seen: HashMap<u32, ()> = HashMap::new();
        let mut candidates: Vec<Candidate> = Vec::new();
        for row in rows {
            if seen.insert(self.classes.of_row[*row as usize], ()).is_some() {
                continue;
            }
            let mut rows = self.classes.rows(*row).to_vec();
            rows.sort_by(|a, b| scores[*b as usize].total_cmp(&scores[*a as usize]));
            candidates.push(Candidate {
                parts: rows.iter().map(|row| self.table.parts[*row as usize]).collect(),
                probability: rows
                    .iter()
                    .map(|row| posterior.probability(scores[*row as usize]))
                    .sum(),
                rows,
                wrong_hand: false,
                registration: None,
                measures: Vec::new(),
            });
        }
        candidates.sort_by(|a, b| b.probability.total_cmp(&a.probability));
        candidates.truncate(limit);
        candidates
    }

    fn deviation(&self, weighed: &Weighed<'_>, row: usize) -> Deviation {
        let at = weighed.column;
        let known = self.table.columns[at][row];
        let lent = if known.is_nan() { self.lent(at, row) } else { None };
        let nominal = if known.is_nan() { lent.map(|(_, value)| value) } else { Some(known) };
        let (deviation, verdict) = match nominal {
            Some(nominal) => judge(weighed.reading.measure, &weighed.reading, nominal),
            None => (None, Verdict::Unknown),
        };
        Deviation {
            measure: at,
            nominal,
            lent_from: lent.map(|(from, _)| from),
            deviation,
            verdict,
        }
    }

    /// The heaviest value lent to a gap, with the row it comes from.
    fn lent(&self, column: usize, row: usize) -> Option<(u32, f64)> {
        let lent = self.lending.columns.get(column)?;
        let at = lent.rows.binary_search(&(row as u32)).ok()?;
        let values = &lent.values[lent.starts[at] as usize..lent.starts[at + 1] as usize];
        values.first().map(|value| (value.from, value.value))
    }
}

fn judge(measure: &Measure, reading: &Reading<'_>, nominal: f64) -> (Option<f64>, Verdict) {
    let off = reading.value - nominal;
    let off = if measure.domain == Domain::Angle { short_way(off) } else { off };
    if !measure.domain.is_number() {
        return (None, if off.abs() < 0.5 { Verdict::Inside } else { Verdict::Mismatch });
    }
    let beyond = match measure.wear {
        Wear::Down if off < 0.0 => (-off - measure.wear_allowance).max(0.0),
        Wear::Up if off > 0.0 => (off - measure.wear_allowance).max(0.0),
        _ => off.abs(),
    };
    let (inside, near) = if measure.domain == Domain::Count {
        (0.5, 1.5)
    } else {
        (2.0 * reading.sd, 4.0 * reading.sd)
    };
    let verdict = if beyond <= inside {
        Verdict::Inside
    } else if beyond <= near {
        Verdict::Near
    } else {
        Verdict::Outside
    };
    (Some(off), verdict)
}

/// Places of the largest numbers first, without sorting those never asked for.
struct Descending(std::collections::BinaryHeap<(Ordered, u32)>);

impl Descending {
    fn new(numbers: &[f32]) -> Self {
        let places = numbers.iter().enumerate();
        Self(places.map(|(at, number)| (Ordered(*number), at as u32)).collect())
    }
}

impl Iterator for Descending {
    type Item = usize;

    fn next(&mut self) -> Option<usize> {
        self.0.pop().map(|(_, at)| at as usize)
    }
}

#[derive(Debug, Clone, Copy)]
struct Ordered(f32);

impl PartialEq for Ordered {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other).is_eq()
    }
}

impl Eq for Ordered {}

impl PartialOrd for Ordered {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Ordered {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}

/// The best few totals so far.
struct Best {
    totals: Vec<f32>,
    wanted: usize,
}

impl Best {
    fn new(wanted: usize) -> Self {
        Self { totals: Vec::with_capacity(wanted + 1), wanted }
    }

    fn offer(&mut self, total: f32) {
        let at = self.totals.partition_point(|known| *known >= total);
        self.totals.insert(at, total);
        self.totals.truncate(self.wanted);
    }

    /// What is below can change neither a probability nor the order of the best few.
    fn cut(&self) -> f32 {
        let best = self.totals.first().copied().unwrap_or(f32::NEG_INFINITY);
        let last = if self.totals.len() < self.wanted {
            f32::NEG_INFINITY
        } else {
            self.totals[self.wanted - 1]
        };
        (best - RULED_OUT).min(last.max(best - ORDER))
    }
}
