//! See `binwright_tests::hostile::layout_text`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| binwright_tests::hostile::layout_text(bytes));
