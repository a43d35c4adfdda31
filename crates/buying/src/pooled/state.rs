//! How much, and of late, has a part sold? A few sums that each month moves on.

use super::{Series, drift::Drifts, fit::FEATURES};

/// How much a month ago weighs against this one: the state, and the two memories of the trend.
pub(super) const KEEP: f64 = 0.87;
const KEEP_SHORT: f64 = 0.7;
pub(super) const KEEP_LONG: f64 = 0.97;

/// The months of sales that the usual rate weighs in the state.
const USUAL_MONTHS: f64 = 0.5;

/// Where the slope on the state may change: one sale in five months, and one a month (logarithms).
const KNOTS: [f64; 2] = [-1.6, 0.0];

/// A family's trend is believed as if it had sold so much a month more, without trend.
const FAMILY_STEADY: f64 = 5.0;

/// What first sold in so many first months of the shop's records is taken for old: it may have sold before.
const OLD_BEFORE: usize = 12;

/// The chance that a part ends in a month. Ours: as small as lets a part that sold in most months be given up within
/// a year, for whatever is larger takes parts that only pause for ended.
const ENDS: f64 = 0.000_2;

/// The least chance of an empty month: nothing is so sure to sell that one tells much. Our guess.
const EMPTY_MIN: f64 = 0.3;

/// A part that sold so much is half known: half of what parts alike take over from the usual is its own.
const LATER_KNOWN: f64 = 10.0;

/// The oldest age told apart, in months.
const AGE_MAX: f64 = 24.0;

/// A discounted mean.
#[derive(Debug, Clone, Copy, Default)]
struct Memory {
    sum: f64,
    weight: f64,
}

impl Memory {
    fn step(&mut self, sold: f64, keep: f64) {
        self.sum = keep * self.sum + sold;
        self.weight = keep * self.weight + 1.0;
    }

    fn mean(self) -> f64 {
        if self.weight > 0.0 { self.sum / self.weight } else { 0.0 }
    }
}

/// What a part's months so far come to. Months before the first sale count only until there is one.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct State {
    recent: Memory,
    short: Memory,
    long: Memory,
    total: f64,
    /// What it sold after its first month, and the same by the months from there.
    later: f64,
    dated: f64,
    /// The squares of what those months sold.
    squares: f64,
    /// Months with a sale, and all since the first.
    sales: f64,
    age: f64,
    /// Months since the last sale.
    quiet: f64,
    /// Months since the shop's first; the part's own first sale among them may be one of many unseen.
    known: usize,
    old: bool,
}

impl State {
    /// Nothing yet, so many months after the shop's first.
    pub(super) fn new(known: usize) -> Self {
        Self { known, ..Self::default() }
    }

    pub(super) fn after(months: &[f64], known: usize) -> Self {
        let mut state = Self::new(known);
        months.iter().for_each(|&sold| state.step(sold));
        state
    }

    pub(super) fn step(&mut self, sold: f64) {
        if !self.started() && sold > 0.0 {
            *self = Self { old: self.known < OLD_BEFORE, ..Self::new(self.known) };
        }
        let capped = sold.min(self.cap());
        if self.started() {
            self.later += capped;
            self.dated += capped * self.age;
            self.squares += capped * capped;
        }
        self.known += 1;
        self.age += 1.0;
        self.total += sold;
        self.sales += f64::from(sold > 0.0);
        self.quiet = if sold > 0.0 { 0.0 } else { self.quiet + 1.0 };
        let sold = capped;
        self.recent.step(sold, KEEP);
        self.short.step(sold, KEEP_SHORT);
        self.long.step(sold, KEEP_LONG);
    }

    /// What a month may say at most: a huge one must not stand for many. The first sale may be anything.
    pub(super) fn cap(&self) -> f64 {
        if self.started() { 8.0 + 3.0 * self.total / self.sales } else { f64::INFINITY }
    }

    /// Whether it ever sold.
    pub(super) fn started(&self) -> bool {
        self.total > 0.0
    }

    /// The discounted mean per month.
    pub(super) fn recent(&self) -> f64 {
        self.recent.mean()
    }

