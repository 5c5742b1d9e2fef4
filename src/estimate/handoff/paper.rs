//! A paper: its contents as words and figures, and how it is to look. Whoever prints it adds nothing.

use chrono::NaiveDate;
use serde_json::Value;

use super::house_style::{HouseStyle, LogoKind, Sheet};
use super::paper_fault::PaperFault;
use super::words::Language;

/// Which paper it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// What the customer signs.
    Proposal,
    /// What the crew works from.
    JobSheet,
}

/// A paper, ready to be printed.
#[derive(Debug, Clone, PartialEq)]
pub struct Paper {
    /// Which.
    pub kind: Kind,
    /// Title of the document.
    pub title: String,
    /// Language of the fixed words.
    pub language: Language,
    /// The day that it is of.
    pub date: NaiveDate,
    /// The sheet.
    pub sheet: Sheet,
    /// Colour of headings and rules, `#rrggbb`.
    pub accent: String,
    /// The company's picture.
    pub logo: Option<Picture>,
    /// The elevation.
    pub drawing: String,
    /// Everything that is said, as texts.
    pub content: Value,
}

/// A picture file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Picture {
    /// PNG or SVG.
    pub kind: LogoKind,
    /// The file.
    pub bytes: Vec<u8>,
}

impl Picture {
    /// The logo of a style.
    ///
    /// # Errors
    /// It does not read.
    pub fn of(style: &HouseStyle) -> Result<Option<Self>, PaperFault> {
        let read = |logo: &super::house_style::Logo| {
            Ok(Self {
                kind: logo.media_type,
                bytes: logo.bytes()?,
            })
        };
        style.logo.as_ref().map(read).transpose()
    }
}
