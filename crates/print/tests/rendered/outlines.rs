//! Are outlines true to a tenth of a millimetre?

use binwright_catalog::Layout;
use binwright_print::{Contour, Paper, Piece, PrintError, PrinterScale, Setting, outline};
use jiff::civil::date;
use proptest::prelude::*;

use crate::render::{self, Gray};

fn plate(number: &str, layout: &str) -> Piece {
    Piece {
        number: number.to_owned(),
        description: "six diodes, three leads".to_owned(),
        kind: "rectifier plate".to_owned(),
        layout: layout.parse().unwrap(),
        contour: Some(Contour::Circle { diameter_mm: 112.3, centre_mm: None }),
        face: Some("heat-sink side".to_owned()),
        measures: vec![("outside diameter".to_owned(), "112.3 mm".to_owned())],
        mirror_twin: None,
        laid: None,
    }
}

fn setting() -> Setting {
    Setting::new(Paper::A4, date(2031, 3, 14))
}

/// A fixed sequence that looks random: the Lehmer generator of Park and Miller (1988), 16807 modulo
/// 2^31 − 1. Each value is between 0 and 1.
struct Lehmer(u64);

impl Lehmer {
    fn next(&mut self) -> f64 {
        self.0 = self.0 * 16807 % 2_147_483_647;
        self.0 as f64 / 2_147_483_647.0
    }
}

/// Where ink is strongest along the line from `start` by `step`, as a share of `step`: the middle
/// of the inked stretch.
fn middle_of_ink(page: &Gray, start: [f64; 2], step: [f64; 2]) -> f64 {
    let (mut weight, mut sum) = (0.0, 0.0);
    for at in 0..=400 {
        let share = f64::from(at) / 400.0;
        let ink = page.ink_at_mm([start[0] + share * step[0], start[1] + share * step[1]]);
        weight += ink;
        sum += ink * share;
    }
    assert!(weight > 0.0, "no ink from {start:?} by {step:?}");
    sum / weight
}

/// Middles in mm of the ticks crossed by a line of `length_mm` from `start`.
fn ticks(page: &Gray, start: [f64; 2], upward: bool, length_mm: f64) -> Vec<f64> {
    let steps = (length_mm * 100.0) as usize;
    let (mut found, mut weight, mut sum) = (Vec::new(), 0.0, 0.0);
    for at in 0..=steps {
        let along = at as f64 / 100.0;
        let place =
            if upward { [start[0], start[1] - along] } else { [start[0] + along, start[1]] };
        let ink = page.ink_at_mm(place);
        if ink > 0.05 {
            weight += ink;
            sum += ink * along;
        } else if weight > 0.0 {
            found.push(sum / weight);
            (weight, sum) = (0.0, 0.0);
        }
    }
    found
}

/// The rulers stand where the drawing of a ruler puts them; their lengths are measured.
fn rulers_mm(page: &Gray) -> [[f64; 2]; 2] {
    let height = page.mm_of(page.height as f64);
    let corner = [17.0, height - 10.0 - 5.2 - 13.0];
    [([corner[0], corner[1]], false), ([corner[0], corner[1]], true)].map(|(corner, upward)| {
        [-3.6, 3.6].map(|aside| {
            // Long ticks only: every 10 mm on one side, every inch on the other.
            let start = if upward {
                [corner[0] + aside, corner[1] - 4.0]
            } else {
                [corner[0] + 4.0, corner[1] + aside]
            };
            let ticks = ticks(page, start, upward, 110.0);
            assert!(ticks.len() == 11 || ticks.len() == 5, "{ticks:?}");
            ticks[ticks.len() - 1] - ticks[0]
        })
    })
}

#[test]
fn rulers_measure_100_mm_and_4_in_both_ways() {
    needs_poppler!();
    let layout = "hole@0,0/6.2; hole@92.1,0/6.2; stud:B+@46,31.5/M8; lead:U@18,12";
    for paper in [Paper::A4, Paper::Letter] {
        let setting = Setting { paper, ..setting() };
        let pdf = outline(&[plate("HV-2103", layout)], &setting).unwrap().pdf().unwrap();
        let pages = render::pages(&pdf, 300);
        let [across, up] = rulers_mm(&pages[0]);
        for (found, wanted) in
            across.into_iter().zip([100.0, 101.6]).chain(up.into_iter().zip([100.0, 101.6]))
        {
            assert!((found - wanted).abs() < 0.1, "{found} for {wanted}");
        }
    }
}

