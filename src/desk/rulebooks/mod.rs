//! Rulebooks: drafts that the office edits, versions that are published and stay, and which one is current when.

mod calendar;
mod discard;
mod draft;
mod edit_part;
mod example_jobs;
mod publish;
mod take_figures;
mod try_job;
mod try_rules;
mod view;

use estimate::rules::Rulebook;
use estimate::rules::rulebook::{parse_toml, parse_tree};
use serde_json::Value;

use super::DeskFault;

pub use draft::{DraftPage, NewDraft};
pub use example_jobs::with_jobs;
pub use publish::Publication;
pub use try_rules::CheckedRules;
pub use view::version_tag;

/// A rulebook as it is handed in.
#[derive(Debug, Clone, PartialEq)]
pub enum Given {
    /// The text, in TOML.
    Text(String),
    /// The same as a tree.
    Tree(Value),
}

impl Given {
    /// The rulebook, once its shape is sound; a tree gets the canonical text.
    ///
    /// # Errors
    /// Every fault of shape, with its place in the text or the tree.
    pub(super) fn read(&self) -> Result<Rulebook, DeskFault> {
        match self {
            Self::Text(text) => parse_toml(text).map_err(DeskFault::Rulebook),
            Self::Tree(tree) => parse_tree(tree).map_err(DeskFault::Tree),
        }
    }

    /// The text, whose shape may have faults when it was handed in as such.
    pub(super) fn text(&self) -> Result<String, DeskFault> {
        match self {
            Self::Text(text) => Ok(text.clone()),
            Self::Tree(_) => Ok(self.read()?.source().to_owned()),
        }
    }
}

/// What rules are compared with.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum With {
    /// What they come from, or what is current.
    Usual,
    /// This version of their rulebook.
    Version(u32),
    /// The draft of this key.
    Draft(String),
}

/// A draft, or a version of a rulebook.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Which {
    /// The draft of this key.
    Draft(String),
    /// This version of this rulebook.
    Version(String, u32),
}
