//! Reading an estimate request: every fault of the job and of what stands beside it, all at once.

use std::collections::HashSet;

use chrono::{Datelike, NaiveDate};
use serde_json::Value;

use super::super::basis::UnknownRule;
use super::super::fault::{Fault, FaultCode, Gathered};
use super::super::form::Form;
use super::super::read::{Deeper, Reader};
use super::super::spec::SpecMismatch;
use super::super::understand::{JobFault, Understood};
use super::{Names, Request, names};

/// Years for which a house may still be building after its cellar is priced; common practice, no source.
const YEARS_AHEAD: i64 = 2;
/// What is later is out of the form's bounds.
const LAST_YEAR: i64 = 2200;

/// What an estimate request is read by.
#[derive(Debug, Clone, Copy)]
pub struct RequestReader<'a> {
    /// The form.
    pub form: &'a Form,
    /// The office's rules for unknown answers.
    pub rules: &'a [UnknownRule],
    /// What may be named beside the form's own words.
    pub names: Names<'a>,
    /// Today, where that is known: a house may be younger than the prices.
    pub today: Option<NaiveDate>,
    /// It was understood before, and an offer was issued on it: what the program has learned since to refuse is not
    /// held against it.
    pub settled: bool,
}

/// What of a request has no fault, so that what only the bill can tell is told beside its faults.
#[derive(Debug, Clone, PartialEq)]
pub struct SoundPart {
    /// The job, and the entries that have no fault.
    pub request: Request,
    /// Where its manual lines and overrides stand in what was sent.
    manual: Vec<usize>,
    overrides: Vec<usize>,
}

/// A request as far as it could be read.
struct Parts {
    tree: Value,
    job: Option<Understood>,
    faults: Gathered,
}

impl RequestReader<'_> {
    /// Reads a request.
    ///
    /// # Errors
    /// Every fault at once, those of the job spec under `/job`.
    pub fn read(&self, request: &Value) -> Result<Request, JobFault> {
        let Parts {
            mut tree,
            job,
            faults,
        } = self.parts(request)?;
        faults.into_result()?;
        let job = job.ok_or_else(|| SpecMismatch("there is no job".to_owned()))?;
        if let Value::Object(members) = &mut tree {
            members.insert("job".to_owned(), job.tree.clone());
        }
        Ok(Request::of_tree(tree, job)?)
    }

    /// What of a request has no fault; `None` where its job has one, or where its faults are too many.
    ///
    /// # Errors
    /// A defect of this program.
    pub fn sound_part(&self, request: &Value) -> Result<Option<SoundPart>, JobFault> {
        let Parts {
            mut tree,
            job,
            faults,
        } = self.parts(request)?;
        let (Some(job), Err(faults)) = (job, faults.into_result()) else {
            return Ok(None);
        };
        if faults
            .list
            .iter()
            .any(|fault| fault.code == FaultCode::MoreFaults)
        {
            return Ok(None);
        }
        let faulty = |place: &str| faults.list.iter().any(|fault| is_within(&fault.pointer, place));
        if let Value::Object(members) = &mut tree {
            members
                .retain(|name, value| !value.is_null() && (value.is_array() || !faulty(&format!("/{name}"))));
        }
        let manual = keep(&mut tree, "manual_lines", |index, _| {
            !faulty(&format!("/manual_lines/{index}"))
        });
        let all_lines = manual.1;
        let overrides = keep(&mut tree, "overrides", |index, change| {
            // The numbers of lines by hand are not those of what was sent once one is left out.
            let by_hand = change["line"]
                .as_str()
                .is_some_and(|key| key.starts_with("manual:"));
            !faulty(&format!("/overrides/{index}")) && (all_lines || !by_hand)
        });
        Ok(Some(SoundPart {
            request: Request::of_tree(tree, job)?,
            manual: manual.0,
            overrides: overrides.0,
        }))
    }

    fn parts(&self, request: &Value) -> Result<Parts, JobFault> {
        let (none, deeper) = (HashSet::new(), Deeper::of("job", &self.form.job));
        let read = Reader::elsewhere("", &none, &deeper).read(&self.form.request, request);
        let (tree, mut faults) = (read.tree, read.faults);
        contradictions(&tree, &mut faults);
        if !self.settled {
            self.unbuilt(request, &mut faults);
        }
        names::judge(self.names, &tree, &mut faults);
        let job = request.get("job");
        let mut job = match job.map(|job| self.form.read_at(job, self.rules, "/job", self.settled)) {
            Some(Err(JobFault::Faults(list))) => {
                list.list.into_iter().for_each(|fault| faults.push(fault));
                None
            }
            Some(read) => Some(read?),
            None => None,
        };
        if let (Some(job), Some(currency)) = (&mut job, self.names.currency) {
            job.told_in(currency);
        }
        Ok(Parts { tree, job, faults })
    }
}

