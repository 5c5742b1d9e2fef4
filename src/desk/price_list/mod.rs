//! Suppliers' price lists: saved mappings, a list held against the catalogue, applied, and taken back.

mod apply;
mod csv_file;
mod intake;
mod mapping;
mod take_back;
mod workbook_file;

pub use apply::{Kept, fingerprint};
pub use csv_file::CsvFile;
pub use intake::{Intake, IntakeFault, ReadList};
pub use take_back::TakenBack;
