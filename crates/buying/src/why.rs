//! Why is that ordered, and what if it is not? One sentence of figures each.

use crate::advise::{Stock, Supply, Trend};
use crate::pooled::Forecast;
use crate::{MONTH_DAYS, Target};

/// "3 free, 2 held, 1.4 a month and rising, 21 days away, 97 % asked".
pub(crate) fn figures(
    stock: Stock,
    forecast: &Forecast,
    trend: Trend,
    supply: &Supply,
    target: Target,
) -> String {
    let mut said = vec![format!("{} free", stock.free)];
    if stock.held.is_positive() {
        said.push(format!("{} held", stock.held));
    }
    if stock.on_order.is_positive() {
        said.push(format!("{} on order", stock.on_order));
    }
    let direction = match trend {
        _ if forecast.borrowed => ", as its like sell",
        Trend::Rising => " and rising",
        Trend::Falling => " and falling",
        Trend::Steady => "",
    };
    said.push(format!("{} a month{direction}", short(forecast.rate)));
    said.push(format!("{} away", time(supply.lead_months)));
    let of_what = match target {
        Target::CycleService(_) => "",
        Target::Fill(_) => " of demand",
        Target::Value(_) => " of all demand",
    };
    said.push(format!("{} %{of_what} asked", short(target.share() * 100.0)));
    said.join(", ")
}

/// What was missing and what became of it, in units of issue.
pub(crate) struct Shaped {
    /// Up to where one orders.
    pub(crate) wanted: u64,
    /// The same in whole packs and not below the minimum.
    pub(crate) packs: u64,
    /// What the shelf takes of that.
    pub(crate) order: u64,
    /// What the shelf takes beside what is there and on its way.
    pub(crate) room: u64,
}

impl Shaped {
    /// ", no fewer than 25 sold", ", in packs of 10", ", the shelf takes 3 more"; nothing where the order is what was missing.
    pub(crate) fn said(&self, supply: &Supply) -> String {
        let mut said = String::new();
        let least = u64::from(supply.minimum).max(self.wanted);
        if self.wanted > 0 && supply.minimum > supply.pack && least > self.wanted {
            said += &format!(", no fewer than {least} sold");
        }
        if self.packs > least || (self.packs > self.wanted && supply.pack >= supply.minimum) {
            said += &format!(", in packs of {}", supply.pack);
        }
        if self.order < self.packs {
            said += &match self.room {
                0 => ", the shelf takes no more".to_owned(),
                room => format!(", the shelf takes {room} more"),
            };
        }
        said
    }
}

/// "lasts 2.1 months at this rate; 38 % likely short within 51 days".
pub(crate) fn if_not(position: i64, rate: f64, cover_months: f64, chance_short: f64) -> String {
    let within = time(cover_months);
    let chance = match (chance_short * 100.0).round() {
        0.0 => "hardly ever".to_owned(),
        100.0 => "all but sure to be".to_owned(),
        percent => format!("{percent} % likely"),
    };
    match position {
        ..0 => format!("{} owed already", short(position.unsigned_abs() as f64 / 1000.0)),
        0 => format!("none left; {chance} asked for within {within}"),
        _ => {
            let lasts = time(position as f64 / 1000.0 / rate);
            format!("lasts {lasts} at this rate; {chance} short within {within}")
        }
    }
}

/// Two digits that tell, no more than two decimals.
fn short(number: f64) -> String {
    let decimals = match number.abs() {
        tens if tens >= 9.95 => 0,
        ones if ones >= 0.995 => 1,
        _ => 2,
    };
    let text = format!("{number:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_owned()
    } else {
        text
    }
}

fn time(months: f64) -> String {
    if months > 24.0 {
        return "over 2 years".to_owned();
    }
    match (months * MONTH_DAYS).round() {
        0.0 => "no time".to_owned(),
        1.0 => "1 day".to_owned(),
        days if days < 90.0 => format!("{days} days"),
        _ => format!("{} months", short(months)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use binwright_catalog::Quantity;

    #[test]
    fn a_line_says_why_in_one_sentence_of_figures() {
        let stock =
            Stock { free: Quantity::whole(3), held: Quantity::whole(2), on_order: Quantity::ZERO };
        let forecast = Forecast { rate: 1.4, trend: 1.5, borrowed: false };
        let supply = Supply { lead_months: 0.69, ..Supply::default() };
        let said = figures(stock, &forecast, Trend::Rising, &supply, Target::CycleService(0.97));
        assert_eq!(said, "3 free, 2 held, 1.4 a month and rising, 21 days away, 97 % asked");
        assert_eq!(
            if_not(3000, 1.4, 1.69, 0.384),
            "lasts 65 days at this rate; 38 % likely short within 51 days"
        );
        for (position, chance, says) in [
            (-1500, 1.0, "1.5 owed already"),
            (0, 0.9, "none left; 90 % likely asked for within 4 months"),
            (1000, 0.998, "lasts 22 days at this rate; all but sure to be short within 4 months"),
            (9000, 0.004, "lasts 6.4 months at this rate; hardly ever short within 4 months"),
        ] {
            assert_eq!(if_not(position, 1.4, 4.0, chance), says);
        }
    }

    #[test]
    fn numbers_are_as_short_as_they_can_be() {
        for (number, text) in
            [(0.043, "0.04"), (1.0, "1"), (97.5, "98"), (12.34, "12"), (0.5, "0.5")]
        {
            assert_eq!(short(number), text);
        }
    }
}
