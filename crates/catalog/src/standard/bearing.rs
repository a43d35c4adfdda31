//! Which bearing is that? Boundary dimensions of deep-groove ball bearings.
//!
//! Source: the boundary plan of ISO 15 as carried by public tables; half of the rows are checked
//! against them in test, the others, the wide series and `/22`, `/28`, `/32` are from memory.

use std::fmt;

/// A series: what stands before the bore code, and (bore, outside, width) in mm.
type Series = (&'static str, &'static [(f64, f64, f64)]);

/// Diameter series 9, 0, 2 and 3, then the wide ones.
#[rustfmt::skip]
const SERIES: [Series; 7] = [
    ("69", &[(4.0, 11.0, 4.0), (5.0, 13.0, 4.0), (6.0, 15.0, 5.0), (7.0, 17.0, 5.0), (8.0, 19.0, 6.0),
        (9.0, 20.0, 6.0), (10.0, 22.0, 6.0), (12.0, 24.0, 6.0), (15.0, 28.0, 7.0), (17.0, 30.0, 7.0),
        (20.0, 37.0, 9.0), (25.0, 42.0, 9.0), (30.0, 47.0, 9.0), (35.0, 55.0, 10.0), (40.0, 62.0, 12.0),
        (45.0, 68.0, 12.0), (50.0, 72.0, 12.0)]),
    ("60", &[(4.0, 12.0, 4.0), (5.0, 14.0, 5.0), (6.0, 17.0, 6.0), (7.0, 19.0, 6.0), (8.0, 22.0, 7.0),
        (9.0, 24.0, 7.0), (10.0, 26.0, 8.0), (12.0, 28.0, 8.0), (15.0, 32.0, 9.0), (17.0, 35.0, 10.0),
        (20.0, 42.0, 12.0), (22.0, 44.0, 12.0), (25.0, 47.0, 12.0), (28.0, 52.0, 12.0), (30.0, 55.0, 13.0),
        (32.0, 58.0, 13.0), (35.0, 62.0, 14.0), (40.0, 68.0, 15.0), (45.0, 75.0, 16.0), (50.0, 80.0, 16.0),
        (55.0, 90.0, 18.0), (60.0, 95.0, 18.0)]),
    ("62", &[(4.0, 13.0, 5.0), (5.0, 16.0, 5.0), (6.0, 19.0, 6.0), (7.0, 22.0, 7.0), (8.0, 24.0, 8.0),
        (9.0, 26.0, 8.0), (10.0, 30.0, 9.0), (12.0, 32.0, 10.0), (15.0, 35.0, 11.0), (17.0, 40.0, 12.0),
        (20.0, 47.0, 14.0), (22.0, 50.0, 14.0), (25.0, 52.0, 15.0), (28.0, 58.0, 16.0), (30.0, 62.0, 16.0),
        (32.0, 65.0, 17.0), (35.0, 72.0, 17.0), (40.0, 80.0, 18.0), (45.0, 85.0, 19.0), (50.0, 90.0, 20.0),
        (55.0, 100.0, 21.0), (60.0, 110.0, 22.0)]),
    ("63", &[(4.0, 16.0, 5.0), (5.0, 19.0, 6.0), (6.0, 22.0, 7.0), (7.0, 26.0, 9.0), (8.0, 28.0, 9.0),
        (9.0, 30.0, 10.0), (10.0, 35.0, 11.0), (12.0, 37.0, 12.0), (15.0, 42.0, 13.0), (17.0, 47.0, 14.0),
        (20.0, 52.0, 15.0), (22.0, 56.0, 16.0), (25.0, 62.0, 17.0), (28.0, 68.0, 18.0), (30.0, 72.0, 19.0),
        (32.0, 75.0, 20.0), (35.0, 80.0, 21.0), (40.0, 90.0, 23.0), (45.0, 100.0, 25.0), (50.0, 110.0, 27.0),
        (55.0, 120.0, 29.0), (60.0, 130.0, 31.0)]),
    ("630", &[(10.0, 26.0, 12.0), (12.0, 28.0, 12.0), (15.0, 32.0, 13.0), (17.0, 35.0, 14.0),
        (20.0, 42.0, 16.0), (25.0, 47.0, 16.0)]),
    ("622", &[(10.0, 30.0, 14.0), (12.0, 32.0, 14.0), (15.0, 35.0, 14.0), (17.0, 40.0, 16.0),
        (20.0, 47.0, 18.0), (25.0, 52.0, 18.0), (30.0, 62.0, 20.0)]),
    ("623", &[(10.0, 35.0, 17.0), (12.0, 37.0, 17.0), (15.0, 42.0, 17.0), (17.0, 47.0, 19.0),
        (20.0, 52.0, 21.0), (25.0, 62.0, 24.0), (30.0, 72.0, 27.0)]),
];

