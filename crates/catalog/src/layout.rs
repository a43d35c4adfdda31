//! Where do holes, studs and terminals sit? The planar points of a part and how they are written.
//!
//! The text form is a contract: points separated by `;`, each `role[:designation]@x,y[/size]`.

use std::{fmt, str::FromStr};

/// What a point is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// A mounting hole.
    Hole,
    /// A threaded stud.
    Stud,
    /// Where a stator lead is joined.
    Lead,
    /// A connector.
    Plug,
    /// A diode.
    Diode,
}

impl Role {
    /// All roles, in the order they are shown.
    pub const ALL: [Self; 5] = [Self::Hole, Self::Stud, Self::Lead, Self::Plug, Self::Diode];

    /// The word in layout text.
    pub fn word(self) -> &'static str {
        match self {
            Self::Hole => "hole",
            Self::Stud => "stud",
            Self::Lead => "lead",
            Self::Plug => "plug",
            Self::Diode => "diode",
        }
    }
}

impl fmt::Display for Role {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// How large a point is.
#[derive(Debug, Clone, PartialEq)]
pub enum Size {
    /// A hole's diameter in mm.
    Diameter(f64),
    /// A thread as designated: `M6`, `1/4-28`.
    Thread(String),
}

impl fmt::Display for Size {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Diameter(mm) => write!(f, "{mm}"),
            Self::Thread(thread) => f.write_str(thread),
        }
    }
}

/// One planar point of a part.
#[derive(Debug, Clone, PartialEq)]
pub struct Point {
    /// What it is for.
    pub role: Role,
    /// Terminal designation (DIN 72552: `B+`, `U`, `DF` ...), when it has one.
    pub designation: Option<String>,
    /// To the right, in mm, in the layout's own frame.
    pub x_mm: f64,
    /// Up, in mm.
    pub y_mm: f64,
    /// Its size, when known.
    pub size: Option<Size>,
}

/// The planar points of one part, face up as recorded; any frame will do.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Layout(Vec<Point>);

impl Layout {
    /// The most points a layout may have.
    pub const POINTS_MAX: usize = 1000;
    /// The farthest a point may lie from the origin, in mm.
    pub const REACH_MM: f64 = 2000.0;

    /// Returns a layout of `points`.
    pub fn new(points: Vec<Point>) -> Self {
        Self(points)
    }

    /// The points, in the order they were given.
    pub fn points(&self) -> &[Point] {
        &self.0
    }

    /// Whether it has no points.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }
}

/// What can be wrong with a layout that was typed or imported. Points count from 1, as users do.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum LayoutError {
    #[error("the layout has no points")]
    Empty,
    #[error("layout point {point}: `{found}` is not written role@x,y")]
    NotAPoint { point: usize, found: String },
    #[error("layout point {point}: role `{found}` is not known")]
    UnknownRole { point: usize, found: String },
    #[error("layout point {point}: `{found}` is not a length in mm")]
    NotALength { point: usize, found: String },
    #[error("layout point {point}: `{found}` is neither a diameter in mm nor a thread")]
    NotASize { point: usize, found: String },
    #[error("layout point {point}: designation `{found}` has a character that is not allowed")]
    BadDesignation { point: usize, found: String },
    #[error("the layout has {points} points; {} is the most", Layout::POINTS_MAX)]
    TooMany { points: usize },
}

impl LayoutError {
    /// What would be right, to stand under the message; `None` when the message says it all.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::Empty | Self::NotAPoint { .. } => {
                Some("Write points as role[:designation]@x,y[/size], separated by `;`.")
            }
            Self::UnknownRole { .. } => Some("The roles are hole, stud, lead, plug and diode."),
            Self::NotALength { found, .. } if found.ends_with("in") => Some("1 in is 25.4 mm."),
            Self::NotALength { .. } => {
                Some("Coordinates are plain decimals in mm, within 2000 of the origin.")
            }
            Self::NotASize { .. } => {
                Some("Write 6.2 for a diameter in mm, M6 or 1/4-28 for a thread.")
            }
            Self::BadDesignation { .. } => {
                Some("A designation has letters, digits, + and -, at most 8: B+, D+, U, 50a.")
            }
            Self::TooMany { .. } => None,
        }
    }
}

impl FromStr for Layout {
    type Err = LayoutError;

