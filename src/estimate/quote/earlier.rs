//! Documents of earlier programs: what of an estimate may be told otherwise today although nothing in it is another.
//!
//! An estimate of an earlier format has the figures that come out today: lines, hours, totals, instalments, what sizing
//! found. It lacks the lists that came later, repeats its job in other units, and words its sentences as they were then.

use serde_json::Value;

use super::pointer::{Difference, differences};
use super::revision::FORMAT;

/// Lists that estimates have since format 2.
const SINCE_FORMAT_2: [&str; 2] = ["/not_measured", "/usual_answers"];

/// Every place at which an estimate of a document of `format` is computed otherwise now.
pub fn differences_of(format: u32, stored: &Value, anew: &Value) -> Vec<Difference> {
    let mut found = differences(stored, anew);
    if format < FORMAT {
        found.retain(|difference| !told_otherwise(difference));
    }
    found
}

/// The same thing, told as programs since format 2 tell it.
fn told_otherwise(difference: &Difference) -> bool {
    let pointer = difference.pointer.as_str();
    let is_new = difference.from.is_none() && SINCE_FORMAT_2.contains(&pointer);
    // The request itself stands in the document, so what was understood of it can be left to the figures.
    let is_job = pointer.starts_with("/job/");
    let is_sentence = (pointer.starts_with("/cautions/") || pointer.starts_with("/sizing/"))
        && (pointer.ends_with("/message") || pointer.contains("/notes/"));
    let both_texts = difference.from.as_ref().is_some_and(Value::is_string)
        && difference.to.as_ref().is_some_and(Value::is_string);
    is_new || is_job || (is_sentence && both_texts)
}
