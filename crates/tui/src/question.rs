//! What can a desk ask the shop, and what comes back?

use binwright_shop::answer::{FitAnswer, Found};
use binwright_shop::bench::{OnBench, QuoteCard, UnitChoice};
use binwright_shop::buying::basket::{Drafted, Weighed};
use binwright_shop::buying::{Advised, AdvisedLine};
use binwright_shop::sheet::Sheet;
use binwright_shop::stock::by_hand::{Handled, Scanned, TakeBack, Typed};
use binwright_shop::{Asked, Keep, Shop, ShopError, in_words};
use jiff::Timestamp;

use crate::bench::{Benched, Offered};
use crate::buying::{Terms, basket_terms};

/// The most candidates or hits that are asked for.
pub const LIMIT: usize = 12;

/// What can be asked.
#[derive(Debug, Clone, PartialEq)]
pub enum Question {
    /// Which part has this number, or these words?
    Find(String),
    /// Which part is this?
    Fit(Asked),
    /// What must be ordered, on these terms?
    Advise(Terms),
    /// From whom is all of this bought best?
    Weigh(Vec<AdvisedLine>),
    /// Draft the orders of this basket.
    Draft(Box<Weighed>),
    /// What does a scanned code stand for?
    Scan(String),
    /// Do what a slip says.
    Handle(Typed),
    /// Take back what a slip did.
    TakeBack(TakeBack),
    /// Put the outlines of these parts on paper.
    Outline(Vec<String>),
    /// Which units may be meant by these words?
    Units(String),
    /// What do the readings of this unit say? With the number of the quote it has already.
    Bench(Box<OnBench>, Option<String>),
    /// What would this quote be, or make it.
    Quote(Box<Offered>),
}

/// What comes back.
#[derive(Debug, Clone, PartialEq)]
pub enum Answer {
    /// To [`Question::Find`], with the hits laid out.
    Found(Found, Vec<Sheet>),
    /// To [`Question::Fit`], with the candidates laid out.
    Fitted(FitAnswer, Vec<Sheet>),
    /// To [`Question::Advise`].
    Advised(Advised),
    /// To [`Question::Weigh`].
    Weighed(Box<Weighed>),
    /// To [`Question::Draft`].
    Drafted(Box<Drafted>),
    /// To [`Question::Scan`].
    Scanned(Scanned),
    /// To [`Question::Handle`], [`Question::TakeBack`] and [`Question::Outline`].
    Handled(Handled),
    /// To [`Question::Units`].
    Units(Vec<UnitChoice>),
    /// To [`Question::Bench`].
    Benched(Box<Benched>),
    /// To [`Question::Quote`], and whether it was made.
    Quoted(Box<QuoteCard>, Keep),
    /// To a piece of work that the shop could not do; what was wrong, and what would be right.
    NotHandled(String),
    /// The shop could not; what was wrong, and what would be right.
    Failed(String),
}

impl Question {
    /// Whether it is a piece of work that each counts, not a question that a newer one replaces.
    pub(crate) fn is_work(&self) -> bool {
        match self {
            Self::Find(_)
            | Self::Fit(_)
            | Self::Advise(_)
            | Self::Weigh(_)
            | Self::Units(_)
            | Self::Bench(..) => false,
            Self::Quote(offered) => offered.keep == Keep::Yes,
            Self::Scan(_)
            | Self::Handle(_)
            | Self::TakeBack(_)
            | Self::Outline(_)
            | Self::Draft(_) => true,
        }
    }

    /// Whether its answer can take so long that nobody at another desk may wait for it.
    pub(crate) fn is_slow(&self) -> bool {
        matches!(self, Self::Advise(_) | Self::Weigh(_))
    }

    /// Asks `shop` in the name of `who`.
    pub fn answer(self, shop: &mut Shop, who: &str) -> Answer {
        let work = self.is_work();
        let answered = match self {
            Self::Find(text) => find(shop, &text),
            Self::Fit(asked) => fit(shop, &asked),
            Self::Advise(terms) => terms.advised(shop).map(Answer::Advised),
            Self::Weigh(lines) => shop
                .weigh_due(&lines, &basket_terms())
                .map(|weighed| Answer::Weighed(Box::new(weighed))),
            Self::Draft(weighed) => shop
                .draft_basket(*weighed, who, None, Keep::Yes)
                .map(|drafted| Answer::Drafted(Box::new(drafted))),
            Self::Scan(code) => shop.scanned(&code).map(Answer::Scanned),
            Self::Handle(typed) => shop.by_hand(&typed, who).map(Answer::Handled),
            Self::TakeBack(back) => shop.take_back(back, who).map(Answer::Handled),
            Self::Outline(numbers) => outline(shop, &numbers),
            Self::Units(text) => shop
                .rules()
                .and_then(|rules| shop.unit_choices(&rules, &text, LIMIT).map(Answer::Units)),
            Self::Bench(job, quote) => Benched::of(shop, *job, quote.as_deref())
                .map(|benched| Answer::Benched(Box::new(benched))),
            Self::Quote(offered) => {
                let keep = offered.keep;
                let card = offered.quoted(shop, who, Timestamp::now());
                card.map(|card| Answer::Quoted(Box::new(card), keep))
            }
        };
        answered.unwrap_or_else(|error| {
            let what = in_full(&error);
            if work { Answer::NotHandled(what) } else { Answer::Failed(what) }
        })
    }
}

/// What was wrong and, where it is known, what would be right.
pub(crate) fn in_full(error: &ShopError) -> String {
    let hint = error.hint().map_or_else(String::new, |hint| format!(" {hint}"));
    format!("{}.{hint}", in_words(error))
}

fn outline(shop: &mut Shop, numbers: &[String]) -> Result<Answer, ShopError> {
    let path = shop.outline_file(numbers)?;
    let name = path.file_name().unwrap_or_default().to_string_lossy();
    let says = format!("paper/{name} in the shop's folder; print at 100 %, nothing fitted");
    Ok(Answer::Handled(Handled { says, back: None, sheet: None }))
}

fn find(shop: &mut Shop, text: &str) -> Result<Answer, ShopError> {
    let found = shop.find(text, LIMIT)?;
    let numbers: Vec<&str> = found.hits.iter().map(|hit| hit.number.as_str()).collect();
    let sheets = shop.sheets(&Asked::default(), &numbers)?;
    Ok(Answer::Found(found, sheets))
}

fn fit(shop: &mut Shop, asked: &Asked) -> Result<Answer, ShopError> {
    let answer = shop.fit(asked, LIMIT)?;
    let numbers: Vec<&str> = answer.candidates.iter().map(|c| c.number.as_str()).collect();
    let sheets = shop.sheets(asked, &numbers)?;
    Ok(Answer::Fitted(answer, sheets))
}
