//! What one cell of a list holds, before anything is made of it.

use std::borrow::Cow;

use chrono::NaiveDate;

/// A cell as the file holds it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Cell<'a> {
    /// Nothing.
    Empty,
    /// Text; a number in it is written with the signs of the mapping.
    Text(Cow<'a, str>),
    /// A number that the file itself keeps as one.
    Number {
        /// Its digits, with a point and at most six decimals.
        digits: Cow<'a, str>,
        /// What the file holds, where that has more decimals than were kept.
        rounded_from: Option<Cow<'a, str>>,
    },
    /// A date that the file itself keeps as one.
    Date(NaiveDate),
    /// Something that is neither: a logical value, the error of a formula. As it is shown.
    Other(Cow<'a, str>),
}

impl Cell<'_> {
    /// The cell as text without blanks around it; `None` when there is none.
    pub fn text(&self) -> Option<&str> {
        let text = match self {
            Self::Text(text) | Self::Number { digits: text, .. } => text.trim_matches(is_blank),
            Self::Empty | Self::Date(_) | Self::Other(_) => return None,
        };
        (!text.is_empty()).then_some(text)
    }

    /// Whether there is nothing in it but blanks.
    pub fn is_empty(&self) -> bool {
        match self {
            Self::Empty => true,
            Self::Text(text) => text.trim_matches(is_blank).is_empty(),
            Self::Number { .. } | Self::Date(_) | Self::Other(_) => false,
        }
    }

    /// The cell as it is told to a person, shortened.
    pub fn shown(&self) -> String {
        let short = |text: &str| text.chars().take(40).collect::<String>();
        match self {
            Self::Empty => String::new(),
            Self::Text(text) | Self::Other(text) => short(text),
            Self::Number { digits, rounded_from } => short(rounded_from.as_ref().unwrap_or(digits)),
            Self::Date(day) => day.to_string(),
        }
    }
}

/// White space, and the narrow and hard spaces that spreadsheets write.
pub(super) fn is_blank(letter: char) -> bool {
    letter.is_whitespace() || letter == '\u{feff}'
}
