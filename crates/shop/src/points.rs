//! Where does a point lie that was taken with a caliper? By x and y, by radius and angle, or by its
//! distances from points that are known.
//!
//! One line is one point: `role[:designation] place [/size]`. A place is `46 31.5` (x and y, to the
//! right and up), `31.5<120` (radius and angle from the origin, counter-clockwise from the x axis)
//! or `1=54.2 2=55.1` (so far from the first and the second point). Two distances leave two places:
//! the one to the left of the way from the first named point to the second, or with a `-` at the
//! end the one to the right; a third distance decides by itself. One distance alone is laid along
//! the x axis, none at the origin.

use binwright_catalog::layout::LayoutError;
use binwright_catalog::{Layout, Point};

/// How far two distances may fail to meet and still be taken for a reading's error, in mm.
const MISS_MAX_MM: f64 = 1.0;

/// What can be wrong with a point.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[non_exhaustive]
#[allow(missing_docs, reason = "the message says what the fields are")]
pub enum PointError {
    #[error("nothing was typed")]
    Empty,
    #[error("`{found}` is no place")]
    NotAPlace { found: String },
    #[error("there is no point {point} yet")]
    NoSuchPoint { point: usize },
    #[error("points {one} and {other} lie in the same place")]
    SamePlace { one: usize, other: usize },
    #[error("{one_mm} and {other_mm} mm do not meet: the two points lie {apart_mm:.2} mm apart")]
    DoNotMeet { one_mm: f64, other_mm: f64, apart_mm: f64 },
    #[error(transparent)]
    Layout(#[from] LayoutError),
}

impl PointError {
    /// What would be right, to stand under the message; `None` when the message says it all.
    pub fn hint(&self) -> Option<&'static str> {
        match self {
            Self::NotAPlace { .. } => {
                Some("Write 46 31.5, or 31.5<120, or distances 1=54.2 2=55.1.")
            }
            Self::Layout(error) => error.hint(),
            _ => None,
        }
    }
}

/// Reads one point; `known` are the points before it, counted from 1.
///
/// # Errors
///
/// [`PointError`] when the line cannot be read or its distances do not meet.
///
/// ```
/// # use binwright_shop::points;
/// let first = points::read("hole /6.2", &[])?;
/// let second = points::read("hole 1=92.1 /6.2", &[first.clone()])?;
/// assert_eq!((second.x_mm, second.y_mm), (92.1, 0.0));
/// # Ok::<(), points::PointError>(())
/// ```
pub fn read(text: &str, known: &[Point]) -> Result<Point, PointError> {
    let (place, size) = match text.split_once('/') {
        Some((place, size)) => (place, format!("/{}", size.trim())),
        None => (text, String::new()),
    };
    let mut words = place.split(|c: char| c.is_whitespace() || c == ',').filter(|w| !w.is_empty());
    let what = words.next().ok_or(PointError::Empty)?;
    let words: Vec<&str> = words.collect();
    let (x_mm, y_mm) = place_of(&words, known)?;
    // A hundredth of a millimetre is finer than any caliper; the layout's own reader judges role,
    // designation, reach and size.
    let hundredth = |mm: f64| (mm * 100.0).round() / 100.0 + 0.0;
    let layout = format!("{what}@{},{}{size}", hundredth(x_mm), hundredth(y_mm));
    let layout: Layout = layout.parse()?;
    layout.points().first().cloned().ok_or(PointError::Empty)
}

fn place_of(words: &[&str], known: &[Point]) -> Result<(f64, f64), PointError> {
    let not = || PointError::NotAPlace { found: words.join(" ") };
    let number = |text: &str| text.parse().ok().filter(|n: &f64| n.is_finite()).ok_or_else(not);
    match words {
        [] => Ok((0.0, 0.0)),
        [polar] if polar.contains('<') => {
            let (radius, angle) = polar.split_once('<').ok_or_else(not)?;
            let (sin, cos) = number(angle)?.to_radians().sin_cos();
            let radius = number(radius)?;
            Ok((radius * cos, radius * sin))
        }
        [x, y] if !x.contains('=') && !y.contains('=') => Ok((number(x)?, number(y)?)),
        _ => {
            let (pairs, right) = match words.split_last() {
                Some((&"-", pairs)) => (pairs, true),
                _ => (words, false),
            };
            let mut from = Vec::with_capacity(pairs.len());
            for pair in pairs {
                let (point, mm) = pair.split_once('=').ok_or_else(not)?;
                let point: usize = point.parse().map_err(|_| not())?;
                let place =
                    known.get(point.wrapping_sub(1)).ok_or(PointError::NoSuchPoint { point })?;
                from.push((point, (place.x_mm, place.y_mm), number(mm)?));
            }
            by_distances(&from, right)
        }
    }
}

