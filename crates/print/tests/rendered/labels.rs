//! Can labels be read, by eye and by scanner?

use binwright_print::{Code, Label, LabelSheet, PrintError, PrinterScale, labels};
use jiff::civil::{Date, date};
use proptest::prelude::*;
use rxing::{BarcodeFormat, helpers::detect_in_luma};

use crate::render::{self, Gray};

const DAY: Date = date(2031, 3, 14);

fn sheet(key: &str) -> LabelSheet {
    LabelSheet::built_in().into_iter().find(|sheet| sheet.key == key).unwrap()
}

fn label(at: usize) -> Label {
    let number = format!("HV-{:05}", 20_000 + at * 37);
    let code = match at % 2 {
        0 => Code::Code128(number.clone()),
        _ => Code::Qr(format!("part:{number}; Fach ä–{at}")),
    };
    Label {
        number,
        description: "regulator, 14.5 V, B-circuit, brush set with it".to_owned(),
        bin: format!("A-{:02}-{}", at % 40, at % 7),
        code: Some(code),
    }
}

/// The dots of one label, as a camera might give them: `blur` dots smeared to each side, then `scale`.
fn seen(
    page: &Gray,
    sheet: &LabelSheet,
    place: usize,
    blur: usize,
    scale: f64,
) -> (Vec<u8>, u32, u32) {
    let (column, row) = (place % sheet.columns as usize, place / sheet.columns as usize);
    let corner = [(0, column), (1, row)].map(|(axis, at)| {
        let step = sheet.label_mm[axis] + sheet.gap_mm[axis];
        page.dots_of(sheet.margin_mm[axis] + step * at as f64) as usize
    });
    let [width, height] = sheet.label_mm.map(|mm| (page.dots_of(mm) * scale) as usize);
    let mut dots = Vec::with_capacity(width * height);
    for y in 0..height {
        for x in 0..width {
            // The mean over what one dot of the smaller picture covers, smeared by `blur`.
            let from = |at: usize| ((at as f64 / scale) as usize).saturating_sub(blur);
            let to = |at: usize| ((at + 1) as f64 / scale).ceil() as usize + blur;
            let (mut sum, mut count) = (0.0, 0.0);
            for v in from(y)..to(y) {
                for u in from(x)..to(x) {
                    sum += page.ink(corner[0] + u, corner[1] + v);
                    count += 1.0;
                }
            }
            dots.push((255.0 * (1.0 - sum / count)) as u8);
        }
    }
    (dots, width as u32, height as u32)
}

/// ISO/IEC 15417 and 18004 as another program implements them.
#[test]
fn codes_are_read_back_from_the_sheet_also_blurred_and_at_seven_tenths() {
    needs_poppler!();
    for key in ["a4-3x8", "single-60x30"] {
        let sheet = sheet(key);
        let all: Vec<Label> = (0..6).map(label).collect();
        let pdf = labels(&all, &sheet, 0, PrinterScale::default(), DAY).unwrap().pdf().unwrap();
        let pages = render::pages(&pdf, 300);
        for (at, label) in all.iter().enumerate() {
            let page = &pages[at / sheet.count()];
            let (format, text) = match label.code.as_ref().unwrap() {
                Code::Code128(text) => (BarcodeFormat::CODE_128, text),
                Code::Qr(text) => (BarcodeFormat::QR_CODE, text),
            };
            for (blur, scale) in [(0, 1.0), (1, 1.0), (0, 0.7)] {
                let (dots, width, height) = seen(page, &sheet, at % sheet.count(), blur, scale);
                let read = detect_in_luma(dots, width, height, Some(format))
                    .unwrap_or_else(|error| panic!("{key} {text} {blur} {scale}: {error:?}"));
                assert_eq!(read.getText(), text);
            }
        }
    }
}

#[test]
fn every_number_of_a_thousand_labels_is_on_the_sheets() {
    needs_poppler!();
    let sheet = sheet("a4-3x8");
    let all: Vec<Label> = (0..1000).map(label).collect();
    let pages = labels(&all, &sheet, 5, PrinterScale::default(), DAY).unwrap();
    assert_eq!(pages.count(), (1000 + 5usize).div_ceil(24));
    let text = render::text(&pages.pdf().unwrap());
    for label in &all {
        assert!(text.contains(&label.number) && text.contains(&label.bin), "{}", label.number);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(32))]
    #[test]
    fn any_label_comes_out_or_is_refused_in_words(
        number in "\\PC{0,30}", words in any::<String>(), bin in any::<String>(), code in any::<String>(),
        square in any::<bool>(),
    ) {
        let code = Some(if square { Code::Qr(code) } else { Code::Code128(code) });
        let label = Label { number, description: words, bin, code };
        match labels(&[label], &sheet("a4-3x8"), 0, PrinterScale::default(), DAY) {
            Ok(pages) => prop_assert_eq!(pages.pdf().map(|_| ()), Ok(())),
            Err(error) => prop_assert!(error.hint().is_some(), "{}", error),
        }
    }
}

#[test]
fn what_could_not_be_read_is_refused_in_words() {
    let small = sheet("a4-4x12");
    let refused = |label: Label, first: usize| {
        labels(&[label], &small, first, PrinterScale::default(), DAY).unwrap_err().to_string()
    };
    let long = Label { number: "HV-20000-".repeat(9), ..label(0) };
    assert!(refused(long, 0).ends_with("does not fit on the label at a size that can be read"));
    let code = Some(Code::Code128("ABCDEFGHIJKLMNOPQRSTUVWXYZ".to_owned()));
    let error = refused(Label { code, ..label(0) }, 0);
    assert_eq!(error, "the code of `ABCDEFGHIJKLMNOPQRSTUVWXYZ` takes 86.6 mm and has 45.0 mm");
    let code = Some(Code::Qr("x".repeat(3000)));
    assert!(refused(Label { code, ..label(0) }, 0).contains("more than one QR code holds"));
    assert!(refused(label(0), 48).contains("it has 48 labels, none at place 49"));
    assert_eq!(
        labels(&[], &small, 0, PrinterScale::default(), DAY).unwrap_err(),
        PrintError::Nothing
    );
}
