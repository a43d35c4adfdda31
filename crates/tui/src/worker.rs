//! Who asks the shop while the screen goes on? One thread that owns it; the newest question wins.

use std::path::PathBuf;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, TryRecvError};
use std::time::Duration;

use binwright_shop::age::StockAge;
use binwright_shop::catalog::{Currency, Kinds};
use binwright_shop::{Place, Shop, ShopError};
use jiff::civil::Date;

use crate::question::{Answer, Question, in_full};

/// How often it is looked whether another program changed the shop, while nobody asks.
const LOOK: Duration = Duration::from_secs(1);

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

/// Which folders the shop is in, and who works in it when.
#[derive(Debug, Clone)]
pub struct Where {
    /// Where the shop is.
    pub shop: Place,
    /// The branch this is, in a shop with several, when it was said.
    pub branch: Option<String>,
    /// The folder of the indexes of all shops.
    pub cache: PathBuf,
    /// Where the made-up shop is, or will be.
    pub demo: PathBuf,
    /// Tells the day: screens stay open past midnight.
    pub today: fn() -> Date,
    /// Who works here.
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
    fn open(&self, make: Option<Make>) -> Result<Shop, ShopError> {
        let Self { shop, cache, demo, .. } = self;
        let today = (self.today)();
        match make {
            None => self.standing(Shop::open(shop.clone(), cache, today)?),
            Some(Make::New { name, currency }) => {
                Shop::create(shop.clone(), cache, today, &name, currency)
            }
            Some(Make::Demo) if Place::from(demo).may_be_a_shop() => Shop::open(demo, cache, today),
            Some(Make::Demo) => Shop::demo(demo, cache, today).map(|(shop, _)| shop),
        }
    }

    /// The shop, seen from the branch that was said.
    fn standing(&self, mut shop: Shop) -> Result<Shop, ShopError> {
        self.branch.as_deref().map_or(Ok(()), |branch| shop.work_at(branch))?;
        Ok(shop)
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
        /// Whether stock travels between branches in it.
        several_branches: bool,
    },
    /// There is no shop yet.
    NoShop(Where),
    /// Another program changed the shop, which has so many parts now.
    Changed(u64),
    /// The shop's server is out of reach, and how old the stock is that is shown; `None` when it is
    /// there.
    Away(Option<StockAge>),
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
    if make.is_none() && !place.shop.may_be_a_shop() {
        let _ = report.send(Report::NoShop(place.clone()).into());
        return Ok(());
    }
    let making = make.is_some();
    let opened = place.open(make).and_then(|shop| Ok((shop.store().identity()?.name, shop)));
    let (name, mut shop) = match opened {
        Ok(opened) => opened,
        Err(error) if making => {
            let failed = Answer::Failed(in_full(&error));
            let _ = report.send(Report::Answered(0, 0, failed).into());
            return Ok(());
        }
        Err(error) => return Err(error),
    };
    let kinds = Arc::new(shop.kinds().clone());
    let mut cold = unloaded(&shop);
    let (parts, several_branches) = (shop.parts(), shop.has_branches());
    let _ = report.send(Report::Opened { name, parts, kinds, several_branches }.into());
    shop.keep_following()?;
    let mut told_away = None;
    loop {
        let away = shop.stock_age().filter(|age| age.server_out_of_reach);
        if away != told_away {
            let _ = report.send(Report::Away(away.clone()).into());
            told_away = away;
        }
        let first = match jobs.try_recv() {
            Ok(job) => job,
            Err(TryRecvError::Disconnected) => return Ok(()),
            Err(TryRecvError::Empty) => {
                if let Some(kind) = cold.pop() {
                    // A kind that cannot be loaded says so when it is asked for.
                    let _ = shop.warm(&kind);
                    continue;
                }
                match jobs.recv_timeout(LOOK) {
                    Ok(job) => job,
                    Err(RecvTimeoutError::Disconnected) => return Ok(()),
                    Err(RecvTimeoutError::Timeout) => {
                        // A store that cannot be looked at says so when it is asked.
                        if shop.follow_others().unwrap_or(false) {
                            cold = unloaded(&shop);
                            let _ = report.send(Report::Changed(shop.parts()).into());
                        }
                        continue;
                    }
                }
            }
        };
        answer_all(&mut shop, place, first, jobs, report);
    }
}

/// Answers slow `jobs` beside [`work`], on the shop opened once more, until nobody asks any more.
///
/// # Errors
///
/// [`ShopError`] when it cannot be opened once more.
pub fn work_aside(
    place: &Where,
    jobs: &Receiver<Job>,
    report: &Sender<impl From<Report>>,
) -> Result<(), ShopError> {
    let mut opened = None;
    while let Ok(first) = jobs.recv() {
        if opened.is_none() && place.shop.may_be_a_shop() {
            let shop = Shop::open_behind(place.shop.clone(), &place.cache, (place.today)())?;
            opened = Some(place.standing(shop)?);
        }
        // Without a shop nobody waits for an answer yet: the desks ask again when there is one.
        if let Some(shop) = &mut opened {
            answer_all(shop, place, first, jobs, report);
        }
    }
    Ok(())
}

/// Answers what waits, `first` and all after it that is not stale.
fn answer_all(
    shop: &mut Shop,
    place: &Where,
    first: Job,
    jobs: &Receiver<Job>,
    report: &Sender<impl From<Report>>,
) {
    shop.turn_to((place.today)());
    let waiting = std::iter::once(first).chain(jobs.try_iter()).collect();
    for Job { desk, asked, question } in newest(waiting) {
        let answer = question.answer(shop, &place.who);
        // Where nobody listens, nobody asks again either.
        let _ = report.send(Report::Answered(desk, asked, answer).into());
    }
}

/// Keys of all kinds, the first to be loaded last. One that is loaded costs nothing.
fn unloaded(shop: &Shop) -> Vec<String> {
    let mut cold: Vec<String> = shop.kinds().iter().map(|kind| kind.key.clone()).collect();
    cold.reverse();
    cold
}

/// Of the questions that wait, those worth answering: each desk's newest, and all work.
fn newest(waiting: Vec<Job>) -> Vec<Job> {
    let questions = waiting.iter().filter(|job| !job.question.is_work());
    let last: Vec<(usize, u64)> = questions.map(|job| (job.desk, job.asked)).collect();
    let stale =
        |job: &Job| last.iter().any(|(desk, asked)| *desk == job.desk && *asked > job.asked);
    waiting.into_iter().filter(|job| job.question.is_work() || !stale(job)).collect()
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

    #[test]
    fn work_is_neither_dropped_nor_does_it_push_out_a_question() {
        let find = Question::Find(String::new());
        let scan = Question::Scan("A2-04".to_owned());
        let job = |asked, question| Job { desk: 0, asked, question };
        let kept =
            newest(vec![job(0, scan.clone()), job(5, find.clone()), job(0, scan), job(6, find)]);
        let kept: Vec<_> = kept.iter().map(|job| job.asked).collect();
        assert_eq!(kept, [0, 0, 6]);
    }
}
