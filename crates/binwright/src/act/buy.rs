//! What do the commands of the buying desk do?

use binwright_shop::buying::{AdviceAsked, Method, Target};

use super::{Done, Failure, answer, nothing, open_behind, raw, today};
use crate::args::buy::{AdviseArgs, Allocate, BuyAct};
use crate::places::Places;
use crate::render::buy as render;
use crate::say::Say;

pub fn buy(act: BuyAct, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    match act {
        BuyAct::Advise(args) => advise(&args, places, say),
        BuyAct::Transfers { order_cost } => {
            let shop = open_behind(places)?;
            let order_cost = order_cost.map(|text| shop.money(&text)).transpose()?;
            let asked = AdviceAsked { order_cost, ..AdviceAsked::on(today()) };
            let lines = shop.advise_transfers(&asked)?;
            answer(say, &lines, |say| lines.iter().for_each(|line| render::transfer(say, line)))?;
            let none = "nothing need go from branch to branch";
            Ok(if lines.is_empty() { nothing(none) } else { Done::Well })
        }
    }
}

fn advise(args: &AdviseArgs, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let shop = open_behind(places)?;
    let money = |text: &Option<String>| text.as_deref().map(|text| shop.money(text)).transpose();
    let asked = AdviceAsked {
        as_of: args.as_of.unwrap_or_else(today),
        target: match args.allocate {
            Allocate::Cycle => Target::CycleService(args.service),
            Allocate::Fill => Target::Fill(args.service),
            Allocate::Value => Target::Value(args.service),
        },
        lead_months: args.lead_months,
        review_months: args.review_months,
        budget: money(&args.budget)?,
        order_cost: money(&args.order_cost)?,
        holding_a_year: args.holding,
        method: args.method.as_deref().and_then(Method::of_word),
        branch: places.bought_for().map(str::to_owned),
    };
    let advised = shop.advise(&asked)?;
    if advised.lines.is_empty() {
        return Ok(nothing("nothing was ever wanted up to that day; import demand first"));
    }
    if args.csv {
        return raw(advised.csv()?.as_bytes());
    }
    answer(say, &advised, |say| render::advised(say, &advised, args.all, args.past))?;
    Ok(Done::Well)
}
