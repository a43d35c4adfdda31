//! What does one reading say of each value of its column?

use std::{iter, ops::Range};

use binwright_catalog::Domain;

use crate::{
    column::Column,
    fast,
    likelihood::{Reading, between, hull},
    model::Scores,
    multiply::Worth,
};

/// Share of the kind's spread that is even over the range instead of following the catalogue.
const EVEN: f64 = 0.05;
/// No reading speaks louder than this against a part; 32 of them stay within what a number holds.
pub(crate) const LEAST: f32 = 1e-9;
/// Where all rows have one value, another is at least this likely against it.
const OTHER_MIN: f32 = 0.01;
/// Relatives differ by this much where nothing was learnt, in standard deviations of a reading.
const SIBLING_SD: f64 = 6.0;

/// What one reading says.
#[derive(Debug)]
pub(crate) struct Weights {
    /// Where it stands in [`Room::worth`] how much better each code explains the reading than the
    /// kind's spread does: as the part's own, and as that of a relative, which may differ.
    pub worth: Range<usize>,
    /// The kind's spread at the reading.
    pub background: f64,
}

/// Room to weigh in, kept from one question to the next: asking for so much memory takes as long as
/// filling it.
#[derive(Debug, Default)]
pub(crate) struct Room {
    /// Densities of the values, or of what stands for them, and of relatives.
    pub exact: Vec<f32>,
    other: Vec<f32>,
    /// What the codes of each column are worth, column after column.
    pub worth: Vec<Worth<2>>,
    /// The same of the sample's stand-ins.
    pub stand_ins: Vec<Worth<1>>,
    pub scores: Scores,
    /// By column: what a reading is worth on relatives, for the spread last asked for.
    near: Vec<Option<Near>>,
}

impl Room {
    /// Room for readings of so many columns.
    pub fn of(columns: usize) -> Self {
        Self { near: iter::repeat_with(|| None).take(columns).collect(), ..Self::default() }
    }
}

impl Column {
    /// Weighs one reading against all distinct values of this column, the one at place `at`.
    pub fn weigh(&self, at: usize, reading: &Reading<'_>, span: f64, room: &mut Room) -> Weights {
        let Room { exact, other, worth, near, .. } = room;
        let start = worth.len();
        reading.at_floor(self.values.len(), exact);
        let mut told = reading.curve(0.0).add_rises(&self.values, 1.0, exact);
        let background = if self.known > 0.0 {
            (1.0 - EVEN) * f64::from(fast::dot(exact, &self.shares)) + EVEN / span
        } else {
            1.0 / span
        };
        let per_background = (1.0 / background) as f32;
        let ratio = |density: f32| {
            let ratio = density * per_background;
            if ratio > LEAST { ratio } else { LEAST }
        };
        exact.iter_mut().for_each(|density| *density = ratio(*density));
        if reading.measure.domain.is_continuous() {
            reading.at_floor(self.values.len(), other);
            let near = Near::kept(&mut near[at], reading, self);
            told = hull(told, near.add_rises(reading, &self.values, other));
            other.iter_mut().for_each(|density| *density = ratio(*density));
        } else {
            other.clear();
            let shared = exact.iter().zip(&self.shares);
            other.extend(shared.map(|(exact, share)| self.another(*exact, *share)));
        }
        let differ = self.differences.share as f32;
        let values = exact.iter().zip(&*other);
        worth.extend(values.map(|(own, other)| [*own, (1.0 - differ) * own + differ * other]));
        worth.push([1.0; 2]);
        let floor = ratio(reading.floor() as f32);
        self.lend(told, floor, |at| [exact[at] - floor, other[at] - floor], worth);
        Weights { worth: start..worth.len(), background }
    }

    /// What another value is worth on a count or word that this share of the rows have and that
    /// explains the reading as `exact` has it: any as often as the kind has it, which has one row
    /// more. Ratios are to the kind's spread of them all.
    fn another(&self, exact: f32, share: f32) -> f32 {
        let share = share * (self.known / (self.known + 1.0)) as f32;
        ((1.0 - share * exact) / (1.0 - share)).max(OTHER_MIN)
    }

