//! See `binwright_tests::hostile::kinds_toml`.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| binwright_tests::hostile::kinds_toml(bytes));
