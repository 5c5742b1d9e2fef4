//! bill

pub mod packs;
