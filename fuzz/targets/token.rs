//! Fuzzes what lets somebody in.
#![no_main]

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| doors::token(bytes));
