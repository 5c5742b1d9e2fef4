//! Who may come in: access keys, tokens of an identity provider, and the roles that they carry.
//!
//! In: what the caller presents. Out: a [`Caller`], or why there is none. Deliberately absent: which role may do what;
//! the door decides that by its table.

mod admit;
mod demo;
mod key;
mod key_set;
mod keys;
mod token;

use thiserror::Error;

pub use demo::DEMO_KEYS;
pub use keys::{AccessKey, KeyState, NewAccessKey, Secret};
pub use token::{KeySetFault, KeySource, TokenAlgorithm, TokenFault, TokenIssuer, TokenSettings};

/// What a caller may be.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// Makes offers.
    Estimator,
    /// Keeps rules, items and prices.
    RuleKeeper,
    /// Takes over finished quotes.
    Accounting,
    /// Surveys at the site, and sees no cost.
    Field,
    /// May do everything, and lets others in.
    Owner,
    /// Reads everything and changes nothing.
    Auditor,
}

impl Role {
    /// Every role.
    pub const ALL: [Self; 6] = [
        Self::Estimator,
        Self::RuleKeeper,
        Self::Accounting,
        Self::Field,
        Self::Owner,
        Self::Auditor,
    ];

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Estimator => "estimator",
            Self::RuleKeeper => "rule_keeper",
            Self::Accounting => "accounting",
            Self::Field => "field",
            Self::Owner => "owner",
            Self::Auditor => "auditor",
        }
    }

    /// The role of a word.
    pub fn of_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|role| role.word() == word)
    }
}

/// Who has come in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Caller {
    /// The person; of a shared key the application, until it names the person who acts.
    pub person: String,
    /// In which role.
    pub role: Role,
    /// The id of the key, or the name that the identity provider knows the person by.
    pub key: String,
    /// Whether it is an application's key for many persons.
    pub shared: bool,
}

/// Why somebody is not let in.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum Denied {
    /// It is nothing that could let anybody in.
    #[error("this is not an access key, and no tokens are taken here")]
    NoKey,
    /// There is no such key, or its secret is another.
    #[error("there is no such access key")]
    UnknownKey,
    /// Its time is over.
    #[error("the access key ended on {0}")]
    Expired(String),
    /// It was taken back.
    #[error("the access key was revoked")]
    Revoked,
    /// It is a token, and one that is not taken.
    #[error("the token is refused: {0}")]
    Token(#[from] TokenFault),
}

/// What lets somebody in beside the access keys in the database.
#[derive(Debug, Default)]
pub struct Entrances {
    /// The keys of the demonstration, which everybody knows.
    pub demo_keys: bool,
    /// Tokens of an identity provider.
    pub tokens: Option<TokenIssuer>,
}
