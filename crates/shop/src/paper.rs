//! What can be put on paper? Outlines to lay a part on, labels, sheets, orders and receipts.

mod jobs;
mod outlines;

use std::fs;

use binwright_print::{
    self as print, Code, Core, CoreReceipt, CountSheet, Label, OrderLine, PickList, PurchaseOrder,
    ShelfLine,
};
pub use binwright_print::{LabelSheet, Pages, Paper, PrinterScale, Setting};
use jiff::civil::Date;

use crate::buying::orders::OrderedLine;
use crate::settings::Settings;
use crate::{Shop, ShopError};

/// What a label carries to be scanned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LabelCode {
    /// Code 128.
    Bars,
    /// QR.
    Square,
    /// Nothing.
    None,
}

/// On what, and how, labels are printed.
#[derive(Debug, Clone, PartialEq)]
pub struct LabelsAsked {
    /// Key of the label sheet; one of the built-in ones or of the shop's `labels` folder.
    pub sheet: String,
    /// What is to be scanned.
    pub code: LabelCode,
    /// The first label to use on a sheet begun before, from 1.
    pub first: usize,
    /// The printer's correction; that of the settings when not given.
    pub scale: Option<PrinterScale>,
    /// The day the document carries.
    pub day: Date,
}

impl Shop {
    /// The setting of a document: the shop's letterhead and printer from its settings.
    ///
    /// # Errors
    ///
    /// When the settings have a mistake, or the logo cannot be read.
    pub fn paper(
        &self,
        paper: Paper,
        scale: Option<PrinterScale>,
        day: Date,
    ) -> Result<Setting, ShopError> {
        let dir = self.store.dir();
        let settings = Settings::of(dir)?;
        let mut setting = Setting::new(paper, day);
        setting.scale = match scale {
            Some(scale) => scale,
            None => PrinterScale::new(settings.printer.scale_x, settings.printer.scale_y)?,
        };
        let head = settings.shop;
        setting.shop.name =
            if head.name.is_empty() { self.store.identity()?.name } else { head.name };
        setting.shop.address = head.address;
        setting.shop.small_print = head.small_print.lines().map(str::to_owned).collect();
        if !head.logo.is_empty() {
            let path = dir.join(&head.logo);
            let bytes = fs::read(&path)
                .map_err(|source| ShopError::Unreadable { path: path.clone(), source })?;
            setting.shop.logo = Some(print::Logo::read(bytes)?);
        }
        Ok(setting)
    }

    /// Labels for the parts or bins with these names.
    ///
    /// # Errors
    ///
    /// When a name is neither a part's nor a bin's, or the sheet is not known or cannot take them.
    pub fn labels(&self, names: &[String], asked: &LabelsAsked) -> Result<Pages, ShopError> {
        let sheet = self.label_sheet(&asked.sheet)?;
        let scale = match asked.scale {
            Some(scale) => scale,
            None => self.paper(Paper::A4, None, asked.day)?.scale,
        };
        let labels: Vec<Label> =
            names.iter().map(|name| self.label(name, asked.code)).collect::<Result<_, _>>()?;
        Ok(print::labels(&labels, &sheet, asked.first.saturating_sub(1), scale, asked.day)?)
    }

    fn label(&self, name: &str, code: LabelCode) -> Result<Label, ShopError> {
        let bin = self.store.bins()?.into_iter().find(|bin| bin.name.eq_ignore_ascii_case(name));
        let (number, description, bin) = if let Some(bin) = bin {
            let about = [bin.aisle, bin.description];
            let about = about.into_iter().filter(|text| !text.is_empty());
            (bin.name, about.collect::<Vec<_>>().join(", "), String::new())
        } else {
            let id = self.part_numbered(name)?;
            let part = self.part(id)?;
            let stock = self.stock_here_first(id)?;
            let bin = stock.into_iter().map(|line| line.bin).next().unwrap_or_default();
            (part.house, part.description, bin)
        };
        let code = match code {
            LabelCode::Bars => Some(Code::Code128(number.clone())),
            LabelCode::Square => Some(Code::Qr(number.clone())),
            LabelCode::None => None,
        };
        Ok(Label { number, description, bin, code })
    }

    /// The label sheets that can be named: the built-in ones and those of the shop's own folder.
    ///
    /// # Errors
    ///
    /// When a file of the shop has a mistake.
    pub fn label_sheets(&self) -> Result<Vec<LabelSheet>, ShopError> {
        let mut sheets = LabelSheet::built_in();
        for (_, text) in crate::shop::own_files(self.store.dir(), "labels")? {
            let own = LabelSheet::parse(&text)?;
            sheets.retain(|sheet| sheet.key != own.key);
            sheets.push(own);
        }
        Ok(sheets)
    }

