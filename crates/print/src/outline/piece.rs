//! What is drawn of a part, and how far does it reach?

use binwright_catalog::{Layout, Point, Size};

use crate::{
    PrintError,
    canvas::{Area, Place},
};

/// The outer edge of a part.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Contour {
    /// A round part.
    Circle {
        /// Across, in mm.
        diameter_mm: f64,
        /// Its middle in the layout's frame, in mm; without it, amid the points.
        centre_mm: Option<[f64; 2]>,
    },
    /// The box a part just fits in, along the layout's axes.
    Box {
        /// Along x, in mm.
        width_mm: f64,
        /// Along y, in mm.
        height_mm: f64,
        /// Its middle in the layout's frame, in mm; without it, amid the points.
        centre_mm: Option<[f64; 2]>,
    },
}

/// A part to be drawn.
#[derive(Debug, Clone, PartialEq)]
pub struct Piece {
    /// Its house number.
    pub number: String,
    /// What it is, in words.
    pub description: String,
    /// The label of its kind.
    pub kind: String,
    /// Its points.
    pub layout: Layout,
    /// Its outer edge, when known.
    pub contour: Option<Contour>,
    /// Which face is up, in words: `heat-sink side`; without it, as recorded.
    pub face: Option<String>,
    /// Labels and values of its measures, units included.
    pub measures: Vec<(String, String)>,
    /// The number of the part whose layout is this one's mirror image, when there is one.
    pub mirror_twin: Option<String>,
    /// How it was turned and shifted to lie on the first of several, in words.
    pub laid: Option<String>,
}

impl Piece {
    pub(super) fn check(&self) -> Result<(), PrintError> {
        let reach = Layout::REACH_MM;
        let far = |mm: f64| !(-reach..=reach).contains(&mm);
        let none = |mm: f64| !(mm > 0.0 && mm <= 2.0 * reach);
        let mut places: Vec<f64> =
            self.layout.points().iter().flat_map(|point| [point.x_mm, point.y_mm]).collect();
        let mut lengths: Vec<f64> = self
            .layout
            .points()
            .iter()
            .filter_map(|point| match point.size {
                Some(Size::Diameter(mm)) => Some(mm),
                _ => None,
            })
            .collect();
        match self.contour {
            Some(Contour::Circle { diameter_mm, centre_mm }) => {
                lengths.push(diameter_mm);
                places.extend(centre_mm.iter().flatten());
            }
            Some(Contour::Box { width_mm, height_mm, centre_mm }) => {
                lengths.extend([width_mm, height_mm]);
                places.extend(centre_mm.iter().flatten());
            }
            None => {}
        }
        let wrong = (places.into_iter().find(|mm| far(*mm)))
            .or_else(|| lengths.into_iter().find(|mm| none(*mm)));
        wrong.map_or(Ok(()), |mm| Err(PrintError::NotALength { found: mm.to_string() }))
    }

    /// Kind and description in one sentence.
    pub(super) fn told(&self) -> String {
        match (self.kind.trim(), self.description.trim()) {
            (kind, "") => kind.to_owned(),
            ("", description) => description.to_owned(),
            (kind, description) => format!("{kind}: {description}"),
        }
    }

    /// Where zero is and which face is up.
    pub(super) fn placed(&self) -> String {
        let face = self.face.as_deref().unwrap_or("as recorded");
        let mut words = format!("Face up: {face}. Datum: zero of the layout, x to the right, y up");
        if let Some(area) = self.points_area().filter(|area| !near_datum(area)) {
            let [x, y] = [area.left, -area.bottom].map(|mm| format!("{mm:.2}"));
            words.push_str(&format!(", off this drawing; the lowest left corner is {x}, {y}"));
        }
        words.push('.');
        if matches!(
            self.contour,
            Some(Contour::Circle { centre_mm: None, .. } | Contour::Box { centre_mm: None, .. })
        ) {
            words.push_str(
                " The outer edge has its true size; that its middle is amid the points is assumed.",
            );
        }
        words
    }

