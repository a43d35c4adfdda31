//! How do relatives agree, and how much is a relative's value worth to a gap?

use rayon::prelude::*;

use super::frame::{Agreement, Frame, GAP};
use super::lend::{Neighbours, Spread, neighbours};
use super::{BIN_ENDS, BINS, ColumnWeights, Weights, bin};

/// Pairs drawn to see how strangers agree.
const STRANGERS: u32 = 200_000;
/// Candidates from which the agreement of relatives is learnt, at most.
const LEARNT_FROM: usize = 300_000;
/// Rounds of expectation and maximisation.
const ROUNDS: usize = 8;
/// Known cells left out to learn from.
const CELLS: usize = 150_000;
/// Steps of the ascent over the shares.
const STEPS: usize = 60;
/// Relatives at least this likely show by how much relatives disagree.
const ODDS_FOR_BLUR: f32 = 2.0;
/// How strangers' layouts agree: the same, over four tenths, another. Source: measured once on
/// invented catalogues.
const STRANGERS_LAYOUT: [f64; 3] = [0.001, 0.003, 0.99];
/// Standard deviation of the log-normal prior of a share around its fixed weight.
const PRIOR_SD: f64 = 2.0;

/// The fixed weights for catalogues too small to learn from: odds of 1.5 for each equal measure,
/// −2 for each unequal one, +4 for the same stem, and less for layouts.
pub fn fixed(frame: &Frame) -> Weights {
    let column = |at: usize| {
        let blur = frame.near[at] * 2.0;
        ColumnWeights { equal: 1.5, near: -2.0, far: -2.0, blur: clamp_blur(frame, at, blur) }
    };
    let mut weights = Weights {
        ln_prior: -5.0,
        columns: (0..frame.width).map(column).collect(),
        stem: [4.0, 0.0],
        layout: [4.0, 2.0, -3.0],
        by_rarity: false,
        ..Weights::default()
    };
    set_fixed_shares(&mut weights);
    weights
}

fn set_fixed_shares(weights: &mut Weights) {
    for at in 0..BINS {
        let low = if at == 0 { BIN_ENDS[0] - 2.0 } else { BIN_ENDS[at - 1] };
        let high = BIN_ENDS.get(at).copied().unwrap_or(low + 2.0);
        let chance = sigmoid(f64::midpoint(low, high));
        weights.exact[at] = 20.0 * chance;
        weights.near[at] = chance;
    }
}

/// Where learning starts: relatives agree on 85 of 100 measures and are three a row.
pub fn first_guess(frame: &Frame) -> Weights {
    let strangers = strangers(frame);
    let columns = strangers.iter().map(|u| column_weights([0.85, 0.10, 0.05], u)).collect();
    let mut weights = Weights {
        ln_prior: (3.0 / frame.rows as f64).ln(),
        columns,
        stem: [0.5_f64.ln(), 0.5_f64.ln()],
        layout: layout_weights([0.5, 0.3, 0.2]),
        by_rarity: true,
        ..Weights::default()
    };
    set_fixed_shares(&mut weights);
    weights
}

/// How often strangers are equal, near and far, by column; from pairs of a fixed sequence.
fn strangers(frame: &Frame) -> Vec<[f64; 3]> {
    let mut counts = vec![[1.0_f64; 3]; frame.width];
    let mut state = 0x853c_49e6_748f_ea9b_u64;
    let mut draw = || {
        state =
            state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        ((state >> 33) % frame.rows as u64) as u32
    };
    for _ in 0..STRANGERS {
        let (a, b) = (draw(), draw());
        if a != b {
            count(frame, a, b, 1.0, &mut counts);
        }
    }
    counts.iter().map(|c| c.map(|n| n / c.iter().sum::<f64>())).collect()
}

fn count(frame: &Frame, a: u32, b: u32, weight: f64, counts: &mut [[f64; 3]]) {
    let (left, right) = (frame.row(a), frame.row(b));
    for (column, counts) in counts.iter_mut().enumerate() {
        match frame.compare(column, left[column], right[column]) {
            None => {}
            Some(Agreement::Equal) => counts[0] += weight,
            Some(Agreement::Near) => counts[1] += weight,
            Some(Agreement::Far) => counts[2] += weight,
        }
    }
}

fn column_weights(relatives: [f64; 3], strangers: &[f64; 3]) -> ColumnWeights {
    ColumnWeights {
        equal: relatives[0].ln(),
        near: (relatives[1] / strangers[1]).ln(),
        far: (relatives[2] / strangers[2]).ln(),
        blur: 0.0,
    }
}