#[test]
fn a_printer_that_is_off_is_corrected_both_ways() {
    needs_poppler!();
    let scale: PrinterScale = "1.02,0.98".parse().unwrap();
    let layout = "hole@0,0/6.2; hole@80,60/6.2";
    let pages = outline(&[plate("HV-2103", layout)], &Setting { scale, ..setting() }).unwrap();
    let page = &render::pages(&pages.pdf().unwrap(), 300)[0];
    // The page as such a printer gives it: squeezed and stretched about its middle.
    let middle = [105.0, 148.5];
    let [width, height] = [page.width, page.height];
    let mut dots = vec![255; width * height];
    for y in 0..height {
        for x in 0..width {
            let from = [(x, 0, 1.02), (y, 1, 0.98)].map(|(at, axis, factor)| {
                middle[axis] + (page.mm_of(at as f64 + 0.5) - middle[axis]) * factor
            });
            dots[y * width + x] = (255.0 * (1.0 - page.ink_at_mm(from).min(1.0))) as u8;
        }
    }
    let printed = Gray { width, height, dots, dpi: page.dpi };
    for (found, wanted) in
        rulers_mm(&printed).into_iter().flatten().zip([100.0, 101.6, 100.0, 101.6])
    {
        assert!((found - wanted).abs() < 0.1, "{found} for {wanted}");
    }
}

/// Forty holes of 3 to 9 mm scattered over 150 × 180 mm: both edges of each are found along its two
/// diagonals, and with them its middle and its diameter.
#[test]
fn every_hole_of_a_scattered_layout_is_true_to_a_tenth() {
    needs_poppler!();
    let mut chance = Lehmer(20_310_314);
    let mut holes: Vec<[f64; 3]> = Vec::new();
    while holes.len() < 40 {
        let [x, y, d] = [150.0 * chance.next(), 180.0 * chance.next(), 3.0 + 6.0 * chance.next()];
        if holes.iter().all(|[u, v, e]| (x - u).hypot(y - v) > (d + e) / 2.0 + 8.0) {
            holes.push([x, y, d].map(|mm| (mm * 100.0).round() / 100.0));
        }
    }
    let text: Vec<String> = holes.iter().map(|[x, y, d]| format!("hole@{x},{y}/{d}")).collect();
    let mut piece = plate("HV-2103", &text.join(";"));
    piece.contour = None;
    let pdf = outline(&[piece], &setting()).unwrap().pdf().unwrap();
    let page = &render::pages(&pdf, 300)[0];

    let first = holes[0];
    let near = find_ring(page, first[2]);
    let mut worst = [0.0f64; 2];
    for [x, y, d] in &holes {
        let centre = [near[0] + x - first[0], near[1] - (y - first[1])];
        let (found, diameter) = measured(page, centre, *d);
        worst[0] = worst[0].max((found[0] - centre[0]).hypot(found[1] - centre[1]));
        worst[1] = worst[1].max((diameter - d).abs());
    }
    println!("holes off by at most {:.3} mm, diameters by {:.3} mm", worst[0], worst[1]);
    assert!(worst[0] < 0.1 && worst[1] < 0.1, "{worst:?}");
}

/// Middle and diameter of the ring near `centre`, from its edges on both diagonals.
fn measured(page: &Gray, centre: [f64; 2], d: f64) -> ([f64; 2], f64) {
    let slant = std::f64::consts::FRAC_1_SQRT_2;
    let edges = [[1.0, 1.0], [-1.0, -1.0], [1.0, -1.0], [-1.0, 1.0]].map(|[sx, sy]| {
        let (inner, length) = (d / 2.0 - 0.7, 1.4);
        let at = |r: f64| [centre[0] + sx * slant * r, centre[1] + sy * slant * r];
        let step = [sx * slant * length, sy * slant * length];
        let share = middle_of_ink(page, at(inner), step);
        at(inner + share * length)
    });
    let middle = [0, 1].map(|axis| edges.iter().map(|edge| edge[axis]).sum::<f64>() / 4.0);
    let across = |a: [f64; 2], b: [f64; 2]| (a[0] - b[0]).hypot(a[1] - b[1]);
    (middle, f64::midpoint(across(edges[0], edges[1]), across(edges[2], edges[3])))
}

