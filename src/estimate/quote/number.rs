//! Quote numbers: the company's pattern, and the names of revisions and change orders made from them.

use std::fmt;
use std::num::NonZeroU32;

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use thiserror::Error;

/// Most characters of a pattern.
const MOST_PATTERN: usize = 60;
/// Most characters of a name of a revision.
const MOST_NAME: usize = 120;
/// Widest counter.
const MOST_DIGITS: usize = 9;
/// Years that a number may carry: always four digits, so that a number reads back in one way only.
const YEARS: std::ops::RangeInclusive<u16> = 1000..=9999;

/// Why a text is not a pattern of quote numbers.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PatternFault {
    /// Too long.
    #[error("a pattern has at most {MOST_PATTERN} characters")]
    TooLong,
    /// A sign that may not stand in a number.
    #[error("{0:?} may not stand in a quote number: letters, digits and - . _ / may")]
    Sign(char),
    /// A brace without its partner, or something else than `{year}` and `{counter:N}` in braces.
    #[error("{{{0}}} is not known: write {{year}} and {{counter:5}}")]
    Place(String),
    /// The counter's width is not 1 to 9.
    #[error("the counter has 1 to {MOST_DIGITS} digits")]
    Width,
    /// The year is missing or there twice. Without it, next year's first number would be this year's again.
    #[error("{{year}} must stand in the pattern once: the counter begins anew every year")]
    Year,
    /// The counter is missing or there twice.
    #[error("{{counter:N}} must stand in the pattern once")]
    Counter,
    /// Numbers would end like the name of a revision or a change order.
    #[error("a quote number may not end in -R or -C and digits: revisions and change orders do")]
    Mark,
}

/// Why there is no number of this pattern.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum NumberFault {
    /// The year has not four digits.
    #[error("the year {0} has not four digits")]
    Year(u16),
    /// The text is not a number of this pattern.
    #[error("{0} is not a quote number of the pattern {1}")]
    NotOfPattern(String, String),
    /// The text is not a name such as 2031-00042-R2.
    #[error("{0} is not the name of a revision, such as 2031-00042-R2 or 2031-00042-C1-R1")]
    NotAName(String),
}

#[derive(Debug, Clone, PartialEq, Eq)]
enum Part {
    Fixed(String),
    Year,
    Counter(usize),
}

/// The company's pattern of quote numbers, such as `{year}-{counter:5}` for `2031-00042`.
///
/// Year and counter stand in it once each; the counter grows beyond its width when it must. The year has four
/// digits and only the counter's length varies, so a number belongs to one year and one counter.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NumberPattern {
    text: String,
    parts: Vec<Part>,
}

impl NumberPattern {
    /// Reads a pattern.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn parse(text: &str) -> Result<Self, PatternFault> {
        if text.chars().count() > MOST_PATTERN {
            return Err(PatternFault::TooLong);
        }
        let mut parts = Vec::new();
        let mut rest = text;
        while let Some(open) = rest.find('{') {
            let (fixed, place) = (&rest[..open], &rest[open + 1..]);
            push_fixed(&mut parts, fixed)?;
            let (place, after) = place
                .split_once('}')
                .ok_or_else(|| PatternFault::Place(place.to_owned()))?;
            parts.push(part(place)?);
            rest = after;
        }
        push_fixed(&mut parts, rest)?;
        let times = |wanted: fn(&Part) -> bool| parts.iter().filter(|part| wanted(part)).count();
        if times(|part| *part == Part::Year) != 1 {
            return Err(PatternFault::Year);
        }
        if times(|part| matches!(part, Part::Counter(_))) != 1 {
            return Err(PatternFault::Counter);
        }
        let shape: String = parts.iter().map(Part::shape).collect();
        if suffix(&shape, "-R").or_else(|| suffix(&shape, "-C")).is_some() {
            return Err(PatternFault::Mark);
        }
        Ok(Self {
            text: text.to_owned(),
            parts,
        })
    }

    /// The number of `counter` in `year`.
    ///
    /// # Errors
    /// The year has not four digits.
    pub fn number(&self, year: u16, counter: NonZeroU32) -> Result<QuoteNumber, NumberFault> {
        if !YEARS.contains(&year) {
            return Err(NumberFault::Year(year));
        }
        let mut text = String::new();
        for part in &self.parts {
            match part {
                Part::Fixed(fixed) => text.push_str(fixed),
                Part::Year => text.push_str(&year.to_string()),
                Part::Counter(width) => text.push_str(&format!("{counter:0width$}")),
            }
        }
        Ok(QuoteNumber(text))
    }

    /// The year and the counter of a number of this pattern.
    ///
    /// # Errors
    /// It is not a number of this pattern.
    pub fn read(&self, text: &str) -> Result<(u16, NonZeroU32), NumberFault> {
        let fault = || {
            let shown: String = text.chars().take(MOST_NAME).collect();
            NumberFault::NotOfPattern(shown, self.text.clone())
        };
        let (mut year, mut counter) = (None, None);
        let fixed: usize = self.parts.iter().map(|part| part.width(0)).sum();
        let counted = text.len().checked_sub(fixed).ok_or_else(fault)?;
        let mut rest = text;
        for part in &self.parts {
            let (taken, after) = rest.split_at_checked(part.width(counted)).ok_or_else(fault)?;
            rest = after;
            match part {
                Part::Fixed(fixed) if taken == fixed => {}
                Part::Fixed(_) => return Err(fault()),
                Part::Year => year = digits(taken).and_then(|digits| digits.parse().ok()),
                Part::Counter(_) => counter = digits(taken).and_then(|digits| digits.parse().ok()),
            }
        }
        let (year, counter) = year.zip(counter).ok_or_else(fault)?;
        // One spelling only: what is read must be what would be written.
        match self.number(year, counter) {
            Ok(number) if number.0 == text => Ok((year, counter)),
            _ => Err(fault()),
        }
    }
}

