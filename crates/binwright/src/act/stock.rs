//! What do the commands of the stock desk do?

use binwright_catalog::{Condition, Quantity};
use binwright_shop::branches::Come;
use binwright_shop::stock::{Act, Slip, Task, restore};
use binwright_shop::{Hold, Keep, ShopError};
use serde_json::json;

use super::{Done, Failure, answer, nothing, open_behind, today};
use crate::args::stock as args;
use crate::args::stock::{BackupArgs, Hand, HoldAct, Piece, RestoreArgs, StockAct};
use crate::places::Places;
use crate::render::{branch, stock as render};
use crate::say::Say;

pub fn keep(hand: &Hand) -> Keep {
    if hand.dry_run { Keep::DryRun } else { Keep::Yes }
}

pub fn stock(act: StockAct, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let mut shop = open_behind(places)?;
    let (act, piece) = match act {
        StockAct::Of { part } => {
            let reach = shop.reach(&part)?;
            answer(say, &reach, |say| render::reach(say, &reach))?;
            let none = !reach.free.is_positive() && !reach.free_in_kits.is_positive();
            return Ok(if none { nothing("nothing is free") } else { Done::Well });
        }
        StockAct::Asked { part, quantity, take_back, dry_run } => {
            let asked = self::quantity(&quantity)?;
            let asked = if take_back { asked.negated() } else { asked };
            let keep = if dry_run { Keep::DryRun } else { Keep::Yes };
            let lost = shop.note_lost(&part, asked, keep)?;
            answer(say, &lost, |say| render::lost(say, &lost))?;
            return Ok(Done::Well);
        }
        StockAct::Undo { movement, hand } => {
            let posted = shop.undo(movement, &hand.name(), keep(&hand))?;
            answer(say, &posted, |say| render::posted(say, &posted))?;
            return Ok(Done::Well);
        }
        StockAct::History { part, bin, reference, last } => {
            let moved =
                shop.history(part.as_deref(), bin.as_deref(), reference.as_deref(), last)?;
            answer(say, &moved, |say| moved.iter().for_each(|line| render::moved(say, line)))?;
            return Ok(if moved.is_empty() { nothing("nothing has moved") } else { Done::Well });
        }
        StockAct::Value { on } => {
            let value = shop.value(on.unwrap_or_else(today))?;
            answer(say, &value, |say| render::value(say, &value))?;
            return Ok(Done::Well);
        }
        StockAct::Transit => {
            let lines = shop.in_transit()?;
            answer(say, &lines, |say| lines.iter().for_each(|line| branch::in_transit(say, line)))?;
            return Ok(if lines.is_empty() {
                nothing("nothing is on its way")
            } else {
                Done::Well
            });
        }
        StockAct::Arrive { transfer, quantity, lost, bin, slip } => {
            let many = |text: Option<String>| text.map(|text| self::quantity(&text)).transpose();
            let (came, lost) = (many(quantity)?, many(lost)?.unwrap_or(Quantity::ZERO));
            let keep = keep(&slip.hand);
            let come = Come { transfer, came, lost, bin, slip: self::slip(&slip) };
            let posted = shop.arrive(&come, keep)?;
            answer(say, &posted, |say| render::posted(say, &posted))?;
            return Ok(Done::Well);
        }
        StockAct::Receive { piece, unit_cost } => {
            (Act::Receive(unit_cost.map(|text| shop.money(&text)).transpose()?), piece)
        }
        StockAct::Issue(piece) => (Act::Issue, piece),
        StockAct::Sell(piece) => (Act::Sell, piece),
        StockAct::Move { piece, to } => (Act::Move(to), piece),
        StockAct::Transfer { piece, to } => (Act::Transfer(to), piece),
        StockAct::Regrade { piece, into } if into == "scrap" => (Act::Scrap, piece),
        StockAct::Regrade { piece, into } => (Act::Regrade(condition(&into)?), piece),
        StockAct::ReturnIn(piece) => (Act::ReturnIn, piece),
        StockAct::ReturnOut(piece) => (Act::ReturnOut, piece),
        StockAct::Correct(piece) => (Act::Correct, piece),
        StockAct::Break { piece, parts_bin } => {
            (Act::Break(parts_bin.unwrap_or_else(|| piece.bin.clone())), piece)
        }
        StockAct::Build { piece, parts_bin } => {
            (Act::Build(parts_bin.unwrap_or_else(|| piece.bin.clone())), piece)
        }
    };
    let (task, keep) = (task(act, &piece)?, keep(&piece.slip.hand));
    let posted = shop.post(&task, keep)?;
    answer(say, &posted, |say| render::posted(say, &posted))?;
    Ok(Done::Well)
}

