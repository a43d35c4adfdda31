//! How does one set of planar points lie on another, turned and shifted but never mirrored?

/// A planar point with what it is for.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Site {
    /// Points of different roles never match.
    pub role: usize,
    /// Equal for equal terminal designations; 0 for none.
    pub designation: u64,
    /// To the right, in mm.
    pub x_mm: f64,
    /// Up, in mm.
    pub y_mm: f64,
}

/// How measured points lie on a part's points.
#[derive(Debug, Clone, PartialEq)]
pub struct Motion {
    /// Counter-clockwise turn of the part's points, in degrees.
    pub angle_deg: f64,
    /// Shift after the turn, in mm.
    pub shift_mm: (f64, f64),
    /// Whether the part's points were first mirrored (x to −x).
    pub mirrored: bool,
    /// Root of the mean squared distance that is left, in mm.
    pub rms_mm: f64,
    /// Which points lie on each other.
    pub pairs: Vec<MatchedPair>,
}

/// A measured point and the part's point it lies on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct MatchedPair {
    /// Place in the measured points.
    pub measured: usize,
    /// Place in the part's points.
    pub model: usize,
    /// Distance that is left, in mm.
    pub deviation_mm: f64,
}

/// A turn (unit complex number) and a shift.
#[derive(Debug, Clone, Copy)]
struct Turn {
    cos: f64,
    sin: f64,
    shift: (f64, f64),
}

impl Turn {
    fn apply(self, x: f64, y: f64) -> (f64, f64) {
        (self.cos * x - self.sin * y + self.shift.0, self.sin * x + self.cos * y + self.shift.1)
    }
}

/// The least-squares turn and shift of `(model, measured)` pairs: with points as complex numbers
/// about their centroids the turn is `Σ z̄·w`, scaled to length one. No scaling, no mirror.
fn best_turn(pairs: impl Iterator<Item = ((f64, f64), (f64, f64))> + Clone) -> Turn {
    let (mut n, mut mx, mut my, mut wx, mut wy) = (0.0, 0.0, 0.0, 0.0, 0.0);
    for ((zx, zy), (vx, vy)) in pairs.clone() {
        (n, mx, my, wx, wy) = (n + 1.0, mx + zx, my + zy, wx + vx, wy + vy);
    }
    let (mx, my, wx, wy) = (mx / n, my / n, wx / n, wy / n);
    let (mut re, mut im) = (0.0, 0.0);
    for ((zx, zy), (vx, vy)) in pairs {
        let (zx, zy, vx, vy) = (zx - mx, zy - my, vx - wx, vy - wy);
        re += zx * vx + zy * vy;
        im += zx * vy - zy * vx;
    }
    let length = re.hypot(im);
    let (cos, sin) = if length > 0.0 { (re / length, im / length) } else { (1.0, 0.0) };
    Turn { cos, sin, shift: (wx - cos * mx + sin * my, wy - sin * mx - cos * my) }
}

/// Lays `model` onto `measured`, point `i` on point `i`; both of the same length, roles not asked.
/// `None` for fewer than two points or different lengths.
///
/// Source of the closed form: absolute orientation in the plane with points as complex numbers.
pub fn register_labelled(model: &[Site], measured: &[Site]) -> Option<Motion> {
    if model.len() != measured.len() || model.len() < 2 {
        return None;
    }
    let pairs: Vec<(usize, usize)> = (0..model.len()).map(|i| (i, i)).collect();
    Some(motion(turn_of(&pairs, model, measured), &pairs, model, measured))
}

fn turn_of(pairs: &[(usize, usize)], model: &[Site], measured: &[Site]) -> Turn {
    best_turn(pairs.iter().map(|&(at, on)| {
        ((model[on].x_mm, model[on].y_mm), (measured[at].x_mm, measured[at].y_mm))
    }))
}

fn motion(turn: Turn, pairs: &[(usize, usize)], model: &[Site], measured: &[Site]) -> Motion {
    let pairs: Vec<MatchedPair> = pairs
        .iter()
        .map(|&(at, on)| MatchedPair {
            measured: at,
            model: on,
            deviation_mm: squared(turn, &model[on], &measured[at]).sqrt(),
        })
        .collect();
    let sum: f64 = pairs.iter().map(|pair| pair.deviation_mm.powi(2)).sum();
    Motion {
        angle_deg: turn.sin.atan2(turn.cos).to_degrees(),
        shift_mm: turn.shift,
        mirrored: false,
        rms_mm: (sum / pairs.len() as f64).sqrt(),
        pairs,
    }
}

fn squared(turn: Turn, model: &Site, measured: &Site) -> f64 {
    let (x, y) = turn.apply(model.x_mm, model.y_mm);
    (x - measured.x_mm).powi(2) + (y - measured.y_mm).powi(2)
}

/// At most this many pairs of measured points start a search; a slip in all of them is beyond help.
const BASES_MAX: usize = 24;

