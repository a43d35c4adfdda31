//! What is shown of an answer? A row a part, with its sheet, and what is said beside them.

use binwright_shop::answer::{
    Candidate, Compared, FarOff, FitAnswer, Found, Hit, NextMeasure, Supply,
};
use binwright_shop::sheet::Sheet;

/// What the shop answered to the line.
#[derive(Debug, Default)]
pub(super) struct Shown {
    pub rows: Vec<Row>,
    /// What published standards say of the text.
    pub standard: Vec<String>,
    /// The unit whose number was typed, in words.
    pub unit: Option<String>,
    /// Probability of none of the shop's parts, when parts were weighed.
    pub none: Option<f64>,
    /// Readings far outside what the kind has.
    pub far: Vec<FarOff>,
    /// What to take next, most worth a minute first.
    pub next: Vec<NextMeasure>,
}

impl Shown {
    /// The hits with their sheets, one for each in their order.
    pub fn found(found: Found, sheets: Vec<Sheet>) -> Self {
        let mut sheets = sheets.into_iter();
        let rows = found.hits.into_iter().map(|hit| Row::of_hit(hit, sheets.next())).collect();
        let Found { standard, unit, .. } = found;
        Self { rows, standard, unit, ..Self::default() }
    }

    /// The candidates with their sheets, one for each in their order.
    pub fn fitted(answer: FitAnswer, sheets: Vec<Sheet>) -> Self {
        let FitAnswer { candidates, none, far, next, .. } = answer;
        let mut sheets = sheets.into_iter();
        let row = |candidate| Row::of_candidate(candidate, sheets.next());
        let rows = candidates.into_iter().map(row).collect();
        Self { rows, none: Some(none), far, next, ..Self::default() }
    }
}

/// One line of the answer: a candidate or a hit.
#[derive(Debug)]
pub(super) struct Row {
    pub number: String,
    pub also: Vec<String>,
    pub description: String,
    pub maker: String,
    /// Of a candidate.
    pub chance: Option<f64>,
    /// Of a hit: in what way, and by which number when not its own.
    pub how: String,
    pub wrong_hand: bool,
    /// How the measured points lie on its own, in words.
    pub points: Option<String>,
    pub compared: Vec<Compared>,
    pub supply: Supply,
    pub sheet: Option<Sheet>,
}

impl Row {
    fn of_candidate(found: Candidate, sheet: Option<Sheet>) -> Self {
        Self {
            points: found.points_in_words(),
            number: found.number,
            also: found.also,
            description: found.description,
            maker: found.maker,
            chance: Some(found.probability),
            how: String::new(),
            wrong_hand: found.wrong_hand,
            compared: found.measures,
            supply: found.supply,
            sheet,
        }
    }

    fn of_hit(hit: Hit, sheet: Option<Sheet>) -> Self {
        let own = hit.matched.is_empty() || hit.matched == hit.number;
        Self {
            how: if own { hit.how.to_owned() } else { format!("{}: {}", hit.how, hit.matched) },
            number: hit.number,
            also: Vec::new(),
            description: hit.description,
            maker: hit.maker,
            chance: None,
            wrong_hand: false,
            points: None,
            compared: Vec::new(),
            supply: hit.supply,
            sheet,
        }
    }

    /// What its card has for a measure; `None` is a gap.
    pub fn nominal(&self, measure: &str) -> Option<&str> {
        let mut cards = self.sheet.iter().flat_map(|sheet| &sheet.measures);
        cards.find(|card| card.measure == measure)?.nominal.as_deref()
    }
}
