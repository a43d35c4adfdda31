//! What stands on the label of a bin or a part? Its number large, what it is, where it is, a code.

use jiff::civil::Date;

use crate::{
    LabelSheet, Pages, PrintError, PrinterScale,
    canvas::{Area, Block, Mark, Role, Sheet},
    code128,
    face::{self, CAPITAL, Line, Weight},
    qr,
};

/// White kept along a label's edges, in mm.
const PAD_MM: f64 = 1.5;
/// Ems below which a number is not read at arm's length, in mm.
const NUMBER_LEAST_MM: f64 = 3.2;
const NUMBER_MOST_MM: f64 = 14.0;
const WORDS_MM: f64 = 2.5;
/// Narrowest and widest module in mm: two dots of a printer of 203 to the inch are 0.2502 mm, three
/// 0.3754 mm. What hand-held readers manage: common practice, no source.
const BAR_MM: [f64; 2] = [0.25, 0.51];
const SQUARE_MM: [f64; 2] = [0.375, 0.85];
const BAR_HEIGHT_LEAST_MM: f64 = 6.0;

/// What a scanner is to type.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Code {
    /// Bars along the foot of the label: printable ASCII.
    Code128(String),
    /// A square at the right of the label: any text.
    Qr(String),
}

/// One label.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Label {
    /// The part's or the bin's own name, printed as large as fits.
    pub number: String,
    /// What it is; what does not fit is cut with `…`.
    pub description: String,
    /// Where it is kept; empty on the label of a bin.
    pub bin: String,
    /// The code, when there is to be one.
    pub code: Option<Code>,
}

/// Returns `labels` on as many sheets as they take, the first on the place `first`, counted from 0
/// row by row, so that a sheet begun before is used up.
///
/// # Errors
///
/// [`PrintError::Nothing`] without labels, [`PrintError::BadLabelSheet`] for a first place that is
/// not on the sheet, [`PrintError::DoesNotFit`] for a number or bin too long to be read,
/// [`PrintError::CodeDoesNotFit`], [`PrintError::CodeTooLong`] and [`PrintError::NotInCode128`] for a
/// code that could not be scanned.
pub fn labels(
    labels: &[Label],
    on: &LabelSheet,
    first: usize,
    scale: PrinterScale,
    day: Date,
) -> Result<Pages, PrintError> {
    if labels.is_empty() {
        return Err(PrintError::Nothing);
    }
    if first >= on.count() {
        let reason = format!("it has {} labels, none at place {}", on.count(), first + 1);
        return Err(PrintError::BadLabelSheet { reason });
    }
    let mut sheets: Vec<Sheet> = Vec::new();
    for (at, label) in labels.iter().enumerate() {
        let place = (first + at) % on.count();
        if place == 0 || sheets.is_empty() {
            sheets.push(Sheet::new(on.sheet_mm, scale.factors()));
        }
        let [left, top] = on.corner_mm(place);
        let area = Area::new(left, top, on.label_mm[0], on.label_mm[1]).grown(-PAD_MM);
        let sheet = sheets.last_mut().expect("pushed above");
        draw(sheet, label, area, 25.4 / f64::from(on.dots_per_inch))?;
    }
    Ok(Pages { title: format!("Labels: {}", on.label), day, sheets })
}

fn draw(sheet: &mut Sheet, label: &Label, mut area: Area, dot_mm: f64) -> Result<(), PrintError> {
    let code = match &label.code {
        Some(Code::Code128(text)) => Some(bars(text, &mut area, dot_mm)?),
        Some(Code::Qr(text)) => Some(square(text, &mut area, dot_mm)?),
        None => None,
    };
    sheet.blocks.push(words(label, area)?);
    sheet.blocks.extend(code);
    Ok(())
}

