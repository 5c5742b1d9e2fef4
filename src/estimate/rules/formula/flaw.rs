//! What is wrong with a formula, before anyone knows where the formula stands in a file.

use crate::rules::span::Span;

/// Something wrong in a formula, or in another text of a rulebook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Flaw {
    /// The part of the text.
    pub span: Span,
    /// Stable short name of the kind of fault, such as `unknown_name`.
    pub code: &'static str,
    /// What there is to say.
    pub words: Box<FlawWords>,
}

/// What there is to say of a flaw.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct FlawWords {
    /// What is wrong, in words.
    pub message: String,
    /// What was found there.
    pub found: Option<String>,
    /// What would have been right.
    pub expected: Option<String>,
    /// What was probably meant.
    pub suggestion: Option<String>,
}

impl Flaw {
    /// A flaw of which no more is known than the words.
    pub fn new(span: Span, code: &'static str, message: impl Into<String>) -> Self {
        let words = FlawWords {
            message: message.into(),
            ..FlawWords::default()
        };
        Self {
            span,
            code,
            words: Box::new(words),
        }
    }

    /// Adds what was found.
    #[must_use]
    pub fn found(mut self, found: impl Into<String>) -> Self {
        self.words.found = Some(found.into());
        self
    }

    /// Adds what would have been right.
    #[must_use]
    pub fn expected(mut self, expected: impl Into<String>) -> Self {
        self.words.expected = Some(expected.into());
        self
    }

    /// Adds what was probably meant.
    #[must_use]
    pub fn suggest(mut self, suggestion: Option<impl Into<String>>) -> Self {
        self.words.suggestion = suggestion.map(Into::into);
        self
    }
}
