//! Which cores does a customer owe, and what is paid back for them? The receipt for cores and their deposit.

use binwright_catalog::{Money, Quantity};

use crate::{
    Pages, PrintError, Setting,
    flow::{Column, Row, SMALL_MM},
    letter,
};

/// What a customer left for cores that are still to come in.
#[derive(Debug, Clone, PartialEq)]
pub struct CoreReceipt {
    /// Its number.
    pub number: String,
    /// Who owes them.
    pub customer: String,
    /// The cores.
    pub cores: Vec<Core>,
    /// What is paid back in all, when it is settled.
    pub total: Option<Money>,
}

/// One kind of core that is owed.
#[derive(Debug, Clone, PartialEq)]
pub struct Core {
    /// The house number of the part or unit it is a core of.
    pub number: String,
    /// What it is.
    pub description: String,
    /// How many.
    pub quantity: Quantity,
    /// How it stands: `owed until 2031-05-01`.
    pub state: String,
    /// What is paid back for them, when it is settled.
    pub deposit: Option<Money>,
}

/// Returns the slip; it is signed once for the deposit and once when the cores come in.
///
/// # Errors
///
/// [`PrintError::Nothing`] without cores.
pub fn core_receipt(receipt: &CoreReceipt, setting: &Setting) -> Result<Pages, PrintError> {
    if receipt.cores.is_empty() {
        return Err(PrintError::Nothing);
    }
    let title = format!("Receipt for cores and deposit {}", receipt.number);
    let day = setting.day.to_string();
    let about = [("From", receipt.customer.as_str()), ("Date", &day)];
    let mut flow = letter::start(setting, &title, &about);
    let columns = [
        Column::new("number", 2.2).bold(),
        Column::new("what", 4.0),
        Column::new("pieces", 1.0).at_end(),
        Column::new("state", 2.5),
        Column::new("deposit back", 2.0).at_end(),
    ];
    let settled = |money: Option<Money>| {
        money.map_or_else(|| "to be settled".to_owned(), |money| money.to_string())
    };
    let mut rows: Vec<Row> = receipt
        .cores
        .iter()
        .map(|core| {
            let (pieces, deposit) = (core.quantity.to_string(), settled(core.deposit));
            Row::new([&core.number, &core.description, &pieces, &core.state, &deposit])
        })
        .collect();
    if let Some(total) = receipt.total {
        rows.push(Row::new(["total", "", "", "", &total.to_string()]).strong());
    }
    flow.table(&columns, &rows, SMALL_MM);
    letter::signature(&mut flow, "deposit taken by, date");
    letter::signature(&mut flow, "cores taken in by, date");
    letter::small_print(&mut flow, setting);
    Ok(flow.finish(title, setting.day))
}
