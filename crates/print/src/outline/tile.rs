//! Which part of the outline is on which sheet, and how do the sheets join?

use binwright_catalog::Role as PointRole;

use super::{LETTERS, PENS, names, piece, piece::Piece};
use crate::{
    canvas::{Area, Block, Mark, Pen, Place, Role, Sheet},
    face::{Line, Weight},
    outline::Contour,
};

/// How much neighbouring sheets share, in mm.
const SHARED_MM: f64 = 14.0;

/// The sheets an outline is spread over.
pub(super) struct Grid {
    part: Area,
    pub(super) window: Area,
    columns: usize,
    rows: usize,
}

/// One sheet of the grid.
pub(super) struct Tile {
    column: usize,
    row: usize,
    /// What is added to the drawing's frame to get to the sheet's.
    shift: Place,
}

impl Grid {
    /// Spreads `part` over sheets that each show as much of it as `window` holds.
    pub(super) fn new(part: Area, window: Area) -> Self {
        let number = |whole: f64, shown: f64| {
            if whole <= shown {
                1
            } else {
                ((whole - SHARED_MM) / (shown - SHARED_MM)).ceil() as usize
            }
        };
        let columns = number(part.width(), window.width());
        let rows = number(part.height(), window.height());
        Self { part, window, columns, rows }
    }

    pub(super) fn count(&self) -> usize {
        self.columns * self.rows
    }

    /// From one sheet to the next, in mm.
    fn step(&self) -> [f64; 2] {
        [self.window.width() - SHARED_MM, self.window.height() - SHARED_MM]
    }

    pub(super) fn tiles(&self) -> Vec<Tile> {
        let [dx, dy] = self.step();
        let mut tiles = Vec::new();
        for row in 0..self.rows {
            for column in 0..self.columns {
                let across = if self.columns == 1 {
                    (self.window.width() - self.part.width()) / 2.0
                } else {
                    -dx * column as f64
                };
                let shift = [
                    self.window.left - self.part.left + across,
                    self.window.top - self.part.top - dy * row as f64,
                ];
                tiles.push(Tile { column, row, shift });
            }
        }
        tiles
    }

    /// Register marks in the drawing's frame: in the middle of what two sheets share, two to an edge.
    fn register(&self) -> Vec<(Place, String)> {
        let [dx, dy] = self.step();
        let (left, top) = (self.part.left, self.part.top);
        let mut marks = Vec::new();
        let quarters = [0.25, 0.75];
        for row in 0..self.rows {
            for column in 1..self.columns {
                for (part, quarter) in quarters.iter().enumerate() {
                    let x = left + dx * column as f64 + SHARED_MM / 2.0;
                    let y = top + dy * row as f64 + quarter * self.window.height();
                    marks.push((
                        [x, y],
                        format!("{row}.{column}{}", ["a", "b"][part], row = row + 1),
                    ));
                }
            }
        }
        for row in 1..self.rows {
            for column in 0..self.columns {
                for (part, quarter) in quarters.iter().enumerate() {
                    let x = left + dx * column as f64 + quarter * self.window.width();
                    let y = top + dy * row as f64 + SHARED_MM / 2.0;
                    marks.push((
                        [x, y],
                        format!("{row}.{column}{}", ["c", "d"][part], column = column + 1),
                    ));
                }
            }
        }
        marks
    }
}

/// Draws what `tile` shows of `pieces`; points by name, or by number when they are `numbered`.
pub(super) fn draw(sheet: &mut Sheet, pieces: &[Piece], grid: &Grid, tile: &Tile, numbered: bool) {
    let on = |[x, y]: Place| [x + tile.shift[0], y + tile.shift[1]];
    let mut words = String::from("Outline at true scale");
    if grid.count() > 1 {
        let (row, column) = (tile.row + 1, tile.column + 1);
        words = format!(
            "{words}, row {row} of {} and column {column} of {}: lay register marks of one name on \
             one another, then tape",
            grid.rows, grid.columns
        );
        let [x, y] = [grid.window.left, grid.window.top - 0.6];
        sheet.block(Role::Paragraph).write([x, y], 2.2, &words);
    }
    let mut figure = Block::new(Role::Figure(words));
    figure.clip = Some(grid.window);
    datum(&mut figure, on([0.0, 0.0]));
    for (piece, pen) in pieces.iter().zip(PENS) {
        contour(&mut figure, piece, &on, pen);
        for point in piece.layout.points() {
            let (centre, reach) = (on(piece::at(point)), piece::reach_mm(point));
            if !grid.window.meets(&Area::around(centre, reach)) {
                continue;
            }
            figure.cross(centre, reach, Pen::HAIR);
            match piece::radius_mm(point) {
                Some(radius_mm) => figure.marks.push(Mark::Circle { centre, radius_mm, pen }),
                None => polygon(&mut figure, centre, point.role, pen),
            }
        }
    }
    let marks: Vec<_> = (grid.register().into_iter())
        .map(|(at, name)| (on(at), name))
        .filter(|(at, _)| grid.window.holds(&Area::around(*at, 0.0)))
        .collect();
    for (at, _) in &marks {
        figure.cross(*at, 5.0, Pen::HAIR);
        figure.marks.push(Mark::Circle { centre: *at, radius_mm: 2.5, pen: Pen::HAIR });
    }
    let edges = joins(grid, tile);
    figure.marks.push(Mark::Lines { lines: edges, pen: Pen::DOTS });
    sheet.blocks.push(figure);
    write_names(sheet, pieces, grid, &on, &marks, numbered);
}

