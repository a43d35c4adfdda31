//! What would a plain program without a database keep? Maps and vectors, nothing shared with the
//! store but the rules.

use std::collections::BTreeMap;

use jiff::Span;
use jiff::civil::Date;

/// Part, bin, and whether it is used.
pub type Place = (usize, usize, bool);

#[derive(Debug, Clone)]
pub enum Step {
    /// In at a cost a piece, or out at the average.
    Post {
        part: usize,
        bin: usize,
        pieces: i32,
        cents: i64,
    },
    /// From one bin to the other.
    Move {
        part: usize,
        from: usize,
        pieces: i32,
    },
    /// From new to used.
    Regrade {
        part: usize,
        bin: usize,
        pieces: i32,
    },
    /// Count, then sell some, then post the count.
    Count {
        part: usize,
        bin: usize,
        found: i32,
        sold: i32,
    },
    Hold {
        part: usize,
        bin: usize,
        pieces: i32,
        days: i32,
    },
    Release(usize),
    Undo(usize),
    Sleep(i32),
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind {
    Alone,
    Move,
    Regrade,
}

#[derive(Debug, Clone, Copy)]
struct Line {
    place: Place,
    pieces: i32,
    cents: i64,
    posting: usize,
    undone: bool,
}

#[derive(Debug, Clone, PartialEq)]
struct Promise {
    place: Place,
    pieces: i32,
    until: Date,
    open: bool,
}

#[derive(Debug)]
pub struct Plain {
    pub today: Date,
    pub stock: BTreeMap<Place, i32>,
    lines: Vec<Line>,
    kinds: Vec<Kind>,
    holds: Vec<Promise>,
}

impl Plain {
    pub fn new(today: Date) -> Self {
        let (stock, lines, kinds, holds) = (BTreeMap::new(), vec![], vec![], vec![]);
        Self { today, stock, lines, kinds, holds }
    }

    pub fn on_hand(&self, place: Place) -> i32 {
        self.stock.get(&place).copied().unwrap_or(0)
    }

    pub fn held(&self, place: Place) -> i32 {
        let counts = |hold: &&Promise| hold.place == place && hold.open && hold.until >= self.today;
        self.holds.iter().filter(counts).map(|hold| hold.pieces).sum()
    }

    fn free(&self, place: Place) -> i32 {
        self.on_hand(place) - self.held(place)
    }

    /// Pieces and cents of a part in a condition, summed from the first line on.
    pub fn worth(&self, part: usize, used: bool) -> (i32, i64) {
        let mine = self.lines.iter().filter(|line| (line.place.0, line.place.2) == (part, used));
        mine.fold((0, 0), |sum, line| (sum.0 + line.pieces, sum.1 + line.cents))
    }

    /// Floats hold every cent here exactly, and round ties to even by themselves.
    fn average(&self, (part, _, used): Place, pieces: i32) -> i64 {
        let (n, cents) = self.worth(part, used);
        let of = |cents: i64, n: i32| {
            (cents as f64 * f64::from(pieces) / f64::from(n)).round_ties_even() as i64
        };
        if n != 0 {
            return of(cents, n);
        }
        let mine = |line: &&Line| (line.place.0, line.place.2) == (part, used) && line.cents != 0;
        self.lines.iter().rfind(mine).map_or(0, |line| of(line.cents, line.pieces))
    }

    /// What goes when `pieces` go, of which `wanted` cents are to be taken back.
    fn going(&self, place: Place, pieces: i32, wanted: Option<i64>) -> i64 {
        let (n, cents) = self.worth(place.0, place.2);
        match wanted {
            _ if n == pieces => cents,
            Some(wanted) if wanted <= cents => wanted,
            _ => -self.average(place, -pieces),
        }
    }

    fn write(&mut self, kind: Kind, legs: &[(Place, i32, i64)]) -> bool {
        let posting = self.kinds.len();
        self.kinds.push(kind);
        for &(place, pieces, cents) in legs {
            *self.stock.entry(place).or_default() += pieces;
            self.lines.push(Line { place, pieces, cents, posting, undone: false });
        }
        true
    }

    fn post(&mut self, place: Place, pieces: i32, cost: Option<i64>) -> bool {
        if pieces == 0 || -pieces > self.free(place) {
            return false;
        }
        let cents = match cost {
            Some(cost) if pieces > 0 => cost * i64::from(pieces),
            _ if pieces > 0 => self.average(place, pieces),
            _ => -self.going(place, -pieces, None),
        };
        self.write(Kind::Alone, &[(place, pieces, cents)])
    }

    fn carry(
        &mut self,
        kind: Kind,
        from: Place,
        to: Place,
        pieces: i32,
        back: Option<i64>,
    ) -> bool {
        if pieces <= 0 || pieces > self.free(from) {
            return false;
        }
        let cents = if kind == Kind::Move { 0 } else { self.going(from, pieces, back) };
        self.write(kind, &[(from, -pieces, -cents), (to, pieces, cents)])
    }

    fn undo(&mut self, which: usize) -> bool {
        let Some(Line { posting, undone: false, .. }) = self.lines.get(which).copied() else {
            return false;
        };
        let lines: Vec<Line> =
            self.lines.iter().filter(|line| line.posting == posting).copied().collect();
        let done = match lines[..] {
            [Line { place, pieces, cents, .. }] if pieces > 0 => {
                let good = pieces <= self.free(place);
                let cents = self.going(place, pieces, Some(cents));
                good && self.write(Kind::Alone, &[(place, -pieces, -cents)])
            }
            [Line { place, pieces, cents, .. }] => {
                self.write(Kind::Alone, &[(place, -pieces, -cents)])
            }
            [from, to] => {
                let kind = self.kinds[posting];
                self.carry(kind, to.place, from.place, to.pieces, Some(to.cents))
            }
            _ => unreachable!("postings have one line or two"),
        };
        if done {
            let mine = self.lines.iter_mut().filter(|line| line.posting == posting);
            mine.for_each(|line| line.undone = true);
        }
        done
    }

    pub fn take(&mut self, step: &Step) -> bool {
        match *step {
            Step::Post { part, bin, pieces, cents } => {
                self.post((part, bin, false), pieces, Some(cents))
            }
            Step::Move { part, from, pieces } => {
                let (from, to) = ((part, from, false), (part, 1 - from, false));
                self.carry(Kind::Move, from, to, pieces, None)
            }
            Step::Regrade { part, bin, pieces } => {
                self.carry(Kind::Regrade, (part, bin, false), (part, bin, true), pieces, None)
            }
            Step::Count { part, bin, found, sold } => {
                let place = (part, bin, false);
                let wrong_by = found - self.on_hand(place);
                self.post(place, -sold, None);
                wrong_by == 0 || self.post(place, wrong_by, None)
            }
            Step::Hold { part, bin, pieces, days } => {
                let place = (part, bin, false);
                let good = pieces > 0 && pieces <= self.free(place);
                if good {
                    let until = self.today.checked_add(Span::new().days(days)).unwrap();
                    self.holds.push(Promise { place, pieces, until, open: true });
                }
                good
            }
            Step::Release(which) => match self.holds.get_mut(which) {
                Some(hold) => std::mem::replace(&mut hold.open, false),
                None => false,
            },
            Step::Undo(which) => self.undo(which),
            Step::Sleep(days) => {
                self.today = self.today.checked_add(Span::new().days(days)).unwrap();
                true
            }
        }
    }
}
