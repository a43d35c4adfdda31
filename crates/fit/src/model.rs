//! Which part is this? Weighs every row of a kind against what was taken.

use std::sync::{Mutex, PoisonError};

use binwright_catalog::{Domain, Kind, Measure, Wear};

use crate::{
    FitError,
    classes::Classes,
    column::Column,
    fast::{self, Peaks},
    kin::{Lending, Lent},
    layout_weight::{Taken, Weigher, relative_ratio},
    layouts::{Layouts, site},
    likelihood::{Reading, short_way},
    multiply::{Product, multiply},
    next, none,
    query::{Answer, Candidate, Deviation, Next, Query, Verdict},
    sample::Sample,
    table::{PackedPoint, Table, encode},
    weigh::{Room, Weights},
};

/// A row this many nats less likely than the best is as good as ruled out.
pub(crate) const RULED_OUT: f32 = 18.0;
/// So many layouts of the highest bounds are weighed first, to know what the others must reach.
const FIRST: usize = 64;
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
    pub(crate) sample: Sample,
    lending: Lending,
    /// Left by fits for the next, as many as there were at a time.
    rooms: Mutex<Vec<Room>>,
}

/// One reading and what it says of each value of its column.
pub(crate) struct Weighed<'a> {
    pub column: usize,
    pub reading: Reading<'a>,
    pub weights: Weights,
}

/// How much better each row explains what was taken than the kind's spread does.
#[derive(Debug, Default)]
pub(crate) struct Scores {
    pub own: Vec<f64>,
    /// The same of a relative of the row that is not in the catalogue: one that differs as often,
    /// and by as much, as close relatives do. Kept until the layouts have their say.
    relatives: Vec<f64>,
    /// Of all rows, and of a relative of each.
    pub sums: Product<2>,
}

/// What the layouts say beyond the scores.
struct LayoutScores {
    /// By layout.
    mirrored: Vec<bool>,
}

impl Model {
    /// Makes the rows of `table` ready. `lending` may be empty: a gap then takes the kind's spread.
    pub fn new(kind: Kind, table: Table, lending: Lending) -> Self {
        use rayon::prelude::*;
        let columns: Vec<Column> = table
            .columns
            .par_iter()
            .zip(&kind.measures)
            .enumerate()
            .map(|(at, (column, measure))| {
                Column::new(column, measure.domain, lending.columns.get(at))
            })
            .collect();
        let spans =
            columns.iter().zip(&kind.measures).map(|(column, measure)| column.span(measure));
        let spans: Vec<f64> = spans.collect();
        let sample = Sample::new(&kind, table.len(), &columns, &spans);
        let layouts = Layouts::new(&table);
        let classes = Classes::new(&table.groups, &columns, &layouts);
        let rooms = Mutex::default();
        Self { kind, table, columns, spans, layouts, classes, sample, lending, rooms }
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
        let rooms = || self.rooms.lock().unwrap_or_else(PoisonError::into_inner);
        let kept = rooms().pop();
        let mut room = kept.unwrap_or_else(|| Room::of(self.columns.len()));
        let answer = self.fit_within(&mut room, query, limit);
        rooms().push(room);
        answer
    }

