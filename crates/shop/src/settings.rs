//! How does this shop like things done? Its `settings.toml` laid over the built-in one.

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;

use binwright_catalog::{Currency, Money};
use binwright_quoting::{LineClass, Terms};
use rust_decimal::Decimal;
use serde::{Deserialize, Serialize};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

use crate::ShopError;
use crate::counts::Counting;

const BUILT_IN: &str = include_str!("../../../schema/settings.toml");

/// All settings of a shop.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Settings {
    /// What stands at the head and foot of paper.
    pub shop: Letterhead,
    /// What a quote is made by.
    pub quoting: Quoting,
    /// How bins are counted.
    pub counting: Counting,
    /// Whether closed jobs teach.
    pub learning: Learning,
    /// How the printer stretches.
    pub printer: Printer,
}

/// What stands at the head and foot of paper.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Letterhead {
    /// The shop's name; the one it was made with when empty.
    pub name: String,
    /// Its address, line by line.
    pub address: Vec<String>,
    /// Name of the picture in the shop's folder; none when empty.
    pub logo: String,
    /// What stands at the foot.
    pub small_print: String,
}

/// What a quote is made by. Amounts are in the shop's currency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Quoting {
    /// An hour of labour, before tax.
    pub labour_hour: Decimal,
    /// The least that is charged for labour when there is any.
    pub labour_minimum: Decimal,
    /// List that parts are sold by.
    pub price_list: String,
    /// List of the deposits that come back with the old part.
    pub core_deposit_list: String,
    /// List of tested used parts.
    pub used_price_list: String,
    /// Price of a used part that this list lacks, in percent of the new one.
    pub used_percent: Decimal,
    /// Kinds that are never fitted used.
    pub never_used: Vec<String>,
    /// One price for all consumables that are not listed.
    pub consumables_flat: Decimal,
    /// The total is rounded to a multiple of this many minor units.
    pub round_to_minor: i64,
    /// For how many days a quote is valid.
    pub valid_days: i64,
    /// For how many days it holds its stock.
    pub hold_days: i64,
    /// For how many days an old part is taken back against its deposit.
    pub core_days: i64,
    /// Days until a part is here that is in no bin and that no supplier offers.
    pub order_days: u32,
    /// From which share of a whole unit's price a repair is advised against.
    pub exchange_percent: Decimal,
    /// Bench minutes to change a whole unit over.
    pub exchange_minutes: u32,
    /// Price of one by name.
    pub consumables: BTreeMap<String, Decimal>,
    /// Tax in percent by class of line.
    pub tax_percent: BTreeMap<LineClass, Decimal>,
}

/// Whether closed jobs teach.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Learning {
    /// Whether they do.
    pub on: bool,
    /// As how many jobs the built-in numbers count.
    pub pseudo_jobs: f64,
}

/// What the printed ruler reads over what it should read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Printer {
    /// Across.
    pub scale_x: f64,
    /// Down.
    pub scale_y: f64,
}

impl Settings {
    /// The settings of the shop in `dir`; the built-in ones where it says nothing.
    ///
    /// # Errors
    ///
    /// [`ShopError::Settings`] names file, line and key.
    pub fn of(dir: &Path) -> Result<Self, ShopError> {
        let path = dir.join("settings.toml");
        match fs::read_to_string(&path) {
            Ok(text) => Self::laid_over(&path.display().to_string(), &text),
            Err(error) if error.kind() == std::io::ErrorKind::NotFound => Self::builtin(),
            Err(source) => Err(ShopError::Unreadable { path, source }),
        }
    }

    /// The built-in settings.
    ///
    /// # Errors
    ///
    /// Never in a released program: the file is checked by test.
    pub fn builtin() -> Result<Self, ShopError> {
        Self::laid_over("settings.toml", "")
    }

    /// The built-in settings with those of `text` laid over, key by key.
    fn laid_over(file: &str, text: &str) -> Result<Self, ShopError> {
        let wrong = |error: &toml::de::Error| {
            let before = error.span().and_then(|span| text.get(..span.start)).unwrap_or("");
            // Without its input the error says message and key, each on a line of its own.
            let mut error = error.clone();
            error.set_input(None);
            let message = error.to_string().trim_end().replace('\n', " ");
            let line = before.bytes().filter(|byte| *byte == b'\n').count() + 1;
            ShopError::Settings { file: file.to_owned(), line, message }
        };
        let parse = |text| DeTable::parse(text).map_err(|error| wrong(&error));
        let mut all = parse(BUILT_IN)?;
        lay(all.get_mut(), parse(text)?.into_inner());
        // Spans of what is built in lead nowhere in the shop's file, but nothing there is wrong.
        let settings = Self::deserialize(toml::Deserializer::from(all));
        let settings = settings.map_err(|error| wrong(&error))?;
        settings.judge().map_err(|(key, message)| ShopError::Settings {
            file: file.to_owned(),
            line: line_of(text, key),
            message: format!("{message} in `{key}`"),
        })?;
        Ok(settings)
    }

