//! How likely is a reading on a part whose value is known?

use std::ops::Range;

use binwright_catalog::{Domain, Measure, Wear};
use statrs::function::erf::erf;

use crate::fast;

/// Of the slips in a count, the share that is one off.
const ONE_OFF: f64 = 0.7;

/// Farther than this many standard deviations only slips are left (a part in 10⁷ of the peak).
const REACH_SD: f64 = 6.0;

/// One reading with what is known of its making.
#[derive(Debug, Clone)]
pub(crate) struct Reading<'a> {
    pub measure: &'a Measure,
    /// Encoded as in the column.
    pub value: f64,
    /// Instrument and maker's tolerance together.
    pub sd: f64,
    /// Density of a slip anywhere in the kind's range, or the probability of one other word.
    slip_density: f64,
}

impl<'a> Reading<'a> {
    /// `span` is the width of the values the kind has (for words: how many there are). `sd_mm`
    /// stands in for the instrument's spread of a length. Half the tolerance counts as one
    /// standard deviation of making (common practice, no source).
    pub fn new(measure: &'a Measure, value: f64, sd_mm: Option<f64>, span: f64) -> Self {
        let instrument = match (measure.domain, sd_mm) {
            (Domain::Length, Some(sd_mm)) => sd_mm,
            _ => measure.spread,
        };
        Self {
            measure,
            value,
            sd: root_of_squares(instrument, measure.tolerance / 2.0).max(1e-6),
            slip_density: 1.0 / span.max(1.0),
        }
    }

    /// Density per unit (probability for counts and words) of this reading on a part of value
    /// `nominal` that is itself off by `blur` standard deviation.
    pub fn density(&self, nominal: f64, blur: f64) -> f64 {
        self.floor() + self.curve(blur).rise(nominal)
    }

    /// What is left of [`Self::density`] far from the nominal.
    pub fn floor(&self) -> f64 {
        self.measure.slip * self.slip_density
    }

    /// What may be added to a nominal that is the same: an angle once round is.
    pub fn turns(&self) -> impl Iterator<Item = f64> + use<> {
        let turns = if self.measure.domain == Domain::Angle { -2..=2 } else { 0..=0 };
        turns.map(|turn| 360.0 * f64::from(turn))
    }

    /// Makes `densities` those of `count` nominals that are far off.
    pub fn at_floor(&self, count: usize, densities: &mut Vec<f32>) {
        densities.clear();
        densities.resize(count, self.floor() as f32);
    }

    /// The density above its floor, for nominals that are off by `blur` standard deviation.
    pub fn curve(&self, blur: f64) -> Curve<'_> {
        let sd = root_of_squares(self.sd, blur);
        let peak = (1.0 - self.measure.slip) / (sd * std::f64::consts::TAU.sqrt());
        Curve { reading: self, value: self.value, sd, peak }
    }

    /// Probability of a reading below `cut` on a part of value `nominal`, slips spread over
    /// `range`; numbers only.
    pub fn below(&self, cut: f64, nominal: f64, blur: f64, range: (f64, f64)) -> f64 {
        let sd = root_of_squares(self.sd, blur);
        let worn = match self.measure.wear {
            Wear::None => 0.0,
            Wear::Down => -self.measure.wear_allowance,
            Wear::Up => self.measure.wear_allowance,
        };
        let at = |share: f64| normal_below((cut - nominal - share * worn) / sd);
        // Wear is even over the allowance: five places stand for it.
        let well = if worn.abs() > 0.0 {
            [0.1, 0.3, 0.5, 0.7, 0.9].map(at).iter().sum::<f64>() / 5.0
        } else {
            at(0.0)
        };
        let slipped = ((cut - range.0) / (range.1 - range.0).max(1e-9)).clamp(0.0, 1.0);
        (1.0 - self.measure.slip) * well + self.measure.slip * slipped
    }
}

/// How far the density of a reading rises above its floor, by the nominal.
#[derive(Debug, Clone)]
pub(crate) struct Curve<'a> {
    reading: &'a Reading<'a>,
    /// Encoded as in the column.
    pub value: f64,
    sd: f64,
    /// Of a measure that does not wear.
    peak: f64,
}