fn task(act: Act, piece: &Piece) -> Result<Task, Failure> {
    Ok(Task {
        act,
        part: piece.part.clone(),
        bin: piece.bin.clone(),
        condition: condition(&piece.condition)?,
        quantity: quantity(&piece.quantity)?,
        slip: slip(&piece.slip),
    })
}

fn slip(said: &args::Slip) -> Slip {
    Slip {
        reference: said.reference.clone(),
        note: said.note.clone(),
        who: said.hand.name(),
        key: said.key.clone(),
    }
}

pub fn hold(act: HoldAct, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let mut shop = open_behind(places)?;
    match act {
        HoldAct::Place { part, bin, quantity, condition, reference, until, dry_run } => {
            let (condition, quantity) = (self::condition(&condition)?, self::quantity(&quantity)?);
            let hold = Hold { reference, part, bin, condition, quantity, until };
            let keep = if dry_run { Keep::DryRun } else { Keep::Yes };
            let line = shop.hold(&hold, keep)?;
            answer(say, &line, |say| render::hold(say, &line))?;
        }
        HoldAct::List => {
            let holds = shop.holds()?;
            answer(say, &holds, |say| holds.iter().for_each(|line| render::hold(say, line)))?;
            return Ok(if holds.is_empty() { nothing("nothing is held") } else { Done::Well });
        }
        HoldAct::Release { hold, hand } => {
            shop.release(hold, keep(&hand))?;
            let done = json!({ "released": hold, "dry_run": hand.dry_run });
            answer(say, &done, |say| {
                say.done(format!("hold {hold} is let go"), hand.dry_run);
            })?;
        }
        HoldAct::Post { hold, sell, hand } => {
            let posted = shop.post_hold(hold, sell, &hand.name(), keep(&hand))?;
            answer(say, &posted, |say| render::posted(say, &posted))?;
        }
    }
    Ok(Done::Well)
}

pub fn backup(args: &BackupArgs, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let shop = open_behind(places)?;
    shop.store().backup(&args.file).map_err(ShopError::from)?;
    let movements = shop.store().last_movement().map_err(ShopError::from)?;
    let file = args.file.display().to_string();
    let done = json!({ "file": file, "movements": movements });
    answer(say, &done, |say| say.line(format!("backed up to {file}")))?;
    Ok(Done::Well)
}

pub fn bring_back(args: &RestoreArgs, say: &mut Say) -> Result<Done, Failure> {
    let done = restore(&args.file, &args.folder, today())?;
    answer(say, &done, |say| {
        let (folder, movements) = (done.folder.display(), done.movements);
        say.line(format!("restored to {folder}: {movements} movements, every one checked"));
    })?;
    Ok(Done::Well)
}

pub fn condition(word: &str) -> Result<Condition, Failure> {
    word.parse().map_err(|_| Failure::Option {
        found: word.to_owned(),
        wanted: "condition",
        hint: "It is new, used-good or core.".to_owned(),
    })
}

pub fn quantity(text: &str) -> Result<Quantity, Failure> {
    text.parse().map_err(|_| Failure::Option {
        found: text.to_owned(),
        wanted: "quantity",
        hint: "A number with at most three decimals is.".to_owned(),
    })
}