    fn fit_within(&self, room: &mut Room, query: &Query, limit: usize) -> Result<Answer, FitError> {
        let weighed = self.weighed(query, room)?;
        let taken = self.taken(query)?;
        self.scan(&weighed, taken.is_some(), room);
        let layout = taken.as_ref().map(|taken| self.score_layouts(taken, &mut room.scores));
        let posterior = none::Posterior::new(self, query, &weighed, room);
        let mut candidates = self.candidates(&room.scores.own, &posterior, limit);
        let weigher = taken.as_ref().map(|taken| Weigher::new(&self.layouts, taken));
        for candidate in &mut candidates {
            let row = candidate.row as usize;
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
            ln_evidence: posterior.ln_evidence
                + weighed.iter().map(|weighed| weighed.weights.background).product::<f64>().ln(),
        })
    }

    /// Ranks what was not taken yet by expected bits a minute, most first, as far as the
    /// candidates of `answer` tell (at most 24 are told apart).
    pub fn next(&self, query: &Query, answer: &Answer) -> Vec<Next> {
        next::rank(self, query, &answer.candidates)
    }

    pub(crate) fn weighed(
        &self,
        query: &Query,
        room: &mut Room,
    ) -> Result<Vec<Weighed<'_>>, FitError> {
        if let Some(found) = query.sd_mm.filter(|sd| !(*sd > 0.0 && sd.is_finite())) {
            return Err(FitError::BadSpread { found });
        }
        if !(0.0..1.0).contains(&query.none_prior) {
            return Err(FitError::BadPrior { found: query.none_prior });
        }
        let mut weighed: Vec<Weighed<'_>> = Vec::with_capacity(query.measured.len());
        room.worth.clear();
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
            let weights = self.columns[*at].weigh(*at, &reading, span, room);
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

    /// Scores how much better each row explains the readings than the kind's spread does.
    fn scan(&self, weighed: &[Weighed<'_>], with_layouts: bool, room: &mut Room) {
        let Room { worth, scores, .. } = room;
        let column = |weighed: &Weighed<'_>| &self.columns[weighed.column].codes;
        let mut columns: Vec<_> = weighed
            .iter()
            .map(|weighed| (column(weighed), &worth[weighed.weights.worth.clone()]))
            .collect();
        let rows = self.table.len();
        scores.own.resize(rows, 0.0);
        scores.relatives.resize(if with_layouts { rows } else { 0 }, 0.0);
        let start = ([0.0; 2], scores.own.iter_mut(), scores.relatives.iter_mut());
        (scores.sums, ..) =
            multiply(rows, &mut columns, start, |(sums, mut own, mut relatives), row| {
                if let Some(own) = own.next() {
                    *own = row[0];
                }
                if let Some(relative) = relatives.next() {
                    *relative = row[1];
                }
                ([sums[0] + row[0], sums[1] + row[1]], own, relatives)
            });
    }

    /// Multiplies `scores` by what the layouts say. Only layouts are weighed in full whose bound,
    /// on top of the best row that has them, leaves them a chance; the others keep their bound.
    fn score_layouts(&self, taken: &Taken, scores: &mut Scores) -> LayoutScores {
        let none = self.layouts.len();
        let mut weighing = Weighing::new(Weigher::new(&self.layouts, taken));
        // First for the kind's own spread of layouts, then for the likeliest rows.
        let top = weighing.weigh_within(&vec![0.0; none], f32::NEG_INFINITY, RULED_OUT / 2.0);
        let unknown = self.unknown_layout(&weighing.ln, top);
        let best = self.best_by_layout(&scores.own);
        weighing.weigh_within(&best[..none], best[none] + unknown, RULED_OUT);
        let Weighing { ln: mut by_layout, mirrored, mut moved, .. } = weighing;
        by_layout.push(unknown);
        moved.push(1.0);
        for ln in &mut by_layout {
            *ln = fast::exp(*ln);
        }
        let mut ratios: Vec<f32> =
            self.layouts.of_row.iter().map(|layout| by_layout[*layout as usize]).collect();
        for lent in self.lending.layouts.chunk_by(|a, b| a.row == b.row) {
            let offers = lent.iter().map(|lent| (ratios[lent.from as usize], lent.exact));
            ratios[lent[0].row as usize] = lent_layouts(offers, by_layout[none]);
        }
        scores.sums = [0.0; 2];
        for (row, ratio) in ratios.into_iter().enumerate() {
            let moved = moved[self.layouts.of_row[row] as usize];
            scores.own[row] *= f64::from(ratio);
            scores.sums[0] += scores.own[row];
            scores.sums[1] += scores.relatives[row] * relative_ratio(ratio, moved);
        }
        LayoutScores { mirrored }
    }

    /// For each layout, and last for none, the log of the best score of a row that has it or is
    /// lent it, over the best of all.
    fn best_by_layout(&self, scores: &[f64]) -> Vec<f32> {
        let mut best = vec![0.0_f64; self.layouts.len() + 1];
        for (score, layout) in scores.iter().zip(&self.layouts.of_row) {
            let best = &mut best[*layout as usize];
            *best = if *score > *best { *score } else { *best };
        }
        for lent in &self.lending.layouts {
            let best = &mut best[self.layouts.of_row[lent.from as usize] as usize];
            *best = best.max(scores[lent.row as usize] * f64::from(lent.exact));
        }
        let top = Peaks::of(&best).largest().max(f64::MIN_POSITIVE);
        // What is hopeless is not told apart.
        best.into_iter().map(|best| fast::ln(((best / top) as f32).max(1e-36))).collect()
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

    /// The `limit` likeliest classes by their best row, with what their rows sum to, the likeliest
    /// first.
    fn likeliest(&self, scores: &[f64], limit: usize) -> Vec<(u32, f64)> {
        let limit = limit.min(scores.len());
        let peaks = Peaks::of(scores);
        let reach = peaks.cut(limit + limit.div_ceil(4));
        let found = self.likeliest_of(&peaks, reach, limit);
        let last = found.last().filter(|_| found.len() == limit).map_or(0.0, |last| last.1);
        if last < reach { self.likeliest_of(&peaks, last, limit) } else { found }
    }

    /// The same of the classes that sum to at least `reach`, with some of the others.
    fn likeliest_of(&self, peaks: &Peaks<'_>, reach: f64, limit: usize) -> Vec<(u32, f64)> {
        let score = |row: u32| peaks.numbers[row as usize];
        let before = |a: u32, b: u32| score(a).total_cmp(&score(b)).then(b.cmp(&a)).is_gt();
        let mut found: Vec<(u32, f64)> = Vec::with_capacity((4 * limit).min(peaks.numbers.len()));
        // A class none of whose rows has its share of that sums to less.
        peaks.each_reaching(reach / self.classes.largest as f64, |row, own| {
            if self.classes.is_alone(row) {
                found.extend((own >= reach).then_some((row, own)));
                return;
            }
            // It is met at its best row.
            let mut others = self.classes.rows(row).skip(1);
            let sum =
                others.try_fold(own, |sum, other| before(row, other).then(|| sum + score(other)));
            found.extend(sum.map(|sum| (row, sum)));
        });
        let order = |a: &(u32, f64), b: &(u32, f64)| b.1.total_cmp(&a.1).then(a.0.cmp(&b.0));
        if found.len() > limit {
            found.select_nth_unstable_by(limit, order);
            found.truncate(limit);
        }
        found.sort_unstable_by(order);
        found
    }

    fn candidates(
        &self,
        scores: &[f64],
        posterior: &none::Posterior,
        limit: usize,
    ) -> Vec<Candidate> {
        let score = |row: &u32| scores[*row as usize];
        let part = |row: &u32| self.table.parts[*row as usize];
        let candidate = |(row, sum)| {
            let parts = if self.classes.is_alone(row) {
                vec![part(&row)]
            } else {
                let mut rows: Vec<u32> = self.classes.rows(row).collect();
                rows.sort_by(|a, b| score(b).total_cmp(&score(a)).then(a.cmp(b)));
                rows.iter().map(part).collect()
            };
            Candidate {
                parts,
                row,
                probability: posterior.probability(sum),
                wrong_hand: false,
                registration: None,
                measures: Vec::new(),
            }
        };
        self.likeliest(scores, limit).into_iter().map(candidate).collect()
    }

    fn deviation(&self, weighed: &Weighed<'_>, row: usize) -> Deviation {
        let at = weighed.column;
        let column = &self.columns[at];
        let known = column.values.get(column.code(row)).copied();
        // The heaviest value lent stands for a gap.
        let lent = if known.is_none() { self.lent_to(at, row).first() } else { None };
        let nominal = known.or(lent.map(|lent| lent.value));
        let (deviation, verdict) = match nominal {
            Some(nominal) => judge(weighed.reading.measure, &weighed.reading, nominal),
            None => (None, Verdict::Unknown),
        };
        Deviation {
            measure: at,
            nominal,
            lent_from: lent.map(|lent| lent.from),
            deviation,
            verdict,
        }
    }

    /// What the gap of `row` in `column` is lent, the heaviest first.
    pub(crate) fn lent_to(&self, column: usize, row: usize) -> &[Lent] {
        self.lending.columns.get(column).map_or(&[], |lent| lent.lent_to(row as u32))
    }
}

/// The ratio of a row that is lent `offers` (ratio and weight) and for the rest is `unknown`.
fn lent_layouts(offers: impl Iterator<Item = (f32, f32)>, unknown: f32) -> f32 {
    let (mut sum, mut own) = (0.0, 1.0);
    for (ratio, exact) in offers {
        sum += exact * ratio;
        own -= exact;
    }
    sum + own.max(1e-4) * unknown
}

fn judge(measure: &Measure, reading: &Reading<'_>, nominal: f64) -> (Option<f64>, Verdict) {
    let off = reading.value - nominal;
    let off = if measure.domain == Domain::Angle { short_way(off) } else { off };
    if !measure.domain.is_number() {
        return (None, if off.abs() < 0.5 { Verdict::Inside } else { Verdict::Another });
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
    let bounds_passed = usize::from(beyond > inside) + usize::from(beyond > near);
    (Some(off), [Verdict::Inside, Verdict::Near, Verdict::Outside][bounds_passed])
}

/// Layouts on their way from a bound to their weight.
struct Weighing<'a> {
    weigher: Weigher<'a>,
    /// The bound until weighed.
    ln: Vec<f32>,
    weighed: Vec<bool>,
    mirrored: Vec<bool>,
    moved: Vec<f32>,
}

impl<'a> Weighing<'a> {
    fn new(weigher: Weigher<'a>) -> Self {
        let ln = weigher.bounds();
        let weighed = vec![weigher.bounds_are_exact(); ln.len()];
        let mirrored = vec![false; ln.len()];
        let moved = vec![1.0; ln.len()];
        Self { weigher, ln, weighed, mirrored, moved }
    }

    /// Weighs every layout that, with what `besides` says of it, may come within `reach` of the
    /// best of all or of `best`, and returns the best.
    fn weigh_within(&mut self, besides: &[f32], mut best: f32, reach: f32) -> f32 {
        let bounds: Vec<f64> = self.ln.iter().zip(besides).map(|(a, b)| f64::from(a + b)).collect();
        let peaks = Peaks::of(&bounds);
        for layout in peaks.places(FIRST).into_iter().map(|layout| layout as usize) {
            let hopes = |ln: f32| ln + besides[layout] >= best - reach;
            if hopes(self.ln[layout]) && hopes(self.bound(layout)) {
                best = best.max(self.weigh(layout) + besides[layout]);
            }
        }
        let mut close: Vec<(f32, usize)> = Vec::new();
        peaks.each_reaching(f64::from(best - reach), |layout, _| {
            let bound = self.bound(layout as usize) + besides[layout as usize];
            if bound >= best - reach {
                close.push((bound, layout as usize));
            }
        });
        close.sort_unstable_by(|a, b| b.0.total_cmp(&a.0));
        for (bound, layout) in close {
            if bound < best - reach {
                break;
            }
            best = best.max(self.weigh(layout) + besides[layout]);
        }
        best
    }

    /// The weight of `layout`, or as close a bound as there is.
    fn bound(&mut self, layout: usize) -> f32 {
        if !self.weigher.lays_points() {
            return self.weigh(layout);
        }
        if !self.weighed[layout] {
            self.ln[layout] = self.ln[layout].min(self.weigher.closer_bound(layout));
        }
        self.ln[layout]
    }

    fn weigh(&mut self, layout: usize) -> f32 {
        if !self.weighed[layout] {
            self.weighed[layout] = true;
            let worth = self.weigher.weigh(layout);
            self.ln[layout] = worth.ln as f32;
            self.mirrored[layout] = worth.mirrored;
            self.moved[layout] = worth.moved;
        }
        self.ln[layout]
    }
}

#[cfg(test)]
mod tests;