/// Where a point lies that is so far from each of `from` (its number, its place, the distance).
fn by_distances(from: &[(usize, (f64, f64), f64)], right: bool) -> Result<(f64, f64), PointError> {
    let (one, other) = match from {
        [] => return Ok((0.0, 0.0)),
        [(_, (x, y), mm)] => return Ok((x + mm, *y)),
        [one, other, ..] => (one, other),
    };
    let (dx, dy) = (other.1.0 - one.1.0, other.1.1 - one.1.1);
    let apart_mm = dx.hypot(dy);
    if apart_mm == 0.0 {
        return Err(PointError::SamePlace { one: one.0, other: other.0 });
    }
    // The two circles meet on the line across the way, `along` from its start, `aside` from it.
    let along = (one.2.powi(2) - other.2.powi(2) + apart_mm.powi(2)) / (2.0 * apart_mm);
    let miss_mm = (along.abs() - one.2).max(0.0);
    if miss_mm > MISS_MAX_MM {
        return Err(PointError::DoNotMeet { one_mm: one.2, other_mm: other.2, apart_mm });
    }
    let aside = (one.2.powi(2) - along.powi(2)).max(0.0).sqrt();
    let (ux, uy) = (dx / apart_mm, dy / apart_mm);
    let place = |aside: f64| (one.1.0 + along * ux - aside * uy, one.1.1 + along * uy + aside * ux);
    let (left, turned) = (place(aside), place(-aside));
    Ok(match from.get(2) {
        Some((_, (x, y), mm)) => {
            let miss = |at: (f64, f64)| ((at.0 - x).hypot(at.1 - y) - mm).abs();
            if miss(left) <= miss(turned) { left } else { turned }
        }
        None if right => turned,
        None => left,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Layout text of points entered line by line.
    fn entered(lines: &[&str]) -> Result<String, String> {
        let mut points: Vec<Point> = Vec::new();
        for line in lines {
            points.push(read(line, &points).map_err(|error| error.to_string())?);
        }
        Ok(Layout::new(points).to_string())
    }

    /// Right triangles with whole sides (3-4-5, 5-12-13) and the equilateral one are exact by
    /// Euclid, Elements, book I.
    #[test]
    fn a_point_lies_where_its_distances_meet() {
        let base = ["hole /6.2", "hole 1=4"];
        let rows = [
            ("stud:B+ 1=3 2=5", "stud:B+@0,3"),
            ("stud:B+ 1=3 2=5 -", "stud:B+@0,-3"),
            ("lead:U 2=3 1=5", "lead:U@4,-3"),
            ("lead 1=4 2=4", "lead@2,3.46"),
            ("plug 3 4", "plug@3,4"),
            ("plug 3,4 /M6", "plug@3,4/M6"),
            ("diode 10<90", "diode@0,10"),
            ("diode 13<-157.380135", "diode@-12,-5"),
        ];
        for (line, point) in rows {
            let layout = entered(&[base[0], base[1], line]);
            assert_eq!(layout, Ok(format!("hole@0,0/6.2; hole@4,0; {point}")), "{line}");
        }
        let third = entered(&["hole", "hole 1=4", "hole 1=3 2=5 -", "stud 1=3 2=5 3=6"]);
        assert_eq!(third.as_deref(), Ok("hole@0,0; hole@4,0; hole@0,-3; stud@0,3"));
    }

    #[test]
    fn a_reading_that_just_misses_is_laid_between() {
        assert_eq!(
            entered(&["hole", "hole 1=10", "lead 1=4 2=5.9"]),
            Ok("hole@0,0; hole@10,0; lead@4.06,0".to_owned())
        );
    }

    #[test]
    fn what_cannot_be_is_named() {
        let rows = [
            ("hole 1=2 2=3", "2 and 3 mm do not meet: the two points lie 10.00 mm apart"),
            ("hole 1=2 7=3", "there is no point 7 yet"),
            ("hole up", "`up` is no place"),
            ("hole 1 2 3", "`1 2 3` is no place"),
            ("gap 1 2", "layout point 1: role `gap` is not known"),
            ("hole 9999 0", "layout point 1: `9999` is not a length in mm"),
            (" ", "nothing was typed"),
        ];
        for (line, says) in rows {
            assert_eq!(entered(&["hole", "hole 1=10", line]), Err(says.to_owned()), "{line}");
        }
    }
}
