//! How far is a number from what was typed, when labels are worn and keys are missed?

use binwright_catalog::number::look_alike;
use tantivy_fst::Automaton;

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

/// Costs of each place of the text up to here; one more than places.
type Row = [Tenths; LONGEST + 1];

/// A typed number, ready to be compared: folded, with `?` for one character that was not legible
/// and `*` for some. A letter outside ASCII counts as its bytes.
#[derive(Debug, Clone)]
pub(crate) struct Pattern {
    text: Vec<u8>,
    /// For each symbol, what it costs to meet it at each place of the text.
    swaps: Vec<[Tenths; LONGEST]>,
}

/// How far a comparison has come: the costs of the last two rows, and the byte between them.
#[derive(Debug, Clone)]
struct Step {
    now: Row,
    before: Row,
    byte: u8,
    /// How many bytes were met.
    met: usize,
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
        let text = folded.as_bytes().to_vec();
        if text.is_empty() || text.len() > LONGEST {
            return None;
        }
        let swaps = (b'0'..=b'9').chain(b'A'..=b'Z').chain([0]).map(|met| {
            let mut row = [EDIT; LONGEST];
            for (cost, &own) in row.iter_mut().zip(&text) {
                *cost = match own {
                    b'?' => WILD,
                    _ if own == met => 0,
                    _ if look_alike(own as char, met as char) => look,
                    _ => EDIT,
                };
            }
            row
        });
        Some(Self { swaps: swaps.collect(), text })
    }

    /// Returns what the number `folded` costs, in tenths; 255 and above are one.
    pub fn cost(&self, folded: &[u8]) -> Tenths {
        let step = |step: Step, byte: &u8| self.step(&step, *byte, LONGEST);
        let end = folded.iter().fold(self.start(), step);
        end.now[self.text.len()]
    }

    fn start(&self) -> Step {
        let mut now: Row = [0; LONGEST + 1];
        for (at, byte) in self.text.iter().enumerate() {
            now[at + 1] = now[at].saturating_add(if *byte == b'*' { WILD } else { EDIT });
        }
        Step { before: now, now, byte: 0, met: 0 }
    }

    /// One more byte of the number: the optimal-string-alignment row below. Places more than
    /// `reach` off the diagonal are left out, as too dear.
    fn step(&self, step: &Step, byte: u8, reach: usize) -> Step {
        let swaps = &self.swaps[symbol(byte)];
        let outside = symbol(byte) == 36;
        let met = step.met + 1;
        let mut now: Row = [Tenths::MAX; LONGEST + 1];
        if met <= reach {
            now[0] = step.now[0].saturating_add(EDIT);
        }
        for at in met.saturating_sub(reach + 1)..self.text.len().min(met + reach) {
            let own = self.text[at];
            now[at + 1] = if own == b'*' {
                now[at].saturating_add(WILD).min(step.now[at + 1])
            } else {
                let swap = if outside && own == byte { 0 } else { swaps[at] };
                let mut least = step.now[at]
                    .saturating_add(swap)
                    .min(step.now[at + 1].min(now[at]).saturating_add(EDIT));
                if at > 0 && own == step.byte && self.text[at - 1] == byte {
                    least = least.min(step.before[at - 1].saturating_add(EDIT));
                }
                least
            };
        }
        Step { now, before: step.now, byte, met }
    }
}

/// Walks a dictionary for the numbers that cost at most `most`.
pub(crate) struct Walk<'a> {
    pub pattern: &'a Pattern,
    most: Tenths,
    /// What each place of the text may have cost so far.
    limits: Row,
    /// How far off the diagonal a place may be.
    reach: usize,
}

/// How far a walk has come.
#[derive(Debug, Clone)]
pub(crate) struct Place {
    step: Step,
    /// Whether it may still end well.
    open: bool,
}

impl<'a> Walk<'a> {
    pub fn new(pattern: &'a Pattern, most: Tenths) -> Self {
        Self::with_end(pattern, most, pattern.text.len())
    }

    /// Passes over numbers that cost all of `most` in the first `first` bytes: with nothing left to
    /// pay for the others, these end as the text does.
    pub fn with_end(pattern: &'a Pattern, most: Tenths, first: usize) -> Self {
        let mut limits = [most; LONGEST + 1];
        if first < pattern.text.len() {
            limits[..=first].fill(most - 1);
        }
        // Off the diagonal by one is an edit, but for what stands for any number of bytes.
        let some = pattern.text.contains(&b'*');
        Self { pattern, most, limits, reach: if some { LONGEST } else { (most / EDIT).into() } }
    }

    fn place(&self, step: Step) -> Place {
        let last = self.pattern.text.len().min(step.met.saturating_add(self.reach));
        let places = step.met.saturating_sub(self.reach).min(last)..=last;
        // A row never falls below the least of the row above, so one that is all too dear is final.
        let open = step.now[places.clone()].iter().zip(&self.limits[places]).any(|(a, b)| a <= b);
        Place { step, open }
    }
}

impl Automaton for &Walk<'_> {
    type State = Place;

    fn start(&self) -> Place {
        self.place(self.pattern.start())
    }

    fn is_match(&self, place: &Place) -> bool {
        place.step.now[self.pattern.text.len()] <= self.most
    }

    fn can_match(&self, place: &Place) -> bool {
        place.open
    }

    fn accept(&self, place: &Place, byte: u8) -> Place {
        self.place(self.pattern.step(&place.step, byte, self.reach))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn unit_cost(a: &str, b: &str) -> usize {
        match Pattern::with_costs(a, EDIT) {
            Some(pattern) => usize::from(pattern.cost(b.as_bytes()) / EDIT),
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
        fn a_walk_keeps_what_it_may_still_reach(a in "[A-D0-3?*]{1,9}", b in "[A-D0-3]{0,9}") {
            let pattern = Pattern::new(&a).unwrap();
            let most = pattern.cost(b.as_bytes());
            let walk = &Walk::new(&pattern, most);
            let mut step = walk.start();
            for byte in b.bytes() {
                prop_assert!(walk.can_match(&step));
                step = walk.accept(&step, byte);
            }
            prop_assert!(walk.is_match(&step));
        }
    }

    proptest! {
        #[test]
        fn what_is_near_is_walked_to_or_has_the_same_end(
            a in "[02489KRXTO]{6,9}", kept in 3..6_usize, most in 1..=2_u8,
            edits in proptest::collection::vec((0..4, 0..9_usize, "[02489KRXTO]"), 0..4),
        ) {
            let mut b = a.clone();
            for (edit, at, letter) in &edits {
                let at = *at % (b.len() - 1);
                match edit {
                    0 => b.insert_str(at, letter),
                    1 => b.replace_range(at..=at, letter),
                    2 => b.replace_range(at..=at, ""),
                    _ => b = format!("{}{}{}{}", &b[..at], &b[at + 1..at + 2], &b[at..=at], &b[at + 2..]),
                }
            }
            let (pattern, most) = (Pattern::new(&a).unwrap(), most * EDIT);
            let (first, last) = a.split_at(a.len() - kept);
            let walk = &Walk::with_end(&pattern, most, first.len());
            let mut place = walk.start();
            let open = b.bytes().all(|byte| {
                place = walk.accept(&place, byte);
                walk.can_match(&place)
            });
            let reached = open && walk.is_match(&place);
            let near = pattern.cost(b.as_bytes()) <= most;
            prop_assert!(near || !reached);
            prop_assert!(!near || reached || b.ends_with(last));
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
            let cost = Pattern::new(typed).unwrap().cost(number.as_bytes());
            assert_eq!(cost, tenths, "{typed} for {number}: {shows}");
        }
    }
}
