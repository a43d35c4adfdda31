//! What do the commands of the counting desk and of old parts do?

use std::fs::File;
use std::io;
use std::path::Path;

use binwright_catalog::Condition;
use binwright_shop::counts::{Scope, read_counts};
use binwright_shop::settings::Settings;
use binwright_shop::{CoreDebt, Counted, Settled, Settling, Shop, ShopError, Side};
use serde_json::json;

use super::stock::{condition, keep, quantity};
use super::{Done, Failure, answer, nothing, open_behind, raw, scan, today};
use crate::args::count::{self, CoresAct, CountAct, SettleArgs, SideArg};
use crate::places::Places;
use crate::render::count as render;
use crate::say::{Form, Say};

pub fn count(act: CountAct, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let mut shop = open_behind(places)?;
    match act {
        CountAct::Open { scope, hand } => {
            let counting = Settings::of(shop.store().dir())?.counting;
            let sheet =
                shop.draw_count_sheet(&named(scope), &counting, &hand.name(), keep(&hand))?;
            answer(say, &sheet, |say| render::sheet(say, &sheet))?;
        }
        CountAct::List => {
            let sheets = shop.count_sheets()?;
            answer(say, &sheets, |say| sheets.iter().for_each(|head| render::head(say, head)))?;
            return Ok(if sheets.is_empty() { nothing("no sheet is open") } else { Done::Well });
        }
        CountAct::Sheet { sheet } => {
            let sheet = shop.count_sheet(sheet)?;
            if say.form == Form::Json {
                say.json(&sheet)?;
            } else {
                return raw(sheet.csv()?.as_bytes());
            }
        }
        CountAct::Enter { sheet, file, part, bin, counted, condition: word, scan, hand } => {
            let who = hand.name();
            let counts = match (file, part, bin, counted) {
                _ if scan => scanned(condition(&word)?, &who, &shop)?,
                (Some(file), ..) => filled_in(&file, &who)?,
                (None, Some(part), Some(bin), Some(counted)) => {
                    let (condition, quantity) = (condition(&word)?, quantity(&counted)?);
                    vec![Counted { part, bin, condition, quantity, who, at: None }]
                }
                _ => Vec::new(),
            };
            let off = shop.bins_not_on(sheet, &counts)?;
            let taken = shop.enter_counts(sheet, &counts, keep(&hand))?;
            let done = json!({
                "sheet": sheet, "counts": taken, "bins_not_on_sheet": off, "dry_run": hand.dry_run,
            });
            let taken = format!("{taken} counts taken in");
            answer(say, &done, |say| {
                say.done(taken, hand.dry_run);
                if !off.is_empty() && say.form != Form::Plain {
                    say.line(format!("not on the sheet before, counted in: {}", off.join(", ")));
                }
            })?;
        }
        CountAct::Review { sheet } => {
            let review = shop.review_count(sheet)?;
            answer(say, &review, |say| render::review(say, &review))?;
        }
        CountAct::Post { sheet, second, partly, hand } => {
            let left = shop.review_count(sheet)?.not_counted;
            let posted = shop.post_count(sheet, &second, partly, &hand.name(), keep(&hand))?;
            answer(say, &posted, |say| {
                crate::render::stock::posted(say, &posted);
                if left > 0 && say.form != Form::Plain {
                    say.line(format!("not counted and left as booked: {left}"));
                }
            })?;
        }
        CountAct::Drop { sheet, hand } => {
            shop.drop_count(sheet, keep(&hand))?;
            let done = json!({ "dropped": sheet, "dry_run": hand.dry_run });
            let gone = format!("sheet {sheet} is thrown away");
            answer(say, &done, |say| say.done(gone, hand.dry_run))?;
        }
    }
    Ok(Done::Well)
}

fn named(scope: count::Scope) -> Scope {
    let bin = scope.bin.map(Scope::Bin);
    let aisle = scope.aisle.map(Scope::Aisle);
    bin.or(aisle).or(scope.class.map(Scope::Class)).unwrap_or(Scope::Due)
}

fn filled_in(file: &Path, who: &str) -> Result<Vec<Counted>, Failure> {
    if file == Path::new("-") {
        return Ok(read_counts(io::stdin().lock(), who)?);
    }
    let unreadable = |source| ShopError::Unreadable { path: file.to_owned(), source };
    Ok(read_counts(File::open(file).map_err(unreadable)?, who)?)
}

/// What was scanned, in one condition.
fn scanned(condition: Condition, who: &str, shop: &Shop) -> Result<Vec<Counted>, Failure> {
    let lines = io::stdin().lock();
    let pieces = scan::read(lines, shop, "", |code| Ok(Some(code.to_owned())))?;
    let counted = |scan::Pieces { what: part, bin, quantity }| {
        let who = who.to_owned();
        Counted { part, bin, condition, quantity, who, at: None }
    };
    Ok(pieces.into_iter().map(counted).collect())
}

pub fn cores(act: CoresAct, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let mut shop = open_behind(places)?;
    match act {
        CoresAct::Owe { side: with, party, item, quantity, deposit, until, reference, hand } => {
            let debt = CoreDebt {
                side: side(with),
                party,
                item,
                quantity: self::quantity(&quantity)?,
                deposit: shop.money(&deposit)?,
                reference,
                who: hand.name(),
                day: today(),
                until,
            };
            let number = shop.owe_core(&debt, keep(&hand))?;
            let done = json!({ "debt": number, "dry_run": hand.dry_run });
            answer(say, &done, |say| say.done(format!("owed as {number}"), hand.dry_run))?;
        }
        CoresAct::Returned { settle: args, bin } => {
            settle(&mut shop, &args, Settled::Returned, bin, say)?;
        }
        CoresAct::Kept(args) => settle(&mut shop, &args, Settled::Kept, None, say)?,
        CoresAct::List { side: with } => {
            let cores = shop.cores(with.map(side))?;
            answer(say, &cores, |say| render::cores(say, &cores))?;
        }
    }
    Ok(Done::Well)
}

fn settle(
    shop: &mut Shop,
    args: &SettleArgs,
    how: Settled,
    bin: Option<String>,
    say: &mut Say,
) -> Result<(), Failure> {
    let settling = Settling {
        debt: args.debt,
        how,
        quantity: quantity(&args.quantity)?,
        reference: args.reference.clone(),
        who: args.hand.name(),
        bin,
    };
    let done = shop.settle_core(&settling, keep(&args.hand))?;
    answer(say, &done, |say| {
        let what = if done.kept { "kept" } else { "goes back" };
        say.done(format!("deposit of {} {what}", done.deposit), done.dry_run);
        if let Some(posting) = done.posting.filter(|_| !done.dry_run) {
            say.line(format!("posted as {posting}"));
        }
    })
}

fn side(side: SideArg) -> Side {
    match side {
        SideArg::Customer => Side::Customer,
        SideArg::Supplier => Side::Supplier,
    }
}
