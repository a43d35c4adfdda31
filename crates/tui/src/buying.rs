//! What does the buying desk see and do? What is due, why, and what if service or money were other.

mod chart;
mod view;

use binwright_shop::buying::{AdviceAsked, Advised, AdvisedLine, Target};
use binwright_shop::catalog::Money;
use binwright_shop::{Shop, ShopError};
use ratatui::Frame;
use ratatui::layout::Rect;

use crate::actions::{Act, Context};
use crate::desk::{Desk, Effect, Msg};
use crate::theme::Theme;
use crate::worker::{Answer, Question};

/// The service that can be asked for: every part lasts to the next arrival with this chance.
const SERVICE: [f64; 8] = [0.80, 0.85, 0.90, 0.95, 0.97, 0.98, 0.99, 0.995];

/// Budgets that are tried, in whole units of the shop's currency.
const BUDGETS: [u32; 13] =
    [20, 50, 100, 200, 500, 1000, 2000, 5000, 10_000, 20_000, 50_000, 100_000, 200_000];

/// Lines that a page moves by.
const PAGE: usize = 5;

/// The terms that advice is asked on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Terms {
    /// The chance that a part lasts from order to next arrival.
    pub service: f64,
    /// What may be spent, in whole units of the shop's currency.
    pub budget: Option<u32>,
}

impl Default for Terms {
    fn default() -> Self {
        Self { service: 0.95, budget: None }
    }
}

impl Terms {
    /// What `shop` advises on these terms today; a look a month, stock held at a quarter of its value a year.
    ///
    /// # Errors
    ///
    /// As [`Shop::advise`].
    pub fn advised(self, shop: &Shop) -> Result<Advised, ShopError> {
        let budget = self.budget.map(|whole| shop.money(&whole.to_string()));
        shop.advise(&AdviceAsked {
            as_of: shop.today(),
            target: Target::CycleService(self.service),
            lead_months: None,
            review_months: 1.0,
            budget: budget.transpose()?,
            order_cost: None,
            holding_a_year: 0.25,
        })
    }

    /// Somewhat more service, or less; the same at either end.
    fn service_moved(self, more: bool) -> Self {
        let mut steps = SERVICE.into_iter();
        let next = if more {
            steps.find(|step| *step > self.service)
        } else {
            steps.rfind(|step| *step < self.service)
        };
        Self { service: next.unwrap_or(self.service), ..self }
    }

    /// More money; as much as is wanted when the budget binds nothing.
    fn budget_raised(self, binds: bool) -> Self {
        let now = self.budget.filter(|_| binds);
        Self { budget: now.and_then(|now| BUDGETS.into_iter().find(|step| *step > now)), ..self }
    }

    /// Less money than now, or than `spent` when there was no budget.
    fn budget_lowered(self, spent: Option<Money>) -> Self {
        let below = |step: u32| match (self.budget, spent) {
            (Some(now), _) => step < now,
            (None, Some(spent)) => spent.decimal() > step.into(),
            (None, None) => false,
        };
        let next = BUDGETS.into_iter().rfind(|step| below(*step));
        Self { budget: next.or(self.budget), ..self }
    }
}

/// The buying desk.
#[derive(Debug, Default)]
pub struct Buying {
    terms: Terms,
    /// Number of the newest question.
    asked: u64,
    waiting: bool,
    advised: Option<Advised>,
    trouble: Option<String>,
    /// Among the lines that are due.
    cursor: usize,
}

impl Buying {
    fn ask(&mut self) -> Vec<Effect> {
        self.asked += 1;
        self.waiting = true;
        vec![Effect::Ask(self.asked, Question::Advise(self.terms))]
    }

    /// Asks again when the terms are others.
    fn on_terms(&mut self, terms: Terms) -> Vec<Effect> {
        if terms == self.terms {
            return Vec::new();
        }
        self.terms = terms;
        self.ask()
    }

    /// The lines that are due: to be ordered, or wanted and cut.
    fn due(&self) -> impl Iterator<Item = &AdvisedLine> {
        let lines = self.advised.iter().flat_map(|advised| &advised.lines);
        lines.filter(|line| line.order > 0 || line.cut.is_some())
    }

    fn chosen(&self) -> Option<&AdvisedLine> {
        self.due().nth(self.cursor)
    }

    /// What all orders cost together; `None` when no order has a price.
    fn spent(&self) -> Option<Money> {
        let mut costs = self.due().filter_map(|line| line.cost);
        let first = costs.next()?;
        costs.try_fold(first, |sum, cost| sum.checked_add(cost).ok())
    }

