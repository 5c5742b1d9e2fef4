//! What is refused as a likely slip, and done where the caller says that it is meant.

use serde::Deserialize;

use super::problem::{Kind, Problem};
use crate::desk::Meant;

/// What is meant though it looks like a slip. Each route takes words of its own, and describes them.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct AcceptQuery {
    /// Words for what is meant, separated by commas.
    accept: Option<String>,
}

impl AcceptQuery {
    /// What was said, of the words that are `allowed` here.
    ///
    /// # Errors
    /// Another word was said.
    pub fn meant(&self, allowed: &[&str]) -> Result<Meant, Problem> {
        meant(self.accept.as_deref(), allowed)
    }
}

/// What a list of words with commas between them says, of those that are `allowed`.
///
/// # Errors
/// Another word stands in it.
pub(super) fn meant(said: Option<&str>, allowed: &[&str]) -> Result<Meant, Problem> {
    let said: Vec<&str> = said
        .unwrap_or_default()
        .split(',')
        .filter(|word| !word.is_empty())
        .collect();
    if let Some(word) = said.iter().find(|word| !allowed.contains(word)) {
        let detail = format!("accept is {word}; {} may be said here", allowed.join(", "));
        return Err(Problem::new(Kind::InvalidParameter, detail));
    }
    Ok(Meant {
        backdated: said.contains(&"backdated"),
        factor: said.contains(&"factor"),
        zero: said.contains(&"zero"),
    })
}
