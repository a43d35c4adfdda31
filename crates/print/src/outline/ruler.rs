//! Is this printer true? Rulers of 100 mm and 4 in across and up, and a box for what they measured.

use crate::{
    canvas::{Area, Mark, Pen, Place, Role, Sheet},
    face::{Line, Weight},
    flow::SMALL_MM,
    paper::MARGIN_MM,
};

/// Taken along the left edge by the ruler that stands up.
pub(super) const STRIP_MM: f64 = 14.0;
/// Taken along the foot by the ruler that lies and the box.
pub(super) const FOOT_MM: f64 = 26.0;

const INCH_MM: f64 = 25.4;
/// Em of the figures on a ruler.
const FIGURE_MM: f64 = 2.0;

/// Draws the rulers and the box, which names the correction printed with.
pub(super) fn draw(sheet: &mut Sheet, printed_with: [f64; 2]) {
    let [w, h] = sheet.size_mm;
    let foot = h - MARGIN_MM - 2.0 * SMALL_MM;
    let corner = [MARGIN_MM + STRIP_MM / 2.0, foot - FOOT_MM / 2.0];
    for (upward, along) in [(false, "across"), (true, "up")] {
        let words =
            format!("Check ruler {along} the sheet, 100 mm on one side and 4 in on the other");
        let start =
            if upward { [corner[0], corner[1] - 8.0] } else { [corner[0] + 8.0, corner[1]] };
        scale(sheet, words, start, upward);
    }
    let left = corner[0] + 8.0 + 4.0 * INCH_MM + 6.0;
    let area = Area { left, top: foot - FOOT_MM + 2.0, right: w - MARGIN_MM, bottom: foot - 1.0 };
    result_box(sheet, area, printed_with);
}

/// A ruler from `start`: millimetres on its left as one looks along it, inches on its right.
fn scale(sheet: &mut Sheet, words: String, start: Place, upward: bool) {
    let place = |along: f64, aside: f64| -> Place {
        if upward {
            [start[0] - aside, start[1] - along]
        } else {
            [start[0] + along, start[1] - aside]
        }
    };
    let block = sheet.block(Role::Figure(words));
    block.line(place(0.0, 0.0), place(4.0 * INCH_MM, 0.0), Pen::HAIR);
    let mut figure = |along: f64, aside: f64, text: &str| {
        let line = Line::new(text, Weight::Book);
        let at = place(along - line.width_em * FIGURE_MM / 2.0, aside);
        block.marks.push(Mark::Text { at, size_mm: FIGURE_MM, line, upward });
    };
    for ten in 0..=10 {
        figure(f64::from(ten) * 10.0, 4.3, &(ten * 10).to_string());
    }
    for inch in 0..=4 {
        figure(f64::from(inch) * INCH_MM, -5.8, &format!("{inch} in"));
    }
    for mm in 0..=100 {
        let tall = [4.0, 1.6, 1.6, 1.6, 1.6, 2.8, 1.6, 1.6, 1.6, 1.6][mm % 10];
        let along = mm as f64;
        block.line(place(along, 0.0), place(along, tall), Pen::HAIR);
    }
    for eighth in 0..=32 {
        let tall = [4.0, 1.4, 2.0, 1.4, 2.8, 1.4, 2.0, 1.4][eighth % 8];
        let along = eighth as f64 * INCH_MM / 8.0;
        block.line(place(along, 0.0), place(along, -tall), Pen::HAIR);
    }
}

fn result_box(sheet: &mut Sheet, area: Area, printed_with: [f64; 2]) {
    let [across, up] = printed_with;
    sheet.block(Role::Decoration).marks.push(Mark::Frame { area, pen: Pen::THIN });
    let lines = [
        "The 100 mm rulers measured, in mm:".to_owned(),
        "across ______________   up ______________".to_owned(),
        format!("Printed with the correction {across},{up}. New one:"),
        format!("{across} × 100 ÷ across , {up} × 100 ÷ up"),
        "= ______________ , ______________".to_owned(),
        "Type it back as the printer scale.".to_owned(),
    ];
    for (at, text) in lines.iter().enumerate() {
        let y = area.top + 3.6 + 3.7 * at as f64;
        sheet.block(Role::Paragraph).write([area.left + 2.0, y], SMALL_MM, text);
    }
}
