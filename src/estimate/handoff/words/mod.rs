//! The fixed words of papers, in every language that papers are printed in.
//!
//! Texts of the office (rules, wording, descriptions of items) stay in the language in which it wrote them; its cautions
//! may stand in a house style once more, in the language of that style.

mod cautions;
mod choices;
mod load;
mod questions;
mod table;
mod told;
mod told_rows;

use serde::{Deserialize, Serialize};

use crate::job::choices::Choice;

pub use table::Words;

/// A language of the fixed words.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Language {
    /// English.
    #[default]
    En,
    /// Spanish.
    Es,
}

impl Language {
    /// Every language.
    pub const ALL: [Self; 2] = [Self::En, Self::Es];

    /// Its code in BCP 47.
    pub fn code(self) -> &'static str {
        match self {
            Self::En => "en",
            Self::Es => "es",
        }
    }

    /// The fixed words.
    pub fn words(self) -> &'static Words {
        match self {
            Self::En => &table::EN,
            Self::Es => &table::ES,
        }
    }

    /// The sentence of one of the program's own cautions, where it has one in this language beside the caution's own.
    pub fn caution(self, code: &str) -> Option<&'static str> {
        match self {
            Self::En => None,
            Self::Es => cautions::spanish(code),
        }
    }

    /// Whether a caution of this code is one of the program's own.
    pub fn is_of_the_program(code: &str) -> bool {
        cautions::spanish(code).is_some()
    }

    /// The sentence of one of the program's own cautions with its figures in place, where it is told so in this language.
    pub fn told(self, code: &str, message: &str) -> Option<String> {
        match self {
            Self::En => None,
            Self::Es => told::spanish(code, message),
        }
    }

    /// A question of the survey or the name of a group of them, by its English.
    pub fn question(self, title: &str) -> &str {
        match self {
            Self::En => title,
            Self::Es => questions::spanish(title).map_or(title, |(spanish, _)| spanish),
        }
    }

    /// The name of a group of the survey, and behind a comma that of a list in it.
    pub fn group(self, title: &str) -> String {
        let names = title.split(", ").map(|name| self.question(name));
        names.collect::<Vec<_>>().join(", ")
    }

    /// A word of the survey, or what is said in its place, under the question of this English title.
    pub fn said<'t>(self, title: &str, word: &str, english: &'t str) -> &'t str {
        let listed = || {
            let domain = questions::spanish(title).and_then(|(_, domain)| domain);
            let own = questions::answer_in_spanish(domain, word);
            own.or_else(|| questions::answer_in_spanish(None, english))
        };
        match self {
            Self::En => english,
            Self::Es => listed().unwrap_or(english),
        }
    }

    /// A part of a cellar's load, as sizing names it in English.
    pub fn load_part(self, english: &str) -> &str {
        match self {
            Self::En => english,
            Self::Es => load::spanish(english).unwrap_or(english),
        }
    }

    /// What a person reads for an answer of the survey.
    pub fn choice<C: Choice>(self, choice: C) -> &'static str {
        let listed = C::WORDS.get(choice.index());
        let (word, title) = listed.copied().unwrap_or_default();
        match self {
            Self::En => title,
            Self::Es => choices::spanish(C::DOMAIN, word).unwrap_or(title),
        }
    }
}
