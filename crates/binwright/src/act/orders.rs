//! What do the commands of orders and of the buyer's reports do?

use std::io;

use binwright_catalog::{Money, Quantity};
use binwright_shop::buying::orders::OrderCard;
use binwright_shop::buying::{AdviceAsked, Arrival, BasketTerms, Delivery, Period, Rank, Rest};
use binwright_shop::settings::Settings;
use binwright_shop::{Shop, ShopError};
use jiff::ToSpan;

use super::stock::{keep, quantity};
use super::{Done, Failure, answer, nothing, open_behind, scan, today};
use crate::args::orders::{
    BasketArgs, OrderAct, PeriodArgs, RankArg, ReceiveArgs, ReportAct, RestArg,
};
use crate::places::Places;
use crate::render::orders as render;
use crate::say::Say;

pub fn order(act: OrderAct, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let mut shop = open_behind(places)?;
    let done = match act {
        OrderAct::Basket(args) => {
            return basket(&args, places.bought_for(), &mut shop, say);
        }
        OrderAct::Receive(args) => return receive(&args, &mut shop, say),
        OrderAct::List { last } => {
            let orders = shop.orders(last)?;
            answer(say, &orders, |say| orders.iter().for_each(|card| render::head(say, card)))?;
            return Ok(if orders.is_empty() { nothing("nothing was ordered") } else { Done::Well });
        }
        OrderAct::Show { order } => {
            let card = shop.order(&order)?;
            answer(say, &card, |say| render::card(say, &card))?;
            return Ok(Done::Well);
        }
        OrderAct::Send { order, file, force, hand } => {
            shop.send_order(&order, file.as_deref(), force, keep(&hand))?
        }
        OrderAct::Acknowledge { order, theirs, hand } => {
            shop.acknowledge_order(&order, &theirs, keep(&hand))?
        }
        OrderAct::Settle { order, line, rest, due, note, hand } => {
            let rest = match rest {
                RestArg::Short => Rest::Short,
                RestArg::BackOrdered => Rest::BackOrdered,
                RestArg::Due => Rest::Due,
            };
            shop.settle_order_line(&order, line, rest, due, &note, keep(&hand))?
        }
        OrderAct::Cancel { order, hand } => shop.cancel_order(&order, keep(&hand))?,
    };
    answer(say, &done, |say| render::done(say, &done))?;
    Ok(Done::Well)
}

fn basket(
    args: &BasketArgs,
    branch: Option<&str>,
    shop: &mut Shop,
    say: &mut Say,
) -> Result<Done, Failure> {
    let share = |text: &str| {
        text.parse().map_err(|_| Failure::Option {
            found: text.to_owned(),
            wanted: "share",
            hint: "A fifth is written 0.2.".to_owned(),
        })
    };
    let terms = BasketTerms {
        seconds: args.seconds,
        gap_share: args.gap,
        day_share: share(&args.day_cost)?,
        holding_a_year: share(&args.holding)?,
        ahead_months: args.ahead,
    };
    let weighed = if args.wanted.is_empty() {
        let branch = branch.map(str::to_owned);
        let advised = shop.advise(&AdviceAsked { branch, ..AdviceAsked::on(today()) })?;
        if advised.lines.iter().all(|line| line.order == 0) {
            return Ok(nothing("nothing is due"));
        }
        shop.weigh_due(&advised.lines, &terms)?
    } else {
        let wanted: Vec<_> = args.wanted.iter().map(|word| line(word)).collect::<Result<_, _>>()?;
        shop.weigh_basket(&wanted, &terms)?
    };
    if args.draft {
        let drafted = shop.draft_basket(weighed, &args.hand.name(), branch, keep(&args.hand))?;
        answer(say, &drafted, |say| render::drafted(say, &drafted))?;
    } else {
        answer(say, &weighed, |say| render::weighed(say, &weighed))?;
    }
    Ok(Done::Well)
}

