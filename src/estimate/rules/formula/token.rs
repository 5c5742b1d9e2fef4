//! Text to tokens.

use super::Flaw;
use crate::rules::span::Span;

/// The smallest parts of a formula.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Token<'t> {
    /// Digits with an optional decimal point; no sign.
    Number(&'t str),
    /// A name, a unit, a word or a keyword; dots join the parts of a name.
    Word(&'t str),
    /// A word in double quotes, without them.
    Quoted(&'t str),
    /// An operator, a bracket or a comma.
    Sign(&'static str),
}

const SIGNS: &[&str] = &[
    "<>", "<=", ">=", "=", "<", ">", "+", "-", "*", "/", "(", ")", "[", "]", ",", "%",
];

/// Splits a formula; the first text that is no token is a flaw.
pub(super) fn tokens(text: &str) -> Result<Vec<(Token<'_>, Span)>, Flaw> {
    let mut found = Vec::new();
    let mut at = 0;
    while let Some(rest) = text.get(at..).filter(|rest| !rest.is_empty()) {
        let Some(first) = rest.chars().next() else { break };
        if first.is_ascii_whitespace() {
            at += 1;
            continue;
        }
        let (token, length) = token(rest, first).map_err(|mut flaw| {
            flaw.span = Span::new(at, at + flaw.span.end);
            flaw
        })?;
        found.push((token, Span::new(at, at + length)));
        at += length;
    }
    Ok(found)
}

/// The token that `rest` begins with and its length; spans of flaws count from its beginning.
fn token(rest: &str, first: char) -> Result<(Token<'_>, usize), Flaw> {
    if first.is_ascii_digit() || first == '.' {
        let length = length_while(rest, |c| c.is_ascii_digit() || c == '.');
        return Ok((Token::Number(rest.get(..length).unwrap_or_default()), length));
    }
    if first.is_ascii_alphabetic() || first == '_' {
        let length = length_while(rest, |c| c.is_ascii_alphanumeric() || c == '_' || c == '.');
        return Ok((Token::Word(rest.get(..length).unwrap_or_default()), length));
    }
    if let Some(quoted) = rest.strip_prefix('"') {
        return match quoted.find('"') {
            Some(end) => Ok((Token::Quoted(quoted.get(..end).unwrap_or_default()), end + 2)),
            None => Err(
                Flaw::new(Span::new(0, rest.len()), "syntax", "the quotation is not closed")
                    .expected("a second \""),
            ),
        };
    }
    match SIGNS.iter().find(|sign| rest.starts_with(**sign)) {
        Some(sign) => Ok((Token::Sign(sign), sign.len())),
        None => Err(Flaw::new(
            Span::new(0, first.len_utf8()),
            "syntax",
            "this character has no meaning here",
        )
        .found(match first {
            '\'' | '\\' => format!("`{first}`"),
            _ => format!("`{}`", first.escape_debug()),
        })
        .suggest(instead_of(rest, first))),
    }
}

/// What is written for a sign that other languages and other keyboards have.
fn instead_of(rest: &str, first: char) -> Option<&'static str> {
    let words = [("!=", "<>"), ("&&", "and"), ("||", "or")];
    let word = words.iter().find(|(sign, _)| rest.starts_with(sign));
    word.map(|(_, instead)| *instead).or(match first {
        '×' | '·' | '⋅' | '∙' => Some("*"),
        '÷' | '∕' | '⁄' => Some("/"),
        '−' | '–' | '‐' | '‑' => Some("-"),
        '≤' => Some("<="),
        '≥' => Some(">="),
        '≠' => Some("<>"),
        '^' => Some("x * x"),
        '!' => Some("not"),
        _ => None,
    })
}

fn length_while(text: &str, mut belongs: impl FnMut(char) -> bool) -> usize {
    text.find(|c| !belongs(c)).unwrap_or(text.len())
}
