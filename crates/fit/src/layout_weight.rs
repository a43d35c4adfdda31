//! How much better does a known layout explain what was taken of the points than chance does?

use crate::{
    agreement::Agreement,
    layouts::{HOLE, Layouts, ROLES},
    registration::{Motion, Site, register, register_mirrored},
};

/// Chance that a point a part has was not taken though others of its role were (common practice, no source).
const MISSED: f64 = 0.08;
/// Chance that two designations of the same point differ (mis-keyed, or another maker's letter).
const OTHER_NAME: f64 = 0.05;
/// Chance that a hole-to-hole distance was taken between points that are not both holes.
const NOT_HOLES: f64 = 0.1;
/// Relatives whose layout is known have the same one, one with a point elsewhere or of the other
/// hand, and another altogether, in these shares (found by trial on invented catalogues, where
/// shares from .1, .8, .1 to these change hardly anything).
const RELATIVES: [f64; 3] = [0.5, 0.35, 0.15];
/// A point farther than this many standard deviations off is not matched.
const REACH_SD: f64 = 4.5;

/// What was taken of the points, with what is known of the taking.
#[derive(Debug, Clone)]
pub(crate) struct Taken {
    pub sites: Vec<Site>,
    /// Ascending.
    pub distances_mm: Vec<f64>,
    pub spread_mm: f64,
    pub slip: f64,
    /// Share of layouts drawn from the wrong face.
    pub mirrored: f64,
}

impl Taken {
    pub fn reach_mm(&self) -> f64 {
        REACH_SD * self.spread_mm
    }
}

/// What one layout is worth.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Worth {
    /// Log of how much better it explains what was taken than chance does.
    pub ln: f64,
    /// Whether it is the mirror image that fits.
    pub mirrored: bool,
    /// How much better a layout does that has one point elsewhere, or is of the other hand.
    pub moved: f32,
}

/// How much better than chance a relative explains what was taken of a part whose own layout does
/// by `ratio`; [`Worth::moved`] is that of the layout.
pub(crate) fn relative_ratio(ratio: f32, moved: f32) -> f64 {
    let [same, point, other] = RELATIVES;
    f64::from(ratio) * (same + point * f64::from(moved)) + other
}

/// Weighs layouts one by one, and bounds all of them at once.
pub(crate) struct Weigher<'a> {
    layouts: &'a Layouts,
    taken: &'a Taken,
    /// Log of a matched point's worth over a point anywhere on the part.
    point: f64,
    /// Log of a matched distance's worth over any distance.
    distance: f64,
    /// Log of how often a point is taken wrong.
    slip: f64,
    area_mm2: f64,
    roles: [bool; 8],
    sites: Vec<Site>,
    agreement: Agreement,
    best: Vec<f32>,
}

impl<'a> Weigher<'a> {
    pub fn new(layouts: &'a Layouts, taken: &'a Taken) -> Self {
        let reach = 1.2 * layouts.distances().radius_mm;
        let area_mm2 = std::f64::consts::PI * reach * reach;
        let variance = std::f64::consts::TAU * taken.spread_mm * taken.spread_mm;
        let mut roles = [false; 8];
        for site in &taken.sites {
            roles[site.role] = true;
        }
        Self {
            layouts,
            taken,
            point: ((1.0 - taken.slip) * (1.0 - MISSED) * area_mm2 / variance).ln(),
            distance: ((1.0 - taken.slip) * 2.0 * reach / variance.sqrt()).ln(),
            slip: taken.slip.max(1e-6).ln(),
            area_mm2,
            roles,
            sites: Vec::new(),
            agreement: Agreement::default(),
            best: Vec::new(),
        }
    }

