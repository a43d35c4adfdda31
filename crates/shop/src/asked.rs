//! What was measured on the removed part? Typed words and JSON lines become a question to fit.

use binwright_catalog::{DecimalMark, Domain, Kind, Kinds, Layout, LengthUnit, Point, Role};
use binwright_fit::Query;
use serde::{Deserialize, Serialize};
use serde_json::Value as Json;

use crate::ShopError;

/// A question as it was typed or read; nothing of it is judged yet.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Asked {
    /// The asker's own name for the question.
    #[serde(default)]
    pub id: Option<String>,
    /// Key or short word of the kind; every kind that has the measures when absent.
    #[serde(default)]
    pub kind: Option<String>,
    /// Standard deviation of every length as taken, in mm, instead of the instruments'.
    #[serde(default)]
    pub sd_mm: Option<f64>,
    /// Measure (key or short word) and what was read, as text or number.
    #[serde(default)]
    pub measures: serde_json::Map<String, Json>,
    /// The layout as text.
    #[serde(default)]
    pub layout: Option<String>,
    /// The layout as `[role, x, y]`, in mm; role may carry a designation (`stud:B+`).
    #[serde(default)]
    pub points: Vec<(String, f64, f64)>,
    /// Hole-to-hole distances in mm, in any order.
    #[serde(default)]
    pub distances: Vec<f64>,
}

impl Asked {
    /// Reads a question from words: an optional kind, then `measure=value` pairs.
    ///
    /// # Errors
    ///
    /// [`ShopError::NotAMeasure`] for a word that is neither.
    pub fn from_words(words: &[String]) -> Result<Self, ShopError> {
        let mut asked = Self::default();
        for (at, word) in words.iter().enumerate() {
            match word.split_once('=') {
                Some((measure, value)) => {
                    let measure = measure.trim().to_owned();
                    if asked.measures.contains_key(&measure) {
                        return Err(ShopError::MeasuredTwice { measure });
                    }
                    asked.measures.insert(measure, Json::String(value.trim().to_owned()));
                }
                None if at == 0 => asked.kind = Some(word.trim().to_owned()),
                None => return Err(ShopError::NotAMeasure { found: word.clone() }),
            }
        }
        Ok(asked)
    }

    /// The kinds that can answer: the one named, or all that have every measure given (and a
    /// layout where points or distances were given).
    ///
    /// # Errors
    ///
    /// When the kind is not known, or no kind has the measures.
    pub fn kinds<'a>(&self, kinds: &'a Kinds) -> Result<Vec<&'a Kind>, ShopError> {
        if let Some(word) = &self.kind {
            let kind = kinds.get(word).ok_or_else(|| ShopError::unknown_kind(word, kinds))?;
            return Ok(vec![kind]);
        }
        let planar = self.layout.is_some() || !self.points.is_empty() || !self.distances.is_empty();
        if self.measures.is_empty() && !planar {
            return Err(ShopError::NothingMeasured);
        }
        let able: Vec<_> = kinds
            .iter()
            .filter(|kind| !planar || kind.layout.is_some())
            .filter(|kind| self.measures.keys().all(|word| kind.measure(word).is_some()))
            .collect();
        if able.is_empty() {
            return Err(ShopError::NoSuchKind {
                measures: self.measures.keys().cloned().collect::<Vec<_>>().join(", "),
            });
        }
        Ok(able)
    }

    /// Turns the texts into the values of `kind`'s measures.
    ///
    /// # Errors
    ///
    /// When a measure is not one of the kind's, is given twice under two words, or its text is
    /// not a value of it; when the layout cannot be read.
    pub fn query(&self, kind: &Kind) -> Result<Query, ShopError> {
        let mut query =
            Query { sd_mm: self.sd_mm, distances_mm: self.distances.clone(), ..Query::default() };
        for (word, value) in &self.measures {
            let (place, measure) =
                kind.measure(word).ok_or_else(|| ShopError::unknown_measure(word, kind))?;
            if query.measured.iter().any(|(known, _)| *known == place) {
                return Err(ShopError::MeasuredTwice { measure: measure.key.clone() });
            }
            let text = match value {
                Json::String(text) => text.clone(),
                Json::Number(number) => number.to_string(),
                other => {
                    return Err(ShopError::NotAMeasure { found: format!("{word}: {other}") });
                }
            };
            let value = measure.parse(&text, LengthUnit::Mm, DecimalMark::Point)?;
            let least = measure.range.map_or(0.0, |[low, _]| low);
            let is_length = |mm: f64| mm > 0.0 || (mm >= least && least <= 0.0);
            if measure.domain == Domain::Length && !value.number().is_none_or(is_length) {
                let measure = measure.label.clone();
                return Err(ShopError::NoLength { measure, found: text });
            }
            query.measured.push((place, value));
        }
        query.measured.sort_by_key(|(place, _)| *place);
        query.layout = self.layout()?;
        if query.measured.is_empty() && query.layout.is_none() && query.distances_mm.is_empty() {
            return Err(ShopError::NothingMeasured);
        }
        Ok(query)
    }

    /// The measured points, when there are any.
    pub(crate) fn layout(&self) -> Result<Option<Layout>, ShopError> {
        if let Some(text) = &self.layout {
            return Ok(Some(text.parse()?));
        }
        if self.points.is_empty() {
            return Ok(None);
        }
        let mut points = Vec::with_capacity(self.points.len());
        for (what, x_mm, y_mm) in &self.points {
            let (word, designation) = match what.split_once(':') {
                Some((word, designation)) => (word, Some(designation.to_owned())),
                None => (what.as_str(), None),
            };
            let role = Role::ALL
                .into_iter()
                .find(|role| role.word().eq_ignore_ascii_case(word))
                .ok_or_else(|| ShopError::UnknownRole { found: word.to_owned() })?;
            let far = |mm: f64| !mm.is_finite() || mm.abs() > Layout::REACH_MM;
            if far(*x_mm) || far(*y_mm) {
                return Err(ShopError::TooFar { x_mm: *x_mm, y_mm: *y_mm });
            }
            points.push(Point { role, designation, x_mm: *x_mm, y_mm: *y_mm, size: None });
        }
        Ok(Some(Layout::new(points)))
    }
}
