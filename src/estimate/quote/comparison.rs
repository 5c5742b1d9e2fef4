//! The comparison of two revisions, or of a draft with what it would be under newer prices.

use std::collections::HashSet;

use serde::Serialize;
use serde_json::{Map, Value};

use super::causes::Differing;
use super::estimated::Estimated;
use super::moved::{FromTo, Moved, MovedFault};
use super::pointer::{Difference, differences, named_differences};

/// One side of a comparison.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Compared<'a> {
    /// The request as it was written.
    pub request: &'a Value,
    /// Its estimate.
    pub estimated: &'a Estimated,
    /// Exclusions put in by hand.
    pub exclusions: &'a [String],
}

/// Everything in which two revisions differ. Empty lists where they do not.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// The job as understood, by JSON Pointer into the job spec.
    pub job: Vec<Difference>,
    /// What else was asked for: manual lines, overrides, discount.
    pub by_hand: Vec<Difference>,
    /// The sizing report: entries of a list by what they are called, not by where they stand.
    pub sizing: Vec<Difference>,
    /// Rulebook, policy and day of the prices, where they are others.
    pub made_from: MadeFrom,
    /// Money, hours and lines.
    #[serde(flatten)]
    pub moved: Moved,
    /// Exclusions, of the rulebook and by hand.
    pub exclusions: Texts,
    /// Assumptions in the place of unknown answers.
    pub assumptions: Texts,
    /// Cautions and stops.
    pub cautions: Texts,
}

/// What an estimate was made from, where the two sides differ.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct MadeFrom {
    /// The rulebook and its version.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub rulebook: Option<FromTo<Value>>,
    /// The policy and its version.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub policy: Option<FromTo<Value>>,
    /// The day of the prices.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub priced_on: Option<FromTo<Value>>,
}

/// Sentences that are new and that are gone.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Texts {
    /// New.
    pub added: Vec<String>,
    /// Gone.
    pub removed: Vec<String>,
}

impl Comparison {
    /// Compares two sides.
    ///
    /// # Errors
    /// They are in different currencies, or a difference does not fit.
    pub fn between(from: Compared<'_>, to: Compared<'_>) -> Result<Self, MovedFault> {
        let (one, other) = (from.estimated, to.estimated);
        let sentences = |part: &str, member: &str| {
            let [before, after] = [one, other].map(|estimated| sentences(estimated.part(part), member));
            Texts::between(&before, &after)
        };
        let excluded = |side: Compared<'_>| {
            let mut texts = sentences_of_exclusions(side.estimated);
            texts.extend(side.exclusions.iter().cloned());
            texts
        };
        Ok(Self {
            job: named_differences(one.part("job"), other.part("job")),
            by_hand: differences(&by_hand(from.request), &by_hand(to.request)),
            sizing: named_differences(one.part("sizing"), other.part("sizing")),
            made_from: MadeFrom {
                rulebook: from_to(one, other, "rulebook"),
                policy: from_to(one, other, "policy"),
                priced_on: from_to(one, other, "priced_on"),
            },
            moved: Moved::between(one, other)?,
            exclusions: Texts::between(&excluded(from), &excluded(to)),
            assumptions: sentences("assumptions", "wording"),
            cautions: sentences("cautions", "message"),
        })
    }
}

impl Texts {
    fn between(before: &[String], after: &[String]) -> Self {
        let missing_in = |texts: &[String], others: &[String]| {
            let others: HashSet<&str> = others.iter().map(String::as_str).collect();
            texts
                .iter()
                .filter(|text| !others.contains(text.as_str()))
                .cloned()
                .collect()
        };
        Self {
            added: missing_in(after, before),
            removed: missing_in(before, after),
        }
    }
}

fn from_to(one: &Estimated, other: &Estimated, part: &str) -> Option<FromTo<Value>> {
    let (from, to) = (one.part(part), other.part(part));
    (from != to).then(|| FromTo {
        from: from.clone(),
        to: to.clone(),
    })
}

fn sentences(list: &Value, member: &str) -> Vec<String> {
    let entries = list.as_array().map_or(&[][..], Vec::as_slice);
    let text = |entry: &Value| entry.get(member).and_then(Value::as_str).map(str::to_owned);
    entries.iter().filter_map(text).collect()
}

fn sentences_of_exclusions(estimated: &Estimated) -> Vec<String> {
    sentences(estimated.part("exclusions"), "text")
}

/// What of a request is put in by hand: all but the job and what it names of the office.
fn by_hand(request: &Value) -> Value {
    let members = request.as_object().into_iter().flatten();
    let own = members.filter(|(name, _)| matches!(name.as_str(), "manual_lines" | "overrides" | "discount"));
    // An empty list and no list ask for the same.
    let asked = own.filter(|(_, value)| value.as_array().is_none_or(|entries| !entries.is_empty()));
    Value::Object(
        asked
            .map(|(name, value)| (name.clone(), value.clone()))
            .collect::<Map<_, _>>(),
    )
}

/// Which parts of two requests differ. Whether rulebook, prices and policy do is for the caller to say.
pub fn requests_differ(from: &Value, to: &Value) -> Differing {
    Differing {
        job: from.get("job") != to.get("job"),
        by_hand: by_hand(from) != by_hand(to),
        rulebook: false,
        prices: false,
        policy: false,
    }
}

/// The request of a mix: the job of one side and what was put in by hand of the other.
pub fn mixed_request(job_of: &Value, by_hand_of: &Value) -> Value {
    let mut mixed = match job_of {
        Value::Object(members) => members.clone(),
        _ => Map::new(),
    };
    for name in ["manual_lines", "overrides", "discount"] {
        match by_hand_of.get(name) {
            Some(value) => mixed.insert(name.to_owned(), value.clone()),
            None => mixed.shift_remove(name),
        };
    }
    Value::Object(mixed)
}
