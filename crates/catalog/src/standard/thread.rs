//! Which thread is that? Designations, limits, and what a caliper reads on a stud or a nut.
//!
//! Sources: ISO 965 tolerance class 6g (tables), ISO 4032 and the older DIN 934 hexagons, ASME B1.1
//! class 2A (formulas); checked in test against `tests/reference`. Rows beyond those are from memory.

use std::fmt;

use crate::length::MM_PER_INCH;

/// Coarse pitch by nominal diameter, and the fine pitches met in the trade, in mm.
const METRIC: [(f64, f64, &[f64]); 15] = [
    (3.0, 0.5, &[]),
    (3.5, 0.6, &[]),
    (4.0, 0.7, &[0.5]),
    (5.0, 0.8, &[0.5]),
    (6.0, 1.0, &[0.75]),
    (7.0, 1.0, &[]),
    (8.0, 1.25, &[1.0, 0.75]),
    (10.0, 1.5, &[1.25, 1.0, 0.75]),
    (12.0, 1.75, &[1.5, 1.25, 1.0]),
    (14.0, 2.0, &[1.5, 1.25, 1.0]),
    (16.0, 2.0, &[1.5, 1.0]),
    (17.0, 1.5, &[]),
    (18.0, 2.5, &[1.5]),
    (20.0, 2.5, &[1.5]),
    (24.0, 3.0, &[2.0, 1.5]),
];

/// Pitch in mm, then deviation es and tolerance Td of the major diameter in um, class 6g.
const LIMITS_6G: [(f64, f64, f64); 12] = [
    (0.5, 20.0, 106.0),
    (0.6, 21.0, 125.0),
    (0.7, 22.0, 140.0),
    (0.75, 22.0, 140.0),
    (0.8, 24.0, 150.0),
    (1.0, 26.0, 180.0),
    (1.25, 28.0, 212.0),
    (1.5, 32.0, 236.0),
    (1.75, 34.0, 265.0),
    (2.0, 38.0, 280.0),
    (2.5, 42.0, 335.0),
    (3.0, 48.0, 375.0),
];

/// Name, nominal diameter in inches, threads per inch coarse and fine, hexagon nut in inches.
/// The hexagons are from memory of ASME B18.2.2 and B18.6.3.
const UNIFIED: [(&str, f64, [u32; 2], f64); 8] = [
    ("#8", 0.164, [32, 36], 11.0 / 32.0),
    ("#10", 0.19, [24, 32], 3.0 / 8.0),
    ("#12", 0.216, [24, 28], 7.0 / 16.0),
    ("1/4", 0.25, [20, 28], 7.0 / 16.0),
    ("5/16", 0.3125, [18, 24], 1.0 / 2.0),
    ("3/8", 0.375, [16, 24], 9.0 / 16.0),
    ("7/16", 0.4375, [14, 20], 11.0 / 16.0),
    ("1/2", 0.5, [13, 20], 3.0 / 4.0),
];

/// Across flats in mm by nominal diameter: ISO 4032, and DIN 934 where it differs.
const HEXAGONS: [(f64, f64, f64); 12] = [
    (3.0, 5.5, 5.5),
    (3.5, 6.0, 6.0),
    (4.0, 7.0, 7.0),
    (5.0, 8.0, 8.0),
    (6.0, 10.0, 10.0),
    (7.0, 11.0, 11.0),
    (8.0, 13.0, 13.0),
    (10.0, 16.0, 17.0),
    (12.0, 18.0, 19.0),
    (14.0, 21.0, 22.0),
    (16.0, 24.0, 24.0),
    (20.0, 30.0, 30.0),
];

/// Returns the designation `text` stands for in its usual form (`m8 x 1.25` is `M8`,
/// `m8x1` is `M8x1`, `1/4-28 UNF` is `1/4-28`), or `None` when it names no thread. A left-hand
/// thread ends in ` LH`.
pub fn designation(text: &str) -> Option<String> {
    let squeezed: String = text.to_ascii_uppercase().split_whitespace().collect();
    let (body, hand) = ["-LH", "LH", "LEFT"]
        .into_iter()
        .find_map(|hand| squeezed.strip_suffix(hand))
        .map_or((squeezed.as_str(), ""), |body| (body, " LH"));
    metric(body).or_else(|| unified(body)).map(|name| name + hand)
}

