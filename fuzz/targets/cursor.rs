//! Fuzzes a place in the accounting feed.
#![no_main]

libfuzzer_sys::fuzz_target!(init: doors::open(), |bytes: &[u8]| doors::cursor(bytes));
