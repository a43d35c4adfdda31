//! Which numbers of a dictionary are near what was typed?

use std::marker::PhantomData;

use tantivy_fst::Automaton;

use crate::distance::{Close, Pattern, ROOM, Row, Tenths, Whole};

/// Walks a dictionary for the numbers that cost at most `most`.
pub(crate) struct Walk<'a, R> {
    pattern: &'a Pattern,
    most: Tenths,
    /// What each place of the text may have cost so far.
    limits: [Tenths; ROOM],
    rows: PhantomData<R>,
}

/// How far a walk has come.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Come<R> {
    row: R,
    /// Whether it may still end well.
    open: bool,
}

impl<'a> Walk<'a, Whole> {
    pub fn new(pattern: &'a Pattern, most: Tenths) -> Self {
        Self { pattern, most, limits: [most; ROOM], rows: PhantomData }
    }
}

impl<'a> Walk<'a, Close> {
    /// Two edits at most, and nothing that is not legible. Passes over numbers that cost all of `most`
    /// in the first `first` bytes: with nothing left to pay for the others, these end as the text
    /// does.
    pub fn near(pattern: &'a Pattern, most: Tenths, first: usize) -> Self {
        let mut limits = [most; ROOM];
        if first < pattern.len() {
            limits[..=Pattern::place(first)].fill(most - 1);
        }
        Self { pattern, most, limits, rows: PhantomData }
    }
}

impl<R: Row> Walk<'_, R> {
    /// What the number `folded` costs.
    pub fn cost(&self, folded: &[u8]) -> Tenths {
        self.pattern.cost::<R>(folded)
    }

    /// What a number costs that ends where the walk has come to.
    pub fn cost_at(&self, come: &Come<R>) -> Tenths {
        come.row.end(self.pattern)
    }

    fn come(&self, row: R) -> Come<R> {
        // A row never falls below the least of the row above, so one that is all too dear is final.
        Come { open: row.is_within(&self.limits), row }
    }
}

impl<R: Row> Automaton for &Walk<'_, R> {
    type State = Come<R>;

    fn start(&self) -> Come<R> {
        self.come(R::start(self.pattern))
    }

    fn is_match(&self, come: &Come<R>) -> bool {
        self.cost_at(come) <= self.most
    }

    fn can_match(&self, come: &Come<R>) -> bool {
        come.open
    }

    fn accept(&self, come: &Come<R>, byte: u8) -> Come<R> {
        self.come(come.row.next(self.pattern, byte))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::distance::EDIT;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn a_walk_keeps_what_it_may_still_reach(a in "[A-D0-3?*]{1,9}", b in "[A-D0-3]{0,9}") {
            let pattern = Pattern::new(&a).unwrap();
            let most = pattern.cost::<Whole>(b.as_bytes());
            let walk = &Walk::new(&pattern, most);
            let mut step = walk.start();
            for byte in b.bytes() {
                prop_assert!(walk.can_match(&step));
                step = walk.accept(&step, byte);
            }
            prop_assert!(walk.is_match(&step));
        }

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
            let near = pattern.cost::<Whole>(b.as_bytes()) <= most;
            prop_assert!(near || !reached);
            prop_assert!(!near || reached || b.ends_with(last));
        }
    }
}
