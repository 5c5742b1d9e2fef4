//! Papers through their public door: what they say, what they never say, and how they look.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod contents;
#[path = "../estimate/demo.rs"]
#[allow(dead_code, reason = "shared with the tests of the core")]
mod demo;
mod offers;
mod page;
mod pages;