    fn label_sheet(&self, key: &str) -> Result<LabelSheet, ShopError> {
        let sheets = self.label_sheets()?;
        let known = sheets.iter().map(|sheet| sheet.key.clone()).collect();
        let found = sheets.into_iter().find(|sheet| sheet.key == key);
        found.ok_or_else(|| ShopError::NoSuchLabelSheet { found: key.to_owned(), known })
    }

    /// The count sheet with that number, blind.
    ///
    /// # Errors
    ///
    /// When there is no such sheet.
    pub fn count_paper(&self, sheet: i64, setting: &Setting) -> Result<Pages, ShopError> {
        let drawn = self.count_sheet(sheet)?;
        let mut lines = Vec::with_capacity(drawn.lines.len());
        for line in drawn.lines {
            lines.push(ShelfLine {
                description: self.described(&line.part)?,
                bin: line.bin,
                number: line.part,
                condition: line.condition,
                quantity: None,
            });
        }
        let name = format!("count {}, {}", drawn.sheet, drawn.what);
        Ok(print::count_sheet(&CountSheet { name, lines }, setting)?)
    }

    /// What is promised to a quote or job, along the aisles.
    ///
    /// # Errors
    ///
    /// [`print::PrintError::Nothing`] when nothing is promised to it.
    pub fn pick_paper(&self, reference: &str, setting: &Setting) -> Result<Pages, ShopError> {
        let holds = self.holds()?;
        // A quote may be named in short, as `quote show` takes it: Q-1.
        let quote = if holds.iter().any(|hold| hold.reference == reference) {
            None
        } else {
            self.store.quote(reference).ok().map(|quote| quote.number)
        };
        let reference = quote.as_deref().unwrap_or(reference);
        let mut lines = Vec::new();
        for hold in holds.into_iter().filter(|hold| hold.reference == reference) {
            lines.push(ShelfLine {
                description: self.described(&hold.part)?,
                bin: hold.bin,
                number: hold.part,
                condition: hold.condition,
                quantity: Some(hold.quantity),
            });
        }
        lines.sort_by(|a, b| a.bin.cmp(&b.bin));
        Ok(print::pick_list(&PickList { reference: reference.to_owned(), lines }, setting)?)
    }

    /// An order as it goes to its supplier.
    ///
    /// # Errors
    ///
    /// When there is no such order.
    pub fn order_paper(&self, name: &str, setting: &Setting) -> Result<Pages, ShopError> {
        let order = self.order(name)?;
        let supplier = self.store.suppliers()?.into_iter().find(|s| s.name == order.supplier);
        let address = supplier.map(|supplier| supplier.address).unwrap_or_default();
        let mut to = vec![order.supplier];
        to.extend(address.split(',').map(|part| part.trim().to_owned()).filter(|p| !p.is_empty()));
        let mut deliver_to = vec![setting.shop.name.clone()];
        deliver_to.extend(setting.shop.address.iter().cloned());
        let remark = match order.freight.minor {
            0 => "freight free".to_owned(),
            _ => format!("the total holds {} of freight", order.freight),
        };
        let line = |line: OrderedLine| OrderLine {
            supplier_number: line.number,
            number: line.part,
            description: line.description,
            quantity: line.quantity,
            each: Some(line.each),
            amount: Some(line.amount),
            due: line.due.map(|due| due.to_string()).unwrap_or_default(),
        };
        let paper = PurchaseOrder {
            number: order.order,
            supplier: to,
            deliver_to,
            lines: order.lines.into_iter().map(line).collect(),
            total: Some(order.total),
            remark,
        };
        Ok(print::order(&paper, setting)?)
    }

    /// The receipt for old parts a customer still owes and the deposit left for them, by reference.
    ///
    /// # Errors
    ///
    /// [`print::PrintError::Nothing`] when none are owed under that reference.
    pub fn cores_paper(&self, reference: &str, setting: &Setting) -> Result<Pages, ShopError> {
        let owed = self.cores(Some(binwright_store::Side::Customer))?;
        let mut customer = String::new();
        let mut cores = Vec::new();
        let mut total: Option<binwright_catalog::Money> = None;
        for line in owed.lines.into_iter().filter(|line| line.reference == reference) {
            customer = line.party;
            total = Some(total.map_or(Ok(line.deposit), |sum| sum.checked_add(line.deposit))?);
            let until = line.until.map_or_else(String::new, |day| format!(" until {day}"));
            cores.push(Core {
                description: match self.store.unit(&line.item)? {
                    Some(unit) => unit.description,
                    None => self.described(&line.item).unwrap_or_default(),
                },
                number: line.item,
                quantity: line.owed,
                state: format!("owed{until}"),
                deposit: Some(line.deposit),
            });
        }
        let receipt = CoreReceipt { number: reference.to_owned(), customer, cores, total };
        Ok(print::core_receipt(&receipt, setting)?)
    }

    fn described(&self, number: &str) -> Result<String, ShopError> {
        Ok(self.part(self.part_numbered(number)?)?.description)
    }
}
