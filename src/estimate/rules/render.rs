//! Findings as plain text for a terminal: place, the line itself, carets under the part that is meant.

use super::finding::{Finding, Severity};
use std::fmt::Write;

/// The most characters of a line that are shown.
const SHOWN_WIDTH: usize = 100;

/// Writes every finding with file, line and column, the text of the line, carets, what was found
/// and expected, and a suggestion. `text` is the file that was checked.
pub fn render(findings: &[Finding], file: &str, text: &str) -> String {
    let mut out = String::new();
    for finding in findings {
        // Writing to a String cannot fail.
        let _ = one(&mut out, finding, file, text);
    }
    out
}

fn one(out: &mut String, finding: &Finding, file: &str, text: &str) -> std::fmt::Result {
    let level = match finding.severity {
        Severity::Error => "error",
        Severity::Warning => "warning",
    };
    writeln!(
        out,
        "{file}:{}:{}: {level}[{}]: {}",
        finding.line, finding.column, finding.code, finding.message
    )?;
    match (finding.part.as_str(), finding.field.as_str()) {
        ("", "") => {}
        ("", field) => writeln!(out, "  in {field}")?,
        (part, "") => writeln!(out, "  in {part}")?,
        (part, field) => writeln!(out, "  in {part}, {field}")?,
    }
    let line = text
        .lines()
        .nth(finding.line.saturating_sub(1))
        .unwrap_or_default();
    let number = finding.line.to_string();
    let margin = " ".repeat(number.len());
    let before = finding.column.saturating_sub(1);
    let carets = carets(finding, text, line.chars().count().saturating_sub(before));
    // A long line is cut on the left so that the carets stay in view.
    let cut = (before + carets).saturating_sub(SHOWN_WIDTH).min(before);
    let shown: String = line
        .chars()
        .skip(cut)
        .take(SHOWN_WIDTH)
        .map(|c| if c == '\t' { ' ' } else { c })
        .collect();
    writeln!(out, "{margin} |")?;
    writeln!(out, "{number} | {shown}")?;
    writeln!(
        out,
        "{margin} | {}{}",
        " ".repeat(before - cut),
        "^".repeat(carets.min(SHOWN_WIDTH))
    )?;
    for (label, value) in [("found", &finding.found), ("expected", &finding.expected)] {
        if let Some(value) = value {
            writeln!(out, "{margin} = {label}: {value}")?;
        }
    }
    if let Some(suggestion) = &finding.suggestion {
        writeln!(out, "{margin} = did you mean: {suggestion}")?;
    }
    writeln!(out)
}

/// How many carets: the characters of the span on its first line, at least one.
fn carets(finding: &Finding, text: &str, left: usize) -> usize {
    let part = finding.span.of(text);
    part.lines()
        .next()
        .unwrap_or_default()
        .chars()
        .count()
        .clamp(1, left.max(1))
}
