//! What does the shop say of the unit on the bench, and what of its quote?

use binwright_shop::bench::{BenchAnswer, CheckCard, OnBench, QuoteAsked, QuoteCard, check_cards};
use binwright_shop::{Keep, Shop, ShopError};
use jiff::Timestamp;

/// A unit with what its readings say.
#[derive(Debug, Clone, PartialEq)]
pub struct Benched {
    /// What was asked.
    pub job: OnBench,
    /// What came of it.
    pub answer: BenchAnswer,
    /// The checks of its machine, the least stripped first.
    pub checks: Vec<CheckCard>,
}

impl Benched {
    /// What `shop` says of `job`, which may have a `quote` that holds stock.
    ///
    /// # Errors
    ///
    /// As [`Shop::bench`].
    pub fn of(shop: &mut Shop, mut job: OnBench, quote: Option<&str>) -> Result<Self, ShopError> {
        let rules = shop.rules()?;
        shop.free_own(&mut job, quote)?;
        let answer = shop.bench(&rules, &job)?;
        let table = rules.faults.table(answer.machine);
        let mut checks = check_cards(table);
        checks.sort_by_key(|card| table.level(&card.level.0).unwrap_or(usize::MAX));
        Ok(Self { job, answer, checks })
    }

    /// Whether `card` is made on the vehicle: the checks stand in the order of strip-down.
    pub(super) fn is_least_stripped(&self, card: &CheckCard) -> bool {
        self.checks.first().is_some_and(|first| first.level == card.level)
    }

    /// Whether something was read on it that is only read off the vehicle.
    pub(super) fn is_off(&self) -> bool {
        let read = self.answer.diagnosis.readings.iter();
        read.filter_map(|reading| self.checks.iter().find(|card| card.key == reading.check))
            .any(|card| !self.is_least_stripped(card))
    }

    /// Place of the check that is most worth its minutes.
    pub(super) fn best_check(&self) -> Option<usize> {
        let best = self.answer.diagnosis.next_checks.first()?;
        self.checks.iter().position(|card| card.key == best.check)
    }

    /// Place of the check that is marked as next; none is when more cannot change anything.
    pub(super) fn next_check(&self) -> Option<usize> {
        self.best_check().filter(|_| !self.answer.diagnosis.stop.stop)
    }

    /// The roles that are called for, each once.
    pub(super) fn roles(&self) -> Vec<&str> {
        let answer = &self.answer;
        let needs = answer.repair.needs.iter().map(|need| need.role.as_str());
        let calls = answer.diagnosis.calls.must.iter().map(|call| call.role.as_str());
        let mut roles: Vec<&str> = Vec::new();
        for role in needs.chain(calls) {
            if !roles.contains(&role) {
                roles.push(role);
            }
        }
        roles
    }

    /// `text` with the checks in it called what the screen calls them.
    pub(super) fn in_its_words(&self, text: &str) -> String {
        self.checks.iter().fold(text.to_owned(), |text, card| {
            let shown = format!("{} {}", card.code, card.name);
            text.replace(&format!("`{}`", card.key), &shown)
        })
    }
}

/// A quote that is looked at or made.
#[derive(Debug, Clone, PartialEq)]
pub struct Offered {
    /// What is quoted.
    pub asked: QuoteAsked,
    /// The quote that it is another revision of.
    pub revises: Option<String>,
    /// Whether it is made.
    pub keep: Keep,
}

impl Offered {
    /// The quote, made by `who` at `at` or only judged.
    ///
    /// # Errors
    ///
    /// As [`Shop::quote_make`] and [`Shop::quote_revise`].
    pub fn quoted(
        mut self,
        shop: &mut Shop,
        who: &str,
        at: Timestamp,
    ) -> Result<QuoteCard, ShopError> {
        who.clone_into(&mut self.asked.who);
        let rules = shop.rules()?;
        match self.revises {
            Some(number) => shop.quote_revise(&rules, &number, &self.asked, at, self.keep),
            None => shop.quote_make(&rules, &self.asked, at, self.keep),
        }
    }
}