fn metric(body: &str) -> Option<String> {
    let sizes = body.strip_prefix('M')?.replace(['×', '*'], "X").replace(',', ".");
    let (nominal, pitch) = match sizes.split_once('X') {
        Some((nominal, pitch)) => (decimal(nominal)?, Some(decimal(pitch)?)),
        None => (decimal(&sizes)?, None),
    };
    if !(1.0..=100.0).contains(&nominal) {
        return None;
    }
    match pitch {
        None => Some(format!("M{nominal}")),
        Some(pitch) if same(coarse_pitch_mm(nominal), pitch) => Some(format!("M{nominal}")),
        Some(pitch) if pitch >= 0.2 && pitch <= nominal / 4.0 => {
            Some(format!("M{nominal}x{pitch}"))
        }
        Some(_) => None,
    }
}

fn unified(body: &str) -> Option<String> {
    let body = ["UNC", "UNF", "-2A", "TPI"]
        .iter()
        .fold(body, |body, end| body.strip_suffix(end).unwrap_or(body));
    let (size, tpi) = body.rsplit_once('-')?;
    let size = size.trim_start_matches("NO").trim_start_matches(['#', '.']);
    let size = size.trim_end_matches("IN").trim_end_matches('"');
    let tpi: u32 = tpi.parse().ok()?;
    UNIFIED
        .into_iter()
        .find(|(name, _, tpis, _)| name.trim_start_matches('#') == size && tpis.contains(&tpi))
        .map(|(name, ..)| format!("{name}-{tpi}"))
}

fn decimal(text: &str) -> Option<f64> {
    crate::length::parse_decimal(text, crate::DecimalMark::Point)
}

fn same(known: Option<f64>, other: f64) -> bool {
    known.is_some_and(|known| (known - other).abs() < 1e-9)
}

/// Returns the coarse pitch in mm of the metric thread of `nominal_mm`.
pub fn coarse_pitch_mm(nominal_mm: f64) -> Option<f64> {
    METRIC.into_iter().find(|row| same(Some(row.0), nominal_mm)).map(|row| row.1)
}

/// Returns least and greatest major diameter in mm of a 6g thread: d + es − Td and d + es.
pub fn major_6g_mm(nominal_mm: f64, pitch_mm: f64) -> Option<[f64; 2]> {
    let (_, es_um, td_um) = LIMITS_6G.into_iter().find(|row| same(Some(row.0), pitch_mm))?;
    let greatest_mm = nominal_mm - es_um / 1000.0;
    Some([greatest_mm - td_um / 1000.0, greatest_mm])
}

/// Returns least and greatest major diameter in inches of a class 2A thread.
///
/// Source: ASME B1.1: allowance 0.3 Td2 with Td2 = 0.0015 D^⅓ + 0.0015 √D + 0.015 P^⅔ (engagement
/// of one diameter, coarse and fine series), tolerance 0.060 P^⅔, each to four places.
pub fn major_2a_in(nominal_in: f64, threads_per_inch: u32) -> [f64; 2] {
    let places = |inches: f64| (inches * 1e4).round() / 1e4;
    let pitch_in = 1.0 / f64::from(threads_per_inch);
    let p23 = pitch_in.cbrt().powi(2);
    let td2 = 0.0015 * nominal_in.cbrt() + 0.0015 * nominal_in.sqrt() + 0.015 * p23;
    let greatest = nominal_in - places(0.3 * td2);
    [places(greatest - places(0.06 * p23)), places(greatest)]
}

/// Returns the hexagon across flats in mm: ISO 4032, and DIN 934 for old stock.
pub fn across_flats_mm(nominal_mm: f64) -> Option<[f64; 2]> {
    HEXAGONS.into_iter().find(|row| same(Some(row.0), nominal_mm)).map(|row| [row.1, row.2])
}

/// A thread that fits what was taken, with what must be said of it.
#[derive(Debug, Clone, PartialEq)]
pub struct ThreadRead {
    /// `M8`, `5/16-24`.
    pub designation: String,
    /// Why it fits and how to be sure.
    pub remark: String,
    /// How far the reading lies outside its limits, in mm; 0 when inside.
    pub off_mm: f64,
}

impl fmt::Display for ThreadRead {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: {}", self.designation, self.remark)
    }
}

