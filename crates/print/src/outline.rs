//! Does the part in the hand sit on this one? Its layout at true scale on paper.
//!
//! What does not fit on one sheet is split over several with register marks, never shrunk.

mod names;
mod piece;
mod ruler;
mod tile;

use crate::{
    Pages, PrintError, Setting,
    canvas::{Area, Pen, Role, Sheet},
    flow::{Column, Flow, Row, SMALL_MM, TEXT_MM},
    outline::tile::Grid,
    paper::MARGIN_MM,
};
pub use piece::{Contour, Piece};

/// The most sheets one outline may take.
const SHEETS_MAX: usize = 64;
/// Above so many points, each is numbered in the drawing and told in a list.
const NAMED_MAX: usize = 60;
/// What stands free around the part, in mm.
const AROUND_MM: f64 = 6.0;

/// How candidates are told apart, first to last.
const PENS: [Pen; 4] = [
    Pen::THIN,
    Pen { width_mm: 0.2, dash_mm: &[2.0, 0.8] },
    Pen { width_mm: 0.3, dash_mm: &[0.5, 0.7] },
    Pen { width_mm: 0.2, dash_mm: &[3.0, 0.8, 0.4, 0.8] },
];
const LETTERS: [char; 4] = ['A', 'B', 'C', 'D'];

/// Returns the outline of one piece, or of up to four drawn over one another in different line
/// styles, as their layouts lie, to see which one the part sits on.
///
/// # Errors
///
/// [`PrintError::Nothing`] without a point and a contour to draw, [`PrintError::TooManyCandidates`]
/// for more than four, [`PrintError::NotALength`] for a coordinate or a size that is no number or out
/// of reach, [`PrintError::TooManySheets`] for a layout that would take a stack of paper.
pub fn outline(pieces: &[Piece], setting: &Setting) -> Result<Pages, PrintError> {
    if pieces.len() > PENS.len() {
        return Err(PrintError::TooManyCandidates { found: pieces.len() });
    }
    for piece in pieces {
        piece.check()?;
    }
    let part = piece::extent(pieces).ok_or(PrintError::Nothing)?.grown(AROUND_MM);
    let upright = setting.paper.size_mm();
    let on = |size_mm: [f64; 2]| {
        let (sheet, window) = furnished(pieces, setting, size_mm);
        (sheet, Grid::new(part, window))
    };
    let (standing, lying) = (on(upright), on([upright[1], upright[0]]));
    let (blank, grid) = if lying.1.count() < standing.1.count() { lying } else { standing };
    if grid.count() > SHEETS_MAX {
        return Err(PrintError::TooManySheets { sheets: grid.count(), most: SHEETS_MAX });
    }

    let numbered = pieces.iter().map(|p| p.layout.points().len()).sum::<usize>() > NAMED_MAX;
    let mut sheets = Vec::new();
    for tile in grid.tiles() {
        let mut sheet = blank.clone();
        tile::draw(&mut sheet, pieces, &grid, &tile, numbered);
        sheets.push(sheet);
    }
    let mut room = grid.window;
    room.top += if grid.count() == 1 { part.height() } else { room.height() };
    let mut flow = Flow::on(sheets, room);
    measures(&mut flow, pieces);
    if numbered {
        point_list(&mut flow, pieces);
    }
    Ok(flow.finish(title(pieces), setting.day))
}

fn title(pieces: &[Piece]) -> String {
    let numbers: Vec<&str> = pieces.iter().map(|piece| piece.number.as_str()).collect();
    format!("Outline at true scale: {}", numbers.join(", "))
}

/// A sheet with everything but the part, and the window left for it.
fn furnished(pieces: &[Piece], setting: &Setting, size_mm: [f64; 2]) -> (Sheet, Area) {
    let mut flow = Flow::new(size_mm, setting.scale.factors());
    match pieces {
        [piece] => head_of_one(&mut flow, piece),
        _ => head_of_several(&mut flow, pieces),
    }
    flow.paragraph(
        "True scale. Print at actual size and check both rulers before laying a part on. Paper narrows \
         the choice; measure before fitting.",
        SMALL_MM,
    );
    let mut window = flow.room;
    window.top += 3.0; // room for where the sheet is among the sheets
    window.left += ruler::STRIP_MM;
    window.bottom -= ruler::FOOT_MM;
    let mut sheet = flow.sheets.pop().expect("a flow has a sheet");
    ruler::draw(&mut sheet, setting.scale.factors());
    (sheet, window)
}

fn head_of_one(flow: &mut Flow, piece: &Piece) {
    flow.heading(&piece.number, 6.0);
    flow.paragraph(&piece.told(), TEXT_MM);
    flow.paragraph(&piece.placed(), SMALL_MM);
    if let Some(twin) = &piece.mirror_twin {
        let words =
            format!("Mirror twin: {twin}. A part that sits only when turned over is that one.");
        flow.strong(&words, TEXT_MM);
    }
}

fn head_of_several(flow: &mut Flow, pieces: &[Piece]) {
    flow.heading("Which one does the part sit on?", 6.0);
    for ((piece, pen), letter) in pieces.iter().zip(PENS).zip(LETTERS) {
        let y = flow.room.top + 0.6 * TEXT_MM;
        let x = flow.room.left;
        flow.sheet().block(Role::Decoration).line([x, y], [x + 14.0, y], pen);
        flow.room.left += 17.0;
        flow.strong(&format!("{letter}  {}  {}", piece.number, piece.told()), TEXT_MM);
        if let Some(laid) = &piece.laid {
            flow.paragraph(laid, SMALL_MM);
        }
        if let Some(twin) = &piece.mirror_twin {
            flow.paragraph(&format!("Mirror twin of {letter}: {twin}."), SMALL_MM);
        }
        flow.room.left = MARGIN_MM;
    }
    flow.paragraph(&pieces[0].placed(), SMALL_MM);
}

fn measures(flow: &mut Flow, pieces: &[Piece]) {
    for (piece, letter) in pieces.iter().zip(LETTERS) {
        if piece.measures.is_empty() {
            continue;
        }
        flow.gap(2.0);
        if pieces.len() > 1 {
            flow.keep(20.0);
            flow.strong(&format!("{letter}  {}", piece.number), TEXT_MM);
        }
        let rows: Vec<Row> =
            piece.measures.iter().map(|(label, value)| Row::new([label, value, ""])).collect();
        let columns = [
            Column::new("measure", 3.0),
            Column::new("as recorded", 2.0),
            Column::new("as measured", 2.0).written(),
        ];
        flow.table(&columns, &rows, SMALL_MM);
    }
}

fn point_list(flow: &mut Flow, pieces: &[Piece]) {
    let points: Vec<_> = pieces
        .iter()
        .zip(LETTERS)
        .flat_map(|(piece, letter)| piece.layout.points().iter().map(move |point| (letter, point)))
        .enumerate()
        .collect();
    let rows: Vec<Row> = points
        .chunks(3)
        .map(|three| {
            let mut row = Vec::with_capacity(6);
            for (at, (letter, point)) in three {
                row.push((at + 1).to_string());
                let letter = if pieces.len() > 1 { format!("{letter} ") } else { String::new() };
                row.push(format!("{letter}{}", names::with_place(point)));
            }
            row.resize(6, String::new());
            Row::from(row)
        })
        .collect();
    let number = || Column::new("point", 1.0).bold().at_end();
    let what = || Column::new("what, at x, y in mm", 4.0);
    flow.turn();
    flow.table(&[number(), what(), number(), what(), number(), what()], &rows, SMALL_MM);
}