    /// Log of the ratio for `matched` points whose squares (mm²) sum to `squares` and whose
    /// squared distances from their middle sum to `moment`, without what the part has beyond.
    /// The motion is integrated out (Laplace's method): a shift within the area, a full turn.
    fn matched(&self, matched: usize, squares: f64, moment: f64) -> f64 {
        let lost = (self.taken.sites.len() - matched) as f64 * self.slip;
        let spread = self.taken.spread_mm;
        let k = matched as f64;
        if matched < 2 {
            // One point fits anywhere: its worth is spent on the shift.
            return k * ((1.0 - self.taken.slip) * (1.0 - MISSED)).ln() + lost;
        }
        let shift = std::f64::consts::TAU * spread * spread / (k * self.area_mm2);
        let turn = (spread / (std::f64::consts::TAU * moment).sqrt()).min(1.0);
        k * self.point - squares / (2.0 * spread * spread) + (shift * turn).ln() + lost
    }

    /// Log cost of the `count` points a part has of the roles taken, as if none were taken.
    fn missed(&self, roles: [u8; 8]) -> f64 {
        let count: f64 = roles
            .iter()
            .zip(&self.roles)
            .filter(|(_, taken)| **taken)
            .map(|(count, _)| f64::from(*count))
            .sum();
        count * MISSED.ln()
    }

    /// An upper bound of [`Self::weigh`] for every layout.
    pub fn bounds(&self) -> Vec<f32> {
        let mut bounds = vec![0.0; self.layouts.len()];
        if !self.taken.sites.is_empty() {
            self.bound_points(&mut bounds);
        }
        if !self.taken.distances_mm.is_empty() {
            self.bound_distances(&mut bounds);
        }
        bounds
    }

    /// `k` matched points have `k (k − 1) / 2` pair distances in common with the measured ones,
    /// each within twice the reach.
    fn bound_points(&self, bounds: &mut [f32]) {
        let sites = &self.taken.sites;
        let mut votes = vec![0_u16; bounds.len()];
        let mut seen = vec![0_u16; bounds.len()];
        let mut lengths = Vec::new();
        let reach = 2.0 * self.taken.reach_mm();
        for (at, a) in sites.iter().enumerate() {
            for b in &sites[at + 1..] {
                let mm = (a.x_mm - b.x_mm).hypot(a.y_mm - b.y_mm);
                lengths.push(mm * mm);
                let pair = lengths.len() as u16;
                let near = self.layouts.distances().between(a.role, b.role, mm - reach, mm + reach);
                for known in near {
                    let layout = known.layout as usize;
                    votes[layout] += u16::from(seen[layout] != pair);
                    seen[layout] = pair;
                }
            }
        }
        lengths.sort_by(f64::total_cmp);
        // The best that k or fewer matched points can do: no squares left, the points close together.
        let mut best = Vec::with_capacity(sites.len() + 1);
        for k in 0..=sites.len() {
            let closest: f64 = lengths[..k * k.saturating_sub(1) / 2].iter().sum();
            let here = self.matched(k, 0.0, closest / k.max(1) as f64) - k as f64 * MISSED.ln();
            best.push(best.last().map_or(here, |known: &f64| known.max(here)));
        }
        for ((bound, votes), roles) in
            bounds.iter_mut().zip(votes).zip(&self.layouts.distances().roles)
        {
            let mut k = 1;
            while k < sites.len() && k * (k + 1) / 2 <= usize::from(votes) {
                k += 1;
            }
            *bound += (best[k.min(sites.len())] + self.missed(*roles)) as f32;
        }
    }

    /// Whether no two distances can be meant for the same pair of points. Then each finds its own
    /// best, and the bound is the weight.
    fn distances_apart(&self) -> bool {
        let apart = 2.0 * self.taken.reach_mm();
        self.taken.distances_mm.windows(2).all(|pair| pair[1] - pair[0] > apart)
    }

    /// Whether [`Self::bounds`] are what [`Self::weigh`] says, so that it need not be asked.
    pub fn bounds_are_exact(&self) -> bool {
        self.taken.sites.is_empty() && self.distances_apart()
    }

