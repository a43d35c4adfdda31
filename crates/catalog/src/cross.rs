//! Which part stands for which other? Relations between parts, followed to the end.

use std::collections::{HashMap, HashSet};
use std::{fmt, hash::Hash, str::FromStr};

use serde::{Deserialize, Serialize};

use crate::Quantity;

/// How one part relates to another. Read from left to right: *from* — kind — *to*.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CrossKind {
    /// The same part under other numbers; both ways.
    Same,
    /// *From* is the new part that takes the place of *to*; one way, chains.
    Replaces,
    /// *From* may be sold where *to* is asked for, with a remark; one way, never chained.
    StandsIn,
    /// *From* is a kit or assembly with *to* inside.
    Contains,
}

impl CrossKind {
    /// All kinds.
    pub const ALL: [Self; 4] = [Self::Same, Self::Replaces, Self::StandsIn, Self::Contains];

    /// The word in files, on the command line and in the store.
    pub fn word(self) -> &'static str {
        match self {
            Self::Same => "same",
            Self::Replaces => "replaces",
            Self::StandsIn => "stands-in",
            Self::Contains => "contains",
        }
    }
}

impl fmt::Display for CrossKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.word())
    }
}

/// The text is none of the relations.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("cross `{found}` is not known; it is same, replaces, stands-in or contains")]
pub struct CrossKindError {
    /// What was read.
    pub found: String,
}

impl FromStr for CrossKind {
    type Err = CrossKindError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let word = text.trim().to_lowercase().replace([' ', '_'], "-");
        Self::ALL
            .into_iter()
            .find(|kind| kind.word() == word)
            .ok_or_else(|| CrossKindError { found: text.to_owned() })
    }
}

/// One relation between two parts named by house number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Cross {
    /// House number on the left.
    pub from: String,
    /// The relation.
    pub kind: CrossKind,
    /// House number on the right.
    pub to: String,
    /// How many of *to* lie in one *from* (`contains`), otherwise one.
    pub quantity: Quantity,
    /// What must be said when it is used ("use the spacer").
    pub remark: String,
}

/// Returns the chain from `start` along `next`, both ends included: of a superseded part, the
/// part that took its place, and the one that took that one's, to the end. Stops at a loop.
pub fn chain<K: Copy + Eq + Hash>(start: K, mut next: impl FnMut(K) -> Option<K>) -> Vec<K> {
    let mut seen = HashSet::from([start]);
    let mut steps = vec![start];
    let mut at = start;
    while let Some(step) = next(at).filter(|step| seen.insert(*step)) {
        steps.push(step);
        at = step;
    }
    steps
}

/// Returns the loop that the one-way relations `edges` close, first node repeated at the end, or
/// `None` when there is none. Cost grows with the number of edges.
pub fn find_loop<K: Copy + Eq + Hash>(edges: &[(K, K)]) -> Option<Vec<K>> {
    let mut ahead: HashMap<K, Vec<K>> = HashMap::new();
    for &(from, to) in edges {
        ahead.entry(from).or_default().push(to);
    }
    let mut done: HashSet<K> = HashSet::new();
    for &(root, _) in edges {
        let mut path = vec![(root, 0)];
        let mut on_path = HashSet::from([root]);
        while let Some((node, turn)) = path.last_mut() {
            let Some(&to) = ahead.get(node).and_then(|all| all.get(*turn)) else {
                done.insert(*node);
                on_path.remove(node);
                path.pop();
                continue;
            };
            *turn += 1;
            if on_path.contains(&to) {
                let mut circle: Vec<K> =
                    path.iter().map(|(k, _)| *k).skip_while(|k| *k != to).collect();
                circle.push(to);
                return Some(circle);
            }
            if !done.contains(&to) {
                on_path.insert(to);
                path.push((to, 0));
            }
        }
    }
    None
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_chain_is_followed_to_its_end_and_out_of_a_loop() {
        let next = |k: u8| match k {
            1 => Some(2),
            2 => Some(3),
            5 => Some(6),
            6 => Some(5),
            _ => None,
        };
        assert_eq!(chain(1, next), [1, 2, 3]);
        assert_eq!(chain(5, next), [5, 6]);
    }

    #[test]
    fn a_loop_is_named_and_a_diamond_is_none() {
        assert_eq!(find_loop(&[(1, 2), (2, 3), (3, 1)]), Some(vec![1, 2, 3, 1]));
        assert_eq!(find_loop(&[(9, 1), (1, 2), (2, 3), (3, 2)]), Some(vec![2, 3, 2]));
        assert_eq!(find_loop(&[(1, 2), (1, 3), (2, 4), (3, 4)]), None);
        assert_eq!(find_loop(&[(7, 7)]), Some(vec![7, 7]));
    }
}
