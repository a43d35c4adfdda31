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

/// Places kept of a row, when all of them are.
pub(crate) const ALL: usize = LONGEST + 1;
/// Places kept of a row, when only those are that two edits may lead to: off the diagonal by one is
/// an edit, but where `*` stands for any number of bytes.
pub(crate) const FEW: usize = 2 * REACH + 1;
const REACH: usize = 2;

/// A typed number, ready to be compared: folded, with `?` for one character that was not legible
/// and `*` for some. A letter outside ASCII counts as its bytes.
#[derive(Debug, Clone)]
pub(crate) struct Pattern {
    text: Vec<u8>,
    /// For each symbol, what it costs to meet it at each place of the text.
    swaps: Vec<[Tenths; LONGEST]>,
}

/// How far a comparison has come: the costs of the last two rows, and the byte between them. A row
/// has the cost of each place of the text up to the byte, [`ALL`] of them or the [`FEW`] around as
/// many places as bytes were met.
#[derive(Debug, Clone, Copy)]
struct Step<const W: usize> {
    now: [Tenths; W],
    before: [Tenths; W],
    byte: u8,
    met: u8,
}

impl<const W: usize> Step<W> {
    /// The place that entry `at` of the last row stands for, when there may be one.
    fn place(&self, at: usize) -> Option<usize> {
        if W == ALL { Some(at) } else { (usize::from(self.met) + at).checked_sub(REACH) }
    }
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

    /// Returns what the number `folded` costs, in tenths; 255 and above are one, as is what is more
    /// than the places of a row allow.
    pub fn cost<const W: usize>(&self, folded: &[u8]) -> Tenths {
        let step = |step: Step<W>, byte: &u8| self.step(&step, *byte);
        self.end_of(&folded.iter().fold(self.start(), step))
    }

    /// What the whole text costs.
    fn end_of<const W: usize>(&self, step: &Step<W>) -> Tenths {
        let end = self.text.len();
        let last = if W == ALL { Some(end) } else { (end + REACH).checked_sub(step.met.into()) };
        last.and_then(|at| step.now.get(at)).copied().unwrap_or(Tenths::MAX)
    }

    fn start<const W: usize>(&self) -> Step<W> {
        let mut step = Step { now: [Tenths::MAX; W], before: [Tenths::MAX; W], byte: 0, met: 0 };
        let mut cost: Tenths = 0;
        for at in 0..W {
            match step.place(at) {
                Some(place) if place <= self.text.len() => {
                    if let Some(last) = place.checked_sub(1) {
                        let own = if self.text[last] == b'*' { WILD } else { EDIT };
                        cost = cost.saturating_add(own);
                    }
                    step.now[at] = cost;
                }
                _ => {}
            }
        }
        step
    }

    /// One more byte of the number: the optimal-string-alignment row below.
    fn step<const W: usize>(&self, step: &Step<W>, byte: u8) -> Step<W> {
        let swaps = &self.swaps[symbol(byte)];
        let outside = symbol(byte) == 36;
        let met = step.met.saturating_add(1);
        let mut next = Step { now: [Tenths::MAX; W], before: step.now, byte, met };
        // Around the diagonal the same place is an entry later in the row above.
        let later = usize::from(W != ALL);
        let entry = |row: &[Tenths; W], at: usize| row.get(at).copied().unwrap_or(Tenths::MAX);
        for at in 0..W {
            let Some(place) = next.place(at) else { continue };
            let Some(last) = place.checked_sub(1) else {
                next.now[at] = entry(&step.now, at + later).saturating_add(EDIT);
                continue;
            };
            let Some(&own) = self.text.get(last) else { break };
            let above = entry(&step.now, at + later);
            let left = entry(&next.now, at.wrapping_sub(1));
            next.now[at] = if own == b'*' {
                left.saturating_add(WILD).min(above)
            } else {
                let swap = if outside && own == byte { 0 } else { swaps[last] };
                let diagonal = entry(&step.now, (at + later).wrapping_sub(1));
                let mut least =
                    diagonal.saturating_add(swap).min(above.min(left).saturating_add(EDIT));
                if last > 0 && own == step.byte && self.text[last - 1] == byte {
                    let crossed = entry(&step.before, (at + 2 * later).wrapping_sub(2));
                    least = least.min(crossed.saturating_add(EDIT));
                }
                least
            };
        }
        next
    }
}

/// Walks a dictionary for the numbers that cost at most `most`, with so many places to a row.
pub(crate) struct Walk<'a, const W: usize> {
    pub pattern: &'a Pattern,
    most: Tenths,
    /// What each place of the text may have cost so far.
    limits: [Tenths; ALL],
}

/// How far a walk has come.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Come<const W: usize> {
    step: Step<W>,
    /// Whether it may still end well.
    open: bool,
}

impl<'a> Walk<'a, ALL> {
    pub fn new(pattern: &'a Pattern, most: Tenths) -> Self {
        Self { pattern, most, limits: [most; ALL] }
    }
}

impl<'a> Walk<'a, FEW> {
    /// Two edits at most, and nothing that is not legible. Passes over numbers that cost all of `most`
    /// in the first `first` bytes: with nothing left to pay for the others, these end as the text
    /// does.
    pub fn near(pattern: &'a Pattern, most: Tenths, first: usize) -> Self {
        let mut limits = [most; ALL];
        if first < pattern.text.len() {
            limits[..=first].fill(most - 1);
        }
        Self { pattern, most, limits }
    }
}

impl<const W: usize> Walk<'_, W> {
    fn come(&self, step: Step<W>) -> Come<W> {
        // A row never falls below the least of the row above, so one that is all too dear is final.
        let open = step.now.iter().enumerate().any(|(at, cost)| {
            step.place(at).is_some_and(|at| at < ALL && *cost <= self.limits[at])
        });
        Come { step, open }
    }
}

impl<const W: usize> Automaton for &Walk<'_, W> {
    type State = Come<W>;

    fn start(&self) -> Come<W> {
        self.come(self.pattern.start())
    }

    fn is_match(&self, come: &Come<W>) -> bool {
        self.pattern.end_of(&come.step) <= self.most
    }

    fn can_match(&self, come: &Come<W>) -> bool {
        come.open
    }

    fn accept(&self, come: &Come<W>, byte: u8) -> Come<W> {
        self.come(self.pattern.step(&come.step, byte))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn unit_cost(a: &str, b: &str) -> usize {
        match Pattern::with_costs(a, EDIT) {
            Some(pattern) => usize::from(pattern.cost::<ALL>(b.as_bytes()) / EDIT),
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
            let (few, all) = (pattern.cost::<FEW>(b.as_bytes()), pattern.cost::<ALL>(b.as_bytes()));
            prop_assert!(few == all || (few > 2 * EDIT && all > 2 * EDIT), "{few} {all}");
        }

        #[test]
        fn a_walk_keeps_what_it_may_still_reach(a in "[A-D0-3?*]{1,9}", b in "[A-D0-3]{0,9}") {
            let pattern = Pattern::new(&a).unwrap();
            let most = pattern.cost::<ALL>(b.as_bytes());
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
            let walk = &Walk::near(&pattern, most, first.len());
            let mut come = walk.start();
            let open = b.bytes().all(|byte| {
                come = walk.accept(&come, byte);
                walk.can_match(&come)
            });
            let reached = open && walk.is_match(&come);
            let near = pattern.cost::<ALL>(b.as_bytes()) <= most;
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
            let cost = Pattern::new(typed).unwrap().cost::<ALL>(number.as_bytes());
            assert_eq!(cost, tenths, "{typed} for {number}: {shows}");
        }
    }
}