    /// Each distance at its best, as if two could be meant for the same pair of points.
    fn bound_distances(&self, bounds: &mut [f32]) {
        let slip = self.taken.slip.max(1e-6).ln();
        let distances = self.layouts.distances();
        let gains: Vec<f32> =
            distances.roles.iter().map(|roles| (self.pair_worth(*roles) - slip) as f32).collect();
        for bound in bounds.iter_mut() {
            *bound += (slip * self.taken.distances_mm.len() as f64) as f32;
        }
        let (reach, spread) = (self.taken.reach_mm(), self.taken.spread_mm as f32);
        let mut seen = vec![0_u8; bounds.len()];
        let mut gained = vec![0.0_f32; bounds.len()];
        for (at, mm) in self.taken.distances_mm.iter().enumerate() {
            let mark = at as u8 + 1;
            for (a, b) in (0..ROLES).flat_map(|a| (a..ROLES).map(move |b| (a, b))) {
                let cost = if (a, b) == (HOLE, HOLE) { 0.0 } else { NOT_HOLES.ln() as f32 };
                for known in distances.between(a, b, mm - reach, mm + reach) {
                    let layout = known.layout as usize;
                    let off = (*mm as f32 - known.mm) / spread;
                    let gain = gains[layout] + cost - 0.5 * off * off;
                    let before = if seen[layout] == mark { gained[layout] } else { 0.0 };
                    if gain > before && off.abs() <= REACH_SD as f32 {
                        (seen[layout], gained[layout]) = (mark, gain);
                        bounds[layout] += gain - before;
                    }
                }
            }
        }
    }

    /// Log worth of a distance that is one of a layout's hole-to-hole distances: any may be meant.
    fn pair_worth(&self, roles: [u8; 8]) -> f64 {
        let holes = f64::from(roles[HOLE]);
        self.distance - (holes * (holes - 1.0) / 2.0).max(1.0).ln()
    }

    /// Whether [`Self::weigh`] lays points on each other, which is dear; distances alone are not.
    pub fn lays_points(&self) -> bool {
        !self.taken.sites.is_empty()
    }

    /// An upper bound of [`Self::weigh`] for `layout`, closer than that of [`Self::bounds`].
    pub fn closer_bound(&mut self, layout: usize) -> f32 {
        let distances =
            if self.taken.distances_mm.is_empty() { 0.0 } else { self.weigh_distances(layout) };
        self.layouts.sites_of(layout, &mut self.sites);
        let mut agreement = std::mem::take(&mut self.agreement);
        let mut best = self.unmatched(layout);
        let all = agreement.each(
            &self.sites,
            &self.taken.sites,
            self.taken.reach_mm(),
            |a, b| name_worth(a, b) - MISSED.ln(),
            |set| {
                let matched = self.matched(set.matched, set.squares_least(), set.moment());
                best = best.max(matched + set.worth);
            },
        );
        self.agreement = agreement;
        let missed = self.missed(self.layouts.distances().roles[layout]);
        if all { (best + missed + distances) as f32 } else { f32::INFINITY }
    }

    /// Log of the points' worth when no two match, without what the part has beyond.
    fn unmatched(&self, layout: usize) -> f64 {
        let roles = &self.layouts.distances().roles[layout];
        let alone = usize::from(self.roles.iter().zip(roles).any(|(t, count)| *t && *count > 0));
        self.matched(alone, 0.0, 0.0) - alone as f64 * MISSED.ln()
    }

    /// What `layout` is worth.
    pub fn weigh(&mut self, layout: usize) -> Worth {
        let distances =
            if self.taken.distances_mm.is_empty() { 0.0 } else { self.weigh_distances(layout) };
        if self.taken.sites.is_empty() {
            return Worth { ln: distances, mirrored: false, moved: 1.0 };
        }
        let mut sites = std::mem::take(&mut self.sites);
        self.layouts.sites_of(layout, &mut sites);
        let (points, motion) = self.weigh_points(layout, &sites);
        self.sites = sites;
        let mirrored = motion.as_ref().is_some_and(|motion| motion.mirrored);
        let taken = self.taken.sites.len();
        let moved = match motion {
            _ if mirrored => 1.0 / self.taken.mirrored,
            // Any of the points may be the one.
            Some(motion) if motion.pairs.len() < taken => {
                1.0 / (self.taken.slip.max(1e-6) * taken as f64)
            }
            _ => 0.0,
        };
        Worth { ln: points + distances, mirrored, moved: moved as f32 }
    }

