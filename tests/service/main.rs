//! The whole service from outside, over HTTP, on both engines. One binary.

#[macro_use]
mod harness;

mod catalogue;
mod contract;
mod database;
mod errors;
mod estimates;
mod migrations;
mod rulebooks;
mod strict_json;
