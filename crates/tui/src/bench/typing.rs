//! What is typed at the bench, and what comes of it? A unit, a reading, a part of a role, a customer.

use binwright_shop::bench::{OnBench, UnitChoice};
use binwright_shop::catalog::Kinds;
use binwright_shop::entry::{self, Entry};
use tui_input::{Input, InputRequest};

use super::Benched;
use crate::actions::Act;

/// What a line is for.
#[derive(Debug)]
pub(super) enum What {
    /// Which unit, of those that may be meant.
    Unit(Vec<UnitChoice>),
    /// What came of the check at this place.
    Reading(usize),
    /// Which part sits in a role.
    Part,
    /// Whom the quote is for.
    Customer,
}

/// A line that is being typed.
#[derive(Debug)]
pub(super) struct Typing {
    pub what: What,
    pub line: Input,
    /// What is chosen of what stands below the line.
    pub at: Option<usize>,
}

/// What is to be done about it.
#[derive(Debug, PartialEq)]
pub(super) enum Wish {
    /// Nothing.
    Stay,
    /// Nothing more is typed.
    Close,
    /// The line was changed and units are sought by it.
    Units,
    /// Another unit comes on the bench.
    Unit(OnBench),
    /// The unit at this place of those put aside comes back.
    TakeUp(usize),
    /// The unit on the bench with what was typed.
    Job(OnBench),
    /// The quote is made for this customer.
    Make(String),
}

impl Typing {
    pub fn new(what: What, text: &str) -> Self {
        Self { what, line: Input::new(text.to_owned()), at: None }
    }

    pub fn put(&mut self, text: &str) {
        self.line = Input::new(text.to_owned());
    }

    pub fn typed(&mut self, request: InputRequest) -> Wish {
        let changed = self.line.handle(request).is_some_and(|change| change.value);
        match &self.what {
            What::Unit(_) if changed => Wish::Units,
            _ => Wish::Stay,
        }
    }

    /// How many of the units put aside are offered: only before anything is typed.
    pub fn offers(&self, aside: usize) -> usize {
        let untouched = matches!(self.what, What::Unit(_)) && self.line.value().is_empty();
        if untouched { aside } else { 0 }
    }

    pub fn act(
        &mut self,
        act: Act,
        benched: Option<&Benched>,
        aside: usize,
        kinds: Option<&Kinds>,
    ) -> Wish {
        if let Some(request) = act.editing() {
            return self.typed(request);
        }
        match act {
            Act::Accept => return self.accept(benched, aside, kinds),
            Act::Back if !self.line.value().is_empty() => {
                self.put("");
                return if matches!(self.what, What::Unit(_)) { Wish::Units } else { Wish::Stay };
            }
            // Without a unit there is nothing to go back to.
            Act::Back if benched.is_some() => return Wish::Close,
            Act::Older | Act::Newer => self.choose(act == Act::Newer, benched, aside),
            _ => {}
        }
        Wish::Stay
    }

    /// One down or one up of what stands below; above the first, nothing is chosen.
    fn choose(&mut self, down: bool, benched: Option<&Benched>, aside: usize) {
        let count = match (&self.what, benched) {
            (What::Unit(choices), _) => choices.len() + self.offers(aside),
            (What::Reading(at), Some(benched)) => benched.checks[*at].outcomes.len(),
            (What::Part, Some(benched)) => benched.roles().len(),
            _ => 0,
        };
        self.at = match (self.at, down) {
            _ if count == 0 => None,
            (None, true) => Some(0),
            (Some(at), true) => Some((at + 1).min(count - 1)),
            (at, false) => at.and_then(|at| at.checked_sub(1)),
        };
    }

    fn accept(&self, benched: Option<&Benched>, aside: usize, kinds: Option<&Kinds>) -> Wish {
        let text = self.line.value().trim();
        match (&self.what, benched) {
            (What::Unit(choices), _) => {
                let offered = self.offers(aside);
                // The one unit that is left needs no choosing.
                let at = self.at.or_else(|| (!text.is_empty()).then_some(0));
                match at {
                    Some(at) if at < offered => Wish::TakeUp(at),
                    Some(at) => choices
                        .get(at - offered)
                        .map_or(Wish::Stay, |choice| Wish::Unit(choice.on_bench())),
                    None => Wish::Stay,
                }
            }
            (What::Reading(at), Some(benched)) => {
                let check = &benched.checks[*at];
                let outcome = self.at.map(|at| check.outcomes[at].0.as_str());
                let value = if text.is_empty() { outcome.unwrap_or_default() } else { text };
                with_reading(&benched.job, &check.key, value)
            }
            (What::Part, Some(benched)) => {
                let role = benched.roles().get(self.at.unwrap_or(0)).map(|role| (*role).to_owned());
                role.zip(kinds).map_or(Wish::Stay, |(role, kinds)| {
                    Wish::Job(with_part(&benched.job, role, &entry::read(text, kinds)))
                })
            }
            (What::Customer, _) => Wish::Make(text.to_owned()),
            (_, None) => Wish::Stay,
        }
    }
}

/// The check a reading was taken in.
pub(super) fn check_of(reading: &str) -> &str {
    reading.split_once('=').map_or(reading, |(check, _)| check)
}

/// The job with `value` read in `check` in the place of what was read there; nothing takes it back.
fn with_reading(job: &OnBench, check: &str, value: &str) -> Wish {
    let mut job = job.clone();
    let before = job.readings.len();
    job.readings.retain(|reading| check_of(reading) != check);
    if !value.is_empty() {
        job.readings.push(format!("{check}={value}"));
    } else if job.readings.len() == before {
        return Wish::Close;
    }
    Wish::Job(job)
}

/// The job with a part that sits in `role`, by its number or by what was measured on it.
fn with_part(job: &OnBench, role: String, read: &Entry) -> OnBench {
    let mut job = job.clone();
    job.parts.remove(&role);
    job.fits.remove(&role);
    match read {
        Entry::Nothing => {}
        Entry::Find(number) => drop(job.parts.insert(role, number.clone())),
        Entry::Fit(reading) => drop(job.fits.insert(role, reading.asked.clone())),
    }
    job
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_later_reading_of_a_check_counts_and_nothing_takes_it_back() {
        let mut job = OnBench::default();
        job.readings = vec!["a=1".into(), "b=2".into()];
        let read = |wish| match wish {
            Wish::Job(OnBench { readings, .. }) => readings,
            wish => panic!("{wish:?}"),
        };
        assert_eq!(read(with_reading(&job, "a", "3")), ["b=2", "a=3"]);
        assert_eq!(read(with_reading(&job, "b", "")), ["a=1"]);
        assert_eq!(with_reading(&job, "c", ""), Wish::Close);
    }

    #[test]
    fn units_put_aside_are_offered_until_something_is_typed() {
        let mut typing = Typing::new(What::Unit(Vec::new()), "");
        let newer = |typing: &mut Typing| typing.act(Act::Newer, None, 2, None);
        assert_eq!(newer(&mut typing), Wish::Stay);
        newer(&mut typing);
        assert_eq!(typing.act(Act::Accept, None, 2, None), Wish::TakeUp(1));
        assert_eq!(typing.typed(InputRequest::InsertChar('x')), Wish::Units);
        assert_eq!(typing.act(Act::Accept, None, 2, None), Wish::Stay, "no unit is found");
    }
}
