//! How well may measured points lie on a layout, told from how far they are apart alone?
//!
//! Points that lie on each other at once are, within the reach, as far apart as those they lie on. A
//! layout that does not fit has few sets of matches of which every two agree so: going through them
//! takes far less time than laying the points on each other.

use crate::registration::{Site, apart};

/// Sets looked at on one layout; with more than these, all that can be said is that it may fit.
const SETS_MAX: usize = 4_000;

/// Matches that agree with each other.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Agreeing {
    /// How many.
    pub matched: usize,
    /// Sum of the matches' own worth.
    pub worth: f64,
    /// Over all pairs, sum of the squared differences of the two distances, in mm².
    off2: f64,
    /// Over all pairs, sum of the squared distances of the measured points, in mm².
    apart2: f64,
}

impl Agreeing {
    /// However the points are laid on each other, the squared distances left sum to at least this: two
    /// points that lie `a` and `b` off differ by `|a − b|` at least, and the squares of all such
    /// differences sum to `matched` times those around their mean.
    pub fn squares_least(self) -> f64 {
        self.off2 / self.matched as f64
    }

    /// Sum of the squared distances of the measured points from their middle.
    pub fn moment(self) -> f64 {
        self.apart2 / self.matched as f64
    }
}

/// A measured point that may be a point of the layout.
#[derive(Debug, Clone, Copy)]
struct Match {
    measured: usize,
    model: usize,
    worth: f64,
}

/// Two matches that agree: difference of the two distances and the measured one, squared.
#[derive(Debug, Clone, Copy, Default)]
struct Pair {
    off2: f64,
    apart2: f64,
}

/// The matches of one layout after the other; kept so that no memory is asked for each.
#[derive(Debug, Default)]
pub(crate) struct Agreement {
    matches: Vec<Match>,
    measured: Apart,
    model: Apart,
    /// By match: the later ones that agree with it.
    with: Vec<u128>,
    /// A row a match; of matches that do not agree what is left from another layout.
    pairs: Vec<Pair>,
}

/// How far points are apart, in mm; a row a point.
#[derive(Debug, Default)]
struct Apart {
    mm: Vec<f64>,
    points: usize,
}

impl Apart {
    fn take(&mut self, sites: &[Site]) {
        self.points = sites.len();
        self.mm.clear();
        self.mm.extend(sites.iter().flat_map(|a| sites.iter().map(|b| apart(a, b))));
    }

    fn of(&self, a: usize) -> &[f64] {
        &self.mm[a * self.points..(a + 1) * self.points]
    }
}

impl Agreement {
    /// Shows `visit` all sets of two and more matches that agree: points of the same role, apart as
    /// far but for twice `reach_mm`. `worth` is what a match adds. Returns whether that were all.
    pub fn each(
        &mut self,
        model: &[Site],
        measured: &[Site],
        reach_mm: f64,
        worth: impl Fn(&Site, &Site) -> f64,
        mut visit: impl FnMut(Agreeing),
    ) -> bool {
        self.matches.clear();
        for (at, site) in measured.iter().enumerate() {
            let alike = model.iter().enumerate().filter(|(_, known)| known.role == site.role);
            self.matches.extend(alike.map(|(on, known)| Match {
                measured: at,
                model: on,
                worth: worth(site, known),
            }));
        }
        if self.matches.len() > u128::BITS as usize {
            return false;
        }
        self.measured.take(measured);
        self.model.take(model);
        self.compare(2.0 * reach_mm);
        let mut left = SETS_MAX;
        (0..self.matches.len()).all(|at| {
            let one = Agreeing { matched: 1, worth: self.matches[at].worth, ..Agreeing::default() };
            self.grow(one, 1 << at, self.with[at], &mut left, &mut visit)
        })
    }

    fn compare(&mut self, reach_mm: f64) {
        let count = self.matches.len();
        if self.pairs.len() < count * count {
            self.pairs.resize(count * count, Pair::default());
        }
        self.with.clear();
        for (row, a) in self.matches.iter().enumerate() {
            let (measured, model) = (self.measured.of(a.measured), self.model.of(a.model));
            let mut agree = 0;
            for (at, b) in self.matches.iter().enumerate().skip(row + 1) {
                let mm = measured[b.measured];
                let off = mm - model[b.model];
                if off.abs() <= reach_mm && a.measured != b.measured && a.model != b.model {
                    agree |= 1 << at;
                    self.pairs[row * count + at] = Pair { off2: off * off, apart2: mm * mm };
                }
            }
            self.with.push(agree);
        }
    }

    /// Adds to the matches `members` each of `others`, all of which agree with them, in turn.
    fn grow(
        &self,
        set: Agreeing,
        members: u128,
        mut others: u128,
        left: &mut usize,
        visit: &mut impl FnMut(Agreeing),
    ) -> bool {
        while others != 0 {
            let at = others.trailing_zeros() as usize;
            others &= others - 1;
            let mut larger = set;
            larger.matched += 1;
            larger.worth += self.matches[at].worth;
            let mut rest = members;
            while rest != 0 {
                let pair = self.pairs[rest.trailing_zeros() as usize * self.matches.len() + at];
                rest &= rest - 1;
                larger.off2 += pair.off2;
                larger.apart2 += pair.apart2;
            }
            visit(larger);
            *left -= 1;
            let others = others & self.with[at];
            if *left == 0 || !self.grow(larger, members | 1 << at, others, left, visit) {
                return false;
            }
        }
        true
    }
}
