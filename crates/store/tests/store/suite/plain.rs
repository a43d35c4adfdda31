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
    /// Break kits (below nothing) or build them, the parts in a bin of their own.
    Kit {
        bin: usize,
        parts_bin: usize,
        kits: i32,
    },
    /// From one bin to the other, under a key of the caller's.
    Keyed {
        key: usize,
        part: usize,
        from: usize,
        pieces: i32,
    },
    /// From a bin of one branch to a bin of another.
    Send {
        part: usize,
        from: usize,
        to: usize,
        pieces: i32,
    },
    /// Some of what is on its way arrives, some is given up.
    Land {
        which: usize,
        came: i32,
        lost: i32,
    },
    Release(usize),
    /// The line so many before the last, with all that was posted with it.
    Undo(usize),
    Sleep(i32),
}

#[derive(Debug, Clone, Copy, PartialEq)]
enum Kind {
    Alone,
    Move,
    Regrade,
    Kit,
    /// To this bin.
    Send(usize),
    /// Of what was sent in this posting.
    Land(usize),
    /// It took back one of the two before.
    Back,
}

/// The bin that is another branch's.
pub const FAR: usize = 2;

/// The part that is a kit, and what one contains.
pub const KIT: usize = 2;
pub const CONTAINS: [(usize, i32); 2] = [(0, 2), (1, 1)];

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
    keys: BTreeMap<usize, (usize, usize, i32)>,
}

