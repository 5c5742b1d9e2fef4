//! Settings: what flags, the environment and a file may say, with their defaults.
//!
//! A setting has one name in three spellings: `--body-limit`, `TALLYRULE_BODY_LIMIT`, and `body_limit` in the file. A flag
//! counts before the environment, the environment before the file, the file before what is usual.

mod args;
mod effective;
mod file;
mod given;
mod words;

pub use args::{DATA_FILE, DataArgs, Limits, LogFormat, ServeArgs, TlsArgs, usual};
pub use effective::effective;
pub use given::{Given, SettingFault, Settings};
