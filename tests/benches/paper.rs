//! How long does a thousand labels take?
//!
//! `cargo bench -p binwright-tests --bench paper [-- LABELS]`: numbers, descriptions and codes, from plain
//! values to the bytes of the PDF. Processor time of all threads.

use binwright_print::{Code, Label, LabelSheet, PrinterScale, labels};
use binwright_tests::figures::{Goal, Report};
use binwright_tests::timing::{core_seconds, sizes};

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let count = sizes(&[1000])[0];
    let mut report = Report::begin("paper")?;
    report.of(0, &format!("{count} labels"));
    for sheet in LabelSheet::built_in() {
        for code in [Code::Code128, Code::Qr] {
            let wanted: Vec<Label> = (0..count).map(|at| label(at, code)).collect();
            let (seconds, bytes) =
                core_seconds(|| -> Result<usize, binwright_print::PrintError> {
                    let day = jiff::civil::date(2031, 3, 14);
                    Ok(labels(&wanted, &sheet, 0, PrinterScale::default(), day)?.pdf()?.len())
                });
            let what = if matches!(wanted[0].code, Some(Code::Qr(_))) { "squares" } else { "bars" };
            let case = format!("{}, {what}", sheet.key);
            report.figure(&case, seconds, "s", Goal::AtMost(2.0 * count as f64 / 1000.0));
            report.figure(&format!("{case}, file"), bytes? as f64 / 1e3, "kB", Goal::None);
        }
    }
    Ok(())
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