/// The middles of what is shared with the neighbours: where sheets may be cut.
fn joins(grid: &Grid, tile: &Tile) -> Vec<[Place; 2]> {
    let Area { left, top, right, bottom } = grid.window;
    let half = SHARED_MM / 2.0;
    let upright = |x: f64| [[x, top], [x, bottom]];
    let level = |y: f64| [[left, y], [right, y]];
    let mut lines = Vec::new();
    lines.extend((tile.column > 0).then(|| upright(left + half)));
    lines.extend((tile.column + 1 < grid.columns).then(|| upright(right - half)));
    lines.extend((tile.row > 0).then(|| level(top + half)));
    lines.extend((tile.row + 1 < grid.rows).then(|| level(bottom - half)));
    lines
}

/// Zero of the layout: a square on its corner, and which way x and y run.
fn datum(figure: &mut Block, [x, y]: Place) {
    let r = 2.0;
    let corners = [[x + r, y], [x, y - r], [x - r, y], [x, y + r], [x + r, y]];
    let lines = corners.windows(2).map(|two| [two[0], two[1]]).collect();
    figure.marks.push(Mark::Lines { lines, pen: Pen::HAIR });
    let long = piece::DATUM_MM;
    figure.line([x, y], [x + long, y], Pen::THIN);
    figure.line([x, y], [x, y - long], Pen::THIN);
    figure.write([x + long - 0.2, y - 0.4], 1.8, "x");
    figure.write([x + 0.4, y - long + 0.6], 1.8, "y");
}

fn contour(figure: &mut Block, piece: &Piece, on: &impl Fn(Place) -> Place, pen: Pen) {
    let Some(area) = piece.contour_area() else { return };
    let [left, top] = on([area.left, area.top]);
    let area = Area::new(left, top, area.width(), area.height());
    figure.marks.push(match piece.contour {
        Some(Contour::Circle { diameter_mm, .. }) => {
            let radius_mm = diameter_mm / 2.0;
            Mark::Circle { centre: [left + radius_mm, top + radius_mm], radius_mm, pen }
        }
        _ => Mark::Frame { area, pen },
    });
}

/// A small mark for a point without a size; its corners tell the role.
fn polygon(figure: &mut Block, [x, y]: Place, role: PointRole, pen: Pen) {
    let corners = match role {
        PointRole::Hole => 8,
        PointRole::Stud => 6,
        PointRole::Lead => 3,
        PointRole::Plug => 4,
        PointRole::Diode => 5,
    };
    let corner = |at: u32| -> Place {
        let turn = std::f64::consts::TAU * f64::from(at) / f64::from(corners);
        [x + 1.2 * turn.sin(), y - 1.2 * turn.cos()]
    };
    let lines = (0..corners).map(|at| [corner(at), corner(at + 1)]).collect();
    figure.marks.push(Mark::Lines { lines, pen });
}

fn write_names(
    sheet: &mut Sheet,
    pieces: &[Piece],
    grid: &Grid,
    on: &impl Fn(Place) -> Place,
    marks: &[(Place, String)],
    numbered: bool,
) {
    let window = grid.window;
    let size_mm = if numbered { 1.9 } else { 2.6 };
    let mut named: Vec<(Place, f64, String, String)> = Vec::new(); // at, reach, letters, name
    let mut number = 0;
    for (piece, letter) in pieces.iter().zip(LETTERS) {
        for point in piece.layout.points() {
            number += 1;
            let at = on(piece::at(point));
            if !window.holds(&Area::around(at, 0.0)) {
                continue;
            }
            // Numbers stand between the arms of crosses, else a thousand points leave no room.
            let (name, reach) = if numbered {
                (number.to_string(), piece::radius_mm(point).unwrap_or(1.2))
            } else {
                (names::of(point), piece::reach_mm(point))
            };
            let same = named.iter_mut().find(|(other, _, _, known)| {
                *known == name && (other[0] - at[0]).hypot(other[1] - at[1]) < 0.05
            });
            match same {
                Some((_, _, letters, _)) => letters.push(letter),
                None => named.push((at, reach, letter.to_string(), name)),
            }
        }
    }
    // What is taken is a little less than the square around a round point.
    let points = named.iter().map(|(at, reach, ..)| Area::around(*at, 0.9 * reach));
    let register = marks.iter().map(|(at, _)| Area::around(*at, 5.0));
    let mut chooser = names::Chooser::new(window, points.chain(register).collect(), numbered);
    let mut write = |at: Place, reach: f64, text: &str| {
        let line = Line::new(text, Weight::Book);
        let place = chooser.place(at, reach, &line, size_mm);
        sheet.block(Role::Paragraph).text(place, size_mm, line);
    };
    for (at, name) in marks {
        write(*at, 5.0, &format!("join {name}"));
    }
    for (at, reach, letters, name) in named {
        let text = if pieces.len() > 1 { format!("{letters} {name}") } else { name };
        write(at, reach, &text);
    }
}