/// Finds the ring of diameter `d` on the sheet by trying every place, then measures it.
fn find_ring(page: &Gray, d: f64) -> [f64; 2] {
    let turns: Vec<[f64; 2]> = (0..24)
        .map(|at| std::f64::consts::TAU * (f64::from(at) + 0.5) / 24.0)
        .map(|turn| [d / 2.0 * turn.cos(), d / 2.0 * turn.sin()])
        .collect();
    let ink = |x: f64, y: f64| -> f64 {
        turns.iter().map(|[dx, dy]| page.ink_at_mm([x + dx, y + dy])).sum()
    };
    let aslant = d / 2.0 * std::f64::consts::FRAC_1_SQRT_2;
    let (mut best, mut most) = ([0.0; 2], 0.0);
    for y in 0..2000 {
        for x in 0..1400 {
            let place = [30.0 + f64::from(x) * 0.12, 20.0 + f64::from(y) * 0.12];
            if page.ink_at_mm([place[0] + aslant, place[1] + aslant]) < 0.2 {
                continue;
            }
            let found = ink(place[0], place[1]);
            if found > most {
                (best, most) = (place, found);
            }
        }
    }
    measured(page, best, d).0
}

/// Middle and radius of every circle of a drawing.
fn circles(svg: &str) -> Vec<[f64; 3]> {
    let value = |tag: &str, name: &str| -> f64 {
        let start = tag.split_once(&format!(" {name}=\"")).unwrap().1;
        start.split_once('"').unwrap().0.parse().unwrap()
    };
    svg.split("<circle")
        .skip(1)
        .map(|rest| ["cx", "cy", "r"].map(|name| value(rest.split_once("/>").unwrap().0, name)))
        .collect()
}

#[test]
fn a_part_larger_than_the_sheet_is_split_and_its_register_marks_agree() {
    needs_poppler!();
    let layout = "hole@0,0/6.2; hole@392.1,0/6.2; stud:B+@46,331.5/M8";
    let pages = outline(&[plate("HV-2103", layout)], &setting()).unwrap();
    assert_eq!(pages.count(), 7, "three by two, and one for the measures");
    // Along the lower row: from hole to mark, mark on mark, and so on to the other hole.
    let svg = pages.svg();
    let [first, middle, last] = [3, 4, 5].map(|at| circles(&svg[at]));
    let of = |circles: &[[f64; 3]], r: f64| -> Vec<f64> {
        let mut x: Vec<f64> =
            circles.iter().filter(|c| (c[2] - r).abs() < 1e-9).map(|c| c[0]).collect();
        x.sort_by(f64::total_cmp);
        x
    };
    let [left, right] = [of(&first, 3.1)[0], of(&last, 3.1)[0]];
    let [marks, between, on_last] = [&first, &middle, &last].map(|sheet| of(sheet, 2.5));
    let length = (marks[marks.len() - 1] - left)
        + (between[between.len() - 1] - between[0])
        + (right - on_last[0]);
    assert!((length - 392.1).abs() < 0.01, "{length}");

    let text = render::text(&pages.pdf().unwrap());
    for join in ["1.1a", "1.1b", "2.2a", "1.1c", "1.3d"] {
        assert_eq!(text.matches(&format!("join {join}")).count(), 2, "{join} is on two sheets");
    }
    assert!(text.contains("row 2 of 2 and column 3 of 3"));
    let far = "hole@-2000,-2000/6; hole@2000,2000/6";
    let error = outline(&[plate("HV-2103", far)], &setting()).unwrap_err();
    assert!(matches!(error, PrintError::TooManySheets { most: 64, .. }));
}

#[test]
fn a_thousand_points_are_all_drawn_and_told() {
    needs_poppler!();
    let points: Vec<String> = (0..1000)
        .map(|at| format!("hole@{},{}/2.5", f64::from(at % 25) * 6.0, f64::from(at / 25) * 4.5))
        .collect();
    let pages = outline(&[plate("HV-9000", &points.join(";"))], &setting()).unwrap();
    let text = render::text(&pages.pdf().unwrap());
    let words: std::collections::HashSet<&str> = text.split_whitespace().collect();
    assert!((1..=1000).all(|number| words.contains(number.to_string().as_str())));
    assert_eq!(text.matches("hole 2.5 at").count(), 1000);
}

