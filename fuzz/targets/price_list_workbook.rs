//! Fuzzes a supplier's list as a workbook.
#![no_main]

libfuzzer_sys::fuzz_target!(init: doors::open(), |bytes: &[u8]| doors::price_list_workbook(bytes));
