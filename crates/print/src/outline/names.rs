//! What is a point called, and where does its name stand so that it hides nothing?

use binwright_catalog::Point;

use crate::{
    canvas::{Area, Place},
    face::{CAPITAL, Line},
};

/// Role, designation and size: `stud B+ M8`.
pub(super) fn of(point: &Point) -> String {
    let mut name = point.role.word().to_owned();
    if let Some(designation) = &point.designation {
        name = format!("{name} {designation}");
    }
    if let Some(size) = &point.size {
        name = format!("{name} {size}");
    }
    name
}

/// The name and where it is: `hole 6.2 at 12.5, 0`.
pub(super) fn with_place(point: &Point) -> String {
    format!("{} at {}, {}", of(point), point.x_mm, point.y_mm)
}

/// Chooses places for names inside a window, one after the other.
pub(super) struct Chooser {
    window: Area,
    taken: Vec<Area>,
    sides: Vec<Place>,
}

impl Chooser {
    /// Names stand inside `window` and off `taken` where there is room; `aslant`, first between the
    /// arms of the crosses.
    pub(super) fn new(window: Area, taken: Vec<Area>, aslant: bool) -> Self {
        let mut sides = SIDES.to_vec();
        if aslant {
            sides.rotate_left(4);
        }
        Self { window, taken, sides }
    }

    /// Returns where the baseline of `line` starts beside a point at `at` that reaches `reach_mm`:
    /// the nearest free place, or else the one that meets the fewest others.
    pub(super) fn place(&mut self, at: Place, reach_mm: f64, line: &Line, size_mm: f64) -> Place {
        let (width, height) = (line.width_em * size_mm, CAPITAL * size_mm);
        let best = RINGS_MM
            .iter()
            .flat_map(|ring| self.sides.iter().map(move |side| (ring, side)))
            .map(|(ring, [sx, sy])| {
                let reach = reach_mm + ring;
                let left = at[0] + sx * reach + (toward(*sx) - 1.0) / 2.0 * width;
                let top = at[1] + sy * reach + (toward(*sy) - 1.0) / 2.0 * height;
                let area = Area::new(left, top, width, height);
                let outside = if self.window.holds(&area) { 0 } else { 1000 };
                let met = self.taken.iter().filter(|other| other.meets(&area)).count();
                (outside + met, area)
            })
            .min_by_key(|(cost, _)| *cost);
        let area = best.map_or(Area::new(at[0], at[1], width, height), |(_, area)| area);
        self.taken.push(area.grown(0.3));
        [area.left, area.bottom]
    }
}

/// Which way a side lies: -1, 0 or 1.
fn toward(side: f64) -> f64 {
    if side == 0.0 { 0.0 } else { side.signum() }
}

const RINGS_MM: [f64; 4] = [0.5, 2.0, 4.0, 7.0];
const SIDES: [[f64; 2]; 8] = [
    [1.0, 0.0],
    [-1.0, 0.0],
    [0.0, -1.0],
    [0.0, 1.0],
    [0.75, -0.75],
    [0.75, 0.75],
    [-0.75, -0.75],
    [-0.75, 0.75],
];
