//! What a sizing question has to tell a person: a caution, or a reason not to issue the offer.

use serde::Serialize;

/// How grave a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Level {
    /// Printed with the result; a person decides.
    Caution,
    /// The offer must not be issued as it stands.
    Stop,
}

/// One thing found: the number that is out and by how much, in plain words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Finding {
    /// Whether it warns or stops.
    pub level: Level,
    /// Stable word for it, as `line_set.too_long`; rulebooks and clients may rely on it.
    pub code: &'static str,
    /// The sentence a person reads.
    pub message: String,
    /// Where the limit comes from.
    pub source: &'static str,
}

impl Finding {
    /// A finding that warns.
    #[must_use]
    pub fn caution(code: &'static str, message: String, source: &'static str) -> Self {
        Finding {
            level: Level::Caution,
            code,
            message,
            source,
        }
    }

    /// A finding that stops.
    #[must_use]
    pub fn stop(code: &'static str, message: String, source: &'static str) -> Self {
        Finding {
            level: Level::Stop,
            code,
            message,
            source,
        }
    }
}

/// Finds whether anything found stops the offer.
#[must_use]
pub fn stops(findings: &[Finding]) -> bool {
    findings.iter().any(|finding| finding.level == Level::Stop)
}