#[test]
fn candidates_lie_over_one_another_and_each_is_named() {
    needs_poppler!();
    let pieces = [
        plate("HV-2103", "hole@0,0/6.2; hole@92.1,0/6.2"),
        plate("HV-2104", "hole@0,0/6.2; hole@93.6,0/6.2"),
    ];
    let pages = outline(&pieces, &setting()).unwrap();
    let text = render::text(&pages.pdf().unwrap());
    for words in ["HV-2103", "HV-2104", "AB hole 6.2", "A hole 6.2", "B hole 6.2"] {
        assert!(text.contains(words), "{words} in {text}");
    }
    assert!(pages.svg()[0].contains("stroke-dasharray=\"2 0.8\""), "the second is dashed");
    let five = vec![pieces[0].clone(); 5];
    let error = outline(&five, &setting()).unwrap_err();
    assert_eq!(error, PrintError::TooManyCandidates { found: 5 });
}

#[test]
fn long_turned_and_hostile_text_comes_out_as_text() {
    needs_poppler!();
    let mut piece = plate("HV-2103", "hole@0,0/6.2; hole@92.1,0/6.2");
    piece.description = "regulator plate, ".repeat(12);
    piece.face = Some("לוח מיישר 🔧 \u{1b}[2J\u{202e}</text><script>".to_owned());
    piece.mirror_twin = Some("HV-2104".to_owned());
    let pages = outline(&[piece], &setting()).unwrap();
    let text = render::text(&pages.pdf().unwrap());
    assert_eq!(
        text.matches("regulator plate,").count() + text.matches("regulator\nplate,").count(),
        12
    );
    for words in ["לוח", "<U+1F527>", "<U+001B>[2J<U+202E></text><script>", "Mirror twin: HV-2104"]
    {
        assert!(text.contains(words), "{words} in {text}");
    }
    assert!(!pages.svg()[0].contains("<script"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]
    #[test]
    fn any_text_at_all_comes_out(text in any::<String>(), other in "[\\u{5d0}-\\u{6ff}\\u{e000}\\u{f6c5} a-z]{0,80}") {
        let mut piece = plate(&text, "hole@0,0/6.2");
        (piece.description, piece.face) = (other.clone(), Some(text.clone()));
        (piece.measures, piece.mirror_twin) = (vec![(text, other.clone())], Some(other));
        let pages = outline(&[piece], &setting()).unwrap();
        prop_assert_eq!(pages.pdf().map(|_| ()), Ok(()));
        let hidden = |c: char| c != '\n' && binwright_catalog::shown::is_hidden(c);
        prop_assert!(pages.svg().iter().all(|svg| !svg.contains(hidden)));
    }
}

#[test]
fn the_same_input_and_day_give_the_same_bytes() {
    let make = || outline(&[plate("HV-2103", "hole@0,0/6.2")], &setting()).unwrap();
    assert_eq!(make().pdf().unwrap(), make().pdf().unwrap());
    assert_eq!(make().svg(), make().svg());
}

#[test]
fn what_cannot_be_drawn_is_refused_in_words() {
    let mut piece = plate("HV-2103", "hole@0,0/6.2");
    piece.contour = Some(Contour::Circle { diameter_mm: f64::NAN, centre_mm: None });
    let error = outline(&[piece.clone()], &setting()).unwrap_err();
    assert_eq!(error.to_string(), "`NaN` is not a length that can be drawn");
    (piece.contour, piece.layout) = (None, Layout::default());
    assert_eq!(outline(&[piece], &setting()).unwrap_err(), PrintError::Nothing);
    assert_eq!(outline(&[], &setting()).unwrap_err(), PrintError::Nothing);
}

/// The catalog asks for unscaled printing, the file is tagged, every letter is embedded.
#[test]
fn viewers_are_told_to_print_unscaled() {
    let pages = outline(&[plate("HV-2103", "hole@0,0/6.2")], &setting()).unwrap();
    let pdf = pages.pdf().unwrap();
    let last = pdf.len() - 800;
    let tail = String::from_utf8_lossy(&pdf[last..]);
    assert!(tail.contains("/PrintScaling/None") && tail.contains("/Marked true"));
}