    /// Where the points reach, in the drawing's frame: y down.
    fn points_area(&self) -> Option<Area> {
        self.layout
            .points()
            .iter()
            .map(|point| Area::around(at(point), reach_mm(point)))
            .reduce(Area::with)
    }

    /// The contour's area in the drawing's frame.
    pub(super) fn contour_area(&self) -> Option<Area> {
        let (width, height, centre_mm) = match self.contour? {
            Contour::Circle { diameter_mm, centre_mm } => (diameter_mm, diameter_mm, centre_mm),
            Contour::Box { width_mm, height_mm, centre_mm } => (width_mm, height_mm, centre_mm),
        };
        let [x, y] = centre_mm.map(|[x, y]| [x, -y]).or_else(|| self.amid()).unwrap_or_default();
        Some(Area::new(x - width / 2.0, y - height / 2.0, width, height))
    }

    fn amid(&self) -> Option<Place> {
        let points = self.layout.points().iter();
        let area = points.map(|point| Area::around(at(point), 0.0)).reduce(Area::with)?;
        Some([f64::midpoint(area.left, area.right), f64::midpoint(area.top, area.bottom)])
    }
}

/// Where a point is in the drawing's frame.
pub(super) fn at(point: &Point) -> Place {
    [point.x_mm, -point.y_mm]
}

/// Radius of a point whose size is known, a thread by its nominal diameter.
pub(super) fn radius_mm(point: &Point) -> Option<f64> {
    match point.size.as_ref()? {
        Size::Diameter(mm) => Some(mm / 2.0),
        Size::Thread(thread) => nominal_mm(thread).map(|mm| mm / 2.0),
    }
}

/// How far a point and its cross reach.
pub(super) fn reach_mm(point: &Point) -> f64 {
    radius_mm(point).unwrap_or(0.5) + CROSS_MM
}

/// How far a cross reaches out of its point: it shows beside a stud that covers the point.
const CROSS_MM: f64 = 1.5;

/// Where all of `pieces` reach, the datum with them when it is near.
pub(super) fn extent(pieces: &[Piece]) -> Option<Area> {
    let area = pieces
        .iter()
        .flat_map(|piece| [piece.points_area(), piece.contour_area()])
        .flatten()
        .reduce(Area::with)?;
    let datum = Area::around([0.0, 0.0], DATUM_MM);
    Some(if near_datum(&area) { area.with(datum) } else { area })
}

/// Half the size of the datum's mark.
pub(super) const DATUM_MM: f64 = 4.0;

fn near_datum(area: &Area) -> bool {
    area.grown(15.0).holds(&Area::around([0.0, 0.0], 0.0))
}

/// Nominal diameter of `M8`, `M8x1`, `1/4-28`, `#10-24`. A screw's number by the rule of ASME B1.1:
/// 0.060 in + 0.013 in each.
fn nominal_mm(thread: &str) -> Option<f64> {
    if let Some(metric) = thread.strip_prefix('M') {
        return metric.split([' ', 'x']).next()?.parse().ok();
    }
    let (size, _) = thread.split_once('-')?;
    let inches = if let Some(number) = size.strip_prefix('#') {
        0.060 + 0.013 * number.parse::<f64>().ok()?
    } else {
        let (above, below) = size.split_once('/')?;
        above.parse::<f64>().ok()? / below.parse::<f64>().ok()?
    };
    Some(inches * 25.4)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Diameters of ISO 261 and ASME B1.1, from memory.
    #[test]
    fn threads_are_drawn_at_their_nominal_diameter() {
        let rows =
            [("M8", 8.0), ("M8x1 LH", 8.0), ("M3.5", 3.5), ("1/4-28", 6.35), ("#10-24", 4.826)];
        for (thread, mm) in rows {
            assert!((nominal_mm(thread).unwrap() - mm).abs() < 1e-9, "{thread}");
        }
        assert_eq!(nominal_mm("round"), None);
    }
}