    /// Appends what the ways in which gaps are lent to are worth. Values that are not `told` of by the
    /// reading are worth `floor`, the others by as much more as they `rise`, as themselves and as
    /// values near.
    fn lend(
        &self,
        told: Range<usize>,
        floor: f32,
        rise: impl Fn(usize) -> [f32; 2],
        worth: &mut Vec<Worth<2>>,
    ) {
        let first = worth.len();
        let at_floor = self.lent.own.iter().map(|[own, lent]| own + lent * floor);
        worth.extend(at_floor.map(|worth| [worth; 2]));
        let ways = &mut worth[first..];
        for at in if ways.is_empty() { 0..0 } else { told } {
            let rise = rise(at);
            let portions = self.lent.starts[at] as usize..self.lent.starts[at + 1] as usize;
            for portion in &self.lent.portions[portions] {
                let more = portion.weights[0] * rise[0] + portion.weights[1] * rise[1];
                let way = &mut ways[portion.way as usize];
                *way = [way[0] + more; 2];
            }
        }
    }
}

/// How far the density of a reading rises above its floor on a close relative that differs, by how
/// far the part's value is off the reading: laid down once in small steps, for any reading.
#[derive(Debug)]
pub(crate) struct Near {
    /// Of the reading.
    sd: f64,
    /// The first and the last place, as value less reading.
    reach: (f64, f64),
    per_step: f64,
    /// At the first place and from step to step; read between them along straight lines.
    rises: Vec<f32>,
}

impl Near {
    /// Steps to one standard deviation of the reading: off by less than a part in 2,000 of the peak.
    const FINE: f64 = 16.0;
    /// A rise of this share of the floor is little.
    const LITTLE: f32 = 0.01;
    /// The most steps.
    const STEPS_MAX: f64 = 65_536.0;

    /// The one in `kept` when it is for readings of this spread, or else a new one.
    fn kept<'a>(kept: &'a mut Option<Self>, reading: &Reading<'_>, column: &Column) -> &'a Self {
        let known = kept.take().filter(|near| near.sd.total_cmp(&reading.sd).is_eq());
        kept.insert(known.unwrap_or_else(|| Self::new(reading, column)))
    }

    fn new(reading: &Reading<'_>, column: &Column) -> Self {
        let mut centred = reading.clone();
        centred.value = 0.0;
        let reading = &centred;
        let learnt = &column.differences.steps;
        let blur = if column.blur > 0.0 { column.blur } else { SIBLING_SD * reading.sd };
        let farthest = learnt.iter().fold(0.0_f64, |far, step| far.max(step.0));
        let turn = if reading.measure.domain == Domain::Angle { 180.0 } else { f64::INFINITY };
        let blurred = reading.curve(blur);
        let (low, high) = blurred
            .windows()
            .chain(
                reading.curve(0.0).windows().map(|(low, high)| (low - farthest, high + farthest)),
            )
            .fold((0.0_f64, 0.0_f64), |(low, high), window| {
                (low.min(window.0), high.max(window.1))
            });
        let (low, high) = (low.max(-turn), high.min(turn));
        let step = (reading.sd / Self::FINE).max((high - low) / Self::STEPS_MAX);
        let places = ((high - low) / step) as usize + 2;
        let values: Vec<f64> = (0..places).map(|at| low + step * at as f64).collect();
        let mut rises = vec![0.0; places];
        let spread = 1.0 - learnt.iter().map(|step| step.1).sum::<f64>();
        blurred.add_rises(&values, spread, &mut rises);
        // No finer than the steps are.
        let mut curve = reading.curve(step);
        for (off, share) in learnt {
            for off in [*off, -*off] {
                curve.value = off;
                curve.add_rises(&values, 0.5 * share, &mut rises);
            }
        }
        // What hardly rises is not worth going through.
        let little = Self::LITTLE * reading.floor() as f32;
        let first = rises.iter().position(|rise| *rise > little).unwrap_or(0);
        let last = rises.iter().rposition(|rise| *rise > little).unwrap_or(0);
        let rises = rises[first..=last].to_vec();
        let reach = (low + step * first as f64, low + step * last as f64);
        Self { sd: reading.sd, reach, per_step: 1.0 / step, rises }
    }