    fn answered(&mut self, answer: Answer) {
        self.waiting = false;
        match answer {
            Answer::Advised(advised) => {
                let on = self.chosen().map(|line| line.part.clone());
                (self.advised, self.trouble) = (Some(advised), None);
                let same = self.due().position(|line| Some(&line.part) == on.as_ref());
                self.cursor = same.unwrap_or(0);
            }
            Answer::Failed(what, hint) => {
                self.trouble = Some(format!("{what}. {}", hint.unwrap_or_default()));
            }
            _ => {}
        }
    }

    fn move_to(&mut self, row: usize) {
        self.cursor = row.min(self.due().count().saturating_sub(1));
    }

    fn act(&mut self, act: Act) -> Vec<Effect> {
        match act {
            Act::Desk(_) => return self.ask(),
            Act::Up => self.move_to(self.cursor.saturating_sub(1)),
            Act::Down => self.move_to(self.cursor + 1),
            Act::PageUp => self.move_to(self.cursor.saturating_sub(PAGE)),
            Act::PageDown => self.move_to(self.cursor + PAGE),
            Act::First => self.move_to(0),
            Act::Last => self.move_to(usize::MAX),
            Act::ServiceUp => return self.on_terms(self.terms.service_moved(true)),
            Act::ServiceDown => return self.on_terms(self.terms.service_moved(false)),
            Act::BudgetUp => {
                // While an answer is awaited, nobody knows whether the budget binds.
                let binds = self.waiting || self.due().any(|line| line.cut.is_some());
                return self.on_terms(self.terms.budget_raised(binds));
            }
            Act::BudgetDown => return self.on_terms(self.terms.budget_lowered(self.spent())),
            Act::Copy => {
                let Some(line) = self.chosen() else { return Vec::new() };
                return vec![
                    Effect::Copy(line.part.clone()),
                    Effect::Say(format!("{} sent to the terminal's clipboard", line.part)),
                ];
            }
            Act::Leave => return vec![Effect::Leave],
            _ => {}
        }
        Vec::new()
    }
}

impl Desk for Buying {
    fn name(&self) -> &'static str {
        "buying"
    }

    fn context(&self) -> Context {
        Context::List
    }

    fn update(&mut self, msg: Msg) -> Vec<Effect> {
        match msg {
            // A shop that was only just made has not heard what was asked before.
            Msg::Opened(_) if self.waiting => return self.ask(),
            Msg::Act(act) => return self.act(act),
            // A late answer to an older question is on terms that are no longer shown.
            Msg::Answered(asked, answer) if asked == self.asked => self.answered(answer),
            _ => {}
        }
        Vec::new()
    }

    fn view(&self, frame: &mut Frame<'_>, area: Rect, theme: Theme) {
        view::draw(self, frame, area, theme);
    }
}

#[cfg(test)]
mod tests {
    use binwright_shop::catalog::Currency;
    use jiff::civil::date;

    use super::*;

    fn advised() -> Answer {
        Answer::Advised(Advised { as_of: date(2026, 11, 25), lines: Vec::new(), past: Vec::new() })
    }

    #[test]
    fn a_late_answer_on_other_terms_is_dropped() {
        let mut desk = Buying::default();
        desk.update(Msg::Act(Act::Desk(2)));
        let newest = desk.update(Msg::Act(Act::ServiceUp));
        let terms = Terms { service: 0.97, budget: None };
        assert_eq!(newest, [Effect::Ask(2, Question::Advise(terms))]);
        desk.update(Msg::Answered(1, advised()));
        assert!(desk.waiting && desk.advised.is_none());
        desk.update(Msg::Answered(2, advised()));
        assert!(!desk.waiting && desk.advised.is_some());
    }

    #[test]
    fn service_stays_between_its_ends() {
        let ends = [(true, 0.995), (false, 0.80)];
        for (more, end) in ends {
            let last = (0..20).fold(Terms::default(), |terms, _| terms.service_moved(more));
            assert!((last.service - end).abs() < 1e-12, "{last:?}");
        }
    }

    #[test]
    fn a_budget_starts_below_what_is_spent_and_ends_when_it_binds_nothing() {
        let spent = Some(Money { minor: 80_000, currency: Currency::EUR });
        let tight = Terms::default().budget_lowered(spent);
        assert_eq!(tight.budget, Some(500));
        assert_eq!(tight.budget_lowered(spent).budget, Some(200));
        assert_eq!(tight.budget_raised(true).budget, Some(1000));
        assert_eq!(tight.budget_raised(false).budget, None);
        assert_eq!(Terms::default().budget_lowered(None).budget, None, "nothing is spent");
    }
}
