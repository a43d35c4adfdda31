//! Which layouts does a kind have, and which of them have two points so far apart?

use std::{collections::HashMap, sync::OnceLock};

use crate::{
    column::{ByMix, Mix},
    registration::Site,
    table::{PackedPoint, Table},
};

/// The distinct layouts of a kind.
#[derive(Debug)]
pub(crate) struct Layouts {
    points: Vec<PackedPoint>,
    starts: Vec<u32>,
    /// The layout of each row; the number of layouts for a row without.
    pub of_row: Vec<u32>,
    /// How many rows have each layout.
    pub counts: Vec<u32>,
    distances: OnceLock<Distances>,
}

impl Layouts {
    pub fn new(table: &Table) -> Self {
        let mut known: HashMap<u64, u32, ByMix> = HashMap::default();
        let (mut points, mut starts, mut counts) = (Vec::new(), vec![0_u32], Vec::new());
        let mut of_row: Vec<u32> = Vec::with_capacity(table.len());
        let mut sorted: Vec<PackedPoint> = Vec::new();
        for row in 0..table.len() {
            sorted.clear();
            sorted.extend_from_slice(table.points_of(row));
            sorted.sort_unstable();
            if sorted.is_empty() {
                of_row.push(u32::MAX);
                continue;
            }
            let layout = *known.entry(hash(&sorted)).or_insert_with(|| {
                points.extend_from_slice(&sorted);
                starts.push(points.len() as u32);
                counts.push(0);
                counts.len() as u32 - 1
            });
            counts[layout as usize] += 1;
            of_row.push(layout);
        }
        let none = counts.len() as u32;
        for layout in &mut of_row {
            *layout = (*layout).min(none);
        }
        Self { points, starts, of_row, counts, distances: OnceLock::new() }
    }

    /// The number of distinct layouts.
    pub fn len(&self) -> usize {
        self.counts.len()
    }

    pub fn points_of(&self, layout: usize) -> &[PackedPoint] {
        &self.points[self.starts[layout] as usize..self.starts[layout + 1] as usize]
    }

    /// The points of `layout` as sites, laid into `sites`.
    pub fn sites_of(&self, layout: usize, sites: &mut Vec<Site>) {
        sites.clear();
        sites.extend(self.points_of(layout).iter().map(|point| site(*point)));
    }

    /// The table of distances, made at the first question that needs it.
    pub fn distances(&self) -> &Distances {
        self.distances.get_or_init(|| Distances::new(self))
    }
}

/// The same place without its size.
pub(crate) fn site(point: PackedPoint) -> Site {
    Site {
        role: point.role(),
        designation: point.designation(),
        x_mm: point.x_mm(),
        y_mm: point.y_mm(),
    }
}

fn hash(points: &[PackedPoint]) -> u64 {
    use std::hash::Hasher;
    let mut mix = Mix::default();
    for point in points {
        mix.write_u64(point.0);
    }
    mix.finish()
}

/// Distances are sorted into bins of this width.
const BIN_MM: f64 = 0.5;
/// Bins of each pair of roles; the last takes all that is longer.
const BINS: usize = 1024;
/// As many as a packed point can hold.
pub(crate) const ROLES: usize = 8;
/// Place of [`binwright_catalog::Role::Hole`] in its list.
pub(crate) const HOLE: usize = 0;

/// For each pair of roles and each bin of distance, the layouts that have such a pair.
#[derive(Debug)]
pub(crate) struct Distances {
    starts: Vec<u32>,
    pairs: Vec<Pair>,
    /// Mean over the layouts of the farthest a point lies from its layout's middle, in mm.
    pub radius_mm: f64,
    /// How many points of each role a layout has.
    pub roles: Vec<[u8; ROLES]>,
    lengths: Vec<Length>,
    length_starts: Vec<u32>,
}

/// A layout with two points this far apart.
#[derive(Debug, Clone, Copy, Default)]
pub(crate) struct Pair {
    pub layout: u32,
    pub mm: f32,
}

/// How far two points of a layout are apart.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Length {
    pub mm: f32,
    /// Whether both are holes.
    pub holes: bool,
}

impl Distances {
    fn new(layouts: &Layouts) -> Self {
        let mut starts = vec![0_u32; ROLES * ROLES * BINS + 1];
        let mut entries: Vec<(u32, Pair)> = Vec::new();
        let (mut radii, mut roles) = (0.0, Vec::with_capacity(layouts.len()));
        let (mut lengths, mut length_starts) = (Vec::new(), vec![0]);
        let mut sites = Vec::new();
        for layout in 0..layouts.len() {
            layouts.sites_of(layout, &mut sites);
            let mut count = [0_u8; ROLES];
            for site in &sites {
                count[site.role] = count[site.role].saturating_add(1);
            }
            roles.push(count);
            radii += radius(&sites);
            for (at, a) in sites.iter().enumerate() {
                for b in &sites[at + 1..] {
                    let mm = (a.x_mm - b.x_mm).hypot(a.y_mm - b.y_mm);
                    let key = key(a.role, b.role, bin(mm));
                    starts[key + 1] += 1;
                    entries.push((key as u32, Pair { layout: layout as u32, mm: mm as f32 }));
                    let holes = (a.role, b.role) == (HOLE, HOLE);
                    lengths.push(Length { mm: mm as f32, holes });
                }
            }
            let from = length_starts[layout] as usize;
            lengths[from..].sort_unstable_by(|a, b| a.mm.total_cmp(&b.mm));
            length_starts.push(lengths.len() as u32);
        }
        for key in 1..starts.len() {
            starts[key] += starts[key - 1];
        }
        let mut next = starts.clone();
        let mut pairs = vec![Pair::default(); entries.len()];
        for (key, pair) in entries {
            pairs[next[key as usize] as usize] = pair;
            next[key as usize] += 1;
        }
        let radius_mm = (radii / layouts.len().max(1) as f64).max(10.0);
        Self { starts, pairs, radius_mm, roles, lengths, length_starts }
    }

    /// How far the points of `layout` are apart, ascending.
    pub fn lengths_of(&self, layout: usize) -> &[Length] {
        let from = self.length_starts[layout] as usize;
        &self.lengths[from..self.length_starts[layout + 1] as usize]
    }

    /// The layouts with a pair of these roles from `low_mm` to `high_mm` apart, and perhaps some
    /// with a pair a bin farther off; a layout may come more than once.
    pub fn between(&self, role: usize, other: usize, low_mm: f64, high_mm: f64) -> &[Pair] {
        let from = self.starts[key(role, other, bin(low_mm))];
        let to = self.starts[key(role, other, bin(high_mm)) + 1];
        &self.pairs[from as usize..to as usize]
    }
}

fn bin(mm: f64) -> usize {
    ((mm / BIN_MM) as usize).min(BINS - 1)
}

fn key(role: usize, other: usize, bin: usize) -> usize {
    (role.min(other) * ROLES + role.max(other)) * BINS + bin
}

fn radius(sites: &[Site]) -> f64 {
    let n = sites.len() as f64;
    let x = sites.iter().map(|site| site.x_mm).sum::<f64>() / n;
    let y = sites.iter().map(|site| site.y_mm).sum::<f64>() / n;
    sites.iter().map(|site| (site.x_mm - x).hypot(site.y_mm - y)).fold(0.0, f64::max)
}