    /// Adds what `reading` rises on relatives of each of `values`, ascending; returns between which
    /// places there is a rise.
    fn add_rises(
        &self,
        reading: &Reading<'_>,
        values: &[f64],
        densities: &mut [f32],
    ) -> Range<usize> {
        let mut reached = 0..0;
        for turn in reading.turns() {
            let first = reading.value + turn + self.reach.0;
            let places = between(values, first, reading.value + turn + self.reach.1);
            let own = densities[places.clone()].iter_mut().zip(&values[places.clone()]);
            for (density, value) in own {
                let steps = ((value - first) * self.per_step) as f32;
                let at = steps as i32 as usize;
                if let Some([before, after]) = self.rises.get(at..at + 2) {
                    *density += before + (after - before) * (steps - at as f32);
                }
            }
            reached = hull(reached, places);
        }
        reached
    }
}

#[cfg(test)]
mod tests {
    use binwright_catalog::Measure;
    use proptest::prelude::*;

    use super::*;
    use crate::kin::{Differences, LentColumn};

    fn measure(domain: &str, wear: &str) -> Measure {
        let text = format!(
            r#"
            key = "m"
            label = "m"
            type = "{domain}"
            unit = "{}"
            instrument = "caliper"
            how = "across"
            spread = 0.2
            tolerance = 0.3
            {wear}
            slip = 0.05
            minutes = 1
            rank = 1
            "#,
            if domain == "angle" { "deg" } else { "mm" },
        );
        toml::from_str(&text).unwrap()
    }

    proptest! {
        #[test]
        fn what_is_near_is_worth_what_each_step_and_the_blur_say_together(
            values in prop::collection::btree_set(0..3_600_u32, 1..60), at in 0..3_600_u32,
            steps in prop::collection::vec((1..400_u32, 1..9_u32), 0..6), blur in 2..30_u32,
            sort in 0..3_usize, sd_mm in prop::option::of(0.02..1.0_f64),
        ) {
            let wear = "wear = \"down\"\nwear_allowance = 6";
            let (domain, wear) = [("length", ""), ("length", wear), ("angle", "")][sort];
            let measure = measure(domain, wear);
            let values: Vec<f64> = values.into_iter().map(|v| f64::from(v) / 10.0).collect();
            let steps: Vec<(f64, f64)> =
                steps.into_iter().map(|(off, n)| (f64::from(off) / 10.0, f64::from(n) / 60.0)).collect();
            let lent = LentColumn {
                blur: f64::from(blur) / 10.0,
                differences: Differences { share: 0.2, steps: steps.clone() },
                starts: vec![0],
                ..LentColumn::default()
            };
            let column = Column::new(&values, measure.domain, Some(&lent));
            let reading = Reading::new(&measure, f64::from(at) / 10.0, sd_mm, 360.0);
            let mut quick = Vec::new();
            reading.at_floor(values.len(), &mut quick);
            Near::new(&reading, &column).add_rises(&reading, &values, &mut quick);
            let left = 1.0 - steps.iter().map(|step| step.1).sum::<f64>();
            let peak = reading.density(reading.value, 0.0);
            for (quick, value) in quick.iter().zip(&values) {
                let either = steps.iter().flat_map(|(off, share)| [(*off, *share), (-off, *share)]);
                let rise = |nominal: f64, blur| reading.density(nominal, blur) - reading.floor();
                let slow = reading.floor()
                    + left * rise(*value, lent.blur)
                    + either.map(|(off, share)| 0.5 * share * rise(value + off, 0.0)).sum::<f64>();
                prop_assert!((f64::from(*quick) - slow).abs() < 2e-3 * peak, "{quick} {slow} of {peak}");
            }
        }
    }
}
