//! What was typed before? Lines of this and earlier runs, walked through from the newest.

/// Lines kept, oldest first.
#[derive(Debug, Clone, Default)]
pub struct History {
    lines: Vec<String>,
    at: Option<usize>,
    draft: String,
}

impl History {
    /// The most lines that are walked through.
    pub const LINES_MAX: usize = 500;

    /// The lines of a history file, oldest first.
    pub fn read(text: &str) -> Self {
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        lines.drain(..lines.len().saturating_sub(Self::LINES_MAX));
        Self { lines, ..Self::default() }
    }

    /// Keeps `line`; returns whether it is new, that is, not the newest again.
    pub fn keep(&mut self, line: &str) -> bool {
        self.at = None;
        let line = line.trim();
        let new = !line.is_empty() && self.lines.last().is_none_or(|last| last != line);
        if new {
            self.lines.push(line.to_owned());
        }
        new
    }

    /// The line before the one shown; `shown` is kept as the draft when the walk begins.
    pub fn older(&mut self, shown: &str) -> Option<&str> {
        let at = match self.at {
            None => {
                shown.clone_into(&mut self.draft);
                // What is shown may be the newest line already.
                let same = self.lines.last().is_some_and(|last| last == shown.trim());
                self.lines.len().checked_sub(1 + usize::from(same))?
            }
            Some(at) => at.checked_sub(1)?,
        };
        self.at = Some(at);
        Some(&self.lines[at])
    }

    /// The line after the one shown, at last the draft; `None` when nobody walks.
    pub fn newer(&mut self) -> Option<&str> {
        let at = self.at? + 1;
        self.at = (at < self.lines.len()).then_some(at);
        Some(self.lines.get(at).unwrap_or(&self.draft))
    }

    /// Ends the walk: what is shown is typed on.
    pub fn settle(&mut self) {
        self.at = None;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_walk_ends_where_it_began_and_nothing_is_kept_twice() {
        let mut history = History::read("first\nsecond\n");
        assert!(history.keep("third") && !history.keep("third ") && !history.keep("  "));
        assert_eq!(history.older("half ty"), Some("third"));
        assert_eq!(history.older("third"), Some("second"));
        assert_eq!(history.older("second"), Some("first"));
        assert_eq!(history.older("first"), None);
        assert_eq!(history.newer(), Some("second"));
        assert_eq!(history.newer(), Some("third"));
        assert_eq!(history.newer(), Some("half ty"), "the draft is not lost");
        assert_eq!(history.newer(), None);
    }
}
