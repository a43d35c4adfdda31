//! What do the commands of paper do?

use std::path::{Path, PathBuf};

use binwright_shop::files::{refuse_there, write_bytes};
use binwright_shop::paper::{LabelCode, LabelsAsked, Pages, Paper, PrinterScale, Setting};
use binwright_shop::{Shop, ShopError};

use super::{Done, Failure, answer, raw, today};
use crate::args::paper::{Page, PaperAct, Scan, SheetArgs};
use crate::places::Places;
use crate::say::Say;

pub fn paper(act: PaperAct, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let mut shop = match &act {
        PaperAct::Outline { .. } => super::open(places)?,
        _ => super::open_behind(places)?,
    };
    let (pages, sheet) = match act {
        PaperAct::Outline { parts, sheet } => {
            (shop.outline(&parts, &setting(&shop, &sheet)?)?, sheet)
        }
        PaperAct::Labels { names, on, code, first, sheet } => {
            let code = match code {
                Scan::Bars => LabelCode::Bars,
                Scan::Square => LabelCode::Square,
                Scan::None => LabelCode::None,
            };
            let (scale, day) = (scale(&sheet)?, day(&sheet));
            let asked = LabelsAsked { sheet: on, code, first, scale, day };
            (shop.labels(&names, &asked)?, sheet)
        }
        PaperAct::Sheets => {
            let sheets = shop.label_sheets()?;
            let named: Vec<[&str; 2]> =
                sheets.iter().map(|sheet| [sheet.key.as_str(), sheet.label.as_str()]).collect();
            answer(say, &named, |say| named.iter().for_each(|fields| say.fields(fields)))?;
            return Ok(Done::Well);
        }
        PaperAct::Count { sheet_number, sheet } => {
            (shop.count_paper(sheet_number, &setting(&shop, &sheet)?)?, sheet)
        }
        PaperAct::Pick { reference, sheet } => {
            (shop.pick_paper(&reference, &setting(&shop, &sheet)?)?, sheet)
        }
        PaperAct::Order { order, sheet } => {
            (shop.order_paper(&order, &setting(&shop, &sheet)?)?, sheet)
        }
        PaperAct::Quote { quotes, sheet } => {
            (shop.quote_paper(&quotes, &setting(&shop, &sheet)?)?, sheet)
        }
        PaperAct::Ticket { quote, sheet } => {
            (shop.ticket_paper(&shop.rules()?, &quote, &setting(&shop, &sheet)?)?, sheet)
        }
        PaperAct::Cores { reference, sheet } => {
            (shop.cores_paper(&reference, &setting(&shop, &sheet)?)?, sheet)
        }
    };
    write(&pages, &sheet, say)
}

/// The setting the sheet's options ask for.
fn setting(shop: &Shop, sheet: &SheetArgs) -> Result<Setting, Failure> {
    let page = match sheet.page {
        Page::A4 => Paper::A4,
        Page::Letter => Paper::Letter,
    };
    Ok(shop.paper(page, scale(sheet)?, day(sheet))?)
}

fn day(sheet: &SheetArgs) -> jiff::civil::Date {
    sheet.day.unwrap_or_else(today)
}

fn scale(sheet: &SheetArgs) -> Result<Option<PrinterScale>, Failure> {
    let scale = sheet.printer_scale.as_deref().map(str::parse).transpose();
    Ok(scale.map_err(ShopError::from)?)
}

/// Writes the pages as one PDF, or as an SVG a page.
fn write(pages: &Pages, sheet: &SheetArgs, say: &mut Say) -> Result<Done, Failure> {
    if sheet.out == Path::new("-") {
        return raw(&pages.pdf().map_err(ShopError::from)?);
    }
    let svg = sheet.out.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("svg"));
    let files: Vec<(PathBuf, Vec<u8>)> = if svg {
        let all = pages.svg();
        let many = all.len() > 1;
        let named = |at: usize| if many { numbered(&sheet.out, at) } else { sheet.out.clone() };
        (1..).zip(all).map(|(at, page)| (named(at), page.into_bytes())).collect()
    } else {
        vec![(sheet.out.clone(), pages.pdf().map_err(ShopError::from)?)]
    };
    files.iter().try_for_each(|(path, _)| refuse_there(path, sheet.force))?;
    for (path, bytes) in &files {
        write_bytes(path, bytes)?;
        say.line(format!("written to {}", path.display()));
    }
    say.line("Print at 100 %, without fitting to the page.");
    Ok(Done::Well)
}

/// `sheet-2.svg` of `sheet.svg`.
fn numbered(path: &Path, at: usize) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!("{stem}-{at}.svg"))
}