/// A bearing of the boundary plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Bearing {
    /// Without suffixes: `6203`.
    pub designation: String,
    /// Bore d.
    pub bore_mm: f64,
    /// Outside diameter D.
    pub outside_mm: f64,
    /// Width B.
    pub width_mm: f64,
}

impl fmt::Display for Bearing {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { designation, bore_mm, outside_mm, width_mm } = self;
        write!(f, "{designation}: {bore_mm} x {outside_mm} x {width_mm} mm (ISO 15)")
    }
}

fn all() -> impl Iterator<Item = Bearing> {
    SERIES.into_iter().flat_map(|(series, rows)| {
        rows.iter().map(move |&(bore_mm, outside_mm, width_mm)| Bearing {
            designation: name(series, bore_mm),
            bore_mm,
            outside_mm,
            width_mm,
        })
    })
}

/// The bore code rule: under 10 mm the bore itself, then 00 01 02 03 for 10 12 15
/// 17 mm, a fifth of the bore from 20 mm up, and `/22` where that is not whole.
fn name(series: &str, bore_mm: f64) -> String {
    match bore_mm as u32 {
        bore @ ..10 => format!("{series}{bore}"),
        10 => format!("{series}00"),
        12 => format!("{series}01"),
        15 => format!("{series}02"),
        17 => format!("{series}03"),
        bore if bore % 5 == 0 => format!("{series}{:02}", bore / 5),
        bore => format!("{series}/{bore}"),
    }
}

/// Returns the bearing of exactly this bore, outside diameter and width.
pub fn designation(bore_mm: f64, outside_mm: f64, width_mm: f64) -> Option<Bearing> {
    all().find(|known| farthest(known, [bore_mm, outside_mm, width_mm]) < 1e-6)
}

/// Returns the bearing `text` designates; suffixes for seals, clearance and grease are passed over.
///
/// ```
/// # use binwright_catalog::standard::bearing::dimensions;
/// assert_eq!(dimensions("6203-2RS C3").map(|bearing| bearing.outside_mm), Some(40.0));
/// ```
pub fn dimensions(text: &str) -> Option<Bearing> {
    let text = text.trim();
    let basic =
        |text: &str| text.find(|c: char| !(c.is_ascii_digit() || c == '/')).unwrap_or(text.len());
    let (head, suffix) = text.split_at(basic(text));
    // `62/22` is a designation, `6203/C3` has a suffix.
    let head = head.trim_end_matches('/');
    let plain = suffix.chars().all(|c| c.is_ascii_alphanumeric() || " -./".contains(c));
    all().find(|known| known.designation == head && plain && suffix.len() <= 12)
}

