//! What should be taken next?

use binwright_catalog::Measure;
use binwright_evidence::{expected_gain_bits, gain_per_minute};

use crate::{
    column::Column,
    kin::{Lent, left_of},
    likelihood::Reading,
    model::Model,
    query::{Candidate, Next, Observation, Query},
    registration::{Site, register},
};

/// So many of the likeliest candidates are told apart; the rest stand together.
const TOLD_APART: usize = 24;
/// What gains less than this is not worth naming.
const BITS_MIN: f64 = 1e-3;
/// Points of two layouts that are the same lie within this many standard deviations.
const SAME_LAYOUT_SD: f64 = 3.0;
/// Chance that the layout of a part that is none of ours is unlike all candidates' (common practice, no source).
const STRANGE_LAYOUT: f64 = 0.5;

/// Ranks what was not taken yet by expected bits a minute. `candidates` are the likeliest; what
/// they leave of one stands for all other parts and none of ours, and has the kind's spread.
pub(crate) fn rank(model: &Model, query: &Query, candidates: &[Candidate]) -> Vec<Next> {
    let candidates = &candidates[..candidates.len().min(TOLD_APART)];
    let mut probabilities: Vec<f64> = candidates.iter().map(|c| c.probability).collect();
    probabilities.push((1.0 - probabilities.iter().sum::<f64>()).max(0.0));
    let rows: Vec<usize> = candidates.iter().map(|c| c.row as usize).collect();
    let gain = |outcomes: Vec<f64>| expected_gain_bits(&probabilities, &outcomes).unwrap_or(0.0);
    let mut next: Vec<Next> = Vec::new();
    for (at, measure) in model.kind().measures.iter().enumerate() {
        if query.measured.iter().all(|(taken, _)| *taken != at) {
            next.push(Next {
                what: Observation::Measure(at),
                gain_bits: gain(readings(model, at, measure, &rows, query.sd_mm)),
                minutes: measure.minutes,
            });
        }
    }
    if let Some(taking) = model.kind().layout.as_ref().filter(|_| query.layout.is_none()) {
        let wrong = (taking.slip + taking.mirrored).min(0.5);
        next.push(Next {
            what: Observation::Layout,
            gain_bits: gain(layouts(model, &rows, &probabilities, taking.spread_mm, wrong)),
            minutes: taking.minutes,
        });
    }
    next.retain(|next| next.gain_bits >= BITS_MIN);
    let worth = |next: &Next| gain_per_minute(next.gain_bits, next.minutes);
    next.sort_by(|a, b| worth(b).total_cmp(&worth(a)));
    next
}

/// The probability of each reading of one measure (an outcome a row) under each hypothesis.
fn readings(
    model: &Model,
    at: usize,
    measure: &Measure,
    rows: &[usize],
    sd_mm: Option<f64>,
) -> Vec<f64> {
    let column = &model.columns[at];
    let mut codes: Vec<usize> = Vec::new();
    for &row in rows {
        codes.push(column.code(row));
        codes.extend(model.lent_to(at, row).iter().filter_map(|lent| column.code_of(lent.value)));
    }
    codes.retain(|code| *code < column.values.len());
    codes.sort_unstable();
    codes.dedup();
    if codes.is_empty() {
        return Vec::new();
    }
    let span = model.spans[at];
    let outcomes =
        if measure.domain.is_number() && measure.domain != binwright_catalog::Domain::Count {
            Outcomes::bins(column, measure, &codes, sd_mm, span)
        } else {
            Outcomes::words(column, measure, &codes, span)
        };
    let hypotheses: Vec<Vec<f64>> = rows
        .iter()
        .map(|&row| outcomes.of_row(column, row, model.lent_to(at, row)))
        .chain([outcomes.background.clone()])
        .collect();
    transpose(&hypotheses)
}

fn transpose(hypotheses: &[Vec<f64>]) -> Vec<f64> {
    let outcomes = hypotheses.first().map_or(0, Vec::len);
    (0..outcomes).flat_map(|outcome| hypotheses.iter().map(move |h| h[outcome])).collect()
}

/// The readings told apart, and how likely each is by the part's value.
struct Outcomes {
    /// Ascending; the values the tables below are for.
    codes: Vec<usize>,
    exact: Vec<Vec<f64>>,
    near: Vec<Vec<f64>>,
    background: Vec<f64>,
}