impl fmt::Display for NumberPattern {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.text)
    }
}

impl Part {
    /// The part with a single digit for every number.
    fn shape(&self) -> &str {
        match self {
            Self::Fixed(fixed) => fixed,
            Self::Year | Self::Counter(_) => "1",
        }
    }

    fn width(&self, counted: usize) -> usize {
        match self {
            Self::Fixed(fixed) => fixed.len(),
            Self::Year => 4,
            Self::Counter(_) => counted,
        }
    }
}

fn push_fixed(parts: &mut Vec<Part>, fixed: &str) -> Result<(), PatternFault> {
    if let Some(sign) = fixed.chars().find(|sign| *sign == '}') {
        return Err(PatternFault::Place(sign.to_string()));
    }
    let allowed = |sign: &char| sign.is_ascii_alphanumeric() || "-._/".contains(*sign);
    if let Some(sign) = fixed.chars().find(|sign| !allowed(sign)) {
        return Err(PatternFault::Sign(sign));
    }
    if !fixed.is_empty() {
        parts.push(Part::Fixed(fixed.to_owned()));
    }
    Ok(())
}

fn part(place: &str) -> Result<Part, PatternFault> {
    if place == "year" {
        return Ok(Part::Year);
    }
    let width = place
        .strip_prefix("counter:")
        .ok_or_else(|| PatternFault::Place(place.to_owned()))?;
    match width.parse() {
        Ok(width @ 1..=MOST_DIGITS) if width.to_string().len() == place.len() - "counter:".len() => {
            Ok(Part::Counter(width))
        }
        _ => Err(PatternFault::Width),
    }
}

fn digits(text: &str) -> Option<&str> {
    (!text.is_empty() && text.bytes().all(|b| b.is_ascii_digit())).then_some(text)
}

/// The number of a quote, as it is printed.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize)]
#[serde(transparent)]
pub struct QuoteNumber(String);

impl QuoteNumber {
    /// The text.
    pub fn as_str(&self) -> &str {
        &self.0
    }
}

impl fmt::Display for QuoteNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.0)
    }
}

/// The name of a revision: the quote's number, the change order if it is one, the revision. Written
/// `2031-00042-R2`, for a change order `2031-00042-C1-R1`.
#[derive(Debug, Clone, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct RevisionName {
    /// The quote.
    pub number: QuoteNumber,
    /// Which change order under the quote; none for the offer itself.
    pub change_order: Option<NonZeroU32>,
    /// Which revision of it.
    pub revision: NonZeroU32,
}

impl RevisionName {
    /// Reads a name. The quote's number is not held against a pattern: it may be older than the present one.
    ///
    /// # Errors
    /// The text does not end in `-R` and a number, or nothing stands in front of it.
    pub fn parse(text: &str) -> Result<Self, NumberFault> {
        let read = || {
            if text.len() > MOST_NAME {
                return None;
            }
            let (rest, revision) = suffix(text, "-R")?;
            let (number, change_order) = match suffix(rest, "-C") {
                Some((number, order)) => (number, Some(order)),
                None => (rest, None),
            };
            let mut parts = Vec::new();
            push_fixed(&mut parts, number).ok()?;
            (!parts.is_empty()).then(|| Self {
                number: QuoteNumber(number.to_owned()),
                change_order,
                revision,
            })
        };
        read().ok_or_else(|| NumberFault::NotAName(text.chars().take(MOST_NAME).collect()))
    }
}

/// What stands in front of `mark` and the number behind it, written without leading zeros.
fn suffix<'t>(text: &'t str, mark: &str) -> Option<(&'t str, NonZeroU32)> {
    let (rest, number) = text.rsplit_once(mark)?;
    let read: NonZeroU32 = digits(number)?.parse().ok()?;
    (read.to_string() == number).then_some((rest, read))
}

impl fmt::Display for RevisionName {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}", self.number)?;
        if let Some(order) = self.change_order {
            write!(f, "-C{order}")?;
        }
        write!(f, "-R{}", self.revision)
    }
}

impl Serialize for RevisionName {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for RevisionName {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Self::parse(&String::deserialize(deserializer)?).map_err(de::Error::custom)
    }
}
