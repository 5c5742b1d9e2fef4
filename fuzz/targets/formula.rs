//! Fuzzes a formula.
#![no_main]

libfuzzer_sys::fuzz_target!(init: doors::open(), |bytes: &[u8]| doors::formula(bytes));