impl RequestReader<'_> {
    /// A building that will not stand for years to come.
    fn unbuilt(&self, request: &Value, faults: &mut Gathered) {
        let built = request.pointer("/job/site/built_year").and_then(Value::as_i64);
        let day = Request::named_day(request).max(self.today);
        let (Some(built), Some(day)) = (built, day) else {
            return;
        };
        let latest = i64::from(day.year()).saturating_add(YEARS_AHEAD);
        if built > latest && built <= LAST_YEAR {
            let message = format!("the building is of {built}, which is years after {day}");
            let allowed = format!("{latest} or before");
            say(
                "/job/site/built_year".to_owned(),
                &built.to_string(),
                &allowed,
                message,
                faults,
            );
        }
    }
}

impl SoundPart {
    /// Where in what was sent the place `pointer` of this part stands.
    pub fn place(&self, pointer: &str) -> String {
        let moved = |list: &str, places: &[usize]| {
            let rest = pointer.strip_prefix(list)?;
            let (index, rest) = rest.split_at(rest.find('/').unwrap_or(rest.len()));
            let place = places.get(index.parse::<usize>().ok()?)?;
            Some(format!("{list}{place}{rest}"))
        };
        moved("/manual_lines/", &self.manual)
            .or_else(|| moved("/overrides/", &self.overrides))
            .unwrap_or_else(|| pointer.to_owned())
    }
}

/// Keeps some entries of a list: their places in it, and whether they are all.
fn keep(tree: &mut Value, list: &str, keeps: impl Fn(usize, &Value) -> bool) -> (Vec<usize>, bool) {
    let entries = match tree.get_mut(list) {
        Some(Value::Array(entries)) => std::mem::take(entries),
        _ => Vec::new(),
    };
    let whole = entries.len();
    let kept = entries.into_iter().enumerate();
    let (places, kept): (Vec<usize>, Vec<Value>) = kept.filter(|(index, entry)| keeps(*index, entry)).unzip();
    let all = kept.len() == whole;
    if let Value::Object(members) = tree {
        members.insert(list.to_owned(), Value::Array(kept));
    }
    (places, all)
}

fn is_within(pointer: &str, place: &str) -> bool {
    let rest = pointer.strip_prefix(place);
    rest.is_some_and(|rest| rest.is_empty() || rest.starts_with('/'))
}

fn contradictions(tree: &Value, faults: &mut Gathered) {
    if let Some(discount) = tree.get("discount") {
        one_of(discount, &["percent", "amount"], "/discount", faults);
    }
    let entries = |of: &str| {
        tree.get(of)
            .and_then(Value::as_array)
            .map_or(&[][..], Vec::as_slice)
    };
    for (index, line) in entries("manual_lines").iter().enumerate() {
        let (kind, foreign) = match line.get("kind").and_then(Value::as_str) {
            Some("labour") => ("labour", ["quantity", "unit_cost"]),
            Some(kind) => (kind, ["hours", "labour_class"]),
            None => continue,
        };
        for name in foreign.into_iter().filter(|name| line.get(*name).is_some()) {
            let message = format!("a {kind} line takes no {name}");
            say(
                format!("/manual_lines/{index}/{name}"),
                name,
                "nothing here",
                message,
                faults,
            );
        }
    }
    let mut replaced: HashSet<(&str, &str)> = HashSet::new();
    for (index, entry) in entries("overrides").iter().enumerate() {
        let place = format!("/overrides/{index}");
        let figure = one_of(
            entry,
            &["quantity", "hours", "unit_cost", "price"],
            &place,
            faults,
        );
        let line = entry.get("line").and_then(Value::as_str);
        if let (Some(figure), Some(line)) = (figure, line)
            && !replaced.insert((line, figure))
        {
            let message = format!("the {figure} of {line} is replaced twice");
            say(place, figure, "each figure of a line once", message, faults);
        }
    }
}

/// The one member of `names` that is there, or a fault.
fn one_of<'n>(group: &Value, names: &[&'n str], place: &str, faults: &mut Gathered) -> Option<&'n str> {
    if !group.is_object() {
        return None;
    }
    let given: Vec<&str> = names
        .iter()
        .copied()
        .filter(|name| group.get(*name).is_some())
        .collect();
    match given[..] {
        [only] => Some(only),
        [] => {
            let message = format!("one of {} is needed", names.join(", "));
            say(place.to_owned(), "none", &names.join(" or "), message, faults);
            None
        }
        _ => {
            let message = format!("only one of {} may be given", given.join(", "));
            say(
                place.to_owned(),
                &given.join(" and "),
                &names.join(" or "),
                message,
                faults,
            );
            None
        }
    }
}

fn say(pointer: String, came: &str, allowed: &str, message: String, faults: &mut Gathered) {
    faults.push(Fault {
        pointer,
        code: FaultCode::Contradiction,
        came: came.to_owned(),
        allowed: allowed.to_owned(),
        message,
    });
}
