//! A paper: its contents as words and figures, and how it is to look. Whoever prints it adds nothing.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use serde_json::Value;

use super::house_style::{HouseStyle, LogoKind, Sheet};
use super::paper_fault::PaperFault;
use super::unprintable::Unprintable;
use super::words::Language;

/// Which paper it is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// What the customer signs.
    Proposal,
    /// What the crew works from.
    JobSheet,
    /// A house style on trial.
    Proof,
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

/// A paper as it was printed, and what of it was not.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Printed {
    /// The file.
    pub bytes: Vec<u8>,
    /// Why the logo was left out, where it was.
    pub logo_left_out: Option<String>,
    /// Texts with letters that no font has, for each of which a box was printed.
    pub unprintable: Vec<Unprintable>,
}

impl Printed {
    /// What a person should know of it: nothing of a paper that has all that it should.
    pub fn notes(&self) -> Vec<String> {
        let logo = self
            .logo_left_out
            .iter()
            .map(|why| format!("the logo was left out: {why}"));
        let letters = self.unprintable.iter().flat_map(|one| &one.letters);
        let letters: BTreeSet<&char> = letters.collect();
        let letters = letters
            .into_iter()
            .map(|letter| format!("U+{:04X}", u32::from(*letter)));
        let letters = letters.collect::<Vec<_>>().join(", ");
        let letters = Some(letters).filter(|all| !all.is_empty());
        logo.chain(
            letters
                .map(|all| format!("no font of the papers has these letters, a box stands for each: {all}")),
        )
        .collect()
    }
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
