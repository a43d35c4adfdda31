//! Which bars stand for a text? Code 128 (ISO/IEC 15417), sets B and C.

use crate::PrintError;

/// White modules to each side that a reader needs: ISO/IEC 15417, 4.2.
pub(crate) const QUIET: u32 = 10;

const START_B: u32 = 104;
const START_C: u32 = 105;
const STOP: u32 = 106;
const TO_C: u32 = 99;
const TO_B: u32 = 100;

/// Widths of bar and space by turns, one digit a module, by symbol value: ISO/IEC 15417, table 1.
#[rustfmt::skip]
const WIDTHS: [u32; 107] = [
    212222, 222122, 222221, 121223, 121322, 131222, 122213, 122312, 132212, 221213,
    221312, 231212, 112232, 122132, 122231, 113222, 123122, 123221, 223211, 221132,
    221231, 213212, 223112, 312131, 311222, 321122, 321221, 312212, 322112, 322211,
    212123, 212321, 232121, 111323, 131123, 131321, 112313, 132113, 132311, 211313,
    231113, 231311, 112133, 112331, 132131, 113123, 113321, 133121, 313121, 211331,
    231131, 213113, 213311, 213131, 311123, 311321, 331121, 312113, 312311, 332111,
    314111, 221411, 431111, 111224, 111422, 121124, 121421, 141122, 141221, 112214,
    112412, 122114, 122411, 142112, 142211, 241211, 221114, 413111, 241112, 134111,
    111242, 121142, 121241, 114212, 124112, 124211, 411212, 421112, 421211, 212141,
    214121, 412121, 111143, 111341, 131141, 114113, 114311, 411113, 411311, 113141,
    114131, 311141, 411131, 211412, 211214, 211232, 2331112,
];

/// The bars of one symbol, as first module and width, and how many modules it has between its quiet
/// zones.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Bars {
    pub(crate) bars: Vec<[u32; 2]>,
    pub(crate) modules: u32,
}

/// Returns the bars of `text`.
///
/// # Errors
///
/// [`PrintError::NotInCode128`] when it is empty or has a character that is not printable ASCII.
pub(crate) fn bars(text: &str) -> Result<Bars, PrintError> {
    let mut values = values(text)?;
    values.push(check(&values));
    values.push(STOP);
    let (mut bars, mut at) = (Vec::new(), 0);
    for value in values {
        for (place, digit) in WIDTHS[value as usize].to_string().chars().enumerate() {
            let width = digit.to_digit(10).unwrap_or_default();
            if place % 2 == 0 {
                bars.push([at, width]);
            }
            at += width;
        }
    }
    Ok(Bars { bars, modules: at })
}

/// Symbol values from the start character on, without check and stop. Digits go by pairs in set C
/// where that is shorter: four or more at either end, six or more inside (ISO/IEC 15417, annex E).
fn values(text: &str) -> Result<Vec<u32>, PrintError> {
    let letters = text.as_bytes();
    if letters.is_empty() || !letters.iter().all(|letter| (32..127).contains(letter)) {
        return Err(PrintError::NotInCode128 { found: text.to_owned() });
    }
    let digits = |at: usize| letters[at..].iter().take_while(|c| c.is_ascii_digit()).count();
    let (mut values, mut in_c, mut at) = (Vec::new(), false, 0);
    while at < letters.len() {
        let run = digits(at);
        let worth = if at == 0 || at + run == letters.len() { 4 } else { 6 };
        // An odd run gives its first digit to set B, so that pairs end where the run does.
        let pairs =
            if run >= worth || (at == 0 && run == 2 && letters.len() == 2) { run / 2 } else { 0 };
        if pairs > 0 && (run % 2 == 0 || at == 0) {
            values.push(if at == 0 { START_C } else { TO_C });
            in_c = true;
            for pair in letters[at..at + 2 * pairs].chunks(2) {
                values.push(u32::from(pair[0] - b'0') * 10 + u32::from(pair[1] - b'0'));
            }
            at += 2 * pairs;
            continue;
        }
        if at == 0 {
            values.push(START_B);
        } else if in_c {
            values.push(TO_B);
        }
        in_c = false;
        values.push(u32::from(letters[at]) - 32);
        at += 1;
    }
    Ok(values)
}

/// The check symbol: values weighed by their place, the start by one, modulo 103.
fn check(values: &[u32]) -> u32 {
    values.iter().enumerate().map(|(at, value)| value * (at.max(1) as u32)).sum::<u32>() % 103
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every symbol has eleven modules in three bars and three spaces, bars an even number of them;
    /// stop has thirteen: ISO/IEC 15417, 4.3.1.
    #[test]
    fn the_table_has_the_symbology_s_parity() {
        for (value, widths) in WIDTHS.iter().enumerate() {
            let digits: Vec<u32> =
                widths.to_string().chars().map(|c| c.to_digit(10).unwrap()).collect();
            let whole: u32 = digits.iter().sum();
            let ink: u32 = digits.iter().step_by(2).sum();
            if value == STOP as usize {
                assert_eq!((digits.len(), whole), (7, 13));
            } else {
                assert_eq!((digits.len(), whole, ink % 2), (6, 11, 0), "value {value}");
            }
        }
    }

    /// `PJJ123C` after start A has check 54: a widely printed example, from memory.
    #[test]
    fn the_check_symbol_is_weighed_by_place() {
        assert_eq!(check(&[103, 48, 42, 42, 17, 18, 19, 35]), 54);
        assert_eq!(values("PJJ123C").unwrap(), [104, 48, 42, 42, 17, 18, 19, 35]);
    }

    #[test]
    fn digits_go_by_pairs_where_that_is_shorter() {
        let rows: [(&str, &[u32]); 5] = [
            ("123456", &[105, 12, 34, 56]),
            ("12345", &[105, 12, 34, 100, 21]),
            ("AB1234", &[104, 33, 34, 99, 12, 34]),
            ("A12345", &[104, 33, 17, 99, 23, 45]),
            ("A1234B", &[104, 33, 17, 18, 19, 20, 34]),
        ];
        for (text, wanted) in rows {
            assert_eq!(values(text).unwrap(), wanted, "{text}");
        }
        assert!(bars("Läufer").is_err() && bars("").is_err() && bars("A\tB").is_err());
    }
}
