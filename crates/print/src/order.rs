//! What is ordered, from whom, at what price? The order as the supplier gets it.

use binwright_catalog::{Money, Quantity};

use crate::{
    Pages, PrintError, Setting,
    flow::{Column, Row, SMALL_MM},
    letter,
};

/// An order.
#[derive(Debug, Clone, PartialEq)]
pub struct PurchaseOrder {
    /// Its number.
    pub number: String,
    /// Who is to deliver: name and address, one line each.
    pub supplier: Vec<String>,
    /// Where to: one line each; empty for the shop's own address.
    pub deliver_to: Vec<String>,
    /// What.
    pub lines: Vec<OrderLine>,
    /// What it comes to, when all prices are known.
    pub total: Option<Money>,
    /// What else is to be said.
    pub remark: String,
}

/// One line of an order.
#[derive(Debug, Clone, PartialEq)]
pub struct OrderLine {
    /// The supplier's number.
    pub supplier_number: String,
    /// The house number.
    pub number: String,
    /// What it is.
    pub description: String,
    /// How many.
    pub quantity: Quantity,
    /// Price of one, when known.
    pub each: Option<Money>,
    /// Price of the line, when known.
    pub amount: Option<Money>,
    /// When it is expected.
    pub due: String,
}

/// Returns the order.
///
/// # Errors
///
/// [`PrintError::Nothing`] without lines.
pub fn order(order: &PurchaseOrder, setting: &Setting) -> Result<Pages, PrintError> {
    if order.lines.is_empty() {
        return Err(PrintError::Nothing);
    }
    let title = format!("Order {}", order.number);
    let day = setting.day.to_string();
    let (supplier, deliver_to) = (order.supplier.join(", "), order.deliver_to.join(", "));
    let about = [
        ("To", supplier.as_str()),
        ("Date", &day),
        ("Deliver to", &deliver_to),
        ("Remark", &order.remark),
    ];
    let mut flow = letter::start(setting, &title, &about);
    let columns = [
        Column::new("your number", 2.2).bold(),
        Column::new("our number", 2.0),
        Column::new("what", 3.5),
        Column::new("pieces", 1.0).at_end(),
        Column::new("each", 1.8).at_end(),
        Column::new("amount", 1.9).at_end(),
        Column::new("due", 1.6),
    ];
    let said = |money: Option<Money>| money.map(|money| money.to_string()).unwrap_or_default();
    let mut rows: Vec<Row> = order
        .lines
        .iter()
        .map(|line| {
            let pieces = line.quantity.to_string();
            let (each, amount) = (said(line.each), said(line.amount));
            let (theirs, ours) = (&line.supplier_number, &line.number);
            Row::new([theirs, ours, &line.description, &pieces, &each, &amount, &line.due])
        })
        .collect();
    if let Some(total) = order.total {
        rows.push(Row::new(["total", "", "", "", "", &total.to_string(), ""]).strong());
    }
    flow.table(&columns, &rows, SMALL_MM);
    letter::small_print(&mut flow, setting);
    Ok(flow.finish(title, setting.day))
}
