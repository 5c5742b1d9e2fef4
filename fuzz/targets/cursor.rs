//! Fuzzes a place in the accounting feed.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| doors::cursor(bytes));
