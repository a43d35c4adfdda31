//! What is to be done on this unit at the bench? The job ticket.

use binwright_catalog::shown::percent;

use crate::{
    Pages, PrintError, Setting, ShelfLine,
    flow::{Column, Flow, Row, SMALL_MM, TEXT_MM},
    letter, shelf,
};

/// A job as the bench gets it.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Ticket {
    /// The job's number.
    pub job: String,
    /// Whose unit it is.
    pub customer: String,
    /// Which unit.
    pub unit: String,
    /// What was complained of.
    pub complaint: String,
    /// Most probable first.
    pub findings: Vec<TicketFinding>,
    /// Most worth making first.
    pub checks_left: Vec<TicketCheck>,
    /// What is to be taken care of throughout.
    pub cautions: Vec<String>,
    /// What to take from the shelves.
    pub parts: Vec<ShelfLine>,
    /// What is done without a part, one line each.
    pub work: Vec<String>,
}

/// A fault that the readings support.
#[derive(Debug, Clone, PartialEq)]
pub struct TicketFinding {
    /// The fault in words.
    pub name: String,
    /// From 0 to 1.
    pub probability: f64,
    /// What speaks for it and against it.
    pub why: String,
}

/// A check that is still to be made.
#[derive(Debug, Clone, PartialEq)]
pub struct TicketCheck {
    /// What is checked.
    pub name: String,
    /// How.
    pub how: String,
    /// What can hurt while doing it.
    pub cautions: Vec<String>,
}

/// Returns the ticket of one job.
///
/// # Errors
///
/// [`PrintError::Nothing`] when it has neither findings nor checks, parts or work.
pub fn ticket(ticket: &Ticket, setting: &Setting) -> Result<Pages, PrintError> {
    let nothing = ticket.findings.is_empty()
        && ticket.checks_left.is_empty()
        && ticket.parts.is_empty()
        && ticket.work.is_empty();
    if nothing {
        return Err(PrintError::Nothing);
    }
    let title = format!("Job ticket {}", ticket.job);
    let about = [
        ("Unit", ticket.unit.as_str()),
        ("Customer", &ticket.customer),
        ("Complaint", &ticket.complaint),
    ];
    let mut flow = letter::start(setting, &title, &about);
    cautions(&mut flow, &ticket.cautions);
    findings(&mut flow, &ticket.findings);
    checks(&mut flow, &ticket.checks_left);
    parts(&mut flow, &ticket.parts);
    work(&mut flow, &ticket.work);
    Ok(flow.finish(title, setting.day))
}

fn section(flow: &mut Flow, name: &str) {
    flow.keep(25.0);
    flow.gap(3.0);
    flow.heading(name, 3.8);
}

/// Before anything else on the sheet: what can hurt.
fn cautions(flow: &mut Flow, cautions: &[String]) {
    section(flow, "Cautions");
    for caution in cautions {
        flow.strong(&format!("! {caution}"), TEXT_MM);
    }
    flow.paragraph(
        "Local codes, the makers of machine and tool, and licensed practice come before this sheet.",
        SMALL_MM,
    );
}

fn findings(flow: &mut Flow, findings: &[TicketFinding]) {
    if findings.is_empty() {
        return;
    }
    section(flow, "Findings");
    let columns = [
        Column::new("likely", 1.0).at_end(),
        Column::new("fault", 3.0).bold(),
        Column::new("why", 6.0),
        Column::new("found?", 1.5).written(),
    ];
    let rows: Vec<Row> = findings
        .iter()
        .map(|finding| Row::new([&percent(finding.probability), &finding.name, &finding.why, ""]))
        .collect();
    flow.table(&columns, &rows, SMALL_MM);
}

fn checks(flow: &mut Flow, checks: &[TicketCheck]) {
    if checks.is_empty() {
        return;
    }
    section(flow, "Checks left");
    let columns = [
        Column::new("check", 3.0).bold(),
        Column::new("how", 5.0),
        Column::new("caution", 3.0),
        Column::new("reading", 2.0).written(),
    ];
    let rows: Vec<Row> = checks
        .iter()
        .map(|check| Row::new([&check.name, &check.how, &check.cautions.join(" "), ""]))
        .collect();
    flow.table(&columns, &rows, SMALL_MM);
}

fn parts(flow: &mut Flow, parts: &[ShelfLine]) {
    if parts.is_empty() {
        return;
    }
    section(flow, "Parts");
    shelf::table(flow, "take", "taken", parts);
}

fn work(flow: &mut Flow, work: &[String]) {
    if work.is_empty() {
        return;
    }
    section(flow, "Work");
    let columns = [Column::new("to do", 8.0), Column::new("done", 1.5).written()];
    let rows: Vec<Row> = work.iter().map(|words| Row::new([words, ""])).collect();
    flow.table(&columns, &rows, SMALL_MM);
}