impl Outcomes {
    /// Numbers: cut halfway between the values that can be met, and well outside them.
    fn bins(
        column: &Column,
        measure: &Measure,
        codes: &[usize],
        sd_mm: Option<f64>,
        span: f64,
    ) -> Self {
        let reading = Reading::new(measure, 0.0, sd_mm, span);
        let values: Vec<f64> = codes.iter().map(|code| column.values[*code]).collect();
        let outside = 3.0 * reading.sd;
        let mut cuts = vec![values[0] - outside];
        cuts.extend(values.windows(2).map(|pair| f64::midpoint(pair[0], pair[1])));
        cuts.push(values[values.len() - 1] + outside);
        let range = column.range(measure);
        let bins = |below: &dyn Fn(f64) -> f64| -> Vec<f64> {
            let mut before = 0.0;
            let mut bins: Vec<f64> = Vec::with_capacity(cuts.len() + 1);
            for cut in &cuts {
                let below = below(*cut).max(before);
                bins.push(below - before);
                before = below;
            }
            bins.push(1.0 - before);
            bins
        };
        let table = |blur: f64| -> Vec<Vec<f64>> {
            values
                .iter()
                .map(|value| bins(&|cut| reading.below(cut, *value, blur, range)))
                .collect()
        };
        let known = column.known;
        let background = bins(&|cut| {
            let below = column.values.partition_point(|value| *value < cut);
            column.counts[..below].iter().map(|n| f64::from(*n)).sum::<f64>() / known
        });
        let exact = table(0.0);
        let near = if column.blur > 0.0 { table(column.blur) } else { exact.clone() };
        Self { codes: codes.to_vec(), exact, near, background }
    }

    /// Counts and words: the values that can be met, and any other.
    fn words(column: &Column, measure: &Measure, codes: &[usize], span: f64) -> Self {
        let with_other = |mut row: Vec<f64>| {
            row.push((1.0 - row.iter().sum::<f64>()).max(0.0));
            row
        };
        let value = |code: &usize| column.values[*code];
        let exact = codes
            .iter()
            .map(|nominal| {
                let read = |code| Reading::new(measure, value(code), None, span);
                with_other(codes.iter().map(|c| read(c).density(value(nominal), 0.0)).collect())
            })
            .collect();
        let known = column.known;
        let share = |code: &usize| f64::from(column.counts[*code]) / known;
        let background = with_other(codes.iter().map(share).collect());
        let near = vec![background.clone(); codes.len()];
        Self { codes: codes.to_vec(), exact, near, background }
    }

    fn of_row(&self, column: &Column, row: usize, lent: &[Lent]) -> Vec<f64> {
        if let Ok(at) = self.codes.binary_search(&column.code(row)) {
            return self.exact[at].clone();
        }
        let own = f64::from(left_of(lent.iter().map(|lent| lent.exact + lent.near).sum()));
        let mut sum: Vec<f64> = self.background.iter().map(|p| p * own).collect();
        let mut weight = own;
        for lent in lent {
            let place = column.code_of(lent.value).map(|code| self.codes.binary_search(&code));
            let Some(Ok(at)) = place else { continue };
            let (exact, near) = (f64::from(lent.exact), f64::from(lent.near));
            weight += exact + near;
            for (sum, (e, n)) in sum.iter_mut().zip(self.exact[at].iter().zip(&self.near[at])) {
                *sum += exact * e + near * n;
            }
        }
        for p in &mut sum {
            *p /= weight;
        }
        sum
    }
}

/// The probability of each layout met among `rows`, and of an unlike one, under each hypothesis.
fn layouts(
    model: &Model,
    rows: &[usize],
    probabilities: &[f64],
    spread_mm: f64,
    wrong: f64,
) -> Vec<f64> {
    let mut distinct: Vec<Vec<Site>> = Vec::new();
    let mut weights: Vec<f64> = Vec::new();
    let mut of_row = Vec::with_capacity(rows.len());
    for (row, probability) in rows.iter().zip(probabilities) {
        let layout = model.layouts.of_row[*row] as usize;
        if layout == model.layouts.len() {
            of_row.push(None);
            continue;
        }
        let mut sites = Vec::new();
        model.layouts.sites_of(layout, &mut sites);
        let same = distinct.iter().position(|known| {
            known.len() == sites.len()
                && register(known, &sites, SAME_LAYOUT_SD * spread_mm)
                    .is_some_and(|motion| motion.pairs.len() == sites.len())
        });
        let at = same.unwrap_or(distinct.len());
        if same.is_none() {
            distinct.push(sites);
            weights.push(0.0);
        }
        weights[at] += probability;
        of_row.push(Some(at));
    }
    let total: f64 = weights.iter().sum::<f64>().max(1e-300);
    let outcomes = distinct.len() + 1;
    let mut background: Vec<f64> =
        weights.iter().map(|w| (1.0 - STRANGE_LAYOUT) * w / total).collect();
    background.push(1.0 - background.iter().sum::<f64>());
    let hypotheses: Vec<Vec<f64>> = of_row
        .iter()
        .map(|layout| {
            layout.map_or_else(
                || background.clone(),
                |at| {
                    let own = |outcome| if outcome == at { 1.0 - wrong } else { 0.0 };
                    (0..outcomes).map(|o| own(o) + wrong / outcomes as f64).collect()
                },
            )
        })
        .chain([background.clone()])
        .collect();
    transpose(&hypotheses)
}
