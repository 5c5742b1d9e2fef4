//! Fuzzes a supplier's list as CSV.
#![no_main]

libfuzzer_sys::fuzz_target!(init: doors::open(), |bytes: &[u8]| doors::price_list_csv(bytes));
