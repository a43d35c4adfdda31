//! How do headings, paragraphs and tables run down the sheets?

use jiff::civil::Date;

use crate::{
    Pages,
    canvas::{Area, Block, Pen, Role, Sheet},
    face::{self, Line, Weight},
    paper::MARGIN_MM,
};

/// Baseline to baseline, by the em.
const LEADING: f64 = 1.25;
/// Baseline below the top of a line, by the em.
const ASCENT: f64 = 0.95;
/// Ems of the letters used, in mm.
pub(crate) const TEXT_MM: f64 = 3.2;
pub(crate) const SMALL_MM: f64 = 2.6;
/// The most lines a paragraph or a cell may take before it is cut.
const LINES_MAX: usize = 40;

/// A column of a table.
#[derive(Debug, Clone)]
pub(crate) struct Column {
    head: String,
    share: f64,
    at_end: bool,
    weight: Weight,
    written: bool,
}

impl Column {
    /// A column headed `head` that takes `share` of the width, beside the shares of the others.
    pub(crate) fn new(head: impl Into<String>, share: f64) -> Self {
        Self { head: head.into(), share, at_end: false, weight: Weight::Book, written: false }
    }

    /// Its cells end at its right edge: for figures.
    pub(crate) fn at_end(self) -> Self {
        Self { at_end: true, ..self }
    }

    /// Its cells are left empty for a hand to write in.
    pub(crate) fn written(self) -> Self {
        Self { written: true, ..self }
    }

    pub(crate) fn bold(self) -> Self {
        Self { weight: Weight::Bold, ..self }
    }
}

/// A row of a table.
#[derive(Debug, Clone)]
pub(crate) struct Row {
    cells: Vec<String>,
    strong: bool,
}

impl Row {
    pub(crate) fn new<const N: usize>(cells: [&str; N]) -> Self {
        Self::from(cells.map(str::to_owned).to_vec())
    }

    /// All its cells are bold: for sums.
    pub(crate) fn strong(self) -> Self {
        Self { strong: true, ..self }
    }
}

impl From<Vec<String>> for Row {
    fn from(cells: Vec<String>) -> Self {
        Self { cells, strong: false }
    }
}

/// Sheets that are being filled from top to bottom.
pub(crate) struct Flow {
    pub(crate) sheets: Vec<Sheet>,
    /// What is left free of the last sheet.
    pub(crate) room: Area,
    tables: usize,
}

impl Flow {
    /// Starts on a clean sheet.
    pub(crate) fn new(size_mm: [f64; 2], scale: [f64; 2]) -> Self {
        let mut flow = Self::on(Vec::new(), Area::new(0.0, 0.0, 0.0, 0.0));
        flow.new_sheet(size_mm, scale);
        flow
    }

    /// Goes on in `room` of the last of `sheets`.
    pub(crate) fn on(sheets: Vec<Sheet>, room: Area) -> Self {
        Self { sheets, room, tables: 0 }
    }

    fn new_sheet(&mut self, size_mm: [f64; 2], scale: [f64; 2]) {
        let [w, h] = size_mm;
        self.sheets.push(Sheet::new(size_mm, scale));
        self.room = Area { left: 0.0, top: 0.0, right: w, bottom: h }.grown(-MARGIN_MM);
        self.room.bottom -= 2.0 * SMALL_MM; // the foot
    }

    /// Goes to a clean sheet like the last one.
    pub(crate) fn turn(&mut self) {
        let last = self.sheet();
        let (size_mm, scale) = (last.size_mm, last.scale);
        self.new_sheet(size_mm, scale);
    }

    pub(crate) fn sheet(&mut self) -> &mut Sheet {
        self.sheets.last_mut().expect("a flow has a sheet")
    }

    pub(crate) fn gap(&mut self, mm: f64) {
        self.room.top += mm;
    }

    /// Goes to a clean sheet when less than `mm` are left.
    pub(crate) fn keep(&mut self, mm: f64) {
        if self.room.height() < mm {
            self.turn();
        }
    }

    pub(crate) fn heading(&mut self, text: &str, size_mm: f64) {
        self.words(&Role::Heading(text.to_owned()), text, size_mm, Weight::Bold);
    }

    pub(crate) fn paragraph(&mut self, text: &str, size_mm: f64) {
        self.words(&Role::Paragraph, text, size_mm, Weight::Book);
    }

    pub(crate) fn strong(&mut self, text: &str, size_mm: f64) {
        self.words(&Role::Paragraph, text, size_mm, Weight::Bold);
    }