/// Returns the bearings within `within_mm` of every dimension, nearest first; or, when there are
/// none, those that share bore and outside diameter and differ in width.
pub fn near(sizes_mm: [f64; 3], within_mm: f64) -> Vec<Bearing> {
    let mut found: Vec<Bearing> =
        all().filter(|known| farthest(known, sizes_mm) <= within_mm).collect();
    if found.is_empty() {
        let two = |known: &Bearing| {
            (known.bore_mm - sizes_mm[0]).abs() <= within_mm
                && (known.outside_mm - sizes_mm[1]).abs() <= within_mm
        };
        found = all().filter(two).collect();
    }
    found.sort_by(|a, b| farthest(a, sizes_mm).total_cmp(&farthest(b, sizes_mm)));
    found
}

fn farthest(known: &Bearing, [bore, outside, width]: [f64; 3]) -> f64 {
    let off = [known.bore_mm - bore, known.outside_mm - outside, known.width_mm - width];
    off.into_iter().map(f64::abs).fold(0.0, f64::max)
}

/// Returns bore, outside diameter and width when `text` is written `17x40x12`.
pub fn parse_sizes_mm(text: &str) -> Option<[f64; 3]> {
    let text = text.trim().trim_end_matches("mm").replace(['×', '*'], "x");
    let sizes: Vec<f64> = text
        .split('x')
        .map(|size| crate::length::parse_decimal(size, crate::DecimalMark::Point))
        .collect::<Option<_>>()?;
    <[f64; 3]>::try_from(sizes).ok().filter(|[bore, outside, _]| 0.0 < *bore && bore < outside)
}

/// What the plan says of three dimensions as taken.
pub(super) fn explain_sizes(sizes_mm: [f64; 3]) -> Vec<String> {
    /// Far more than a caliper is off, far less than the plan's steps.
    const CALIPER_MM: f64 = 0.15;
    let known = near(sizes_mm, CALIPER_MM);
    if known.is_empty() {
        let [bore, outside, width] = sizes_mm;
        return vec![format!(
            "{bore} x {outside} x {width} mm is no deep-groove ball bearing of ISO 15 that we know: \
             go by the measures"
        )];
    }
    known
        .into_iter()
        .map(|known| {
            let more_mm = sizes_mm[2] - known.width_mm;
            if more_mm.abs() <= CALIPER_MM {
                return known.to_string();
            }
            let (by_mm, way) = (more_mm.abs(), if more_mm > 0.0 { "wider" } else { "narrower" });
            format!("{known}; the one measured is {by_mm:.1} mm {way}: match the width")
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Public tables of ISO 15 / DIN 625-1, listed row by row in `tests/reference`.
    #[test]
    fn dimensions_are_those_of_the_published_tables() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/reference/bearings_iso15.csv");
        let mut rows = csv::Reader::from_path(path).unwrap();
        let mut seen = 0;
        for row in rows.deserialize::<(String, f64, f64, f64)>() {
            let (name, bore, outside, width) = row.unwrap();
            let known = dimensions(&name).unwrap_or_else(|| panic!("{name}"));
            assert_eq!((known.bore_mm, known.outside_mm, known.width_mm), (bore, outside, width));
            assert_eq!(designation(bore, outside, width).unwrap().designation, name);
            seen += 1;
        }
        assert!(seen >= 30, "{seen} rows");
    }

    #[test]
    fn no_two_bearings_share_a_name_or_all_dimensions() {
        for known in all() {
            assert_eq!(dimensions(&known.designation), Some(known.clone()));
            assert_eq!(designation(known.bore_mm, known.outside_mm, known.width_mm), Some(known));
        }
    }

    #[test]
    fn a_ring_off_the_plan_is_told_by_its_width() {
        let said = explain_sizes([8.0, 23.0, 14.0]);
        assert!(said[0].contains("go by the measures"), "the plan has no 8 x 23: {said:?}");
        let said = explain_sizes([15.0, 35.0, 12.5]);
        assert!(
            said.iter().any(|line| line.contains("6202") && line.contains("1.5 mm wider")),
            "{said:?}"
        );
        assert_eq!(near([17.02, 39.97, 12.0], 0.15)[0].designation, "6203", "taken by caliper");
    }
}
