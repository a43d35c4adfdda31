//! What does `quote` do? From a repair option to a closed job.

use binwright_shop::ShopError;
use binwright_shop::bench::{Closing, OnBench, QuoteAsked, QuoteCard, QuoteState};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::bench::on_bench;
use super::stock::keep;
use super::{Done, Failure, answer, nothing, open};
use crate::args::quote::{CloseArgs, MakeArgs, QuoteAct, What};
use crate::batch;
use crate::places::Places;
use crate::render;
use crate::say::Say;

/// A quote to be made, as a line of a batch.
#[derive(Debug, Default, Deserialize)]
#[serde(default)]
struct Line {
    cover: String,
    while_in_there: bool,
    customer: String,
    #[serde(flatten)]
    on_bench: serde_json::Map<String, serde_json::Value>,
}

/// A quote that was made, as a line of a batch.
#[derive(Debug, Serialize)]
struct Made {
    #[serde(skip_serializing_if = "Option::is_none")]
    id: Option<String>,
    #[serde(flatten)]
    quote: QuoteCard,
}

/// Does what the command line asks of quotes and jobs.
///
/// # Errors
///
/// [`Failure`] when it could not.
pub fn run(act: &QuoteAct, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let mut shop = open(places)?;
    let at = Timestamp::now();
    let card = match act {
        QuoteAct::Make(args) if args.batch.is_some() => return make_all(args, places),
        QuoteAct::Make(MakeArgs { what, customer, .. }) => {
            let asked = QuoteAsked { customer: customer.clone(), ..asked(what)? };
            shop.quote_make(&shop.rules()?, &asked, at, keep(&what.hand))?
        }
        QuoteAct::Revise { number, what } => {
            shop.quote_revise(&shop.rules()?, number, &asked(what)?, at, keep(&what.hand))?
        }
        QuoteAct::Show { number } => shop.quote(number)?,
        QuoteAct::List { state } => {
            let cards = shop.quotes(state.as_deref().map(state_named).transpose()?)?;
            answer(say, &cards, |say| render::quote_list(say, &cards))?;
            return Ok(if cards.is_empty() { nothing("no such quotes") } else { Done::Well });
        }
        QuoteAct::Accept { number, hand } => shop.quote_accept(number, keep(hand))?,
        QuoteAct::Issue { number, hand } => {
            shop.quote_issue(number, &hand.name(), at, keep(hand))?
        }
        QuoteAct::Close(CloseArgs { number, readings, fault, anyway, hand }) => {
            let closing = Closing {
                readings: readings.clone(),
                faults: fault.clone(),
                anyway: anyway.clone(),
            };
            shop.quote_close(&shop.rules()?, number, &closing, keep(hand))?
        }
        QuoteAct::Drop { number, why, hand } => shop.quote_drop(number, why, keep(hand))?,
    };
    answer(say, &card, |say| render::quote_card(say, &card))?;
    Ok(Done::Well)
}

fn asked(what: &What) -> Result<QuoteAsked, Failure> {
    Ok(QuoteAsked {
        on_bench: on_bench(&what.on_bench)?,
        cover: what.cover.clone().unwrap_or_default(),
        extras: what.while_in_there,
        customer: String::new(),
        who: what.hand.name(),
    })
}

fn make_all(args: &MakeArgs, places: &Places) -> Result<Done, Failure> {
    let mut shop = open(places)?;
    let rules = shop.rules()?;
    let Some(file) = &args.batch else { return Ok(Done::Nothing) };
    batch::each(file, |line: Line| {
        let on_bench: OnBench = serde_json::from_value(line.on_bench.into())
            .map_err(|error| ShopError::Question { message: error.to_string() })?;
        let asked = QuoteAsked {
            on_bench,
            cover: line.cover,
            extras: line.while_in_there,
            customer: line.customer,
            who: args.what.hand.name(),
        };
        let id = asked.on_bench.id.clone();
        let keep = keep(&args.what.hand);
        let quote = shop.quote_make(&rules, &asked, Timestamp::now(), keep)?;
        Ok(Made { id, quote })
    })
}

fn state_named(word: &str) -> Result<QuoteState, Failure> {
    QuoteState::named(word).ok_or_else(|| Failure::Option {
        found: word.to_owned(),
        wanted: "state of a quote",
        hint: "They are open, accepted, issued, closed and dropped.".to_owned(),
    })
}
