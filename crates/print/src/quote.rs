//! What will the repair cost? The options of a quote side by side.

use binwright_catalog::Money;
use jiff::civil::Date;

use crate::{
    Pages, PrintError, Setting,
    flow::{Column, Flow, Row, SMALL_MM, TEXT_MM},
    letter,
};

/// Options beside one another on one table; more go on in the next.
const BESIDE: usize = 4;

/// A quote as the customer gets it.
#[derive(Debug, Clone, PartialEq)]
pub struct Quote {
    /// Its number, with the revision.
    pub number: String,
    /// Who asked.
    pub customer: String,
    /// For which unit.
    pub unit: String,
    /// The last day its prices hold.
    pub valid_until: Date,
    /// What can be chosen from.
    pub options: Vec<Choice>,
    /// What else the customer should know, a paragraph each.
    pub notes: Vec<String>,
}

/// One option.
#[derive(Debug, Clone, PartialEq)]
pub struct Choice {
    /// What it is called: `A`, `repair with used plate`.
    pub name: String,
    /// When it would be ready.
    pub ready: String,
    /// What is charged for, net; lines of the same words stand in one row.
    pub lines: Vec<(String, Money)>,
    /// What is paid back when the old part or unit comes in.
    pub core_deposit: Option<Money>,
    /// Sum of the lines and the deposit before tax.
    pub net: Money,
    /// What is taxed and how much tax that makes.
    pub taxes: Vec<(String, Money)>,
    /// What is to be paid.
    pub total: Money,
}

/// Returns the quote with its options side by side.
///
/// # Errors
///
/// [`PrintError::Nothing`] without options.
pub fn quote(quote: &Quote, setting: &Setting) -> Result<Pages, PrintError> {
    if quote.options.is_empty() {
        return Err(PrintError::Nothing);
    }
    let title = format!("Quote {}", quote.number);
    let (day, until) = (setting.day.to_string(), quote.valid_until.to_string());
    let about = [
        ("For", quote.customer.as_str()),
        ("Unit", &quote.unit),
        ("Date", &day),
        ("Valid until", &until),
    ];
    let mut flow = letter::start(setting, &title, &about);
    for options in quote.options.chunks(BESIDE) {
        side_by_side(&mut flow, options);
        flow.gap(4.0);
    }
    for note in &quote.notes {
        flow.paragraph(note, TEXT_MM);
    }
    if quote.options.iter().any(|option| option.core_deposit.is_some()) {
        flow.paragraph(
            "The core deposit is paid back when the old part comes in complete and fit to be rebuilt.",
            TEXT_MM,
        );
    }
    letter::signature(&mut flow, "option chosen, date, signature");
    letter::small_print(&mut flow, setting);
    Ok(flow.finish(title, setting.day))
}

fn side_by_side(flow: &mut Flow, options: &[Choice]) {
    let mut columns = vec![Column::new("", 3.0)];
    columns.extend(options.iter().map(|option| Column::new(&option.name, 2.0).at_end()));
    let row = |head: &str, cell: &dyn Fn(&Choice) -> String| -> Row {
        let cells = options.iter().map(cell);
        Row::from(std::iter::once(head.to_owned()).chain(cells).collect::<Vec<_>>())
    };
    let mut rows = Vec::new();
    for words in named_once(options, |option| &option.lines) {
        rows.push(row(&words, &|option| amounts(&option.lines, &words)));
    }
    if options.iter().any(|option| option.core_deposit.is_some()) {
        let deposit = |option: &Choice| option.core_deposit.map(|money| money.to_string());
        rows.push(row("core deposit", &|option| deposit(option).unwrap_or_default()));
    }
    rows.push(row("net", &|option| option.net.to_string()));
    for words in named_once(options, |option| &option.taxes) {
        rows.push(row(&words, &|option| amounts(&option.taxes, &words)));
    }
    rows.push(row("to pay", &|option| option.total.to_string()).strong());
    rows.push(row("ready", &|option| option.ready.clone()));
    flow.table(&columns, &rows, SMALL_MM);
}

/// The words of all lines, each once, in the order they come up.
fn named_once(options: &[Choice], lines: impl Fn(&Choice) -> &Vec<(String, Money)>) -> Vec<String> {
    let mut names: Vec<String> = Vec::new();
    for (words, _) in options.iter().flat_map(lines) {
        if !names.contains(words) {
            names.push(words.clone());
        }
    }
    names
}

/// What `lines` charge for `words`; several charges stand beside one another.
fn amounts(lines: &[(String, Money)], words: &str) -> String {
    let amounts: Vec<String> = lines
        .iter()
        .filter(|(named, _)| named == words)
        .map(|(_, money)| money.to_string())
        .collect();
    amounts.join(" + ")
}