impl Plain {
    pub fn new(today: Date) -> Self {
        let (stock, keys) = (BTreeMap::new(), BTreeMap::new());
        Self { today, stock, lines: vec![], kinds: vec![], holds: vec![], keys }
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

    /// `cents` shared out by `weights`, ties to even, each share of what is then left.
    fn shared(mut cents: i64, weights: &[i64]) -> Vec<i64> {
        let mut left: i64 = weights.iter().sum();
        let share = |weight: &i64| {
            let exact = cents as f64 * *weight as f64 / left as f64;
            let share = if left == 0 { cents } else { exact.round_ties_even() as i64 };
            (cents, left) = (cents - share, left - weight);
            share
        };
        weights.iter().map(share).collect()
    }

    /// Takes `outs` out, at the cents they brought where that is given, and shares what they were
    /// worth among `ins`.
    fn turn(&mut self, outs: &[(Place, i32, Option<i64>)], ins: &[(Place, i32, i64)]) -> bool {
        if outs.iter().any(|(place, pieces, _)| *pieces > self.free(*place)) {
            return false;
        }
        let out = |&(place, pieces, wanted): &(Place, i32, Option<i64>)| {
            (place, -pieces, -self.going(place, pieces, wanted))
        };
        let mut legs: Vec<_> = outs.iter().map(out).collect();
        let cents = -legs.iter().map(|leg| leg.2).sum::<i64>();
        let weights: Vec<i64> = ins.iter().map(|leg| leg.2).collect();
        let shares = Self::shared(cents, &weights).into_iter();
        legs.extend(ins.iter().zip(shares).map(|(leg, cents)| (leg.0, leg.1, cents)));
        self.write(Kind::Kit, &legs)
    }

    fn kit(&mut self, bin: usize, parts_bin: usize, kits: i32) -> bool {
        let place = (KIT, bin, false);
        let parts = CONTAINS.map(|(part, each)| ((part, parts_bin, false), each * kits.abs()));
        if kits > 0 {
            return self.turn(&parts.map(|(part, n)| (part, n, None)), &[(place, kits, 1)]);
        }
        let costs = parts.map(|(part, n)| (part, n, self.average(part, n)));
        let unpriced = costs.iter().all(|part| part.2 == 0);
        let weighed =
            costs.map(|(part, n, cost)| (part, n, if unpriced { n.into() } else { cost }));
        kits < 0 && self.turn(&[(place, -kits, None)], &weighed)
    }

    /// What came in goes, the last first; what went out comes back, by what it was worth.
    fn undo_kit(&mut self, lines: &[Line]) -> bool {
        let came = lines.iter().rev().filter(|line| line.pieces > 0);
        let outs: Vec<_> = came.map(|line| (line.place, line.pieces, Some(line.cents))).collect();
        let went: Vec<_> = lines.iter().rev().filter(|line| line.pieces < 0).collect();
        let priced = went.iter().any(|line| line.cents != 0);
        let back = |line: &&Line| {
            let weight = if priced { line.cents } else { line.pieces.into() };
            (line.place, -line.pieces, weight.abs())
        };
        let ins: Vec<_> = went.iter().map(back).collect();
        self.turn(&outs, &ins)
    }

    fn keyed(&mut self, key: usize, part: usize, from: usize, pieces: i32) -> bool {
        let asked = (part, from, pieces);
        if let Some(known) = self.keys.get(&key) {
            return *known == asked;
        }
        let (here, there) = ((part, from, false), (part, 1 - from, false));
        let done = self.carry(Kind::Move, here, there, pieces, None);
        if done {
            self.keys.insert(key, asked);
        }
        done
    }

    fn send(&mut self, part: usize, from: usize, to: usize, pieces: i32) -> bool {
        let place = (part, from, false);
        let good = (from == FAR) != (to == FAR) && pieces > 0 && pieces <= self.free(place);
        let cents = self.going(place, pieces, None);
        good && self.write(Kind::Send(to), &[(place, -pieces, -cents)])
    }

    /// What is on its way: the posting it left by, the bin it is meant for, pieces and cents.
    fn on_way(&self) -> Vec<(usize, Place, i32, i64)> {
        let sent = self.lines.iter().filter(|line| !line.undone);
        sent.filter_map(|line| {
            let Kind::Send(to) = self.kinds[line.posting] else { return None };
            let came = self.landed(line.posting);
            let left = (-line.pieces - came.0, -line.cents - came.1);
            (left.0 > 0).then_some((line.posting, (line.place.0, to, false), left.0, left.1))
        })
        .collect()
    }

    /// Pieces and cents on their way, first sent first.
    pub fn in_transit(&self) -> Vec<(i32, i64)> {
        self.on_way().into_iter().map(|(_, _, pieces, cents)| (pieces, cents)).collect()
    }

    /// What has come, or was given up, of what was sent.
    fn landed(&self, posting: usize) -> (i32, i64) {
        let of = |line: &&Line| {
            self.kinds[line.posting] == Kind::Land(posting) && line.pieces > 0 && !line.undone
        };
        let mine = self.lines.iter().filter(of);
        mine.fold((0, 0), |sum, line| (sum.0 + line.pieces, sum.1 + line.cents))
    }

    fn land(&mut self, which: usize, came: i32, lost: i32) -> bool {
        let Some(&(posting, place, left, cents)) = self.on_way().get(which) else { return false };
        let both = came + lost;
        if both <= 0 || both > left {
            return false;
        }
        let part = |cents: i64, n: i32, of: i32| {
            (cents as f64 * f64::from(n) / f64::from(of)).round_ties_even() as i64
        };
        let brought = part(cents, both, left);
        self.write(Kind::Land(posting), &[(place, both, brought)]);
        if lost > 0 {
            let gone = self.going(place, lost, Some(part(brought, lost, both)));
            self.beside(place, -lost, -gone);
        }
        true
    }

    fn undo_landing(&mut self, lines: &[Line]) -> bool {
        let lost: i32 = -lines.iter().skip(1).map(|line| line.pieces).sum::<i32>();
        let Line { place, pieces, cents, .. } = lines[0];
        if pieces > self.free(place) + lost {
            return false;
        }
        self.write(Kind::Back, &[]);
        if let Some(scrap) = lines.get(1) {
            self.beside(place, lost, -scrap.cents);
        }
        let gone = self.going(place, pieces, Some(cents));
        self.beside(place, -pieces, -gone);
        true
    }

    /// One line more of the last posting.
    fn beside(&mut self, place: Place, pieces: i32, cents: i64) {
        *self.stock.entry(place).or_default() += pieces;
        let posting = self.kinds.len() - 1;
        self.lines.push(Line { place, pieces, cents, posting, undone: false });
    }

    fn undo(&mut self, back: usize) -> bool {
        let Some(which) = self.lines.len().checked_sub(1 + back) else { return false };
        let Some(Line { posting, undone: false, .. }) = self.lines.get(which).copied() else {
            return false;
        };
        let lines: Vec<Line> =
            self.lines.iter().filter(|line| line.posting == posting).copied().collect();
        let done = match (self.kinds[posting], &lines[..]) {
            (Kind::Back, _) => false,
            (Kind::Send(_), _) if self.landed(posting).0 > 0 => false,
            (Kind::Send(_), &[Line { place, pieces, cents, .. }]) => {
                self.write(Kind::Back, &[(place, -pieces, -cents)])
            }
            (Kind::Land(_), lines) => self.undo_landing(lines),
            (_, lines) => self.undo_plain(posting, lines),
        };
        if done {
            let mine = self.lines.iter_mut().filter(|line| line.posting == posting);
            mine.for_each(|line| line.undone = true);
        }
        done
    }

    fn undo_plain(&mut self, posting: usize, lines: &[Line]) -> bool {
        match *lines {
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
            _ => self.undo_kit(lines),
        }
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
            Step::Kit { bin, parts_bin, kits } => self.kit(bin, parts_bin, kits),
            Step::Send { part, from, to, pieces } => self.send(part, from, to, pieces),
            Step::Land { which, came, lost } => self.land(which, came, lost),
            Step::Keyed { key, part, from, pieces } => self.keyed(key, part, from, pieces),
            Step::Release(which) => match self.holds.get_mut(which) {
                Some(hold) if hold.until >= self.today => std::mem::replace(&mut hold.open, false),
                _ => false,
            },
            Step::Undo(back) => self.undo(back),
            Step::Sleep(days) => {
                self.today = self.today.checked_add(Span::new().days(days)).unwrap();
                true
            }
        }
    }
}