impl Curve<'_> {
    /// The rise on a part of value `nominal`.
    fn rise(&self, nominal: f64) -> f64 {
        let Measure { slip, domain, wear, wear_allowance: worn, .. } = *self.reading.measure;
        let off = self.value - nominal;
        match domain {
            Domain::Length | Domain::Number if self.wears() => {
                let off = if wear == Wear::Up { -off } else { off };
                (1.0 - slip) * worn_density(off, worn, self.sd)
            }
            Domain::Length | Domain::Number => self.normal(off),
            Domain::Angle => self.normal(short_way(off)),
            Domain::Count if off.abs() > 1.5 => -ONE_OFF * self.reading.floor(),
            Domain::Count if off.abs() > 0.5 => slip * ONE_OFF / 2.0 - self.reading.floor(),
            _ if off.abs() > 0.5 => 0.0,
            _ => 1.0 - slip - self.reading.floor(),
        }
    }

    fn wears(&self) -> bool {
        self.reading.measure.wear != Wear::None && self.reading.measure.wear_allowance > 0.0
    }

    fn normal(&self, off: f64) -> f64 {
        let z = off / self.sd;
        if z.abs() > REACH_SD { 0.0 } else { self.peak * (-0.5 * z * z).exp() }
    }

    /// Adds `share` of the rise on each of `nominals`, ascending; returns between which places there
    /// is one.
    pub fn add_rises(&self, nominals: &[f64], share: f64, densities: &mut [f32]) -> Range<usize> {
        let mut reached = 0..0;
        for (low, high) in self.windows() {
            let places = between(nominals, low, high);
            let middle = f64::midpoint(low, high);
            let own = &mut densities[places.clone()];
            self.add_rise(&nominals[places.clone()], middle, share, own);
            reached = hull(reached, places);
        }
        reached
    }

    /// The same of nominals that all lie within the window around `middle`.
    fn add_rise(&self, nominals: &[f64], middle: f64, share: f64, densities: &mut [f32]) {
        let both = densities.iter_mut().zip(nominals);
        match self.reading.measure.domain {
            Domain::Length | Domain::Number | Domain::Angle if !self.wears() => {
                let (scale, peak) = (1.0 / self.sd, (share * self.peak) as f32);
                for (density, nominal) in both {
                    let z = ((nominal - middle) * scale) as f32;
                    *density += peak * fast::exp(-0.5 * z * z);
                }
            }
            _ => {
                for (density, nominal) in both {
                    *density += (share * self.rise(*nominal)) as f32;
                }
            }
        }
    }

    /// The nominals, from and to, between which there is a rise.
    pub fn windows(&self) -> impl Iterator<Item = (f64, f64)> {
        let Measure { domain, wear, wear_allowance: worn, .. } = *self.reading.measure;
        let reach = REACH_SD * self.sd;
        let (down, up) = match domain {
            Domain::Length | Domain::Number if !self.wears() => (reach, reach),
            Domain::Length | Domain::Number if wear == Wear::Down => (reach, reach + worn),
            Domain::Length | Domain::Number => (reach + worn, reach),
            // Half a turn is the farthest off.
            Domain::Angle => (reach.min(180.0), reach.min(180.0)),
            _ => (f64::INFINITY, f64::INFINITY),
        };
        let value = self.value;
        let around = move |turn| (value + turn - down, value + turn + up);
        self.reading.turns().map(around)
    }
}

/// The places of `values`, ascending, from `low` on and below `high`.
pub(crate) fn between(values: &[f64], low: f64, high: f64) -> Range<usize> {
    let from = values.partition_point(|value| *value < low);
    from..values.partition_point(|value| *value < high).max(from)
}

/// The places of both and what lies between them.
pub(crate) fn hull(a: Range<usize>, b: Range<usize>) -> Range<usize> {
    match (a.is_empty(), b.is_empty()) {
        (true, _) => b,
        (_, true) => a,
        _ => a.start.min(b.start)..a.end.max(b.end),
    }
}

/// Two independent spreads together. Millimetres neither overflow nor vanish when squared.
fn root_of_squares(a: f64, b: f64) -> f64 {
    (a * a + b * b).sqrt()
}

/// Density of a reading `off` from new on a part that lost anything from nothing to `worn`, evenly:
/// a uniform convolved with a normal, `[Φ((off + worn) / sd) − Φ(off / sd)] / worn`.
fn worn_density(off: f64, worn: f64, sd: f64) -> f64 {
    let (low, high) = (off / sd, (off + worn) / sd);
    // The tail on the near side keeps its digits.
    let between = if low > 0.0 {
        normal_below(-low) - normal_below(-high)
    } else {
        normal_below(high) - normal_below(low)
    };
    between.max(0.0) / worn
}

/// Distribution function of the standard normal.
fn normal_below(z: f64) -> f64 {
    0.5 * (1.0 + erf(z * std::f64::consts::FRAC_1_SQRT_2))
}

/// An angle's difference the short way round, in degrees.
pub(crate) fn short_way(degrees: f64) -> f64 {
    degrees - 360.0 * (degrees / 360.0).round()
}
