//! Tests of the pure core through its public doors. One binary; one module an area.

#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a test fails by panicking"
)]

mod packs;
mod reference_rows;
mod seed_data;
mod sizing_air;
mod sizing_load;
mod sizing_refrigerant;
mod tidy;
mod units;
