//! The whole service from outside, over HTTP, on both engines. One binary.
#![expect(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

#[macro_use]
mod harness;

mod access;
mod accounting;
mod accounting_feed;
mod accounting_load;
mod any_job;
mod audit;
mod backup;
mod catalogue;
mod command_line;
mod contract;
mod database;
mod errors;
mod estimates;
mod every_post;
mod field;
mod kept;
mod migrations;
mod papers;
mod policy_versions;
mod price_lists;
mod problems;
mod process;
mod quotes_again;
mod quotes_begin;
mod quotes_choice;
mod quotes_compare;
mod quotes_desk;
mod quotes_life;
mod quotes_list;
mod quotes_load;
mod quotes_orders;
mod quotes_verify;
mod quotes_written;
mod rulebook_versions;
mod rulebooks;
mod storage;
mod strict_json;
mod sweeps;
mod tokens;
