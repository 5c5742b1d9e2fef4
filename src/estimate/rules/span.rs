//! Where something stands in a text.

use serde::Serialize;

/// A part of a text, in bytes from its beginning.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize)]
pub struct Span {
    /// The first byte.
    pub start: usize,
    /// The byte after the last.
    pub end: usize,
}

impl Span {
    /// From `start` up to, not including, `end`.
    pub fn new(start: usize, end: usize) -> Self {
        Self { start, end }
    }

    /// The part that both parts and all between them cover.
    pub fn to(self, other: Self) -> Self {
        Self {
            start: self.start.min(other.start),
            end: self.end.max(other.end),
        }
    }

    /// The text of the part; empty when it does not lie within `text`.
    pub fn of(self, text: &str) -> &str {
        text.get(self.start..self.end).unwrap_or_default()
    }
}

/// Where something stands in its file; of no account when what stands there is compared.
#[derive(Debug, Clone, Copy, Default)]
pub struct Standing(pub Span);

impl PartialEq for Standing {
    fn eq(&self, _: &Self) -> bool {
        true
    }
}

impl Eq for Standing {}

/// Line and column of a byte of a text, both from 1; the column counts characters.
pub fn line_and_column(text: &str, at: usize) -> (usize, usize) {
    let before = text.get(..at).unwrap_or(text);
    let line = before.matches('\n').count() + 1;
    let column = before.rsplit('\n').next().unwrap_or_default().chars().count() + 1;
    (line, column)
}