/// Every thread we know: designation, limits of the major diameter and pitch, all in mm.
fn all() -> Vec<(String, [f64; 2], f64)> {
    let metric = METRIC.into_iter().flat_map(|(nominal, coarse, fine)| {
        [coarse].into_iter().chain(fine.iter().copied()).filter_map(move |pitch| {
            let name = if same(Some(coarse), pitch) {
                format!("M{nominal}")
            } else {
                format!("M{nominal}x{pitch}")
            };
            Some((name, major_6g_mm(nominal, pitch)?, pitch))
        })
    });
    let unified = UNIFIED.into_iter().flat_map(|(name, nominal, tpis, _)| {
        tpis.into_iter().map(move |tpi| {
            let limits = major_2a_in(nominal, tpi).map(|inches| inches * MM_PER_INCH);
            (format!("{name}-{tpi}"), limits, MM_PER_INCH / f64::from(tpi))
        })
    });
    metric.chain(unified).collect()
}

/// Returns the threads whose major diameter a caliper reads as `outside_mm`, the likeliest first:
/// coarse metric, fine metric, then the inch threads that are taken for them.
///
/// A worn stud reads under, so 0.15 mm below the limits still counts; 0.05 mm above.
/// (`common practice, no source`)
pub fn read_stud_mm(outside_mm: f64) -> Vec<ThreadRead> {
    all()
        .into_iter()
        .filter(|(_, [least, greatest], _)| (least - 0.15..=greatest + 0.05).contains(&outside_mm))
        .map(|(designation, [least, greatest], pitch_mm)| ThreadRead {
            off_mm: (least - outside_mm).max(outside_mm - greatest).max(0.0),
            remark: format!(
                "{least:.2} to {greatest:.2} mm over the thread, pitch {pitch_mm:.3} mm{}",
                if designation.starts_with('M') {
                    "; gauge the pitch to be sure"
                } else {
                    "; an inch thread that a caliper takes for metric"
                }
            ),
            designation,
        })
        .collect()
}

/// Returns the threads whose nut or bolt head measures `flats_mm` across flats, nearest first.
/// A worn hexagon reads up to 0.3 mm under. (`common practice, no source`)
pub fn read_across_flats(flats_mm: f64) -> Vec<ThreadRead> {
    let off = |full_mm: f64| (flats_mm - full_mm).max(full_mm - 0.3 - flats_mm).max(0.0);
    let mut reads = Vec::new();
    for (nominal, iso, old) in HEXAGONS {
        let (full_mm, standard) =
            if off(iso) <= off(old) { (iso, "ISO 4032") } else { (old, "the older DIN 934") };
        let also = fine_names(nominal);
        let read = ThreadRead {
            designation: format!("M{nominal}"),
            remark: format!("{full_mm} mm across flats by {standard}{also}"),
            off_mm: off(full_mm),
        };
        reads.push(((full_mm - flats_mm).abs(), read));
    }
    for (name, _, tpis, flats_in) in UNIFIED {
        let full_mm = flats_in * MM_PER_INCH;
        let read = ThreadRead {
            designation: format!("{name}-{}", tpis[0]),
            remark: format!(
                "inch hexagon of {full_mm:.2} mm across flats, {name}-{} takes the same; gauge the pitch",
                tpis[1]
            ),
            off_mm: off(full_mm),
        };
        reads.push(((full_mm - flats_mm).abs(), read));
    }
    reads.retain(|(_, read)| read.off_mm <= 0.05);
    reads.sort_by(|(a, _), (b, _)| a.total_cmp(b));
    reads.into_iter().map(|(_, read)| read).collect()
}

fn fine_names(nominal: f64) -> String {
    let fine =
        METRIC.into_iter().find(|row| same(Some(row.0), nominal)).map_or(&[][..], |row| row.2);
    let names: Vec<String> = fine.iter().map(|pitch| format!("M{nominal}x{pitch}")).collect();
    if names.is_empty() { String::new() } else { format!(", as have {}", names.join(" and ")) }
}