fn layout_weights(relatives: [f64; 3]) -> [f64; 3] {
    [0, 1, 2].map(|at| (relatives[at] / STRANGERS_LAYOUT[at]).ln())
}

/// What one round of expectation gathers.
#[derive(Clone)]
struct Seen {
    columns: Vec<[f64; 3]>,
    stem: [f64; 2],
    layout: [f64; 3],
    relatives: f64,
}

impl Seen {
    fn nothing(width: usize) -> Self {
        // A little of the first guess, so that no chance is ever nought.
        let columns = vec![[8.5, 1.0, 0.5]; width];
        Self { columns, stem: [1.0, 1.0], layout: [1.0, 1.0, 1.0], relatives: 0.0 }
    }

    fn add(mut self, other: &Self, width: usize) -> Self {
        let nothing = Self::nothing(width);
        for at in 0..width {
            for class in 0..3 {
                self.columns[at][class] += other.columns[at][class] - nothing.columns[at][class];
            }
        }
        for class in 0..2 {
            self.stem[class] += other.stem[class] - nothing.stem[class];
        }
        for class in 0..3 {
            self.layout[class] += other.layout[class] - nothing.layout[class];
        }
        self.relatives += other.relatives;
        self
    }
}

/// Learns how relatives agree from the `candidates`, and returns with it the expected number of
/// relatives a row.
pub fn agreement(frame: &Frame, mut weights: Weights, candidates: &[(u32, u32)]) -> (Weights, f64) {
    let strangers = strangers(frame);
    let mut relatives_a_row = 0.0;
    let stride = candidates.len().div_ceil(LEARNT_FROM).max(1);
    let sample: Vec<(u32, u32)> = candidates.iter().step_by(stride).copied().collect();
    for _ in 0..ROUNDS {
        let seen = sample
            .par_chunks(8192)
            .map(|chunk| expect(frame, &weights, chunk))
            .reduce(|| Seen::nothing(frame.width), |a, b| a.add(&b, frame.width));
        for (at, (seen, strangers)) in seen.columns.iter().zip(&strangers).enumerate() {
            let total = seen.iter().sum::<f64>();
            weights.columns[at] = column_weights(seen.map(|n| n / total), strangers);
        }
        let stems = seen.stem.iter().sum::<f64>();
        weights.stem = seen.stem.map(|n| (n / stems).ln());
        let layouts = seen.layout.iter().sum::<f64>();
        weights.layout = layout_weights(seen.layout.map(|n| n / layouts));
        relatives_a_row = 2.0 * stride as f64 * seen.relatives / frame.rows as f64;
        weights.ln_prior = (relatives_a_row.max(0.2) / frame.rows as f64).ln();
    }
    (weights, relatives_a_row)
}

fn expect(frame: &Frame, weights: &Weights, pairs: &[(u32, u32)]) -> Seen {
    let mut seen = Seen::nothing(frame.width);
    for &(a, b) in pairs {
        let chance = sigmoid(frame.odds(weights, a, b).0);
        if chance < 1e-6 {
            continue;
        }
        seen.relatives += chance;
        count(frame, a, b, chance, &mut seen.columns);
        if let Some(same) = frame.same_stem(a, b) {
            seen.stem[usize::from(!same)] += chance;
        }
        if let Some(class) = frame.layout_class(a, b) {
            seen.layout[class] += chance;
        }
    }
    seen
}

/// One known cell left out: how well the kind's spread and each relative foretell it.
struct LeftOut {
    background: f64,
    /// Bin, whether the relative has the very value, and the density near the relative's value.
    relatives: Vec<(usize, bool, f64)>,
}

/// Learns how much relatives lend: the blur of each column, then the shares by bin that make the
/// known cells likeliest when each is left out.
pub fn shares(frame: &Frame, weights: &mut Weights, pairs: &[(u32, u32, f32)]) {
    set_blur(frame, weights, pairs);
    let near = neighbours(frame.rows, pairs);
    let spreads: Vec<Spread> = (0..frame.width).map(|at| Spread::new(frame, at)).collect();
    let cells = frame.rows * frame.width;
    let stride = cells.div_ceil(CELLS).max(1);
    // A stride that shares no factor with the width visits every column.
    let stride =
        (stride..=stride + frame.width).find(|s| gcd(*s, frame.width.max(1)) == 1).unwrap_or(1);
    let left_out: Vec<LeftOut> = (0..cells.div_ceil(stride))
        .into_par_iter()
        .filter_map(|at| leave_out(frame, weights, &near, &spreads, at * stride))
        .collect();
    ascend(weights, &left_out);
}

fn gcd(a: usize, b: usize) -> usize {
    if b == 0 { a } else { gcd(b, a % b) }
}

