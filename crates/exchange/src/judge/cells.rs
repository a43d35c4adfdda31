//! What does one cell stand for: a key, a word, a number, money?

use std::borrow::Cow;
use std::str::FromStr;

use binwright_catalog::{Currency, DecimalMark, Money, Quantity};
use rust_decimal::Decimal;

use super::{Judge, Judged, wrong};
use crate::cell::key_fault;
use crate::columns::Slot;
use crate::sniff::Marks;

impl<'a> Judge<'a, '_> {
    pub(super) fn slot(&self, at: usize) -> &'a Slot {
        &self.columns.slots[at]
    }

    pub(super) fn word(&self, at: usize) -> &'a str {
        self.slot(at).word(self.cells)
    }

    /// The column and what stands in it.
    pub(super) fn cell(&self, at: usize) -> (&'a Slot, &'a str) {
        (self.slot(at), self.word(at))
    }

    pub(super) fn text(&self, at: usize) -> String {
        self.slot(at).text(self.cells).to_owned()
    }

    pub(super) fn key(&self, at: usize) -> Judged<String> {
        let (slot, text) = self.cell(at);
        if text.is_empty() {
            let reason = format!("`{}` is missing", self.columns.table.fields()[at].name);
            return Err(wrong(&slot.header, text, reason, "a row cannot do without it").into());
        }
        match key_fault(text) {
            Some((reason, right)) => Err(wrong(&slot.header, text, reason, right).into()),
            None => Ok(text.to_owned()),
        }
    }

    pub(super) fn one_of<T: FromStr<Err: std::fmt::Display>>(
        &self,
        at: usize,
        words: &str,
    ) -> Judged<T> {
        let (slot, text) = self.cell(at);
        text.parse()
            .map_err(|error: T::Err| wrong(&slot.header, text, error.to_string(), words).into())
    }

    /// Whether `text` can be read two ways and nobody said which.
    pub(super) fn ask(&self, slot: &Slot, text: &str) -> Judged<()> {
        let typed = || slot.at.is_some_and(|at| (self.typed)(at));
        if !self.columns.asking || Marks::of(text) != Marks::Unclear || typed() {
            return Ok(());
        }
        let reason = format!("`{text}` can be a decimal or a thousand");
        let right = "say the decimal mark by option or as `decimal` in a map";
        Err(wrong(&slot.header, text, reason, right).into())
    }

    /// The number in a column as plain digits with a point, thousands taken out where declared.
    fn plain<'s>(&'s self, slot: &'s Slot) -> Judged<Cow<'s, str>> {
        let text = slot.word(self.cells);
        self.ask(slot, text)?;
        let mark = if self.columns.decimal == DecimalMark::Comma { ',' } else { '.' };
        if let Some(thousands) = self.columns.thousands {
            let (whole, part) = text.split_once(mark).unwrap_or((text, ""));
            let groups: Vec<&str> = whole.split(thousands).collect();
            let first = groups[0].trim_start_matches('-').len();
            if groups.len() > 1
                && (1..=3).contains(&first)
                && groups[1..].iter().all(|g| g.len() == 3)
            {
                let point = if part.is_empty() { "" } else { "." };
                return Ok(Cow::Owned(format!("{}{point}{part}", groups.concat())));
            }
        }
        let other = if mark == ',' { '.' } else { ',' };
        if text.contains(other) {
            let reason = format!("`{text}` has a `{other}` where `{mark}` is the decimal mark");
            let right = format!(
                "decimals after `{mark}`, no marks between thousands, or a map with `decimal` and \
                 `thousands`"
            );
            return Err(wrong(&slot.header, text, reason, right).into());
        }
        Ok(if mark == ',' { text.replace(',', ".").into() } else { text.into() })
    }

    /// An exchange rate above nought with at most six decimals; one when it is blank.
    pub(super) fn rate(&self, at: usize) -> Judged<Decimal> {
        let (slot, text) = self.cell(at);
        if text.is_empty() {
            return Ok(Decimal::ONE);
        }
        let plain = self.plain(slot)?;
        let digits = plain.bytes().all(|byte| byte.is_ascii_digit() || byte == b'.');
        let read = Decimal::from_str_exact(&plain).ok().filter(|_| digits);
        read.filter(|rate| *rate > Decimal::ZERO && rate.scale() <= 6).ok_or_else(|| {
            let reason = format!("`{text}` is not a rate of exchange");
            wrong(&slot.header, text, reason, "above 0, at most six decimals").into()
        })
    }

    /// Money in `currency`; `None` when it is blank.
    pub(super) fn amount(&self, at: usize, currency: Currency) -> Judged<Option<Money>> {
        let blank = self.word(at).is_empty();
        if blank { Ok(None) } else { self.money_in(at, currency).map(Some) }
    }

    pub(super) fn quantity(&self, at: usize, least: Quantity) -> Judged<Quantity> {
        self.quantity_in(self.slot(at), least)
    }

    pub(super) fn quantity_in(&self, slot: &Slot, least: Quantity) -> Judged<Quantity> {
        let text = slot.word(self.cells);
        let right = "digits with at most three decimals, such as 4 or 2.5";
        let read = self.plain(slot)?.parse::<Quantity>();
        let quantity = read.map_err(|error| wrong(&slot.header, text, error.to_string(), right))?;
        if quantity < least {
            let reason = format!("`{text}` is less than {least}");
            return Err(wrong(&slot.header, text, reason, format!("{least} or more")).into());
        }
        Ok(quantity)
    }

    /// A quantity of at least a thousandth; one when it is blank.
    pub(super) fn pieces(&self, at: usize) -> Judged<Quantity> {
        if self.word(at).is_empty() {
            return Ok(Quantity::ONE);
        }
        self.quantity(at, Quantity::from_thousandths(1))
    }

    /// A quantity that is a limit; none when it is blank.
    pub(super) fn limit(&self, at: usize) -> Judged<Option<Quantity>> {
        let blank = self.word(at).is_empty();
        if blank { Ok(None) } else { self.quantity(at, Quantity::ZERO).map(Some) }
    }

    pub(super) fn whole(&self, at: usize) -> Judged<Option<u16>> {
        let (slot, text) = self.cell(at);
        if text.is_empty() {
            return Ok(None);
        }
        let digits = text.bytes().all(|byte| byte.is_ascii_digit());
        text.parse().ok().filter(|_| digits).map(Some).ok_or_else(|| {
            let reason = format!("`{text}` is not a whole number");
            wrong(&slot.header, text, reason, "digits alone, at most 65535").into()
        })
    }

    pub(super) fn money(&self, amount: usize, currency: usize) -> Judged<Money> {
        self.money_in(amount, self.one_of(currency, "three letters, such as EUR")?)
    }

    fn money_in(&self, amount: usize, currency: Currency) -> Judged<Money> {
        let (slot, text) = self.cell(amount);
        let money = Money::parse(&self.plain(slot)?, currency).map_err(|error| {
            let decimals = currency.exponent();
            let right = format!("digits with at most {decimals} decimals");
            wrong(&slot.header, text, error.to_string(), right)
        })?;
        if money.minor < 0 {
            let reason = format!("`{text}` is less than nothing");
            return Err(wrong(&slot.header, text, reason, "0 or more").into());
        }
        Ok(money)
    }
}
