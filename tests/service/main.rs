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
mod any_bytes;
mod any_job;
mod audit;
mod backup;
mod catalogue;
mod command_line;
mod command_line_rules;
mod command_line_told;
mod connections;
mod contract;
mod contract_breaks;
mod contract_release;
mod database;
mod deploy;
#[path = "../../fuzz/doors.rs"]
mod doors;
mod errors;
mod estimates;
mod every_post;
mod field;
mod job_form;
mod kept;
mod limits;
mod migrations;
mod office_slips;
mod operations;
#[cfg_attr(
    not(feature = "documents"),
    allow(dead_code, reason = "papers are printed with documents")
)]
mod papers;
#[cfg_attr(
    not(feature = "documents"),
    allow(dead_code, reason = "papers are printed with documents")
)]
mod papers_of_the_work;
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
mod recipes;
mod replicas;
mod rulebook_versions;
mod rulebooks;
mod settings;
mod storage;
mod strict_json;
mod surveys;
mod sweeps;
mod tokens;
mod workers;