    /// Recent over long-run demand; 1 when chance alone would part them as far in one part of five.
    pub(super) fn trend(&self) -> f64 {
        let (short, long) = (self.short.mean(), self.long.mean());
        // The variance of a discounted mean of counts, the longer memory taken as known.
        let chance = (long * (1.0 - KEEP_SHORT) / (1.0 + KEEP_SHORT)).sqrt();
        if (short - long).abs() <= 1.28 * chance || !self.started() { 1.0 } else { short / long }
    }

    /// What the months ahead sell over what the state says, and over what the long memory says, as its rate drifts.
    /// The month of the first sale, from which the others are counted, says nothing of that.
    fn ahead(&self, drifts: &Drifts) -> [f64; 2] {
        if self.later <= 0.0 {
            return [1.0; 2];
        }
        let months = self.age - 1.0;
        // Units that come in clumps tell as much as so many fewer: the clump is the variance over the mean.
        let clump = ((self.squares - self.later * self.later / months) / self.later).max(1.0);
        drifts.ahead(months as usize, self.later / clump, self.dated / self.later - 1.0)
    }

    /// The chance that it still sells, after the months since its last sale: it may have ended in any of them, or
    /// they were empty by chance, as often as months were before.
    pub(super) fn lives(&self) -> f64 {
        let sells = (self.sales + 1.0) / (self.age - self.quiet + 12.0);
        let empty = (1.0 - sells).max(EMPTY_MIN) * (1.0 - ENDS);
        let by_chance = empty.powi(self.quiet as i32);
        by_chance / (by_chance + ENDS * (1.0 - by_chance) / (1.0 - empty))
    }

    /// The columns of the regression: one, the state, the state above each of [`KNOTS`], the long
    /// memory over the state, age, the long memory as far as the part is known, the family's trend.
    /// All but the first are zero for a grown part that sells the usual rate in a steady family.
    pub(super) fn features(
        &self,
        drifts: &Drifts,
        usual: f64,
        family_trend: f64,
    ) -> [f64; FEATURES] {
        let ln_rate = |memory: Memory, ahead: f64| {
            ((USUAL_MONTHS * usual + ahead * memory.sum) / (USUAL_MONTHS + memory.weight)).ln()
        };
        let [recent_ahead, long_ahead] = self.ahead(drifts);
        let (x, long) = (ln_rate(self.recent, recent_ahead), ln_rate(self.long, long_ahead));
        let usual = usual.ln();
        let young = self.started() && !self.old;
        let age = if young { (self.age - 1.0).min(AGE_MAX) } else { AGE_MAX };
        [
            1.0,
            x - usual,
            x.max(KNOTS[0]) - usual.max(KNOTS[0]),
            x.max(KNOTS[1]) - usual.max(KNOTS[1]),
            long - x,
            ((1.0 + age) / (1.0 + AGE_MAX)).ln(),
            self.later / (self.later + LATER_KNOWN) * (long - usual),
            family_trend,
        ]
    }
}

/// The short and long memories of each family's parts at each month, added up.
pub(super) struct Trends {
    months: usize,
    sums: Vec<[f64; 2]>,
}

impl Trends {
    pub(super) fn of(series: &[Series<'_>], families: usize) -> Self {
        let months = series.iter().map(|one| one.months.len()).max().unwrap_or(0);
        let mut sums = vec![[0.0; 2]; families * months];
        for one in series {
            let mut state = State::default();
            for (at, &sold) in one.months.iter().enumerate() {
                state.step(sold);
                let sum = &mut sums[one.family * months + one.months.len() - 1 - at];
                let [short, long] = state.told();
                *sum = [sum[0] + short, sum[1] + long];
            }
        }
        Self { months, sums }
    }

    /// The logarithm of a family's recent over long-run demand `ago` months before the newest, without the
    /// part whose state is given.
    pub(super) fn of_family(&self, family: usize, ago: usize, without: &State) -> f64 {
        if ago >= self.months {
            return 0.0;
        }
        let [short, long] = self.sums[family * self.months + ago];
        let [own_short, own_long] = without.told();
        let steady = |sum: f64| sum.max(0.0) + FAMILY_STEADY;
        (steady(short - own_short) / steady(long - own_long)).ln().clamp(-1.0, 1.0)
    }
}

impl State {
    /// What the part says of its family's trend: nothing in its first half year, when its first sales are
    /// all it has.
    fn told(&self) -> [f64; 2] {
        if self.age > 6.0 { [self.short.mean(), self.long.mean()] } else { [0.0; 2] }
    }
}