fn line(word: &str) -> Result<(String, Quantity), Failure> {
    match word.rsplit_once('=') {
        Some((part, amount)) if !part.is_empty() => Ok((part.to_owned(), quantity(amount)?)),
        _ => Err(Failure::Option {
            found: word.to_owned(),
            wanted: "part and quantity",
            hint: "Write RP-1107C=4.".to_owned(),
        }),
    }
}

fn receive(args: &ReceiveArgs, shop: &mut Shop, say: &mut Say) -> Result<Done, Failure> {
    let card = shop.order(&args.order)?;
    let arrivals = match (args.line, &args.bin, &args.quantity) {
        (Some(line), Some(bin), Some(amount)) => {
            let each = args.each.as_deref().map(|text| Money::parse(text, card.goods.currency));
            vec![Arrival {
                line,
                substitute: args.substitute.clone(),
                bin: bin.clone(),
                quantity: quantity(amount)?,
                each: each.transpose().map_err(ShopError::from)?,
            }]
        }
        _ => scanned(&card, shop)?,
    };
    let (note, who, key) = (args.note.clone(), args.hand.name(), args.key.clone());
    let delivery = Delivery { arrivals, note, who, key, sure: args.sure };
    let received = shop.receive_order(&args.order, &delivery, keep(&args.hand))?;
    answer(say, &received, |say| render::received(say, &received))?;
    Ok(Done::Well)
}

/// What was scanned, by any number of the part or the supplier's.
fn scanned(card: &OrderCard, shop: &Shop) -> Result<Vec<Arrival>, Failure> {
    let (lines, astray) = (io::stdin().lock(), "It is neither a bin nor on this order.");
    let pieces = scan::read(lines, shop, astray, |code| shop.line_of_code(card, code))?;
    let arrival = |scan::Pieces { what: line, bin, quantity }| Arrival {
        line,
        substitute: None,
        bin,
        quantity,
        each: None,
    };
    Ok(pieces.into_iter().map(arrival).collect())
}

pub fn report(act: &ReportAct, places: &Places, say: &mut Say) -> Result<Done, Failure> {
    let shop = open_behind(places)?;
    match *act {
        ReportAct::Fast { period, by, limit } => {
            let list = Settings::of(shop.store().dir())?.quoting.price_list;
            let rank = if by == RankArg::Margin { Rank::Margin } else { Rank::Picks };
            let mut fast = shop.fast_report(period.into(), rank, &list)?;
            fast.lines.truncate(limit);
            answer(say, &fast, |say| render::fast(say, &fast))?;
        }
        ReportAct::Dead(period) => {
            let dead = shop.dead_report(period.into())?;
            answer(say, &dead, |say| render::dead(say, &dead))?;
        }
        ReportAct::Turns(period) => {
            let turns = shop.turns_report(period.into())?;
            answer(say, &turns, |say| render::turns(say, &turns))?;
        }
        ReportAct::Service { period, asked } => {
            let service = shop.service_report(period.into(), asked)?;
            answer(say, &service, |say| render::service(say, &service))?;
        }
        ReportAct::Forecast { period, limit } => {
            let mut report = shop.forecast_report(period.into())?;
            report.lines.truncate(limit);
            answer(say, &report, |say| render::forecast(say, &report))?;
        }
        ReportAct::Cores => {
            let cores = shop.aged_cores()?;
            answer(say, &cores, |say| cores.iter().for_each(|core| render::core(say, core)))?;
        }
        ReportAct::Leads { to } => {
            let leads = shop.lead_report(to.unwrap_or_else(today))?;
            answer(say, &leads, |say| leads.iter().for_each(|line| render::lead(say, line)))?;
        }
    }
    Ok(Done::Well)
}

impl From<PeriodArgs> for Period {
    fn from(args: PeriodArgs) -> Self {
        let to = args.to.unwrap_or_else(today);
        let from = args.from.unwrap_or_else(|| to.saturating_sub(1.year()).saturating_add(1.day()));
        Self { from, to }
    }
}
