//! How far is a number from what was typed, when labels are worn and keys are missed?

use std::array;

use binwright_catalog::number::look_alike;
use bytemuck::must_cast;
use wide::{u8x16, u64x2};

/// Tenths, the unit of all costs here.
pub(crate) type Tenths = u8;

/// A look-alike swapped in; TRADE practice: 0.3. `common practice, no source`.
pub(crate) const LOOK_ALIKE: Tenths = 3;
/// A character that was not legible; 0.5. `common practice, no source`.
pub(crate) const WILD: Tenths = 5;
/// A character wrong, missing, too many, or two neighbours swapped.
pub(crate) const EDIT: Tenths = 10;

/// The longest text that is compared, in bytes: a walk copies a row at every step.
const LONGEST: usize = 31;
/// More than can be told.
const NEVER: Tenths = Tenths::MAX;

/// Places before the first byte of the text, so that rows need not ask where it begins.
const MARGIN: usize = 3;
/// Where the place before the first byte is kept.
const ZEROTH: usize = MARGIN - 1;
/// Room for the text, for what is before it and for a row that goes on behind it.
pub(crate) const ROOM: usize = MARGIN + LONGEST + CLOSE;

/// A typed number, ready to be compared: folded, with `?` for one character that was not legible
/// and `*` for some. A letter outside ASCII counts as its bytes.
#[derive(Debug, Clone)]
pub(crate) struct Pattern {
    text: [u8; ROOM],
    length: usize,
    /// For each symbol, what it costs to meet it in place of each byte of the text.
    swaps: Vec<[Tenths; ROOM]>,
}

/// A symbol of a folded number; all that are neither digits nor Latin letters share the last.
fn symbol(byte: u8) -> usize {
    match byte {
        b'0'..=b'9' => usize::from(byte - b'0'),
        b'A'..=b'Z' => usize::from(byte - b'A') + 10,
        _ => 36,
    }
}

impl Pattern {
    /// Returns `folded` ready to be compared at the trade's costs; `None` when it is empty or
    /// too long to be compared.
    pub fn new(folded: &str) -> Option<Self> {
        Self::with_costs(folded, LOOK_ALIKE)
    }

    fn with_costs(folded: &str, look: Tenths) -> Option<Self> {
        let length = folded.len();
        if length == 0 || length > LONGEST {
            return None;
        }
        let own = MARGIN..MARGIN + length;
        let mut text = [0; ROOM];
        text[own.clone()].copy_from_slice(folded.as_bytes());
        let swaps = (b'0'..=b'9').chain(b'A'..=b'Z').chain([0]).map(|met| {
            let mut row = [NEVER; ROOM];
            for (cost, own) in row[own.clone()].iter_mut().zip(folded.bytes()) {
                *cost = match own {
                    b'?' => WILD,
                    _ if look_alike(own as char, met as char) => look,
                    _ => EDIT,
                };
            }
            row
        });
        Some(Self { swaps: swaps.collect(), text, length })
    }

    /// Returns what the number `folded` costs, in tenths; 255 and above are one, as is what is more
    /// than the places of a row allow.
    pub fn cost<R: Row>(&self, folded: &[u8]) -> Tenths {
        folded.iter().fold(R::start(self), |row, byte| row.next(self, *byte)).end(self)
    }

    /// Where the place behind so many bytes of the text is kept.
    pub fn place(bytes: usize) -> usize {
        ZEROTH + bytes
    }

    pub fn len(&self) -> usize {
        self.length
    }

    /// What it costs to lack the text up to each place, of which the first is kept at `first`.
    fn lacked<const W: usize>(&self, first: usize) -> [Tenths; W] {
        let mut cost: Tenths = 0;
        array::from_fn(|at| {
            let place = first + at;
            if place < ZEROTH || place > Self::place(self.length) {
                return NEVER;
            }
            if place > ZEROTH {
                cost = cost.saturating_add(if self.text[place] == b'*' { WILD } else { EDIT });
            }
            cost
        })
    }
}