fn set_blur(frame: &Frame, weights: &mut Weights, pairs: &[(u32, u32, f32)]) {
    for at in 0..frame.width {
        let values = &frame.values[at];
        let (mut squares, mut n) = (0.0, 0.0);
        for &(a, b, _) in pairs.iter().filter(|pair| pair.2 > ODDS_FOR_BLUR) {
            let (a, b) = (frame.row(a)[at], frame.row(b)[at]);
            if a != b && a != GAP && b != GAP {
                squares += (values[a as usize] - values[b as usize]).powi(2);
                n += 1.0;
            }
        }
        let blur = if n > 0.0 { f64::sqrt(squares / n) } else { frame.near[at] };
        weights.columns[at].blur = clamp_blur(frame, at, blur);
    }
}

/// Keeps a blur sensible: 0.15 to 3 mm, or in the column's own measure of nearness.
fn clamp_blur(frame: &Frame, column: usize, blur: f64) -> f64 {
    if frame.lengths[column] {
        blur.clamp(0.15, 3.0)
    } else {
        blur.clamp(0.1 * frame.near[column], 4.0 * frame.near[column]).max(1e-6)
    }
}

fn leave_out(
    frame: &Frame,
    weights: &Weights,
    near: &Neighbours,
    spreads: &[Spread],
    cell: usize,
) -> Option<LeftOut> {
    let (row, column) = ((cell / frame.width) as u32, cell % frame.width);
    let code = frame.row(row)[column];
    if code == GAP {
        return None;
    }
    let spread = &spreads[column];
    let blur = weights.columns[column].blur;
    let relatives: Vec<_> = near
        .of(row)
        .iter()
        .filter_map(|&(other, odds)| {
            let lent = frame.row(other)[column];
            if lent == GAP {
                return None;
            }
            // What the cell itself says of the pair must not be known when it is foretold.
            let odds = f64::from(odds) - frame.weight(weights, column, code, lent);
            Some((bin(odds), lent == code, spread.near(frame, column, code, lent, blur)))
        })
        .collect();
    let background = spread.without(code);
    (!relatives.is_empty()).then_some(LeftOut { background, relatives })
}

/// Climbs to the shares under which what was left out is likeliest: each parameter steps by the
/// sign of its slope, longer while the sign stays and half as far when it turns.
fn ascend(weights: &mut Weights, cells: &[LeftOut]) {
    let start: Vec<f64> =
        weights.exact.iter().chain(&weights.near).map(|share| share.ln()).collect();
    let mut shares = start.clone();
    let mut steps = [0.3_f64; 2 * BINS];
    let mut before = [0.0_f64; 2 * BINS];
    for _ in 0..STEPS {
        let mut slope = slope(&shares, cells);
        for at in 0..2 * BINS {
            slope[at] -= (shares[at] - start[at]) / PRIOR_SD.powi(2);
            steps[at] = if slope[at] * before[at] < 0.0 {
                steps[at] * 0.5
            } else {
                (steps[at] * 1.2).min(0.5)
            };
            shares[at] += steps[at] * slope[at].signum();
        }
        before = slope;
    }
    for at in 0..BINS {
        weights.exact[at] = shares[at].exp();
        weights.near[at] = shares[BINS + at].exp();
    }
}

/// Slope of the log likelihood of `cells` along the log of each share.
fn slope(ln_shares: &[f64], cells: &[LeftOut]) -> [f64; 2 * BINS] {
    let shares: Vec<f64> = ln_shares.iter().map(|share| share.exp()).collect();
    let none = || [0.0_f64; 2 * BINS];
    let of_chunk = |chunk: &[LeftOut]| {
        let mut slope = none();
        for cell in chunk {
            let (mut told, mut all) = (cell.background, 1.0);
            for &(bin, same, density) in &cell.relatives {
                told += if same { shares[bin] } else { 0.0 } + shares[BINS + bin] * density;
                all += shares[bin] + shares[BINS + bin];
            }
            for &(bin, same, density) in &cell.relatives {
                let hit = if same { 1.0 / told } else { 0.0 };
                slope[bin] += shares[bin] * (hit - 1.0 / all);
                slope[BINS + bin] += shares[BINS + bin] * (density / told - 1.0 / all);
            }
        }
        slope
    };
    cells.par_chunks(4096).map(of_chunk).reduce(none, |mut a, b| {
        a.iter_mut().zip(b).for_each(|(a, b)| *a += b);
        a
    })
}

fn sigmoid(x: f64) -> f64 {
    1.0 / (1.0 + (-x).exp())
}