    /// The points alone, with how they lie when at least two match.
    fn weigh_points(&self, layout: usize, model: &[Site]) -> (f64, Option<Motion>) {
        let taken = &self.taken.sites;
        let missed = self.missed(self.layouts.distances().roles[layout]);
        let nothing = self.unmatched(layout) + missed;
        let weigh = |motion: &Motion| {
            self.matched(motion.pairs.len(), squares(motion), moment(motion, taken))
                - motion.pairs.len() as f64 * MISSED.ln()
                + missed
                + self.names(motion, model)
        };
        let reach = self.taken.reach_mm();
        let straight = register(model, taken, reach);
        let straight_ln = straight.as_ref().map_or(nothing, weigh).max(nothing);
        if self.taken.mirrored <= 0.0
            || straight.as_ref().is_some_and(|motion| motion.pairs.len() == taken.len())
        {
            return (straight_ln, straight);
        }
        let mirrored = register_mirrored(model, taken, reach);
        let mirrored_ln = mirrored.as_ref().map_or(nothing, weigh).max(nothing);
        let (a, b) = (
            straight_ln + (1.0 - self.taken.mirrored).ln(),
            mirrored_ln + self.taken.mirrored.ln(),
        );
        let ln = a.max(b) + (-(a - b).abs()).exp().ln_1p();
        (ln, if b > a { mirrored } else { straight })
    }

    /// How the points lie on `layout`.
    pub fn registration(&self, layout: usize) -> Option<Motion> {
        let mut model = Vec::new();
        self.layouts.sites_of(layout, &mut model);
        self.weigh_points(layout, &model).1
    }

    /// What the designations of the matched points say.
    fn names(&self, motion: &Motion, model: &[Site]) -> f64 {
        let pairs = motion.pairs.iter();
        pairs.map(|pair| name_worth(&self.taken.sites[pair.measured], &model[pair.model])).sum()
    }

    /// Distances in order of length, each matched to at most one of the layout's: the best way
    /// keeps the order, so it is found like an alignment of two sorted lists.
    fn weigh_distances(&mut self, layout: usize) -> f64 {
        let known = self.layouts.distances();
        let worth = self.pair_worth(known.roles[layout]) as f32;
        let worth = [worth + NOT_HOLES.ln() as f32, worth];
        let slip = self.taken.slip.max(1e-6).ln() as f32;
        let lengths = known.lengths_of(layout);
        // best[j]: the distances so far, matched among the layout's first j.
        let best = &mut self.best;
        best.clear();
        best.resize(lengths.len() + 1, 0.0);
        for mm in &self.taken.distances_mm {
            let mut before = best[0];
            best[0] += slip;
            let mut left = best[0];
            for (length, best) in lengths.iter().zip(&mut best[1..]) {
                let off = (*mm as f32 - length.mm) / self.taken.spread_mm as f32;
                let skipped = f32::max(*best + slip, left);
                let matched = before + worth[usize::from(length.holes)] - 0.5 * off * off;
                before = *best;
                left = if off.abs() <= REACH_SD as f32 { skipped.max(matched) } else { skipped };
                *best = left;
            }
        }
        f64::from(best[lengths.len()])
    }
}

/// Log cost of designations that differ; two that agree cost next to nothing.
fn name_worth(a: &Site, b: &Site) -> f64 {
    match (a.designation, b.designation) {
        (0, _) | (_, 0) => 0.0,
        (a, b) if a == b => (1.0 - OTHER_NAME).ln(),
        _ => OTHER_NAME.ln(),
    }
}

fn squares(motion: &Motion) -> f64 {
    motion.pairs.iter().map(|pair| pair.deviation_mm.powi(2)).sum()
}

/// Sum of the squared distances of the matched points from their middle.
fn moment(motion: &Motion, taken: &[Site]) -> f64 {
    let n = motion.pairs.len() as f64;
    let matched = || motion.pairs.iter().map(|pair| &taken[pair.measured]);
    let x = matched().map(|site| site.x_mm).sum::<f64>() / n;
    let y = matched().map(|site| site.y_mm).sum::<f64>() / n;
    matched().map(|site| (site.x_mm - x).powi(2) + (site.y_mm - y).powi(2)).sum()
}
