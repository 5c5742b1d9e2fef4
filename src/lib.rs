//! The estimating desk of a contractor who installs split cooling units in wine cellars: a surveyed job goes
//! in, a priced bill of materials and labour hours comes out, over REST or from the command line.
//!
//! The street, from the data to the door. Each room uses only those above it; the arithmetic is the package
//! `estimate`, which does no I/O.

pub mod store;

pub mod config;

pub mod desk;

pub mod print;

pub mod api;