/// Lays `model` onto `measured` without knowing which point is which: the most points that come
/// within `reach_mm` of a point of their role, and of those the least squares. Every pair of model
/// points as far apart as a measured pair is tried. `None` when no two points match. Never mirrors.
pub fn register(model: &[Site], measured: &[Site], reach_mm: f64) -> Option<Motion> {
    let mut bases = pairs_by_length(measured);
    bases.truncate(BASES_MAX);
    let most = most_matches(model, measured);
    let mut best: Option<(Matches, Turn)> = None;
    for (length, a, b) in bases {
        for i in 0..model.len() {
            for j in 0..model.len() {
                let (zi, zj) = (&model[i], &model[j]);
                if i == j
                    || zi.role != measured[a].role
                    || zj.role != measured[b].role
                    || (apart(zi, zj) - length).abs() > 2.0 * reach_mm
                {
                    continue;
                }
                let turn = turn_of(&[(a, i), (b, j)], model, measured);
                let (matches, turn) = refine(turn, model, measured, reach_mm);
                if best.as_ref().is_none_or(|(known, _)| matches.beats(known, reach_mm)) {
                    best = Some((matches, turn));
                }
            }
        }
        if best.as_ref().is_some_and(|(matches, _)| matches.pairs.len() == most) {
            break;
        }
    }
    let (matches, turn) = best.filter(|(matches, _)| matches.pairs.len() >= 2)?;
    Some(motion(turn, &matches.pairs, model, measured))
}

/// As [`register`] with the mirror image of `model`: what fits then is the other hand.
pub fn register_mirrored(model: &[Site], measured: &[Site], reach_mm: f64) -> Option<Motion> {
    let mirrored: Vec<Site> = model.iter().map(|site| Site { x_mm: -site.x_mm, ..*site }).collect();
    register(&mirrored, measured, reach_mm).map(|motion| Motion { mirrored: true, ..motion })
}

/// Which measured point lies on which model point, and the sum of squares that is left.
struct Matches {
    pairs: Vec<(usize, usize)>,
    squares: f64,
}

impl Matches {
    /// A point matched is worth as much as a match at the edge of reach costs.
    fn beats(&self, other: &Self, reach_mm: f64) -> bool {
        let cost = |m: &Self| m.squares - m.pairs.len() as f64 * reach_mm * reach_mm;
        cost(self) < cost(other) - 1e-12
    }
}

fn refine(mut turn: Turn, model: &[Site], measured: &[Site], reach_mm: f64) -> (Matches, Turn) {
    // The first guess rests on two points only, so it may be off by more than the reach.
    let mut matches = assign(turn, model, measured, 2.0 * reach_mm);
    for _ in 0..4 {
        if matches.pairs.len() < 2 {
            break;
        }
        turn = turn_of(&matches.pairs, model, measured);
        let next = assign(turn, model, measured, reach_mm);
        let settled = next.pairs == matches.pairs;
        matches = next;
        if settled {
            break;
        }
    }
    (matches, turn)
}

/// The nearest pairs first, each point once.
fn assign(turn: Turn, model: &[Site], measured: &[Site], reach_mm: f64) -> Matches {
    let mut near: Vec<(f64, usize, usize)> = Vec::with_capacity(2 * measured.len());
    for (on, z) in model.iter().enumerate() {
        let (x, y) = turn.apply(z.x_mm, z.y_mm);
        for (at, w) in measured.iter().enumerate() {
            let d2 = (x - w.x_mm).powi(2) + (y - w.y_mm).powi(2);
            if z.role == w.role && d2 <= reach_mm * reach_mm {
                near.push((d2, at, on));
            }
        }
    }
    near.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut matches = Matches { pairs: Vec::with_capacity(measured.len()), squares: 0.0 };
    for (d2, at, on) in near {
        if matches.pairs.iter().all(|&(known_at, known_on)| known_at != at && known_on != on) {
            matches.pairs.push((at, on));
            matches.squares += d2;
        }
    }
    matches.pairs.sort_unstable();
    matches
}

/// Not by `hypot`, which guards against numbers no part has and takes five times as long.
pub(crate) fn apart(a: &Site, b: &Site) -> f64 {
    ((a.x_mm - b.x_mm).powi(2) + (a.y_mm - b.y_mm).powi(2)).sqrt()
}

fn pairs_by_length(sites: &[Site]) -> Vec<(f64, usize, usize)> {
    let mut pairs: Vec<(f64, usize, usize)> = (0..sites.len())
        .flat_map(|a| (a + 1..sites.len()).map(move |b| (a, b)))
        .map(|(a, b)| (apart(&sites[a], &sites[b]), a, b))
        .collect();
    pairs.sort_by(|a, b| b.0.total_cmp(&a.0));
    pairs
}

/// The most points that can match, role by role.
fn most_matches(model: &[Site], measured: &[Site]) -> usize {
    let count = |sites: &[Site], role| sites.iter().filter(|site| site.role == role).count();
    (0..8).map(|role| count(model, role).min(count(measured, role))).sum()
}
