//! Reading drafts: the form around, the request by the job's own form, and every changed request likewise.

use std::collections::HashSet;

use serde::Deserialize;
use serde::de::DeserializeOwned;
use serde_json::{Map, Value};

use super::form;
use crate::job::spec::SpecMismatch;
use crate::job::{Fault, FaultCode, Gathered, JobFault, RequestReader};
use crate::quote::canonical::MOST_EXACT;
use crate::quote::change::Change;

/// Reads the draft of an offer.
pub(super) fn offer<T: DeserializeOwned>(draft: &Value, reader: RequestReader<'_>) -> Result<T, JobFault> {
    let (mut tree, mut faults) = form::offer().read(draft, "");
    let mut request = draft.get("request").map_or(Value::Null, whole_numbers);
    let sound = request.is_object() && judge(reader, &request, &mut faults, |at| format!("/request{at}"))?;
    let alternates = tree.get("alternates").and_then(Value::as_array);
    let mut names = HashSet::new();
    for (index, alternate) in alternates.into_iter().flatten().enumerate() {
        let at = format!("/alternates/{index}");
        let name = alternate.get("name").and_then(Value::as_str);
        if let Some(name) = name.filter(|name| !names.insert(*name)) {
            faults.push(named_twice(format!("{at}/name"), name));
        }
        let changed = sound.then_some(&request);
        judge_change(
            reader,
            changed,
            alternate.get("change"),
            &mut faults,
            &format!("{at}/change"),
        )?;
    }
    faults.into_result()?;
    plain_costs(&mut request);
    if let Value::Object(members) = &mut tree {
        members.insert("request".to_owned(), request);
    }
    typed(&tree)
}

/// Reads the draft of a change order on `request`, which has no fault.
pub(super) fn change_order<T: DeserializeOwned>(
    draft: &Value,
    request: &Value,
    reader: RequestReader<'_>,
) -> Result<T, JobFault> {
    let (tree, mut faults) = form::change_order().read(draft, "");
    judge_change(reader, Some(request), tree.get("change"), &mut faults, "/change")?;
    faults.into_result()?;
    typed(&tree)
}

/// Costs of one unit that came as amounts of money are kept by their digits: the currency is the company's.
fn plain_costs(request: &mut Value) {
    for list in ["manual_lines", "overrides"] {
        let entries = request.get_mut(list).and_then(Value::as_array_mut);
        for entry in entries.into_iter().flatten() {
            if let Some(cost) = entry.get_mut("unit_cost")
                && let Some(digits) = cost.get_mut("amount").map(Value::take)
            {
                *cost = digits;
            }
        }
    }
}

fn typed<T: DeserializeOwned>(tree: &Value) -> Result<T, JobFault> {
    serde_json::from_value(whole_numbers(tree))
        .map_err(|fault| JobFault::Mismatch(SpecMismatch(fault.to_string())))
}

/// Reads a request and gathers its faults at the places that `place` makes of their pointers. Whether there
/// were none.
fn judge(
    reader: RequestReader<'_>,
    request: &Value,
    faults: &mut Gathered,
    place: impl Fn(&str) -> String,
) -> Result<bool, JobFault> {
    match reader.read(request) {
        Ok(_) => Ok(true),
        Err(JobFault::Faults(list)) => {
            for fault in list.list {
                let pointer = place(&fault.pointer);
                faults.push(Fault { pointer, ..fault });
            }
            Ok(false)
        }
        Err(mismatch) => Err(mismatch),
    }
}

/// Judges the change at `at`, and the request with the change made to it, where that has no fault of its own.
fn judge_change(
    reader: RequestReader<'_>,
    request: Option<&Value>,
    change: Option<&Value>,
    faults: &mut Gathered,
    at: &str,
) -> Result<(), JobFault> {
    let Some(tree @ Value::Object(members)) = change else {
        return Ok(());
    };
    if members.is_empty() {
        faults.push(changes_nothing(at));
        return Ok(());
    }
    let change = Change::deserialize(&whole_numbers(tree));
    if let (Ok(change), Some(request)) = (change, request) {
        let place = |pointer: &str| format!("{at}{}", change.place(request, pointer));
        judge(reader, &change.apply(request), faults, place)?;
        if let Some(idle) = change.with_idle_nulls(request) {
            judge_nulls(reader, &idle, faults, place)?;
        }
    }
    Ok(())
}

/// Tells the names that a change takes away and that nothing has: with the nulls left in it, the form finds them. A null for
/// an answer that was not given is none of its faults.
fn judge_nulls(
    reader: RequestReader<'_>,
    idle: &Value,
    faults: &mut Gathered,
    place: impl Fn(&str) -> String,
) -> Result<(), JobFault> {
    match reader.read(idle) {
        Ok(_) => Ok(()),
        Err(JobFault::Faults(told)) => {
            let unknown = |fault: &Fault| {
                matches!(fault.code, FaultCode::UnknownField | FaultCode::UnknownName)
                    && idle.pointer(&fault.pointer).is_some_and(Value::is_null)
            };
            for fault in told.list.into_iter().filter(unknown) {
                let pointer = place(&fault.pointer);
                faults.push(Fault { pointer, ..fault });
            }
            Ok(())
        }
        Err(mismatch) => Err(mismatch),
    }
}

fn named_twice(pointer: String, name: &str) -> Fault {
    Fault {
        pointer,
        code: FaultCode::NamedTwice,
        came: format!("\"{name}\""),
        allowed: "each name once".to_owned(),
        message: format!("there is an alternate {name} already"),
    }
}

fn changes_nothing(at: &str) -> Fault {
    Fault {
        pointer: at.to_owned(),
        code: FaultCode::Missing,
        came: "nothing".to_owned(),
        allowed: "job, extra, manual_lines or overrides".to_owned(),
        message: "the change changes nothing".to_owned(),
    }
}

/// `value` with every number that is not whole, or too large to be exact everywhere, as text of the same
/// digits. The form reads both alike, and a record keeps its digits.
fn whole_numbers(value: &Value) -> Value {
    match value {
        Value::Number(number) => match number.as_i64() {
            Some(whole) if (-MOST_EXACT..=MOST_EXACT).contains(&whole) => value.clone(),
            _ => Value::String(number.to_string()),
        },
        Value::Array(entries) => Value::Array(entries.iter().map(whole_numbers).collect()),
        Value::Object(members) => {
            let members = members
                .iter()
                .map(|(name, value)| (name.clone(), whole_numbers(value)));
            Value::Object(members.collect::<Map<_, _>>())
        }
        other => other.clone(),
    }
}