    /// Names the first value that no shop can mean.
    fn judge(&self) -> Result<(), (&'static str, String)> {
        let Quoting { tax_percent, consumables, .. } = &self.quoting;
        let q = &self.quoting;
        let amounts = [
            ("quoting.labour_hour", &q.labour_hour),
            ("quoting.labour_minimum", &q.labour_minimum),
            ("quoting.consumables_flat", &q.consumables_flat),
            ("quoting.used_percent", &q.used_percent),
            ("quoting.exchange_percent", &q.exchange_percent),
            ("counting.recount_above_percent", &self.counting.recount_above_percent),
            ("counting.second_above", &self.counting.second_above),
        ];
        let listed = consumables.values().map(|amount| ("quoting.consumables", amount));
        let taxes = tax_percent.values().map(|percent| ("quoting.tax_percent", percent));
        for (key, amount) in amounts.into_iter().chain(listed).chain(taxes) {
            if amount.is_sign_negative() {
                return Err((key, format!("`{amount}` is below nought")));
            }
        }
        for (key, days) in
            [("quoting.valid_days", q.valid_days), ("quoting.hold_days", q.hold_days)]
        {
            if !(0..=36_500).contains(&days) {
                return Err((key, format!("`{days}` is not a number of days")));
            }
        }
        if q.round_to_minor < 1 {
            let message = format!("`{}` is not a step to round to", q.round_to_minor);
            return Err(("quoting.round_to_minor", message));
        }
        let logo = &self.shop.logo;
        if !logo.is_empty() && Path::new(logo).file_name() != Some(logo.as_ref()) {
            let message = format!("`{logo}` is not the name of a file in the shop's folder");
            return Err(("shop.logo", message));
        }
        if self.learning.pseudo_jobs.is_nan() || self.learning.pseudo_jobs < 1.0 {
            let message = format!("`{}` is not a number of jobs", self.learning.pseudo_jobs);
            return Err(("learning.pseudo_jobs", message));
        }
        for (key, scale) in
            [("printer.scale_x", self.printer.scale_x), ("printer.scale_y", self.printer.scale_y)]
        {
            if !(0.8..=1.25).contains(&scale) {
                return Err((key, format!("`{scale}` is no printer's stretch")));
            }
        }
        Ok(())
    }
}

impl Quoting {
    /// The terms of a quote in `currency`.
    ///
    /// # Errors
    ///
    /// When an amount is too large for it.
    pub fn terms(&self, currency: Currency) -> Result<Terms, ShopError> {
        Ok(Terms {
            labour_hour: Money::rounded(self.labour_hour, currency)?,
            labour_minimum: Money::rounded(self.labour_minimum, currency)?,
            tax_percent: self.tax_percent.clone(),
            round_to_minor: self.round_to_minor,
        })
    }
}

/// Lays `new` over `old`: tables key by key, everything else whole. Keys go in anew, so that a
/// mistake is sought where the shop wrote it.
fn lay<'i>(old: &mut DeTable<'i>, new: DeTable<'i>) {
    for (key, value) in new {
        let span = value.span();
        let laid = match (old.remove(&key).map(Spanned::into_inner), value.into_inner()) {
            (Some(DeValue::Table(mut below)), DeValue::Table(above)) => {
                lay(&mut below, above);
                DeValue::Table(below)
            }
            (_, above) => above,
        };
        old.insert(key, Spanned::new(span, laid));
    }
}

/// The line on which the last piece of `key` is set, 1 when it is not.
fn line_of(text: &str, key: &str) -> usize {
    let name = key.rsplit('.').next().unwrap_or(key);
    text.lines()
        .position(|line| line.trim_start().trim_start_matches('[').contains(name))
        .map_or(1, |at| at + 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_a_shop_names_counts_and_the_rest_stands() {
        let text = "[quoting]\nlabour_hour = 72.50\n[quoting.tax_percent]\npart = \"19\"\n";
        let settings = Settings::laid_over("settings.toml", text).unwrap();
        let builtin = Settings::builtin().unwrap();
        assert_eq!(settings.quoting.labour_hour, Decimal::new(725, 1));
        assert_eq!(settings.quoting.tax_percent[&LineClass::Part], Decimal::from(19));
        assert_eq!(settings.quoting.valid_days, builtin.quoting.valid_days);
        assert_eq!(settings.learning, builtin.learning);
    }

    #[test]
    fn a_mistake_is_named_with_its_file_line_and_key() {
        let rows = [
            ("[quoting]\n\nvalid_days = \"soon\"", 3, "quoting.valid_days"),
            ("[quoting]\nhold_weeks = 2", 2, "hold_weeks"),
            ("# ours\n[quoting]\nhold_days = -2", 3, "quoting.hold_days"),
            ("[quoting.tax_percent]\nparts = 19", 2, "parts"),
            ("[quoting]\nlabour_hour = \"six\"", 2, "quoting.labour_hour"),
            ("[printer]\nscale_x = 2.0\nscale_y = 1.0", 2, "printer.scale_x"),
            ("[learning]\non = yes", 2, ""),
            ("[shop]\nlogo = \"../elsewhere.png\"", 2, "shop.logo"),
        ];
        for (text, at, key) in rows {
            let Err(ShopError::Settings { file, line, message }) =
                Settings::laid_over("mine.toml", text)
            else {
                panic!("{text}")
            };
            assert_eq!((file.as_str(), line), ("mine.toml", at), "{text}: {message}");
            assert!(message.contains(key), "{message}");
        }
    }
}
