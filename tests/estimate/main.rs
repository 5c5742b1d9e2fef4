//! Tests of the pure core through its public doors. One binary; one module an area.

mod reference_rows;
mod sizing_air;
mod sizing_refrigerant;
mod tidy;
mod units;
