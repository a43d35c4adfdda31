//! Who asks the shop while the screen goes on? One thread that owns it; the newest question wins.

use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, Sender, TryRecvError};

use binwright_shop::answer::{FitAnswer, Found};
use binwright_shop::bench::{OnBench, QuoteCard, UnitChoice};
use binwright_shop::buying::Advised;
use binwright_shop::catalog::{Currency, Kinds};
use binwright_shop::sheet::Sheet;
use binwright_shop::{Asked, Keep, Shop, ShopError, in_words};
use jiff::Timestamp;
use jiff::civil::Date;

use crate::bench::{Benched, Offered};
use crate::buying::Terms;

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
    /// To [`Question::Units`].
    Units(Vec<UnitChoice>),
    /// To [`Question::Bench`].
    Benched(Box<Benched>),
    /// To [`Question::Quote`], and whether it was made.
    Quoted(Box<QuoteCard>, Keep),
    /// The shop could not; what was wrong, and what would be right.
    Failed(String, Option<String>),
}

impl Question {
    /// Whether it changes the shop: such a question is never dropped for a newer one.
    fn writes(&self) -> bool {
        match self {
            Self::Quote(offered) => offered.keep == Keep::Yes,
            Self::Find(_) | Self::Fit(_) | Self::Advise(_) | Self::Units(_) | Self::Bench(..) => {
                false
            }
        }
    }

    /// The same, with `who` asks set down where that is kept.
    fn by(mut self, who: &str) -> Self {
        if let Self::Quote(offered) = &mut self {
            who.clone_into(&mut offered.asked.who);
        }
        self
    }

    /// Asks `shop`.
    pub fn answer(self, shop: &mut Shop) -> Answer {
        let answered = match self {
            Self::Find(text) => find(shop, &text),
            Self::Fit(asked) => fit(shop, &asked),
            Self::Advise(terms) => terms.advised(shop).map(Answer::Advised),
            Self::Units(text) => shop
                .rules()
                .and_then(|rules| shop.unit_choices(&rules, &text, LIMIT).map(Answer::Units)),
            Self::Bench(job, quote) => Benched::of(shop, *job, quote.as_deref())
                .map(|benched| Answer::Benched(Box::new(benched))),
            Self::Quote(offered) => {
                let keep = offered.keep;
                let card = offered.quoted(shop, Timestamp::now());
                card.map(|card| Answer::Quoted(Box::new(card), keep))
            }
        };
        answered.unwrap_or_else(|error| Answer::Failed(in_words(&error), error.hint()))
    }
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

/// A question on its way: whose, which number, what.
#[derive(Debug)]
pub struct Job {
    /// Place of the desk.
    pub desk: usize,
    /// The desk's own number for it.
    pub asked: u64,
    /// The question.
    pub question: Question,
}

/// Which folders the shop is in, what day it is and who works.
#[derive(Debug, Clone)]
pub struct Where {
    /// The shop's folder.
    pub shop: PathBuf,
    /// The folder of the indexes of all shops.
    pub cache: PathBuf,
    /// Where the made-up shop is, or will be.
    pub demo: PathBuf,
    /// The day it is.
    pub today: Date,
    /// Who works.
    pub who: String,
}

/// A shop to be made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Make {
    /// The made-up one; opened when it is there already.
    Demo,
    /// One's own.
    New {
        /// What it is called.
        name: String,
        /// What it counts in.
        currency: Currency,
    },
}

impl Where {
    /// Whether there is a shop in `dir`.
    fn is_shop(dir: &Path) -> bool {
        dir.join("shop.db").exists()
    }

    fn open(&self, make: Option<Make>) -> Result<Shop, ShopError> {
        let Self { shop, cache, demo, today, who: _ } = self;
        match make {
            None => Shop::open(shop, cache, *today),
            Some(Make::New { name, currency }) => {
                Shop::create(shop, cache, *today, &name, currency)
            }
            Some(Make::Demo) if Self::is_shop(demo) => Shop::open(demo, cache, *today),
            Some(Make::Demo) => Shop::demo(demo, cache, *today).map(|(shop, _)| shop),
        }
    }
}

/// What the worker reports.
#[derive(Debug)]
pub enum Report {
    /// The shop is open.
    Opened {
        /// What it is called.
        name: String,
        /// How many parts can be looked up.
        parts: u64,
        /// Its kinds.
        kinds: Arc<Kinds>,
    },
    /// There is no shop yet.
    NoShop(Where),
    /// An answer to the desk's question with this number.
    Answered(usize, u64, Answer),
}

/// Opens the shop, or makes it first, and answers `jobs` until nobody asks any more. While nobody waits, it loads what
/// the first question about each kind would have to load.
///
/// # Errors
///
/// [`ShopError`] when a shop that is there cannot be opened. One that could not be made is
/// answered to who wanted it.
pub fn work(
    place: &Where,
    make: Option<Make>,
    jobs: &Receiver<Job>,
    report: &Sender<impl From<Report>>,
) -> Result<(), ShopError> {
    if make.is_none() && !Where::is_shop(&place.shop) {
        let _ = report.send(Report::NoShop(place.clone()).into());
        return Ok(());
    }
    let making = make.is_some();
    let opened = place.open(make).and_then(|shop| Ok((shop.store().identity()?.name, shop)));
    let (name, mut shop) = match opened {
        Ok(opened) => opened,
        Err(error) if making => {
            let failed = Answer::Failed(in_words(&error), error.hint());
            let _ = report.send(Report::Answered(0, 0, failed).into());
            return Ok(());
        }
        Err(error) => return Err(error),
    };
    let kinds = Arc::new(shop.kinds().clone());
    let mut cold: Vec<String> = kinds.iter().map(|kind| kind.key.clone()).collect();
    cold.reverse();
    let _ = report.send(Report::Opened { name, parts: shop.parts(), kinds }.into());
    loop {
        let first = match jobs.try_recv() {
            Ok(job) => job,
            Err(TryRecvError::Disconnected) => return Ok(()),
            Err(TryRecvError::Empty) => match cold.pop() {
                Some(kind) => {
                    // A kind that cannot be loaded says so when it is asked for.
                    let _ = shop.warm(&kind);
                    continue;
                }
                None => match jobs.recv() {
                    Ok(job) => job,
                    Err(_) => return Ok(()),
                },
            },
        };
        let waiting = std::iter::once(first).chain(jobs.try_iter()).collect();
        for Job { desk, asked, question } in newest(waiting) {
            let answer = question.by(&place.who).answer(&mut shop);
            if report.send(Report::Answered(desk, asked, answer).into()).is_err() {
                return Ok(());
            }
        }
    }
}

/// Of the questions that wait, those worth answering: each desk's newest, and all that write.
fn newest(waiting: Vec<Job>) -> Vec<Job> {
    let last: Vec<(usize, u64)> = waiting.iter().map(|job| (job.desk, job.asked)).collect();
    let stale =
        |job: &Job| last.iter().any(|(desk, asked)| *desk == job.desk && *asked > job.asked);
    waiting.into_iter().filter(|job| job.question.writes() || !stale(job)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn of_the_waiting_questions_each_desks_newest_is_asked() {
        let job = |desk, asked| Job { desk, asked, question: Question::Find(String::new()) };
        let kept = newest(vec![job(0, 1), job(0, 2), job(1, 1), job(0, 3)]);
        let kept: Vec<_> = kept.iter().map(|job| (job.desk, job.asked)).collect();
        assert_eq!(kept, [(1, 1), (0, 3)]);
    }
}
