//! One point of a sweep: the job with these answers, estimated.

use serde::Serialize;
use serde_json::Value;

use super::features::{Features, Sizes};
use super::run::SweepInputs;
use crate::estimate::{EstimateFault, Inputs, Reason, estimate};
use crate::job::{Faults, JobFault};
use crate::quantity::unit::Unit;
use crate::quantity::{Money, Quantity};

/// A point of a sweep.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Point {
    /// The varied answers, in the order in which they were asked for.
    pub at: Vec<Value>,
    /// What came of it.
    #[serde(flatten)]
    pub outcome: Outcome,
}

/// What came of a point.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(untagged)]
pub enum Outcome {
    /// The job was priced.
    Priced {
        /// The unit taken.
        unit: UnitTaken,
        /// Labour hours.
        hours: Quantity,
        /// Direct cost.
        cost: Money,
        /// Price less discount, before tax.
        net: Money,
        /// With tax.
        total: Money,
        /// False while a stop stands.
        may_be_issued: bool,
    },
    /// It could not be.
    Faulty {
        /// Why.
        fault: PointFault,
    },
}

/// The unit that a job takes.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct UnitTaken {
    /// Its class.
    pub class: String,
    /// How many of it.
    pub count: u32,
    /// No class could be chosen: it only lets the rest be figured, and a stop says why.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub for_figuring_only: bool,
}

/// Why a point could not be estimated.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PointFault {
    /// In a sentence.
    pub message: String,
    /// Each fault of the request, where it lies there.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub errors: Vec<PointError>,
}

/// A fault of the request at one point.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct PointError {
    /// JSON Pointer into the sweep's body.
    pub pointer: String,
    /// What is wrong.
    pub message: String,
}

/// The most faults that are told of a point.
const ERRORS_TOLD: usize = 5;

/// A point with what may jump from it to the next.
pub(super) struct Tried {
    pub(super) outcome: Outcome,
    pub(super) features: Features,
    /// The faults of the request, where they are what is in the way.
    pub(super) unread: Option<Faults>,
}

/// Puts `values` at the answers of a request and estimates it.
pub(super) fn try_point(
    inputs: &SweepInputs<'_>,
    sizes: &Sizes,
    request: &Value,
    set: &[(&str, Value)],
) -> Tried {
    let mut request = request.clone();
    for (answer, value) in set {
        put(&mut request, answer, value.clone());
    }
    let request = match inputs.workbook.read(&request) {
        Ok(request) => request,
        Err(JobFault::Faults(faults)) => return unreadable(faults),
        Err(other) => return faulty(other.to_string()),
    };
    let made = estimate(Inputs {
        request: &request,
        workbook: inputs.workbook,
        catalogue: inputs.catalogue,
        prices: inputs.prices,
        policy: inputs.policy,
        policy_version: inputs.policy_version,
        explain: None,
    });
    match made {
        Ok(estimate) => {
            let totals = &estimate.priced.totals;
            let outcome = Outcome::Priced {
                unit: UnitTaken {
                    class: estimate.sizing.equipment.class.clone(),
                    count: estimate.sizing.equipment.count,
                    for_figuring_only: estimate.sizing.equipment.for_figuring_only,
                },
                hours: Quantity {
                    value: totals.hours,
                    unit: Unit::H,
                },
                cost: totals.cost,
                net: totals.net,
                total: totals.total,
                may_be_issued: estimate.may_be_issued,
            };
            Tried {
                outcome,
                features: Features::of(&estimate, sizes),
                unread: None,
            }
        }
        Err(fault) => unpriced(&fault),
    }
}

/// Puts a value at an answer whose group is there.
fn put(request: &mut Value, answer: &str, value: Value) {
    let Some((parent, name)) = answer.rsplit_once('/') else {
        return;
    };
    if let Some(Value::Object(members)) = request.pointer_mut(&format!("/job{parent}")) {
        members.insert(name.to_owned(), value);
    }
}

fn faulty(message: String) -> Tried {
    let fault = PointFault {
        message,
        errors: Vec::new(),
    };
    Tried {
        outcome: Outcome::Faulty { fault },
        features: Features::Faulty,
        unread: None,
    }
}

fn unreadable(mut faults: Faults) -> Tried {
    for fault in &mut faults.list {
        fault.pointer.insert_str(0, "/request");
    }
    let errors = faults.list.iter().take(ERRORS_TOLD).map(|fault| PointError {
        pointer: fault.pointer.clone(),
        message: fault.message.clone(),
    });
    let fault = PointFault {
        message: "the job cannot be read with this answer".to_owned(),
        errors: errors.collect(),
    };
    Tried {
        outcome: Outcome::Faulty { fault },
        features: Features::Faulty,
        unread: Some(faults),
    }
}

/// Why there is no estimate, the faults of the request with their places.
fn unpriced(fault: &EstimateFault) -> Tried {
    let mut errors = Vec::new();
    let mut reasons = Vec::new();
    for reason in fault.reasons() {
        match reason {
            Reason::Request(fault) => errors.push(PointError {
                pointer: format!("/request{}", fault.pointer),
                message: fault.message,
            }),
            Reason::Job(message) => reasons.push(message),
        }
    }
    errors.truncate(ERRORS_TOLD);
    let message = match reasons.is_empty() {
        true => fault.to_string(),
        false => reasons.join("; "),
    };
    Tried {
        outcome: Outcome::Faulty {
            fault: PointFault { message, errors },
        },
        features: Features::Faulty,
        unread: None,
    }
}