/// How far a comparison has come: the costs of the last two rows, and the byte between them. A row
/// has the cost of places of the text up to the byte. The distance is optimal string alignment.
pub(crate) trait Row: Copy {
    /// No byte was met.
    fn start(pattern: &Pattern) -> Self;

    /// One more byte of the number.
    fn next(&self, pattern: &Pattern, byte: u8) -> Self;

    /// What the whole text costs.
    fn end(&self, pattern: &Pattern) -> Tenths;

    /// Whether any place costs no more than `limits` has it.
    fn is_within(&self, limits: &[Tenths; ROOM]) -> bool;
}

/// A row of all places.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Whole {
    now: [Tenths; LONGEST + 1],
    before: [Tenths; LONGEST + 1],
    byte: u8,
}

impl Row for Whole {
    fn start(pattern: &Pattern) -> Self {
        Self { now: pattern.lacked(ZEROTH), before: [NEVER; LONGEST + 1], byte: 0 }
    }

    fn next(&self, pattern: &Pattern, byte: u8) -> Self {
        let swaps = &pattern.swaps[symbol(byte)];
        let mut next = Self { now: [NEVER; LONGEST + 1], before: self.now, byte };
        next.now[0] = self.now[0].saturating_add(EDIT);
        for at in 1..=pattern.length {
            let place = Pattern::place(at);
            let (own, above, left) = (pattern.text[place], self.now[at], next.now[at - 1]);
            next.now[at] = if own == b'*' {
                left.saturating_add(WILD).min(above)
            } else {
                let swap = if own == byte { 0 } else { swaps[place] };
                let is_crossed = own == self.byte && pattern.text[place - 1] == byte;
                let crossed = if is_crossed { self.before[at - 2] } else { NEVER };
                let edited = above.min(left).min(crossed).saturating_add(EDIT);
                edited.min(self.now[at - 1].saturating_add(swap))
            };
        }
        next
    }

    fn end(&self, pattern: &Pattern) -> Tenths {
        self.now[pattern.length]
    }

    fn is_within(&self, limits: &[Tenths; ROOM]) -> bool {
        self.now.iter().zip(&limits[ZEROTH..]).any(|(cost, most)| cost <= most)
    }
}

/// Entries of a [`Close`] row: what a processor takes at once. Two edits reach the first five.
const CLOSE: usize = 16;

/// A row of the places around as many as bytes were met: enough for two edits, as off by one place
/// is an edit. Not for a text with `*`, which stands for any number of bytes.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Close {
    now: u8x16,
    before: u8x16,
    byte: u8,
    /// Where the first place is kept: two before as many as bytes were met.
    first: u8,
}

/// The entries for the places of a row, of which the first is kept at `first`.
fn entries(kept: &[u8; ROOM], first: usize) -> Option<u8x16> {
    Some(u8x16::new(*kept.get(first..)?.first_chunk()?))
}

/// An entry sooner, each half for itself.
fn sooner(row: u8x16) -> u8x16 {
    let halves: u64x2 = must_cast(row);
    must_cast(halves >> 8 | u64x2::splat(u64::from(NEVER) << 56))
}

/// An entry later, each half for itself.
fn later(row: u8x16) -> u8x16 {
    let halves: u64x2 = must_cast(row);
    must_cast(halves << 8 | u64x2::splat(u64::from(NEVER)))
}

impl Row for Close {
    fn start(pattern: &Pattern) -> Self {
        let never = u8x16::splat(NEVER);
        Self { now: u8x16::new(pattern.lacked(0)), before: never, byte: 0, first: 0 }
    }

