//! How long does a thousand labels take?
//!
//! `cargo bench -p binwright-tests --bench paper [-- LABELS]`: numbers, descriptions and codes, from plain
//! values to the bytes of the PDF. Processor time of all threads.

#![allow(clippy::print_stdout, reason = "a bench reports")]

use binwright_print::{Code, Label, LabelSheet, PrinterScale, labels};
use binwright_tests::timing::{core_seconds, sizes};

fn main() {
    let count = sizes(&[1000])[0];
    for sheet in LabelSheet::built_in() {
        for code in [Code::Code128, Code::Qr] {
            let wanted: Vec<Label> = (0..count).map(|at| label(at, code)).collect();
            let (seconds, bytes) =
                core_seconds(|| -> Result<usize, binwright_print::PrintError> {
                    let day = jiff::civil::date(2031, 3, 14);
                    Ok(labels(&wanted, &sheet, 0, PrinterScale::default(), day)?.pdf()?.len())
                });
            let what = if matches!(wanted[0].code, Some(Code::Qr(_))) { "square" } else { "bars" };
            match bytes {
                Ok(bytes) => println!(
                    "  {count} labels on {:<14} {what:<8} {seconds:>6.2} s   {} kB   goal 2 s for 1000",
                    sheet.key,
                    bytes / 1000
                ),
                Err(error) => println!("  {:<14} {what:<8} {error}", sheet.key),
            }
        }
    }
}

fn label(at: usize, code: fn(String) -> Code) -> Label {
    let number = format!("HV-{:05}", 20_000 + at * 37 % 80_000);
    Label {
        code: Some(code(number.clone())),
        number,
        description: "regulator, 14.5 V, B-circuit, brush set with it".to_owned(),
        bin: format!("A-{:02}-{}", at % 40, at % 7),
    }
}
