//! How old are the stock figures of an answer, where they are read at the desk and not on the server?

use binwright_store::{Standing, on_the_clock};
use jiff::Timestamp;
use serde::{Serialize, Serializer};

use crate::Shop;

/// The moment whose stock an answer shows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct StockAge {
    /// The moment.
    #[serde(serialize_with = "to_the_second")]
    pub as_of: Timestamp,
    /// How long ago it was when this was asked.
    pub minutes_ago: i64,
    /// Whether the server was out of reach then.
    pub server_out_of_reach: bool,
}

impl StockAge {
    fn at(Standing { as_of, away }: Standing, now: Timestamp) -> Self {
        let minutes_ago = now.duration_since(as_of).as_mins().max(0);
        Self { as_of, minutes_ago, server_out_of_reach: away }
    }

    /// `stock as of 14:02, 3 min ago`
    pub fn words(&self) -> String {
        let ago = match self.minutes_ago {
            0 => "just now".to_owned(),
            minutes @ 1..120 => format!("{minutes} min ago"),
            minutes @ 120..2880 => format!("{} h ago", minutes / 60),
            minutes => format!("{} days ago", minutes / 60 / 24),
        };
        format!("stock as of {}, {ago}", on_the_clock(self.as_of))
    }
}

fn to_the_second<S: Serializer>(at: &Timestamp, to: S) -> Result<S::Ok, S::Error> {
    at.strftime("%Y-%m-%dT%H:%M:%SZ").to_string().serialize(to)
}

impl Shop {
    /// How old the stock is that is looked up; `None` in a folder, where it is never old.
    pub fn stock_age(&self) -> Option<StockAge> {
        self.store.standing().map(|standing| StockAge::at(standing, Timestamp::now()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_age_is_told_in_the_words_of_the_counter() {
        let rows = [
            (-5, "just now"),
            (59, "just now"),
            (180, "3 min ago"),
            (7199, "119 min ago"),
            (7200, "2 h ago"),
            (3 * 86_400, "3 days ago"),
        ];
        let as_of = Timestamp::now();
        for (seconds, words) in rows {
            let now = as_of + jiff::SignedDuration::from_secs(seconds);
            let age = StockAge::at(Standing { as_of, away: true }, now);
            assert!(age.words().ends_with(words), "{seconds}: {}", age.words());
        }
    }
}
