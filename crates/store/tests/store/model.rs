//! Does the ledger do what a plain map would? Random scripts, compared after every step.

use std::collections::BTreeMap;

use binwright_catalog::{Condition, Quantity};
use binwright_store::{Hold, Keep, Put, Store, StoreError};
use jiff::civil::Date;
use proptest::prelude::*;

use crate::support::{is_sound, movement, on_hand, post, shop};

#[derive(Debug, Clone)]
enum Step {
    Post { part: usize, bin: usize, pieces: i32 },
    Hold { part: usize, bin: usize, pieces: i32, days: i32 },
    Release(usize),
    Undo(usize),
    Sleep(i32),
}

fn step() -> impl Strategy<Value = Step> {
    let (part, bin) = (0..2usize, 0..2usize);
    prop_oneof![
        4 => (part.clone(), bin.clone(), -4..7i32)
            .prop_map(|(part, bin, pieces)| Step::Post { part, bin, pieces }),
        3 => (part, bin, 0..5i32, 0..4i32)
            .prop_map(|(part, bin, pieces, days)| Step::Hold { part, bin, pieces, days }),
        1 => (0..8usize).prop_map(Step::Release),
        2 => (0..12usize).prop_map(Step::Undo),
        1 => (1..3i32).prop_map(Step::Sleep),
    ]
}

#[derive(Debug, Clone, PartialEq)]
struct Promise {
    at: (usize, usize),
    pieces: i32,
    until: Date,
    open: bool,
}

/// What a plain program without a database would keep.
#[derive(Debug)]
struct Plain {
    today: Date,
    stock: BTreeMap<(usize, usize), i32>,
    moved: Vec<((usize, usize), i32)>,
    undone: Vec<usize>,
    holds: Vec<Promise>,
}

impl Plain {
    fn held(&self, at: (usize, usize)) -> i32 {
        let counts = |hold: &&Promise| hold.at == at && hold.open && hold.until >= self.today;
        self.holds.iter().filter(counts).map(|hold| hold.pieces).sum()
    }

    fn free(&self, at: (usize, usize)) -> i32 {
        self.stock.get(&at).copied().unwrap_or(0) - self.held(at)
    }

    fn post(&mut self, at: (usize, usize), pieces: i32) -> bool {
        if pieces == 0 || (pieces < 0 && -pieces > self.free(at)) {
            return false;
        }
        *self.stock.entry(at).or_default() += pieces;
        self.moved.push((at, pieces));
        true
    }

    fn take(&mut self, step: &Step) -> bool {
        match *step {
            Step::Post { part, bin, pieces } => self.post((part, bin), pieces),
            Step::Hold { part, bin, pieces, days } => {
                let at = (part, bin);
                let good = pieces > 0 && pieces <= self.free(at);
                if good {
                    let until = self.today.checked_add(jiff::Span::new().days(days)).unwrap();
                    self.holds.push(Promise { at, pieces, until, open: true });
                }
                good
            }
            Step::Release(which) => match self.holds.get_mut(which) {
                Some(hold) => std::mem::replace(&mut hold.open, false),
                None => false,
            },
            Step::Undo(which) => {
                let Some(&(at, pieces)) = self.moved.get(which) else { return false };
                let good = !self.undone.contains(&which) && self.post(at, -pieces);
                if good {
                    self.undone.push(which);
                }
                good
            }
            Step::Sleep(days) => {
                self.today = self.today.checked_add(jiff::Span::new().days(days)).unwrap();
                true
            }
        }
    }
}