    fn from_str(text: &str) -> Result<Self, LayoutError> {
        let written: Vec<&str> =
            text.split(';').map(str::trim).filter(|point| !point.is_empty()).collect();
        if written.is_empty() {
            return Err(LayoutError::Empty);
        }
        if written.len() > Self::POINTS_MAX {
            return Err(LayoutError::TooMany { points: written.len() });
        }
        written
            .iter()
            .enumerate()
            .map(|(at, found)| parse_point(at + 1, found))
            .collect::<Result<_, _>>()
            .map(Self)
    }
}

fn parse_point(point: usize, found: &str) -> Result<Point, LayoutError> {
    let not = || LayoutError::NotAPoint { point, found: found.to_owned() };
    let (what, place) = found.split_once('@').ok_or_else(not)?;
    let (role, designation) = match what.split_once(':') {
        Some((role, designation)) => (role.trim(), Some(parse_designation(point, designation)?)),
        None => (what.trim(), None),
    };
    let role = Role::ALL
        .into_iter()
        .find(|known| known.word().eq_ignore_ascii_case(role))
        .ok_or_else(|| LayoutError::UnknownRole { point, found: role.to_owned() })?;
    let (xy, size) = match place.split_once('/') {
        Some((xy, size)) => (xy, Some(parse_size(point, size)?)),
        None => (place, None),
    };
    let (x, y) = xy.split_once(',').ok_or_else(not)?;
    Ok(Point { role, designation, x_mm: parse_mm(point, x)?, y_mm: parse_mm(point, y)?, size })
}

fn parse_designation(point: usize, text: &str) -> Result<String, LayoutError> {
    let text = text.trim();
    let allowed = |c: char| c.is_ascii_alphanumeric() || matches!(c, '+' | '-');
    if text.is_empty() || text.len() > 8 || !text.chars().all(allowed) {
        return Err(LayoutError::BadDesignation { point, found: text.to_owned() });
    }
    Ok(text.to_owned())
}

fn parse_mm(point: usize, text: &str) -> Result<f64, LayoutError> {
    crate::length::parse_decimal(text, crate::DecimalMark::Point)
        .filter(|mm| mm.abs() <= Layout::REACH_MM)
        .ok_or_else(|| LayoutError::NotALength { point, found: text.trim().to_owned() })
}

fn parse_size(point: usize, text: &str) -> Result<Size, LayoutError> {
    let text = text.trim();
    if let Some(mm) = crate::length::parse_decimal(text, crate::DecimalMark::Point) {
        if mm > 0.0 && mm <= Layout::REACH_MM {
            return Ok(Size::Diameter(mm));
        }
    } else if let Some(thread) = crate::standard::thread::designation(text) {
        return Ok(Size::Thread(thread));
    }
    Err(LayoutError::NotASize { point, found: text.to_owned() })
}

impl fmt::Display for Point {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.role.word())?;
        if let Some(designation) = &self.designation {
            write!(f, ":{designation}")?;
        }
        write!(f, "@{},{}", self.x_mm, self.y_mm)?;
        if let Some(size) = &self.size {
            write!(f, "/{size}")?;
        }
        Ok(())
    }
}

impl fmt::Display for Layout {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (at, point) in self.0.iter().enumerate() {
            if at > 0 {
                f.write_str("; ")?;
            }
            point.fmt(f)?;
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const CONTRACT: &str = "hole@0,0/6.2; hole@92.1,0/6.2; stud:B+@46,31.5/M8; lead:U@18,12; \
                            lead:V@46,-9; lead:W@74,12";

    #[test]
    fn layout_text_is_read_as_it_is_written() {
        let layout: Layout = CONTRACT.parse().unwrap();
        assert_eq!(layout.points().len(), 6);
        assert_eq!(layout.points()[2].designation.as_deref(), Some("B+"));
        assert_eq!(layout.points()[2].size, Some(Size::Thread("M8".to_owned())));
        assert_eq!(layout.to_string(), CONTRACT);
    }

    #[test]
    fn a_bad_point_is_named_by_its_place_and_what_was_read() {
        let rows = [
            ("hole@0,0; hol@1,1", "layout point 2: role `hol` is not known"),
            ("hole@0,1in", "layout point 1: `1in` is not a length in mm"),
            ("hole 0,0", "layout point 1: `hole 0,0` is not written role@x,y"),
            ("stud:B*@0,0", "layout point 1: designation `B*` has a character that is not allowed"),
            ("hole@0,0/-3", "layout point 1: `-3` is neither a diameter in mm nor a thread"),
            ("hole@1e9,0", "layout point 1: `1e9` is not a length in mm"),
            (" ; ", "the layout has no points"),
        ];
        for (text, message) in rows {
            assert_eq!(text.parse::<Layout>().unwrap_err().to_string(), message);
        }
    }
}
