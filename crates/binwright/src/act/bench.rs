//! What does `bench` do? Reads what was measured, asks the shop, says findings and what they call for.

use std::path::Path;

use binwright_shop::bench::{OnBench, check_cards, check_named, fault_cards};
use binwright_shop::diagnosis::Table;
use binwright_shop::{Asked, Shop, ShopError};

use super::{Done, Failure, answer, open};
use crate::args::bench::{BenchArgs, BenchList, OnBenchArgs};
use crate::batch;
use crate::places::Places;
use crate::render;
use crate::say::Say;

/// Answers what the command line asks of the bench.
///
/// # Errors
///
/// [`Failure`] when it could not.
pub fn run(args: &BenchArgs, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let mut shop = open(places)?;
    if let Some(list) = &args.list {
        return lists(&shop, list, say);
    }
    if let Some(file) = &args.batch {
        return questions(file, &mut shop);
    }
    let asked = on_bench(&args.on_bench)?;
    let found = shop.bench(&shop.rules()?, &asked)?;
    answer(say, &found, |say| render::bench_answer(say, &found, args.limit))?;
    Ok(Done::Well)
}

/// The unit and its readings as the command line has them.
pub fn on_bench(args: &OnBenchArgs) -> Result<OnBench, ShopError> {
    let mut asked = OnBench::from_words(&args.words)?;
    let pair = |text: &String| {
        let (role, number) =
            text.split_once('=').ok_or_else(|| ShopError::NotAPart { found: text.clone() })?;
        Ok::<_, ShopError>((role.trim().to_owned(), number.trim().to_owned()))
    };
    let fit = |pair: &[String]| {
        let words: Vec<String> = pair[1].split_whitespace().map(str::to_owned).collect();
        Ok::<_, ShopError>((pair[0].clone(), Asked::from_words(&words)?))
    };
    asked.parts = args.part.iter().map(pair).collect::<Result<_, _>>()?;
    asked.fits = args.fit.chunks_exact(2).map(fit).collect::<Result<_, _>>()?;
    asked.with.clone_from(&args.with);
    asked.unit.clone_from(&args.unit);
    asked.stripped.clone_from(&args.stripped);
    asked.volts = args.volts;
    asked.loose = args.loose;
    Ok(asked)
}

fn questions(file: &Path, shop: &mut Shop) -> Result<Done, Failure> {
    let rules = shop.rules()?;
    batch::each(file, |asked: OnBench| shop.bench(&rules, &asked))
}

fn lists(shop: &Shop, list: &BenchList, say: &mut Say) -> Result<Done, Failure> {
    let rules = shop.rules()?;
    let faults = &rules.faults;
    let table = |machine: &str| -> Result<&Table, Failure> {
        Ok(faults.table(machine.parse().map_err(ShopError::from)?))
    };
    match list {
        BenchList::Checks { machine, check: None } => {
            let cards = check_cards(table(machine)?);
            answer(say, &cards, |say| render::check_list(say, &cards))?;
        }
        BenchList::Checks { machine, check: Some(word) } => {
            let table = table(machine)?;
            let card = check_named(table, word)?;
            answer(say, &card, |say| render::check_card(say, &card, &table.deference))?;
        }
        BenchList::Learnt => {
            let learnt = rules.learnt();
            answer(say, &learnt, |say| render::learnt(say, &learnt))?;
        }
        BenchList::Faults { machine } => {
            let cards = fault_cards(table(machine)?);
            answer(say, &cards, |say| render::fault_list(say, &cards))?;
        }
    }
    Ok(Done::Well)
}
