//! pricing
