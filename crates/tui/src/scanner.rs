//! Was that typed by a person or by a scanner? A burst of characters and Enter is a scanned code.

use std::time::Duration;

use crate::keys::Key;

/// How a scanner is told from a person.
#[derive(Debug, Clone, Copy)]
pub struct Scanner {
    /// The longest gap between two characters of a scan.
    pub gap: Duration,
    /// The fewest characters of a scan: fewer are anybody's.
    pub least: usize,
    /// A character that the scanner puts before every code, when it does.
    pub prefix: Option<char>,
}

impl Default for Scanner {
    fn default() -> Self {
        Self { gap: Duration::from_millis(50), least: 4, prefix: None }
    }
}

/// What has come quickly so far.
#[derive(Debug, Default)]
pub struct Burst {
    text: String,
    last: Option<Duration>,
}

impl Burst {
    /// Takes in a key pressed at `at` (since any fixed moment). Returns the code when the key ends
    /// a scan: every gap within the scanner's, and Enter or Tab after them as quickly.
    pub fn key(&mut self, scanner: Scanner, key: Key, at: Duration) -> Option<String> {
        let quick = self.last.is_some_and(|last| at.saturating_sub(last) <= scanner.gap);
        if !quick {
            self.text.clear();
        }
        self.last = Some(at);
        if let Some(letter) = key.typed() {
            self.text.push(letter);
            return None;
        }
        let text = std::mem::take(&mut self.text);
        let code = match scanner.prefix {
            Some(prefix) => text.strip_prefix(prefix)?,
            None => &text,
        };
        let whole = key.ends_a_scan() && quick && code.chars().count() >= scanner.least;
        whole.then(|| code.to_owned())
    }

    /// Whether a character pressed at `at` may belong to what is coming quickly.
    pub fn is_open(&self, scanner: Scanner, at: Duration) -> bool {
        !self.text.is_empty()
            && self.last.is_some_and(|last| at.saturating_sub(last) <= scanner.gap)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn replay(text: &str, gap_ms: u64, end: &str, end_ms: u64) -> Option<String> {
        let mut burst = Burst::default();
        let mut at = Duration::from_secs(7);
        for letter in text.chars() {
            at += Duration::from_millis(gap_ms);
            let key = letter.to_string().parse().expect("a letter is a key");
            assert_eq!(burst.key(Scanner::default(), key, at), None, "no code before its end");
        }
        at += Duration::from_millis(end_ms);
        burst.key(Scanner::default(), end.parse().expect("a key"), at)
    }

    #[test]
    fn only_a_burst_with_its_end_is_a_scan() {
        let rows = [
            ("a scanner", "RP-1107C", 5, "enter", 5, true),
            ("a slow scanner", "RP-1107C", 50, "enter", 50, true),
            ("a fast typist", "RP-1107C", 60, "enter", 60, false),
            ("a typist who rests before Enter", "RP-1107C", 20, "enter", 400, false),
            ("a scanner that ends with Tab", "RP-1107C", 10, "tab", 10, true),
            ("a roll of the hand", "abc", 10, "enter", 10, false),
            ("a burst without an end", "RP-1107C", 10, "up", 10, false),
        ];
        for (shows, text, gap_ms, end, end_ms, scanned) in rows {
            let code = replay(text, gap_ms, end, end_ms);
            assert_eq!(code.as_deref(), scanned.then_some(text), "{shows}");
        }
    }

    #[test]
    fn a_burst_starts_where_the_typing_was_slow() {
        let mut burst = Burst::default();
        let scanner = Scanner { prefix: Some('~'), ..Scanner::default() };
        let mut press = |text: &str, ms: u64| {
            let key = text.parse().expect("a key");
            burst.key(scanner, key, Duration::from_millis(ms))
        };
        assert_eq!(press("o", 1000), None);
        for (at, letter) in "~7001".chars().enumerate() {
            assert_eq!(press(&letter.to_string(), 2000 + 9 * at as u64), None);
        }
        assert_eq!(press("enter", 2050).as_deref(), Some("7001"));
    }
}