fn take(store: &mut Store, step: &Step, today: Date) -> Result<(), StoreError> {
    let at = format!("{today}T12:00:00Z").parse().unwrap();
    store.write(Keep::Yes, |w| match *step {
        Step::Post { part, bin, pieces } => w
            .post(&binwright_store::Movement { at, day: today, ..movement(part, bin, pieces) })
            .map(drop),
        Step::Hold { part, bin, pieces, days } => {
            let hold = Hold {
                reference: "Q-1".into(),
                part: format!("RP{part:04}"),
                bin: format!("B{bin}"),
                condition: Condition::New,
                quantity: Quantity::whole(pieces),
                until: today.checked_add(jiff::Span::new().days(days)).unwrap(),
            };
            w.hold(&hold, today).map(drop)
        }
        Step::Release(which) => w.release(which as i64 + 1),
        Step::Undo(which) => w.undo(which as i64 + 1, "Ann", at, today).map(drop),
        Step::Sleep(_) => Ok(()),
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    #[test]
    fn the_ledger_does_what_a_plain_map_does(steps in prop::collection::vec(step(), 1..30)) {
        let dir = tempfile::tempdir().unwrap();
        let mut store = shop(dir.path(), 2, 2);
        let mut plain = Plain {
            today: "2031-03-01".parse().unwrap(),
            stock: BTreeMap::new(),
            moved: Vec::new(),
            undone: Vec::new(),
            holds: Vec::new(),
        };
        for step in &steps {
            let before = plain.today;
            let (says, good) = (take(&mut store, step, before), plain.take(step));
            prop_assert_eq!(says.is_ok(), good, "{:?}: {:?}", step, says);
            for part in 0..2 {
                let id = part as u64 + 1;
                let lines = store.stock(id, plain.today).unwrap();
                for bin in 0..2 {
                    let line = lines.iter().find(|line| line.bin == format!("B{bin}"));
                    let pieces = |q: Quantity| (q.thousandths() / 1000) as i32;
                    let (stock, held) =
                        line.map_or((0, 0), |line| (pieces(line.on_hand), pieces(line.held)));
                    prop_assert_eq!(stock, plain.stock.get(&(part, bin)).copied().unwrap_or(0));
                    prop_assert_eq!(held, plain.held((part, bin)));
                }
            }
        }
        prop_assert_eq!(store.check(plain.today).unwrap(), []);
    }
}

/// An opening that was undone is not there any more: the right one is taken in full.
#[test]
fn an_undone_opening_may_be_said_anew() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    let (wrong, right) = (movement(0, 0, 10), movement(0, 0, 7));
    let put = |store: &mut Store, opening| store.write(Keep::Yes, |w| w.put_opening(opening));
    assert_eq!(put(&mut store, &wrong).unwrap(), Put::Added);
    assert_eq!(put(&mut store, &wrong).unwrap(), Put::Unchanged);
    store.write(Keep::Yes, |w| w.undo(1, "Ann", wrong.at, wrong.day)).unwrap();
    assert_eq!(put(&mut store, &right).unwrap(), Put::Added);
    assert_eq!(put(&mut store, &right).unwrap(), Put::Unchanged);
    assert_eq!(on_hand(&store, 0, 0), 7);
    is_sound(&store);
}

fn shift(to: usize) -> [binwright_store::Movement; 2] {
    let leg = |bin, pieces| binwright_store::Movement {
        reason: binwright_store::Reason::Move,
        ..movement(0, bin, pieces)
    };
    [leg(0, -3), leg(to, 3)]
}

#[test]
fn what_was_posted_together_is_undone_together() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 2);
    let binwright_store::Movement { at, day, .. } = movement(0, 0, 1);
    let stock = |store: &Store| (on_hand(store, 0, 0), on_hand(store, 0, 1));
    post(&mut store, &movement(0, 0, 5)).unwrap();
    assert_eq!(store.write(Keep::Yes, |w| w.post_together(&shift(1))).unwrap(), 2);
    assert_eq!(stock(&store), (2, 3));
    store.write(Keep::Yes, |w| w.undo(3, "Ann", at, day)).unwrap();
    assert_eq!(stock(&store), (5, 0));
    for seq in [2, 3] {
        let again = store.write(Keep::Yes, |w| w.undo(seq, "Ann", at, day));
        assert!(matches!(again, Err(StoreError::UndoneAlready { .. })));
    }
    is_sound(&store);
}

/// The caller may go on after a refusal, as an import does: no half of the posting is left.
#[test]
fn a_posting_that_is_refused_leaves_no_half() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 2);
    post(&mut store, &movement(0, 0, 5)).unwrap();
    let swallow = |store: &mut Store, legs: &[binwright_store::Movement]| {
        store.write(Keep::Yes, |w| Ok::<_, StoreError>(w.post_together(legs))).unwrap()
    };
    let nowhere = swallow(&mut store, &shift(7));
    assert!(matches!(nowhere, Err(StoreError::NoSuchBin { .. })));
    assert!(matches!(swallow(&mut store, &shift(1)[..1]), Err(StoreError::Lopsided)));
    assert_eq!((on_hand(&store, 0, 0), on_hand(&store, 0, 1)), (5, 0));
    let backwards = binwright_store::Movement {
        reason: binwright_store::Reason::Receive,
        ..movement(0, 0, -1)
    };
    assert!(matches!(post(&mut store, &backwards), Err(StoreError::WrongWay { .. })));
    is_sound(&store);
}

#[test]
fn a_hold_is_posted_once_and_not_after_its_last_day() {
    let dir = tempfile::tempdir().unwrap();
    let mut store = shop(dir.path(), 1, 1);
    post(&mut store, &movement(0, 0, 2)).unwrap();
    let (at, day) = (movement(0, 0, 1).at, |text: &str| text.parse::<Date>().unwrap());
    let hold = Hold {
        reference: "Q-7".into(),
        part: "RP0000".into(),
        bin: "B0".into(),
        condition: Condition::New,
        quantity: Quantity::ONE,
        until: day("2031-03-02"),
    };
    let reason = binwright_store::Reason::Issue;
    for _ in 0..2 {
        store.write(Keep::Yes, |w| w.hold(&hold, day("2031-03-01"))).unwrap();
    }
    assert!(matches!(post(&mut store, &movement(0, 0, -1)), Err(StoreError::Short { .. })));
    let mut go =
        |hold, today| store.write(Keep::Yes, |w| w.post_hold(hold, reason, "Ann", at, today));
    go(1, day("2031-03-02")).unwrap();
    assert!(matches!(go(1, day("2031-03-02")), Err(StoreError::HoldNotOpen { hold: 1 })));
    assert!(matches!(go(2, day("2031-03-03")), Err(StoreError::HoldNotOpen { hold: 2 })));
    assert_eq!(on_hand(&store, 0, 0), 1);
    is_sound(&store);
}
