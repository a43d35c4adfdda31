//! What does the buying desk see and do? What is due, why, and what if service or money were other.

mod ahead;
mod basket;
mod chart;
mod view;

use binwright_shop::buying::basket::Weighed;
use binwright_shop::buying::{AdviceAsked, Advised, AdvisedLine, BasketTerms, Target};
use binwright_shop::catalog::Money;
use binwright_shop::{Shop, ShopError};
use ratatui::Frame;
use ratatui::layout::Rect;

use crate::actions::{Act, Context};
use crate::desk::{Desk, Effect, Msg};
use crate::keys::Keys;
use crate::question::{Answer, Question};
use crate::theme::Theme;

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
        Self { service: AdviceAsked::SERVICE, budget: None }
    }
}

impl Terms {
    /// What `shop` advises on these terms today.
    ///
    /// # Errors
    ///
    /// As [`Shop::advise`].
    pub fn advised(self, shop: &Shop) -> Result<Advised, ShopError> {
        let budget = self.budget.map(|whole| shop.money(&whole.to_string()));
        shop.advise(&AdviceAsked {
            target: Target::CycleService(self.service),
            budget: budget.transpose()?,
            ..AdviceAsked::on(shop.today())
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

/// Seconds a basket is searched for; then the best that was found is shown, and how far from the least it may be.
const BASKET_SECONDS: f64 = 3.0;

/// How the lines that are due are weighed together on the screen.
pub(crate) fn basket_terms() -> BasketTerms {
    BasketTerms { seconds: BASKET_SECONDS, ..BasketTerms::default() }
}

/// What is shown beside the list of what is due.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
enum Pane {
    /// The chosen part's months so far and ahead.
    #[default]
    Months,
    /// Its stock until the next order could be here.
    Stock,
    /// All that is due by supplier, in place of the list.
    Basket,
}

impl Pane {
    const ALL: [Self; 3] = [Self::Months, Self::Stock, Self::Basket];

    /// The one so many places further.
    fn on(self, places: usize) -> Self {
        Self::ALL[(self as usize + places) % Self::ALL.len()]
    }
}

/// What is known of the basket of all that is due.
#[derive(Debug, Default)]
enum Basket {
    /// Nothing was asked on these terms.
    #[default]
    Unasked,
    /// It is being weighed.
    Asked,
    /// It can be ordered.
    Weighed(Box<Weighed>),
    /// It can be ordered, and the key was pressed once.
    Sure(Box<Weighed>),
    /// Orders were drafted of it.
    Drafted(Box<Weighed>),
}

/// The buying desk.
#[derive(Debug, Default)]
pub struct Buying {
    keys: Keys,
    terms: Terms,
    /// Number of the newest question.
    asked: u64,
    waiting: bool,
    advised: Option<Advised>,
    trouble: Option<String>,
    /// Among the lines that are due.
    cursor: usize,
    pane: Pane,
    basket: Basket,
    /// Lines of the basket above the first shown.
    scroll: usize,
}

impl Buying {
    /// The desk that names `keys`, with nothing asked yet.
    pub fn new(keys: Keys) -> Self {
        Self { keys, ..Self::default() }
    }

    fn ask(&mut self) -> Vec<Effect> {
        self.asked += 1;
        self.waiting = true;
        (self.basket, self.scroll) = (Basket::Unasked, 0);
        vec![Effect::Ask(self.asked, Question::Advise(self.terms))]
    }

    /// Asks for the basket when it is to be shown and the lines it is of are there.
    fn weigh(&mut self) -> Vec<Effect> {
        let asks = self.pane == Pane::Basket && matches!(self.basket, Basket::Unasked);
        if !asks || self.waiting || self.advised.is_none() {
            return Vec::new();
        }
        let lines: Vec<AdvisedLine> = self.due().cloned().collect();
        self.asked += 1;
        self.basket = Basket::Asked;
        vec![Effect::Ask(self.asked, Question::Weigh(lines))]
    }

    fn turn_to(&mut self, pane: Pane) -> Vec<Effect> {
        self.pane = pane;
        self.weigh()
    }

    fn draft_key(&self) -> String {
        self.keys.of(Context::List, Act::Draft)
    }

    /// Drafts the orders of the basket, on the second press.
    fn draft(&mut self) -> Vec<Effect> {
        match std::mem::take(&mut self.basket) {
            Basket::Weighed(weighed) if self.pane == Pane::Basket && !weighed.orders.is_empty() => {
                let (key, orders) = (self.draft_key(), weighed.orders.len());
                self.basket = Basket::Sure(weighed);
                vec![Effect::Say(format!("{key} again drafts {orders} orders; nothing is sent"))]
            }
            Basket::Sure(weighed) if self.pane == Pane::Basket => {
                self.asked += 1;
                self.basket = Basket::Asked;
                vec![Effect::Ask(self.asked, Question::Draft(weighed))]
            }
            Basket::Drafted(weighed) => {
                self.basket = Basket::Drafted(weighed);
                vec![Effect::Say("its orders are drafted; send or cancel them".to_owned())]
            }
            other => {
                self.basket = other;
                let mut effects = self.turn_to(Pane::Basket);
                let key = self.draft_key();
                effects.push(Effect::Say(format!("weighed first; then {key} drafts its orders")));
                effects
            }
        }
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

    fn answered(&mut self, answer: Answer) -> Vec<Effect> {
        self.waiting = false;
        match answer {
            Answer::Advised(advised) => {
                let on = self.chosen().map(|line| line.part.clone());
                (self.advised, self.trouble) = (Some(advised), None);
                let same = self.due().position(|line| Some(&line.part) == on.as_ref());
                self.cursor = same.unwrap_or(0);
                return self.weigh();
            }
            Answer::Weighed(weighed) => self.basket = Basket::Weighed(weighed),
            Answer::Drafted(drafted) => {
                let names: Vec<&str> =
                    drafted.drafts.iter().map(|one| one.order.as_str()).collect();
                let said = format!("{} drafted; `order send` sends them", names.join(", "));
                self.basket = Basket::Drafted(Box::new(drafted.weighed));
                return vec![Effect::Say(said)];
            }
            Answer::Failed(what) | Answer::NotHandled(what) => {
                self.trouble = Some(what);
                self.basket = Basket::Unasked;
            }
            _ => {}
        }
        Vec::new()
    }

    fn move_to(&mut self, row: usize) {
        self.cursor = row.min(self.due().count().saturating_sub(1));
    }

    /// Moves through the basket where that is shown, else through what is due.
    fn step(&mut self, to: impl Fn(usize) -> usize) {
        match &self.basket {
            Basket::Weighed(weighed) | Basket::Sure(weighed) | Basket::Drafted(weighed)
                if self.pane == Pane::Basket =>
            {
                self.scroll = to(self.scroll).min(basket::rows(weighed).saturating_sub(1));
            }
            _ => self.move_to(to(self.cursor)),
        }
    }

    fn act(&mut self, act: Act) -> Vec<Effect> {
        match act {
            Act::Desk(_) => return self.ask(),
            Act::Up => self.step(|at| at.saturating_sub(1)),
            Act::Down => self.step(|at| at + 1),
            Act::PageUp => self.step(|at| at.saturating_sub(PAGE)),
            Act::PageDown => self.step(|at| at + PAGE),
            Act::First => self.step(|_| 0),
            Act::Last => self.step(|_| usize::MAX),
            Act::NextPane => return self.turn_to(self.pane.on(1)),
            Act::PreviousPane => return self.turn_to(self.pane.on(Pane::ALL.len() - 1)),
            Act::Back => return self.turn_to(Pane::Months),
            Act::Draft => return self.draft(),
            Act::ServiceUp => return self.on_terms(self.terms.service_moved(true)),
            Act::ServiceDown => return self.on_terms(self.terms.service_moved(false)),
            Act::BudgetUp if self.terms.budget.is_none() => {
                return vec![Effect::Say("no budget binds: nothing to raise".to_owned())];
            }
            Act::BudgetUp => {
                // While an answer is awaited, nobody knows whether the budget binds.
                let binds = self.waiting || self.due().any(|line| line.cut.is_some());
                return self.on_terms(self.terms.budget_raised(binds));
            }
            Act::BudgetDown => return self.on_terms(self.terms.budget_lowered(self.spent())),
            Act::Copy => {
                let chosen = self.chosen().map(|line| Effect::Copy(line.part.clone()));
                return chosen.into_iter().collect();
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
            Msg::Opened { .. } if self.waiting => return self.ask(),
            Msg::Act(act) => return self.act(act),
            // A late answer to an older question is on terms that are no longer shown.
            Msg::Answered(asked, answer) if asked == self.asked => return self.answered(answer),
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
        let as_of = date(2026, 11, 25);
        Answer::Advised(Advised { as_of, branch: None, lines: Vec::new(), past: Vec::new() })
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
