//! How do count sheets and owed cores read?

use binwright_shop::cores::Cores;
use binwright_shop::counts::{Review, Sheet, SheetHead};

use crate::say::{Form, Say};

/// Adds a sheet with room to write, or what was counted.
pub fn sheet(say: &mut Say, sheet: &Sheet) {
    if say.form != Form::Plain {
        say.heading(format!("sheet {}: {}, {}", sheet.sheet, sheet.what, sheet.day));
        if sheet.dry_run {
            say.line("can be drawn up; nothing was written");
        }
    }
    for line in &sheet.lines {
        let counted = line.counted.filter(|_| !line.again).map(|counted| counted.to_string());
        if say.form == Form::Plain {
            let counted = counted.unwrap_or_default();
            say.fields(&[&line.bin[..], &line.part, line.condition.word(), &counted]);
            continue;
        }
        let counted = counted.unwrap_or_else(|| "________".to_owned());
        say.line(format!(
            "     {:<10} {:<16} {:<10} {counted:>8}",
            line.bin, line.part, line.condition
        ));
    }
}

/// Adds one open sheet in short.
pub fn head(say: &mut Say, head: &SheetHead) {
    if say.form == Form::Plain {
        say.fields(&[
            head.sheet.to_string(),
            head.what.clone(),
            head.day.to_string(),
            head.counted.to_string(),
            head.lines.to_string(),
            head.who.clone(),
        ]);
        return;
    }
    say.line(format!(
        "{:>6}  {}  {:<20} {} of {} counted  {}",
        head.sheet, head.day, head.what, head.counted, head.lines, head.who
    ));
}

/// Adds where the book is wrong.
pub fn review(say: &mut Say, review: &Review) {
    for line in &review.differences {
        if say.form == Form::Plain {
            say.fields(&[
                line.bin.clone(),
                line.part.clone(),
                line.condition.to_string(),
                line.counted.to_string(),
                line.book.to_string(),
                line.correction.to_string(),
                line.counter.clone(),
                if line.again { "again" } else { "" }.to_owned(),
            ]);
            continue;
        }
        let again = if line.again { "  COUNT AGAIN" } else { "" };
        say.line(format!(
            "     {:<10} {:<16} {:<10} counted {:>8}, book {:>8}: {:>8}  {}{again}",
            line.bin,
            line.part,
            line.condition,
            line.counted,
            line.book,
            line.correction,
            line.counter
        ));
    }
    if say.form != Form::Plain {
        say.heading(format!(
            "{} differ, {} to count again, {} not counted",
            review.differences.len(),
            review.to_recount,
            review.not_counted
        ));
    }
}

/// Adds what is owed, and whose the deposits are.
pub fn cores(say: &mut Say, cores: &Cores) {
    for core in &cores.lines {
        let until = core.until.map(|until| until.to_string()).unwrap_or_default();
        if say.form == Form::Plain {
            say.fields(&[
                core.debt.to_string(),
                core.side.to_owned(),
                core.party.clone(),
                core.item.clone(),
                core.owed.to_string(),
                core.deposit.to_string(),
                core.day.to_string(),
                until,
                core.reference.clone(),
            ]);
            continue;
        }
        let late = if core.late { "  LATE" } else { "" };
        let until = if until.is_empty() { until } else { format!(", until {until}{late}") };
        say.line(format!(
            "{:>6}  {:<8} {:<20} {:>6} x {:<14} {:>12}  since {}{until}  {}",
            core.debt,
            core.side,
            core.party,
            core.owed,
            core.item,
            core.deposit,
            core.day,
            core.reference
        ));
    }
    let sums = [
        ("held for customers", cores.held_for_customers),
        ("lying with suppliers", cores.lying_with_suppliers),
        ("kept from customers", cores.kept_from_customers),
        ("kept by suppliers", cores.kept_by_suppliers),
    ];
    for (what, sum) in sums {
        if say.form == Form::Plain {
            say.fields(&[what, &sum.to_string()]);
        } else {
            say.line(format!("{what:<22} {sum:>14}"));
        }
    }
}