    fn words(&mut self, role: &Role, text: &str, size_mm: f64, weight: Weight) {
        if text.trim().is_empty() {
            return;
        }
        let mut block = Block::new(role.clone());
        for line in face::wrap(text, weight, self.room.width() / size_mm, LINES_MAX) {
            if self.room.height() < LEADING * size_mm {
                let full = std::mem::replace(&mut block, Block::new(role.clone()));
                self.sheet().blocks.push(full);
                self.turn();
            }
            let at = [self.room.left, self.room.top + ASCENT * size_mm];
            block.text(at, size_mm, line);
            self.room.top += LEADING * size_mm;
        }
        self.sheet().blocks.push(block);
    }

    /// Lays a table whose heads stand on every sheet it runs over.
    pub(crate) fn table(&mut self, columns: &[Column], rows: &[Row], size_mm: f64) {
        self.tables += 1;
        let whole: f64 = columns.iter().map(|column| column.share).sum();
        let widths: Vec<f64> =
            columns.iter().map(|column| self.room.width() * column.share / whole).collect();
        let heads: Vec<Vec<Line>> = columns
            .iter()
            .zip(&widths)
            .map(|(column, width)| cell(&column.head, Weight::Bold, *width, size_mm))
            .collect();
        self.keep(3.0 * row_height(&[], &heads, size_mm));
        self.row(0, columns, &widths, &heads, size_mm, false);
        for (at, row) in rows.iter().enumerate() {
            let cells: Vec<Vec<Line>> = (columns.iter().zip(&row.cells).zip(&widths))
                .map(|((column, text), width)| {
                    let weight = if row.strong { Weight::Bold } else { column.weight };
                    cell(text, weight, *width, size_mm)
                })
                .collect();
            if self.room.height() < row_height(columns, &cells, size_mm) {
                self.turn();
                self.row(0, columns, &widths, &heads, size_mm, true);
            }
            self.row(at + 1, columns, &widths, &cells, size_mm, false);
        }
    }

    fn row(
        &mut self,
        row: usize,
        columns: &[Column],
        widths: &[f64],
        cells: &[Vec<Line>],
        size_mm: f64,
        repeated: bool,
    ) {
        let height = row_height(if row == 0 { &[] } else { columns }, cells, size_mm);
        let (left, right, top) = (self.room.left, self.room.right, self.room.top);
        let (table, head) = (self.tables, row == 0);
        let sheet = self.sheet();
        let mut x = left;
        for ((column, width), lines) in columns.iter().zip(widths).zip(cells) {
            let role = if repeated { Role::Decoration } else { Role::Cell { table, row, head } };
            let block = sheet.block(role);
            for (at, line) in lines.iter().enumerate() {
                let free = width - 2.0 * PAD_MM - line.width_em * size_mm;
                let shift = if column.at_end { free } else { 0.0 };
                let y = top + PAD_MM / 2.0 + (ASCENT + LEADING * at as f64) * size_mm;
                block.text([x + PAD_MM + shift, y], size_mm, line.clone());
            }
            x += width;
        }
        let pen = if head { Pen::FIRM } else { Pen::HAIR };
        let rules = sheet.block(Role::Decoration);
        rules.line([left, top + height], [right, top + height], pen);
        self.room.top += height;
    }

    /// Writes what each sheet belongs to along its foot, and ends the document.
    pub(crate) fn finish(mut self, title: String, day: Date) -> Pages {
        foot(&mut self.sheets, &title, day);
        Pages { title, day, sheets: self.sheets }
    }
}

const PAD_MM: f64 = 1.0;
/// A row in which something is written by hand is at least so high. Common practice, no source.
const WRITTEN_MM: f64 = 6.5;

fn cell(text: &str, weight: Weight, width_mm: f64, size_mm: f64) -> Vec<Line> {
    face::wrap(text, weight, (width_mm - 2.0 * PAD_MM) / size_mm, LINES_MAX)
}

fn row_height(columns: &[Column], cells: &[Vec<Line>], size_mm: f64) -> f64 {
    let lines = cells.iter().map(Vec::len).max().unwrap_or(1);
    let least_mm = if columns.iter().any(|column| column.written) { WRITTEN_MM } else { 0.0 };
    (LEADING * size_mm * lines as f64 + PAD_MM).max(least_mm)
}

fn foot(sheets: &mut [Sheet], title: &str, day: Date) {
    let count = sheets.len();
    for (at, sheet) in sheets.iter_mut().enumerate() {
        let [w, h] = sheet.size_mm;
        let y = h - MARGIN_MM;
        let end = Line::new(&format!("{day} · sheet {} of {count}", at + 1), Weight::Book);
        let end_left = w - MARGIN_MM - end.width_em * SMALL_MM;
        let free = (end_left - 2.0 * MARGIN_MM) / SMALL_MM;
        let block = sheet.block(Role::Decoration);
        block.text([MARGIN_MM, y], SMALL_MM, face::shortened(title, Weight::Book, free));
        block.text([end_left, y], SMALL_MM, end);
    }
}