/// What the standards say of the thread with this designation.
pub(super) fn describe(designation: &str) -> Option<String> {
    let (name, [least, greatest], pitch_mm) =
        all().into_iter().find(|(name, ..)| name == designation)?;
    let nominal = name.strip_prefix('M').and_then(|rest| rest.split('x').next()).and_then(decimal);
    let flats = match nominal.and_then(across_flats_mm) {
        Some([iso, old]) if iso < old => format!(", {iso} mm across flats (older {old})"),
        Some([iso, _]) => format!(", {iso} mm across flats"),
        None => String::new(),
    };
    let class = if nominal.is_some() { "ISO 965 6g" } else { "ASME B1.1 2A" };
    Some(format!(
        "{name}: {least:.3} to {greatest:.3} mm over the thread ({class}), pitch {pitch_mm:.3} mm{flats}"
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn reference(name: &str) -> Vec<csv::StringRecord> {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/reference/");
        let rows = csv::Reader::from_path(format!("{folder}{name}")).unwrap().into_records();
        let rows: Vec<_> = rows.map(Result::unwrap).collect();
        assert!(rows.len() > 10, "{name}");
        rows
    }

    fn near(ours: f64, theirs: &str, within: f64) -> bool {
        (ours - theirs.parse::<f64>().unwrap()).abs() <= within
    }

    /// ISO 965 tables and the hexagons of ISO 4032 and DIN 934.
    #[test]
    fn metric_limits_and_hexagons_are_those_of_the_tables() {
        for row in reference("threads_metric.csv") {
            let (nominal, pitch) = (row[1].parse().unwrap(), row[2].parse().unwrap());
            let [least, greatest] = major_6g_mm(nominal, pitch).unwrap();
            assert!(near(greatest, &row[6], 1e-9) && near(least, &row[7], 1e-9), "{row:?}");
            let [iso, old] = across_flats_mm(nominal).unwrap();
            assert!(near(iso, &row[12], 1e-9) && near(old, &row[13], 1e-9), "{row:?}");
            let usual = if &row[3] == "coarse" { format!("M{nominal}") } else { row[0].to_owned() };
            assert_eq!(designation(&row[0]), Some(usual));
        }
    }

    /// ASME B1.1 class 2A.
    #[test]
    fn unified_limits_are_those_of_the_standard() {
        for row in reference("threads_unified.csv") {
            let tpi = row[2].parse().unwrap();
            let [least, greatest] = major_2a_in(row[3].parse().unwrap(), tpi);
            assert!(near(greatest, &row[5], 1e-9) && near(least, &row[6], 1e-9), "{row:?}");
            assert_eq!(designation(&row[0]).as_deref(), Some(&row[0]));
        }
    }

    #[test]
    fn a_designation_comes_out_in_its_usual_form() {
        let rows = [
            ("m8 x 1.25", Some("M8")),
            ("M8X1", Some("M8x1")),
            ("M16x1,5", Some("M16x1.5")),
            ("m16 x 1.5 left", Some("M16x1.5 LH")),
            ("1/4-28 UNF", Some("1/4-28")),
            ("10-32", Some("#10-32")),
            ("No. 10-32", Some("#10-32")),
            ("M8x9", None),
            ("MOTOR", None),
            ("M", None),
            ("1/4", None),
            ("12-1970", None),
        ];
        for (text, usual) in rows {
            assert_eq!(designation(text).as_deref(), usual, "{text}");
            if let Some(usual) = usual {
                assert_eq!(designation(usual).as_deref(), Some(usual), "twice is once");
            }
        }
    }

    #[test]
    fn a_caliper_on_a_stud_names_the_thread_and_its_look_alike() {
        let names =
            |mm| read_stud_mm(mm).into_iter().map(|read| read.designation).collect::<Vec<_>>();
        let m8 = names(7.85);
        assert_eq!(m8[0], "M8");
        assert!(m8.contains(&"5/16-24".to_owned()), "{m8:?}");
        let m5 = names(4.82);
        assert!(m5[0] == "M5" && m5.contains(&"#10-32".to_owned()), "{m5:?}");
        assert!(names(9.0).is_empty() || !names(9.0)[0].starts_with("M8"));
    }

    #[test]
    fn a_spanner_names_the_thread_in_the_old_and_the_new_series() {
        let first = |mm| read_across_flats(mm).first().map(|read| read.designation.clone());
        for (flats, name) in
            [(8.0, "M5"), (13.0, "M8"), (16.0, "M10"), (17.0, "M10"), (18.0, "M12"), (19.0, "M12")]
        {
            assert_eq!(first(flats).as_deref(), Some(name), "{flats}");
        }
        assert_eq!(first(12.65).as_deref(), Some("5/16-18"), "half an inch is not 13 mm");
    }
}
