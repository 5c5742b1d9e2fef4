//! Text of a rulebook that remembers where in the file it stands.

use super::formula::Flaw;
use super::span::Span;
use serde::{Serialize, Serializer};
use std::ops::Deref;
use std::sync::Arc;

/// A text and its place in the file. Equal when the texts are, wherever they stand.
#[derive(Debug, Clone)]
pub struct Text {
    text: Arc<str>,
    /// Of the value in the file, quotes included.
    span: Span,
}

impl Text {
    /// A text that stands at `span` of its file.
    pub fn new(text: &str, span: Span) -> Self {
        Self {
            text: text.into(),
            span,
        }
    }

    /// The text.
    pub fn as_str(&self) -> &str {
        &self.text
    }

    /// The text, shared.
    pub fn shared(&self) -> Arc<str> {
        Arc::clone(&self.text)
    }

    /// Where the whole value stands in the file, quotes included.
    pub fn span(&self) -> Span {
        self.span
    }

    /// Where a part of the text stands in `file`, past quotes and escapes.
    pub fn place(&self, part: Span, file: &str) -> Span {
        let raw = self.span.of(file);
        let start = raw_offset(raw, part.start);
        let end = raw_offset(raw, part.end).max(start);
        Span::new(self.span.start + start, self.span.start + end)
    }

    /// A flaw in the text, moved to its place in the file.
    pub(crate) fn flaw(&self, mut flaw: Flaw, file: &str) -> Flaw {
        flaw.span = self.place(flaw.span, file);
        flaw
    }

    /// A flaw of the text as a whole.
    pub(crate) fn whole(&self, code: &'static str, message: impl Into<String>) -> Flaw {
        Flaw::new(self.span, code, message)
    }
}

impl Deref for Text {
    type Target = str;

    fn deref(&self) -> &str {
        &self.text
    }
}

impl PartialEq for Text {
    fn eq(&self, other: &Self) -> bool {
        self.text == other.text
    }
}

impl Eq for Text {}

impl Serialize for Text {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.text)
    }
}

/// Where the byte `at` of a TOML string's value stands in the string as written, quotes included.
/// Anything that is not a quoted string stands as it is.
fn raw_offset(raw: &str, at: usize) -> usize {
    let (open, escapes) = match raw {
        _ if raw.starts_with("\"\"\"") => (3, true),
        _ if raw.starts_with("'''") => (3, false),
        _ if raw.starts_with('"') => (1, true),
        _ if raw.starts_with('\'') => (1, false),
        _ => (0, false),
    };
    let mut raw_at = open;
    if open == 3 {
        // A line break directly behind the opening quotes is not part of the value.
        let rest = raw.get(open..).unwrap_or_default();
        raw_at += ["\r\n", "\n"]
            .iter()
            .find(|end| rest.starts_with(**end))
            .map_or(0, |end| end.len());
    }
    let mut value_at = 0;
    while value_at < at {
        let rest = raw.get(raw_at..).unwrap_or_default();
        let Some(first) = rest.chars().next() else { break };
        let (raw_length, value_length) = match rest.strip_prefix('\\').filter(|_| escapes) {
            Some(escaped) => escape(escaped),
            None => (first.len_utf8(), first.len_utf8()),
        };
        raw_at += raw_length;
        value_at += value_length;
    }
    raw_at
}

/// The length of an escape as written, with its backslash, and of what it stands for.
fn escape(escaped: &str) -> (usize, usize) {
    let code = |digits: usize| {
        let number = escaped
            .get(1..=digits)
            .and_then(|hex| u32::from_str_radix(hex, 16).ok());
        (
            digits + 2,
            number.and_then(char::from_u32).map_or(1, char::len_utf8),
        )
    };
    match escaped.chars().next() {
        Some('u') => code(4),
        Some('U') => code(8),
        Some('x') => code(2),
        // A backslash at the end of a line: that and all white space behind it is not part of the value.
        Some(c) if c.is_whitespace() => (1 + escaped.len() - escaped.trim_start().len(), 0),
        Some(c) => (1 + c.len_utf8(), 1),
        None => (1, 0),
    }
}
