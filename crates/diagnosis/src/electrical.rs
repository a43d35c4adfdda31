//! What do copper, windings and joints say in ohms?

use std::f64::consts::{FRAC_PI_6, PI, SQRT_2};

use crate::DiagnosisError;

/// Returns a copper resistance measured at `celsius` as it would read at `to_celsius`.
///
/// `R₂ = R₁ (235 + t₂) / (235 + t₁)`, temperatures in °C, constant of IEC 60034-1 for copper.
///
/// # Errors
///
/// [`DiagnosisError::Temperature`] outside −60 to 300 °C, where no winding on a bench is.
///
/// ```
/// # use binwright_diagnosis::electrical::copper_ohms;
/// assert!((copper_ohms(2.60, 85.0, 20.0)? - 2.07).abs() < 0.005, "warm rotor: good against 2.1");
/// # Ok::<(), binwright_diagnosis::DiagnosisError>(())
/// ```
pub fn copper_ohms(ohms: f64, celsius: f64, to_celsius: f64) -> Result<f64, DiagnosisError> {
    for found in [celsius, to_celsius] {
        if !(-60.0..=300.0).contains(&found) {
            return Err(DiagnosisError::Temperature { found });
        }
    }
    Ok(ohms * (235.0 + to_celsius) / (235.0 + celsius))
}

/// What three lead-to-lead resistances of a stator say.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Phases {
    /// Current passes between each two leads: the three phases, read as a star, in the unit given.
    Whole {
        /// Phase resistances at the leads that the first two, last two, first and last pair share.
        star: [f64; 3],
        /// Largest minus smallest of the pairs, in percent of the smallest.
        spread_percent: f64,
    },
    /// A phase of a star is open: at least two pairs pass nothing.
    StarOpen,
    /// A phase of a delta is open: one pair reads as much as the other two together.
    DeltaOpen,
}

/// Reads the resistances between leads U-V, V-W and W-U (`f64::INFINITY` where nothing passes).
///
/// Star of phase resistance r reads 2r between any two leads, delta 2r/3. Open phase: star 2r, ∞, ∞;
/// delta 2r across the open one and r elsewhere. Each star phase is half of (its two pairs minus the
/// third). Source: series and parallel resistances; winding-test practice.
pub fn phases(pairs: [f64; 3]) -> Phases {
    if pairs.iter().any(|r| r.is_infinite()) {
        return Phases::StarOpen;
    }
    let [uv, vw, wu] = pairs;
    let mut sorted = pairs;
    sorted.sort_by(f64::total_cmp);
    let [low, middle, high] = sorted;
    // Shorted turns never double one pair while leaving the other two alike.
    if middle < 1.15 * low && (high / (low + middle) - 1.0).abs() < 0.15 {
        return Phases::DeltaOpen;
    }
    let star = [(uv + wu - vw) / 2.0, (uv + vw - wu) / 2.0, (vw + wu - uv) / 2.0];
    Phases::Whole { star, spread_percent: (high / low - 1.0) * 100.0 }
}

/// What a sound three-phase bridge of six diodes gives without a battery on it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Bridge {
    /// Mean voltage, in the unit of the voltage between lines.
    pub mean: f64,
    /// Highest minus lowest, in percent of the mean.
    pub ripple_percent: f64,
}

/// Rectifies three even sine voltages of `line_rms` between each two lines; diode drops come off after.
///
/// Mean `3√2/π` times the line voltage; between `√2` times it and `cos 30°` of that, six times a cycle.
/// Source: power electronics textbooks.
///
/// ```
/// # use binwright_diagnosis::electrical::bridge;
/// let line_v = (13.5 + 2.0 * 0.95) / bridge(1.0).mean;
/// assert!((line_v - 11.40).abs() < 0.005, "between lines for 13.5 V at B+ behind two diodes");
/// ```
pub fn bridge(line_rms: f64) -> Bridge {
    let (peak, mean) = (SQRT_2 * line_rms, 3.0 * SQRT_2 / PI * line_rms);
    let lowest = peak * FRAC_PI_6.cos();
    Bridge { mean, ripple_percent: (peak - lowest) / mean * 100.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against the waves themselves: at every moment the bridge passes the highest of three sines
    /// less the lowest. 1.3505 and 14.0 % are the textbooks' rounded values.
    #[test]
    fn a_bridge_gives_the_mean_and_ripple_of_its_three_sines() {
        let steps = 36_000;
        let between = |step: i32| {
            let turn = f64::from(step) / f64::from(steps) * 2.0 * PI;
            // A phase of a star is the line voltage over the root of three.
            let sines = [0.0, 2.0, 4.0]
                .map(|third| (2.0_f64 / 3.0).sqrt() * 10.0 * (turn + third * PI / 3.0).sin());
            sines.into_iter().fold(f64::MIN, f64::max) - sines.into_iter().fold(f64::MAX, f64::min)
        };
        let mean = (0..steps).map(between).sum::<f64>() / f64::from(steps);
        let highest = (0..steps).map(between).fold(f64::MIN, f64::max);
        let lowest = (0..steps).map(between).fold(f64::MAX, f64::min);
        let Bridge { mean: ours, ripple_percent } = bridge(10.0);
        assert!((ours - mean).abs() < 1e-6 && (ours / 10.0 - 1.3505).abs() < 5e-5);
        assert!((ripple_percent - (highest - lowest) / mean * 100.0).abs() < 1e-4);
        assert!((ripple_percent - 14.0).abs() < 0.05);
    }

    /// Ratios of IEC 60034-1's formula, tabulated by an independent program.
    #[test]
    fn copper_follows_the_iec_table() {
        let path =
            concat!(env!("CARGO_MANIFEST_DIR"), "/../../tests/reference/copper_temperature.csv");
        let mut rows = 0;
        for row in csv::Reader::from_path(path).unwrap().deserialize() {
            let (from, to, ratio): (f64, f64, f64) = {
                let all: (f64, f64, f64, f64, f64) = row.unwrap();
                (all.0, all.1, all.2)
            };
            assert!((copper_ohms(1.0, from, to).unwrap() - ratio).abs() < 1e-12, "{from} to {to}");
            rows += 1;
        }
        assert_eq!(rows, 135);
    }

    #[test]
    fn no_winding_is_hotter_than_its_solder() {
        assert!(copper_ohms(2.0, -235.0, 20.0).is_err());
        assert!(copper_ohms(2.0, f64::NAN, 20.0).is_err());
    }

    /// Kirchhoff's laws by hand for 40 mΩ a phase: star reads 80, delta 26.7; 80 and two 40 is a delta
    /// with one phase open; a tenth of the turns shorted in one star phase takes 4 off two pairs.
    #[test]
    fn star_and_delta_read_as_their_networks_do() {
        let even = |r: f64| Phases::Whole { star: [r / 2.0; 3], spread_percent: 0.0 };
        assert_eq!(phases([80.0; 3]), even(80.0));
        assert_eq!(phases([80.0 / 3.0; 3]), even(80.0 / 3.0));
        assert_eq!(phases([80.0, f64::INFINITY, f64::INFINITY]), Phases::StarOpen);
        for turn in [[80.0, 40.0, 40.0], [40.0, 80.0, 40.0], [40.0, 40.0, 80.0]] {
            assert_eq!(phases(turn), Phases::DeltaOpen);
        }
        let Phases::Whole { star, spread_percent } = phases([76.0, 80.0, 76.0]) else {
            panic!("whole")
        };
        assert!((star[0] - 36.0).abs() < 1e-9 && (star[1] - 40.0).abs() < 1e-9);
        assert!((spread_percent - 5.263).abs() < 0.001);
    }
}
