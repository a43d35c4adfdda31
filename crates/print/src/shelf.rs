//! What is at the shelf to be counted or taken? Count sheets and pick lists.

use binwright_catalog::{Condition, Quantity};

use crate::{
    Pages, PrintError, Setting,
    flow::{Column, Flow, Row, SMALL_MM},
    letter,
};

/// One part in one bin and condition.
#[derive(Debug, Clone, PartialEq)]
pub struct ShelfLine {
    /// The shelf position.
    pub bin: String,
    /// The part's house number.
    pub number: String,
    /// What it is.
    pub description: String,
    /// In which condition.
    pub condition: Condition,
    /// What the books say is there, or what is to be taken; `None` hides it from who counts.
    pub quantity: Option<Quantity>,
}

/// Bins to be counted.
#[derive(Debug, Clone, PartialEq)]
pub struct CountSheet {
    /// What the count is called.
    pub name: String,
    /// In the order the shelves are walked.
    pub lines: Vec<ShelfLine>,
}

/// Parts to be taken from the shelves.
#[derive(Debug, Clone, PartialEq)]
pub struct PickList {
    /// What they are for: the job's or the order's number.
    pub reference: String,
    /// In the order the shelves are walked.
    pub lines: Vec<ShelfLine>,
}

/// Returns the sheet on which a count is written down.
///
/// # Errors
///
/// [`PrintError::Nothing`] without lines.
pub fn count_sheet(count: &CountSheet, setting: &Setting) -> Result<Pages, PrintError> {
    let title = format!("Count sheet {}", count.name);
    sheet(title, "Counted by", ["booked", "counted"], &count.lines, setting)
}

/// Returns the list with which parts are taken from the shelves.
///
/// # Errors
///
/// [`PrintError::Nothing`] without lines.
pub fn pick_list(list: &PickList, setting: &Setting) -> Result<Pages, PrintError> {
    let title = format!("Pick list {}", list.reference);
    sheet(title, "Taken by", ["take", "taken"], &list.lines, setting)
}

fn sheet(
    title: String,
    who: &str,
    [stated, written]: [&str; 2],
    lines: &[ShelfLine],
    setting: &Setting,
) -> Result<Pages, PrintError> {
    if lines.is_empty() {
        return Err(PrintError::Nothing);
    }
    let about = [(who, "______________________   on ______________")];
    let mut flow = letter::start(setting, &title, &about);
    table(&mut flow, stated, written, lines);
    Ok(flow.finish(title, setting.day))
}

/// Lays a line for each of `lines`: how many are `stated`, and room for what is `written` by hand.
pub(crate) fn table(flow: &mut Flow, stated: &str, written: &str, lines: &[ShelfLine]) {
    let columns = [
        Column::new("bin", 1.5).bold(),
        Column::new("number", 2.2).bold(),
        Column::new("what", 4.0),
        Column::new("condition", 1.5),
        Column::new(stated, 1.0).at_end(),
        Column::new(written, 1.6).written(),
    ];
    let rows: Vec<Row> = lines
        .iter()
        .map(|line| {
            let quantity = line.quantity.map(|pieces| pieces.to_string()).unwrap_or_default();
            let condition = line.condition.to_string();
            Row::new([&line.bin, &line.number, &line.description, &condition, &quantity, ""])
        })
        .collect();
    flow.table(&columns, &rows, SMALL_MM);
}
