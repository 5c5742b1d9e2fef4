//! Fuzzes a formula.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| doors::formula(bytes));