/// Number, bin and as much of the description as there is room for.
fn words(label: &Label, area: Area) -> Result<Block, PrintError> {
    let mut block = Block::new(Role::Paragraph);
    let has_bin = !label.bin.trim().is_empty();
    let share = if has_bin { 0.5 } else { 0.6 };
    let mut top = area.top;
    let mut large = |text: &str, most_mm: f64, top: &mut f64| -> Result<f64, PrintError> {
        let line = Line::new(text, Weight::Bold);
        let size_mm = (area.width() / line.width_em.max(0.1)).min(most_mm);
        let height = size_mm * (CAPITAL + 0.28); // capital, what hangs below, air
        if size_mm < NUMBER_LEAST_MM.min(most_mm) || *top + height > area.bottom + 0.01 {
            return Err(PrintError::DoesNotFit { found: line.text });
        }
        block.text([area.left, *top + size_mm * CAPITAL], size_mm, line);
        *top += height;
        Ok(size_mm)
    };
    let number_mm = large(
        &label.number,
        (area.height() * share / (CAPITAL + 0.28)).min(NUMBER_MOST_MM),
        &mut top,
    )?;
    if has_bin {
        large(&label.bin, (number_mm * 0.7).clamp(2.6, 5.0), &mut top)?;
    }
    let room = ((area.bottom - top) / (WORDS_MM * 1.2)).floor();
    if room >= 1.0 && !label.description.trim().is_empty() {
        let width_em = area.width() / WORDS_MM;
        for line in face::wrap(&label.description, Weight::Book, width_em, room as usize) {
            block.text([area.left, top + WORDS_MM * 0.9], WORDS_MM, line);
            top += WORDS_MM * 1.2;
        }
    }
    Ok(block)
}

/// Bars along the foot of `area`, which loses what they take.
fn bars(text: &str, area: &mut Area, dot_mm: f64) -> Result<Block, PrintError> {
    let bars = code128::bars(text)?;
    let across = bars.modules + 2 * code128::QUIET;
    // The label's own edge is white too, but what lies beyond is not known: the quiet zone is inside.
    let module_mm = module(text, across, area.width(), dot_mm, BAR_MM)?;
    let height = (area.height() * 0.38).clamp(BAR_HEIGHT_LEAST_MM, 12.0);
    let top = area.bottom - height;
    if top < area.top {
        return Err(PrintError::DoesNotFit { found: text.to_owned() });
    }
    let left = on_dot(area.left + f64::from(code128::QUIET) * module_mm, dot_mm);
    let mut block = Block::new(Role::Figure(format!("Code 128: {text}")));
    let bar = |[at, width]: [u32; 2]| {
        Area::new(left + f64::from(at) * module_mm, top, f64::from(width) * module_mm, height)
    };
    block.marks.push(Mark::Ink(bars.bars.into_iter().map(bar).collect()));
    area.bottom = top - 1.0;
    Ok(block)
}

/// A square at the right of `area`, which loses what it takes.
fn square(text: &str, area: &mut Area, dot_mm: f64) -> Result<Block, PrintError> {
    let code = qr::runs(text)?;
    let across = code.side + 2 * qr::QUIET;
    let free = area.height().min(area.width() * 0.6);
    let module_mm = module(text, across, free, dot_mm, SQUARE_MM)?;
    let size = f64::from(across) * module_mm;
    let inset = f64::from(qr::QUIET) * module_mm;
    let left = on_dot(area.right - size + inset, dot_mm);
    let top = on_dot(area.top + (area.height() - size) / 2.0 + inset, dot_mm);
    let mut block = Block::new(Role::Figure(format!("QR code: {text}")));
    let run = |[row, column, length]: [u32; 3]| {
        Area::new(
            left + f64::from(column) * module_mm,
            top + f64::from(row) * module_mm,
            f64::from(length) * module_mm,
            module_mm,
        )
    };
    block.marks.push(Mark::Ink(code.runs.into_iter().map(run).collect()));
    area.right -= size;
    Ok(block)
}

/// The widest module of whole dots with which `across` of them are within `free_mm`.
fn module(
    text: &str,
    across: u32,
    free_mm: f64,
    dot_mm: f64,
    [least, most]: [f64; 2],
) -> Result<f64, PrintError> {
    let wished = (free_mm / f64::from(across)).min(most);
    let module_mm = (wished / dot_mm + 1e-9).floor() * dot_mm;
    if module_mm < least {
        let needed = (least / dot_mm - 1e-9).ceil() * dot_mm;
        let needed_mm = needed * f64::from(across);
        return Err(PrintError::CodeDoesNotFit { found: text.to_owned(), needed_mm, free_mm });
    }
    Ok(module_mm)
}

fn on_dot(mm: f64, dot_mm: f64) -> f64 {
    (mm / dot_mm).round() * dot_mm
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn modules_are_whole_dots_and_never_too_fine_to_scan() {
        let dot = 25.4 / 203.0;
        let found = module("A", 100, 40.0, dot, BAR_MM).unwrap();
        assert!((found - 3.0 * dot).abs() < 1e-12, "0.4 mm are three dots and a bit");
        let error = module("A", 160, 39.0, dot, BAR_MM).unwrap_err();
        assert_eq!(error.to_string(), "the code of `A` takes 40.0 mm and has 39.0 mm");
    }
}
