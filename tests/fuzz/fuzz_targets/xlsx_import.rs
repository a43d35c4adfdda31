//! See `binwright_tests::hostile::import`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| binwright_tests::hostile::import(bytes));
