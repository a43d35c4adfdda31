//! Which labels are in the printer? Their sheet, told as data: `schema/labels/*.toml`.

use serde::Deserialize;

use crate::PrintError;

/// Sheets that are known without a shop's own files.
const BUILT_IN: [&str; 4] = [
    include_str!("../../../schema/labels/a4-3x8.toml"),
    include_str!("../../../schema/labels/a4-4x12.toml"),
    include_str!("../../../schema/labels/letter-3x9.toml"),
    include_str!("../../../schema/labels/single-60x30.toml"),
];

/// A sheet of equal labels in rows and columns; one row and one column is a single label.
#[derive(Debug, Clone, PartialEq, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LabelSheet {
    /// How it is asked for.
    pub key: String,
    /// What it is, in words.
    pub label: String,
    /// Width and height of the sheet in mm, as fed.
    pub sheet_mm: [f64; 2],
    /// Labels across.
    pub columns: u32,
    /// Labels down.
    pub rows: u32,
    /// From the sheet's left and top edge to the first label, in mm.
    pub margin_mm: [f64; 2],
    /// Width and height of one label in mm.
    pub label_mm: [f64; 2],
    /// Between labels, across and down, in mm.
    #[serde(default)]
    pub gap_mm: [f64; 2],
    /// Dots the printer sets to the inch: bars are whole dots wide.
    pub dots_per_inch: u32,
}

impl LabelSheet {
    /// Returns the sheets that are known without a shop's own files.
    pub fn built_in() -> Vec<Self> {
        BUILT_IN.iter().map(|text| Self::parse(text).expect("checked in test")).collect()
    }

    /// Reads a sheet from TOML and checks that its labels lie on it.
    ///
    /// # Errors
    ///
    /// [`PrintError::BadLabelSheet`] with what is wrong.
    pub fn parse(text: &str) -> Result<Self, PrintError> {
        let bad = |reason: String| PrintError::BadLabelSheet { reason };
        let sheet: Self = toml::from_str(text).map_err(|error| bad(error.message().to_owned()))?;
        let wrong = |what: &str| Err(bad(format!("`{}`: {what}", sheet.key)));
        let sizes = [sheet.sheet_mm, sheet.label_mm].concat();
        let spaces = [sheet.margin_mm, sheet.gap_mm].concat();
        if !sizes.iter().all(|mm| (5.0..=1200.0).contains(mm)) {
            return wrong("sheet and label are 5 to 1200 mm wide and high");
        }
        if !spaces.iter().all(|mm| (0.0..=1200.0).contains(mm)) {
            return wrong("margins and gaps are 0 mm or more");
        }
        if !(1..=100).contains(&sheet.columns) || !(1..=100).contains(&sheet.rows) {
            return wrong("there are 1 to 100 columns and rows");
        }
        if !(100..=4800).contains(&sheet.dots_per_inch) {
            return wrong("a printer sets 100 to 4800 dots to the inch");
        }
        let [last_x, last_y] = sheet.corner_mm(sheet.count() - 1);
        let reach = [last_x + sheet.label_mm[0], last_y + sheet.label_mm[1]];
        if reach[0] > sheet.sheet_mm[0] + 0.01 || reach[1] > sheet.sheet_mm[1] + 0.01 {
            return wrong(&format!("labels reach {:.1} × {:.1} mm", reach[0], reach[1]));
        }
        Ok(sheet)
    }

    /// Labels to a sheet.
    pub fn count(&self) -> usize {
        (self.columns * self.rows) as usize
    }

    /// Top left corner of the label at `place`, counted from 0 row by row.
    pub(crate) fn corner_mm(&self, place: usize) -> [f64; 2] {
        let across = [place % self.columns as usize, place / self.columns as usize];
        [0, 1].map(|axis| {
            let step = self.label_mm[axis] + self.gap_mm[axis];
            self.margin_mm[axis] + step * across[axis] as f64
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn built_in_sheets_are_in_order_and_named_once() {
        let mut keys: Vec<String> = LabelSheet::built_in().into_iter().map(|s| s.key).collect();
        keys.sort();
        keys.dedup();
        assert_eq!(keys.len(), BUILT_IN.len());
    }

    #[test]
    fn labels_that_leave_their_sheet_are_refused() {
        let wide = BUILT_IN[0].replace("columns = 3", "columns = 4");
        let error = LabelSheet::parse(&wide).unwrap_err().to_string();
        assert!(error.contains("labels reach 270.0 × "), "{error}");
        let error = LabelSheet::parse("key = 1").unwrap_err().to_string();
        assert!(error.contains("expected a string"), "{error}");
    }
}
