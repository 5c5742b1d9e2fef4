//! A place in the feed as the caller keeps it: opaque, and good for as long as the feed is.

use estimate::quote::canonical::Digest;

use crate::api::problem::{Kind, Problem};

/// Hexadecimal digits of the position.
const POSITION: usize = 16;
/// Hexadecimal digits of the check behind it, so that a slip of the pen is no other place.
const CHECK: usize = 8;

/// The place behind the row at `position`; 0 is the beginning.
pub(super) fn write(position: i64) -> String {
    let position = format!("{position:016x}");
    format!("{position}{}", check(&position))
}

/// The position of a place.
///
/// # Errors
/// The text is no place that was given out here.
pub fn read(text: &str) -> Result<i64, Problem> {
    let position = text
        .split_at_checked(POSITION)
        .filter(|(position, rest)| *rest == check(position))
        .and_then(|(position, _)| i64::from_str_radix(position, 16).ok())
        .filter(|position| write(*position) == text);
    position.ok_or_else(|| {
        let detail = "after must be a cursor that was given out here";
        Problem::new(Kind::InvalidParameter, detail)
    })
}

fn check(position: &str) -> String {
    let digest = Digest::of(format!("place in the feed {position}").as_bytes()).to_string();
    digest.chars().take(CHECK).collect()
}
