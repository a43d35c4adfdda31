//! See `binwright_tests::hostile::number_folding`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| binwright_tests::hostile::number_folding(bytes));
