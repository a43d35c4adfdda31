//! Is a part's demand smooth, erratic, intermittent or lumpy?

use serde::Serialize;

/// The four patterns of demand. Source: Syntetos, Boylan and Croston (2005), "On the categorization of
/// demand patterns", J. Oper. Res. Soc. 56(5), 495–503.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum DemandClass {
    /// Often, and much the same.
    Smooth,
    /// Often, sizes vary.
    Erratic,
    /// Now and then, and much the same.
    Intermittent,
    /// Now and then, sizes vary.
    Lumpy,
}

impl DemandClass {
    /// Returns the class of a mean interval between months of demand and the squared coefficient of
    /// variation of their sizes. A value on the cut-off belongs to the harder class (our choice).
    pub fn of(interval_months: f64, cv2: f64) -> Self {
        match (interval_months < 1.32, cv2 < 0.49) {
            (true, true) => Self::Smooth,
            (true, false) => Self::Erratic,
            (false, true) => Self::Intermittent,
            (false, false) => Self::Lumpy,
        }
    }

    /// Returns the class of a history, `None` when nothing was ever sold. The interval is months over
    /// months of demand, the variance that of all (divisor n).
    pub fn of_history(months: &[f64]) -> Option<Self> {
        let (mut count, mut sum, mut squares) = (0.0, 0.0, 0.0);
        for &size in months.iter().filter(|&&size| size > 0.0) {
            count += 1.0;
            sum += size;
            squares += size * size;
        }
        let cv2 = (squares * count / (sum * sum) - 1.0).max(0.0);
        (count > 0.0).then(|| Self::of(months.len() as f64 / count, cv2))
    }

    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Smooth => "smooth",
            Self::Erratic => "erratic",
            Self::Intermittent => "intermittent",
            Self::Lumpy => "lumpy",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::DemandClass;

    /// Cut-offs as published (see [`DemandClass`]): mean interval 1.32, squared coefficient of variation 0.49.
    #[test]
    fn demand_class_follows_the_published_cut_offs() {
        use DemandClass::{Erratic, Intermittent, Lumpy, Smooth};
        let rows = [
            ("just under both", 1.31, 0.48, Smooth),
            ("on the interval's cut-off", 1.32, 0.48, Intermittent),
            ("on the variation's cut-off", 1.31, 0.49, Erratic),
            ("on both", 1.32, 0.49, Lumpy),
        ];
        for (shows, interval_months, cv2, class) in rows {
            assert_eq!(DemandClass::of(interval_months, cv2), class, "{shows}");
        }
    }
}
