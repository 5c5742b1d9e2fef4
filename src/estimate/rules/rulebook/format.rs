//! The canonical text of a rulebook, from its tree or from a text with comments.

use toml_edit::DocumentMut;

use super::super::finding::{Finding, Findings};
use super::super::formula::Flaw;
use super::super::span::Span;
use super::comments::Comments;
use super::part::Tree;
use super::write::{compose, rulebook};
use super::{Rulebook, parse_toml};

/// The canonical text of a rulebook, without comments.
pub fn to_toml(rules: &Rulebook) -> String {
    compose(&rulebook(&Tree::of(rules).0).lines, &[]).text
}

/// The canonical text of the rulebook in `text`, with its comments where they were.
///
/// # Errors
/// Every fault of TOML or of shape, each with its place.
pub fn format_toml(text: &str) -> Result<String, Vec<Finding>> {
    let rules = parse_toml(text)?;
    let document = document(text)?;
    let mut written = rulebook(&Tree::of(&rules).0);
    let mut comments = Comments::of(&document);
    let end = std::mem::take(&mut comments.end);
    comments.put(&mut written.lines);
    Ok(compose(&written.lines, &end).text)
}

/// The text as a document that keeps its form.
pub(super) fn document(text: &str) -> Result<DocumentMut, Vec<Finding>> {
    text.parse::<DocumentMut>().map_err(|fault| {
        let span = fault.span().unwrap_or(0..0);
        let flaw = Flaw::new(Span::new(span.start, span.end), "toml", fault.message());
        let mut findings = Findings::new(text);
        findings.error("", "", flaw);
        findings.sorted()
    })
}
