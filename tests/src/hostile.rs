//! What must no input do? One function a way in: it feeds bytes to the program's own reading and
//! fails on a panic or a broken promise. The fuzzer calls these with what it makes up, a test with
//! what is kept of it.

use binwright_catalog::shown::shown;
use binwright_catalog::{DecimalMark, Kinds, Layout, LengthUnit, Quantity, Value, number};
use binwright_diagnosis::Faults;
use binwright_exchange::{Options, Reader};

/// Takes what is fed to it, or fails.
pub type Way = fn(&[u8]);

/// A way in and its name, which is also that of its folder of kept inputs.
pub const WAYS: [(&str, Way); 8] = [
    ("layout_text", layout_text),
    ("measure_text", measure_text),
    ("csv_import", import),
    ("xlsx_import", import),
    ("kinds_toml", kinds_toml),
    ("faults_toml", faults_toml),
    ("number_folding", number_folding),
    ("terminal_text", terminal_text),
];

/// Rows read of one input; a fuzzed file has fewer.
const ROWS_MAX: usize = 10_000;

/// A layout that is read is written and read again as the same.
pub fn layout_text(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let Ok(layout) = text.parse::<Layout>() else { return };
    let again = layout.to_string().parse::<Layout>();
    assert_eq!(again.as_ref(), Ok(&layout), "{text:?} was written as {layout}");
}

/// A measure that is read is a finite number or a word; a quantity survives being written.
pub fn measure_text(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    let kinds = builtin();
    for measure in kinds.iter().flat_map(|kind| &kind.measures).take(40) {
        for mark in [DecimalMark::Point, DecimalMark::Comma] {
            for unit in [LengthUnit::Mm, LengthUnit::Inch, LengthUnit::Mil] {
                if let Ok(Value::Number(read)) = measure.parse(text, unit, mark) {
                    assert!(read.is_finite(), "{text:?} as {} is {read}", measure.key);
                }
            }
        }
    }
    if let Ok(quantity) = text.parse::<Quantity>() {
        assert_eq!(quantity.to_string().parse::<Quantity>().ok(), Some(quantity), "{text:?}");
    }
}

/// A file of rows is read to its end; every row is a record or a reject with a reason.
pub fn import(bytes: &[u8]) {
    let kinds = builtin();
    let Ok(reader) = Reader::open("hostile", bytes, &Options::default(), kinds) else { return };
    for row in reader.take(ROWS_MAX) {
        if let Err(reject) = row {
            assert!(!reject.reason.is_empty(), "a reject without a reason");
        }
    }
}

/// A file of a kind is taken or refused with a message that names the file.
pub fn kinds_toml(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    if let Err(error) = Kinds::load(&[("own.toml".to_owned(), text.to_owned())]) {
        assert!(error.to_string().contains("own.toml"), "{error}");
    }
}

/// A file of faults is taken or refused with a message that names the file.
pub fn faults_toml(bytes: &[u8]) {
    let Ok(text) = std::str::from_utf8(bytes) else { return };
    if let Err(error) = Faults::load(&[("own.toml".to_owned(), text.to_owned())]) {
        assert!(error.to_string().contains("own.toml"), "{error}");
    }
}

/// Folding twice is folding once, and so is making a skeleton of look-alikes.
pub fn number_folding(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let folded = number::fold(&text);
    assert_eq!(number::fold(&folded), folded, "{text:?}");
    let skeleton = number::look_skeleton(&folded);
    assert_eq!(number::look_skeleton(&skeleton), skeleton, "{text:?}");
    let _ = (number::stem(&folded), number::without_leading_zeros(&folded));
}

/// What is shown has no control or direction character but line end and tab.
pub fn terminal_text(bytes: &[u8]) {
    let text = String::from_utf8_lossy(bytes);
    let clean = shown(&text);
    let raw = clean.chars().find(|c| c.is_control() && !matches!(c, '\n' | '\t'));
    assert_eq!(raw, None, "{text:?} is shown as {clean:?}");
    assert_eq!(shown(&clean), clean, "{text:?}");
}

fn builtin() -> &'static Kinds {
    static KINDS: std::sync::LazyLock<Kinds> =
        std::sync::LazyLock::new(|| Kinds::builtin().expect("checked by catalog's own tests"));
    &KINDS
}
