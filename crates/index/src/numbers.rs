//! How are the numbers of a small segment laid out in memory, to be walked at little cost a step?

use std::{io, iter};

use tantivy::postings::TermInfo;
use tantivy::termdict::{TermDictionary, TermOrdinal};
use tantivy_fst::Automaton;

/// Numbers in their order, what several begin with laid down once.
#[derive(Debug, Default)]
pub(crate) struct Numbers {
    nodes: Vec<Node>,
    /// Where the parts of each are told.
    terms: Vec<TermInfo>,
}

/// One more byte that numbers with the same beginning have.
#[derive(Debug)]
struct Node {
    /// The place behind all numbers that have it.
    next: u32,
    /// The place in the dictionary of the term that ends with it, or [`NONE`].
    term: u32,
    /// Bytes before it; a term has less than 2^16.
    depth: u16,
    byte: u8,
}

const NONE: u32 = u32::MAX;

impl Numbers {
    /// To lay out more takes longer than the first one to ask should wait: twice as many took 17 ms.
    const MOST: usize = 1 << 15;
    /// Bytes of most numbers.
    const USUAL: usize = 32;

    /// Lays out the terms of `dictionary`; nothing when they are too many.
    pub fn of(dictionary: &TermDictionary) -> io::Result<Option<Self>> {
        if dictionary.num_terms() > Self::MOST {
            return Ok(None);
        }
        let mut numbers = Self::default();
        let mut terms = dictionary.stream()?;
        let mut last = Vec::new();
        let mut open = Vec::new();
        while terms.advance() {
            let same = last.iter().zip(terms.key()).take_while(|(last, own)| last == own).count();
            numbers.close(&mut open, same);
            for (depth, &byte) in terms.key().iter().enumerate().skip(same) {
                open.push(numbers.nodes.len());
                numbers.nodes.push(Node { next: 0, term: NONE, depth: depth as u16, byte });
            }
            if let Some(node) = numbers.nodes.last_mut() {
                node.term = numbers.terms.len() as u32;
                numbers.terms.push(terms.value().clone());
            }
            last.clear();
            last.extend_from_slice(terms.key());
        }
        numbers.close(&mut open, 0);
        Ok(Some(numbers))
    }

    /// No number to come has the nodes in `open` after the first `kept`.
    fn close(&mut self, open: &mut Vec<usize>, kept: usize) {
        let next = self.nodes.len() as u32;
        for at in open.drain(kept..) {
            self.nodes[at].next = next;
        }
    }

    /// Returns the numbers that `walk` accepts, in their order.
    pub fn search<A: Automaton<State: Copy>>(
        &self,
        walk: A,
    ) -> impl Iterator<Item = Met<'_, A::State>> {
        let mut come = Vec::with_capacity(Self::USUAL);
        come.push(walk.start());
        let mut at = 0;
        iter::from_fn(move || {
            while let Some(node) = self.nodes.get(at) {
                come.truncate(usize::from(node.depth) + 1);
                let now = walk.accept(come.last()?, node.byte);
                if !walk.can_match(&now) {
                    at = node.next as usize;
                    continue;
                }
                at += 1;
                come.push(now);
                if node.term != NONE && walk.is_match(&now) {
                    let (length, place) = (usize::from(node.depth) + 1, node.term.into());
                    let term = self.terms.get(node.term as usize)?;
                    return Some(Met { come: now, length, place, term });
                }
            }
            None
        })
    }
}

/// A number that a walk accepts.
#[derive(Debug)]
pub(crate) struct Met<'a, S> {
    /// How far the walk has come with it.
    pub come: S,
    /// In bytes.
    pub length: usize,
    /// In the dictionary.
    pub place: TermOrdinal,
    pub term: &'a TermInfo,
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use proptest::prelude::*;
    use tantivy::directory::FileSlice;
    use tantivy::termdict::TermDictionaryBuilder;

    use super::*;
    use crate::distance::{EDIT, Pattern};
    use crate::walk::Walk;

    /// A dictionary of `numbers`, each with as many parts as its place.
    fn dictionary(numbers: &BTreeSet<String>) -> TermDictionary {
        let mut builder = TermDictionaryBuilder::create(Vec::new()).unwrap();
        for (doc_freq, number) in (0..).zip(numbers) {
            builder.insert(number, &TermInfo { doc_freq, ..TermInfo::default() }).unwrap();
        }
        TermDictionary::open(FileSlice::from(builder.finish().unwrap())).unwrap()
    }

    proptest! {
        #[test]
        fn a_walk_meets_the_numbers_it_meets_in_the_dictionary(
            numbers in prop::collection::btree_set("[A-C08]{1,7}|Ä[A-C]{1,3}", 0..40),
            typed in "[A-C08*?]{1,7}", most in 0..=2 * EDIT,
        ) {
            let dictionary = dictionary(&numbers);
            let laid_out = Numbers::of(&dictionary).unwrap().unwrap();
            let pattern = Pattern::new(&typed).unwrap();
            let walk = &Walk::new(&pattern, most);
            let met: Vec<_> =
                laid_out.search(walk).map(|met| (met.place, met.length, met.term.doc_freq)).collect();
            let (mut terms, mut listed) = (dictionary.search(walk).into_stream().unwrap(), Vec::new());
            while terms.advance() {
                listed.push((terms.term_ord(), terms.key().len(), terms.value().doc_freq));
            }
            prop_assert_eq!(met, listed);
        }
    }
}