    fn next(&self, pattern: &Pattern, byte: u8) -> Self {
        let next = Self { before: self.now, byte, first: self.first.saturating_add(1), ..*self };
        let at = usize::from(next.first);
        let (Some(own), Some(earlier), Some(swaps)) = (
            entries(&pattern.text, at),
            entries(&pattern.text, at - 1),
            entries(&pattern.swaps[symbol(byte)], at),
        ) else {
            return Self { now: u8x16::splat(NEVER), ..next };
        };
        let (edit, met) = (u8x16::splat(EDIT), u8x16::splat(byte));
        let same = own.simd_eq(met);
        let is_crossed = own.simd_eq(u8x16::splat(self.byte)) & earlier.simd_eq(met);
        let crossed = self.before | !is_crossed;
        // The same place is an entry later in the row above.
        let edited = sooner(self.now).min(crossed).saturating_add(edit);
        let now = edited.min(self.now.saturating_add(swaps & !same));
        // Of the text two bytes may be lacking here.
        let now = now.min(later(now).saturating_add(edit));
        Self { now: now.min(later(now).saturating_add(edit)), ..next }
    }

    fn end(&self, pattern: &Pattern) -> Tenths {
        let end = Pattern::place(pattern.length).checked_sub(self.first.into());
        end.and_then(|at| self.now.as_array().get(at).copied()).unwrap_or(NEVER)
    }

    fn is_within(&self, limits: &[Tenths; ROOM]) -> bool {
        let limits = entries(limits, self.first.into());
        limits.is_some_and(|limits| self.now.min(limits).simd_eq(self.now).any())
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn unit_cost(a: &str, b: &str) -> usize {
        match Pattern::with_costs(a, EDIT) {
            Some(pattern) => usize::from(pattern.cost::<Whole>(b.as_bytes()) / EDIT),
            None => b.len(),
        }
    }

    /// `osa` column of edit_distance.csv: rapidfuzz, cross-checked with jellyfish.
    #[test]
    fn at_unit_cost_it_is_the_published_optimal_string_alignment() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/reference/edit_distance.csv");
        let mut rows = csv::Reader::from_path(path).unwrap();
        let mut seen = 0;
        for row in rows.records().map(Result::unwrap) {
            assert_eq!(unit_cost(&row[0], &row[1]).to_string(), row[3], "{row:?}");
            seen += 1;
        }
        assert_eq!(seen, 80);
    }

    proptest! {
        #[test]
        fn at_unit_cost_it_agrees_with_strsim(a in "[A-D0-3]{1,12}", b in "[A-D0-3]{0,12}") {
            prop_assert_eq!(unit_cost(&a, &b), strsim::osa_distance(&a, &b));
        }

        #[test]
        fn few_places_are_enough_for_two_edits(a in "[A-D08]{1,9}", b in "[A-D08]{0,9}") {
            let pattern = Pattern::new(&a).unwrap();
            let (few, all) = (pattern.cost::<Close>(b.as_bytes()), pattern.cost::<Whole>(b.as_bytes()));
            prop_assert!(few == all || (few > 2 * EDIT && all > 2 * EDIT), "{few} {all}");
        }
    }

    #[test]
    fn costs_are_those_of_the_trade() {
        let rows = [
            ("KR104", "KR104", 0, "the same"),
            ("KR1O4", "KR104", 3, "O for 0"),
            ("KRL04", "KR104", 3, "L for 1"),
            ("KRLO4", "KR104", 6, "two look-alikes"),
            ("KR204", "KR104", 10, "2 is not read for 1"),
            ("KR014", "KR104", 10, "neighbours swapped"),
            ("KR04", "KR104", 10, "one missing"),
            ("KR1044", "KR104", 10, "one too many"),
            ("KR?04", "KR104", 5, "one not legible"),
            ("KR*", "KR104", 5, "the end not legible"),
            ("*04", "KR104", 5, "the start not legible"),
            ("*R*4", "KR104", 10, "two stretches not legible"),
            ("KR?0A", "KR104", 8, "one not legible, one look-alike"),
            ("KR104*", "KR104", 5, "nothing may be some"),
        ];
        for (typed, number, tenths, shows) in rows {
            let cost = Pattern::new(typed).unwrap().cost::<Whole>(number.as_bytes());
            assert_eq!(cost, tenths, "{typed} for {number}: {shows}");
        }
    }
}
