//! What the desk cannot do, as problems.

use actix_web::http::header;
use estimate::estimate::{EstimateFault, Reason};
use estimate::handoff::fault::HandoffFault;
use estimate::quote::life::{IllegalMove, MoveFault};
use estimate::rules::rulebook::TreeFault;
use serde_json::json;

use super::problem::{InputError, Kind, Position, Problem};
use crate::desk::DeskFault;
use crate::desk::strict_json::Malformed;
use crate::store::StoreFault;

impl From<Malformed> for Problem {
    fn from(fault: Malformed) -> Self {
        let mut problem = Self::new(Kind::MalformedBody, fault.to_string());
        problem.body_mut().position = Some(Position {
            line: fault.line,
            column: fault.column,
        });
        problem
    }
}

impl From<DeskFault> for Problem {
    fn from(fault: DeskFault) -> Self {
        match fault {
            DeskFault::Denied(denied) => Self::unauthorized(denied.to_string()),
            DeskFault::Unknown { .. } => Self::new(Kind::NotFound, fault.to_string()),
            DeskFault::PriceExists(_) | DeskFault::NotEmpty | DeskFault::Taken { .. } => {
                Self::new(Kind::AlreadyThere, fault.to_string())
            }
            DeskFault::NothingToApply => Self::new(Kind::Conflict, fault.to_string()),
            DeskFault::Changed | DeskFault::NotAgreed(_) => {
                Self::new(Kind::PreconditionFailed, fault.to_string())
            }
            DeskFault::Empty => Self::new(Kind::NotReady, fault.to_string()),
            DeskFault::Input(faults) => {
                Self::invalid_input(faults.list.iter().map(InputError::from).collect())
            }
            DeskFault::Named { pointer, what, name } => {
                Self::invalid_input(vec![InputError::unknown(pointer, what, &name)])
            }
            DeskFault::OtherName {
                ref wanted,
                ref named,
            } => Self::invalid_input(vec![InputError {
                pointer: String::new(),
                code: "other_name".to_owned(),
                came: Some(named.clone()),
                allowed: Some(wanted.clone()),
                message: fault.to_string(),
            }]),
            DeskFault::UnknownVersion { .. } | DeskFault::Tree(_) | DeskFault::Examples(_) => {
                of_a_rulebook(fault)
            }
            DeskFault::NewPolicy(faults) => {
                let told = faults
                    .into_iter()
                    .map(|fault| (format!("/policy{}", fault.pointer), fault.message));
                Self::invalid_input(
                    told.map(|(at, message)| InputError::does_not_fit(&at, message))
                        .collect(),
                )
            }
            DeskFault::Mapping(faults) => {
                let told = faults.into_iter();
                let told = told.map(|fault| InputError::does_not_fit(&fault.pointer, fault.message));
                Self::invalid_input(told.collect())
            }
            DeskFault::Member { pointer, message } => {
                Self::invalid_input(vec![InputError::does_not_fit(pointer, message)])
            }
            DeskFault::File(fault) => {
                Self::invalid_input(vec![InputError::does_not_fit("", fault.to_string())])
            }
            DeskFault::ListTroubles(troubles) => Self::troubles(&troubles),
            DeskFault::TooManyFiles => later(fault.to_string(), "5"),
            DeskFault::Rulebook(findings) => Self::findings(&findings),
            DeskFault::Estimate(fault) => fault.into(),
            DeskFault::Store(StoreFault::KeyReused) => {
                Self::new(Kind::IdempotencyKeyReused, fault.to_string())
            }
            DeskFault::Store(StoreFault::Storage(trouble)) => {
                tracing::error!("{trouble}");
                Self::new(Kind::Storage, trouble.to_string())
            }
            DeskFault::Store(StoreFault::Changed) => later("many write at it at this moment; try again", "1"),
            DeskFault::Store(StoreFault::Busy(cause)) => {
                tracing::warn!(%cause, "no connection to the database became free");
                later("the database is busy; try again", "1")
            }
            other => of_a_quote(other),
        }
    }
}

/// What is wrong with a rulebook, or with a version that was named.
fn of_a_rulebook(fault: DeskFault) -> Problem {
    let told = fault.to_string();
    match fault {
        DeskFault::UnknownVersion { pointer: None, .. } => Problem::new(Kind::NotFound, told),
        DeskFault::UnknownVersion {
            pointer: Some(pointer),
            version,
            there,
            ..
        } => Problem::invalid_input(vec![InputError {
            pointer: pointer.to_owned(),
            code: "unknown_name".to_owned(),
            came: Some(version.to_string()),
            allowed: Some(there),
            message: told,
        }]),
        DeskFault::Tree(faults) => {
            let error = |fault: TreeFault| InputError {
                pointer: fault.pointer,
                code: fault.code.to_owned(),
                came: fault.found,
                allowed: fault.expected,
                message: fault.message,
            };
            Problem::invalid_input(faults.into_iter().map(error).collect())
        }
        DeskFault::Examples(tried) => {
            let mut problem = Problem::new(Kind::WorkedExamples, told);
            problem.body_mut().examples = tried;
            problem
        }
        other => Problem::internal(&other),
    }
}

/// It cannot be answered now, and may be after so many seconds.
fn later(detail: impl Into<String>, seconds: &str) -> Problem {
    Problem::new(Kind::NotReady, detail).with_header(header::RETRY_AFTER, seconds.to_owned())
}

/// What a quote's life does not allow.
fn of_a_quote(fault: DeskFault) -> Problem {
    match fault {
        DeskFault::Move(MoveFault::Illegal(IllegalMove { ref allowed, .. })) => {
            let mut problem = Problem::new(Kind::IllegalMove, fault.to_string());
            problem.body_mut().allowed = Some(allowed.iter().map(|event| event.word()).collect());
            problem
        }
        DeskFault::Move(_) | DeskFault::Accepted(_) => {
            let mut problem = Problem::new(Kind::IllegalMove, fault.to_string());
            problem.body_mut().allowed = Some(Vec::new());
            problem
        }
        DeskFault::Stops(ref stops) => {
            let mut problem = Problem::new(Kind::StopStands, fault.to_string());
            problem.body_mut().reasons = stops.iter().map(|stop| json!({"stop": stop})).collect();
            problem
        }
        DeskFault::Approval { ref reasons, .. } => {
            let mut problem = Problem::new(Kind::ApprovalNeeded, fault.to_string());
            let reasons = reasons.iter().map(serde_json::to_value);
            problem.body_mut().reasons = reasons.filter_map(Result::ok).collect();
            problem
        }
        DeskFault::Stale { ref tag } => {
            Problem::new(Kind::PreconditionFailed, fault.to_string()).with_header(header::ETAG, tag.clone())
        }
        DeskFault::Exists { .. } => Problem::new(Kind::AlreadyThere, fault.to_string()),
        DeskFault::Conflict(_) => Problem::new(Kind::Conflict, fault.to_string()),
        DeskFault::Paper(_) => Problem::new(Kind::CannotBePrinted, fault.to_string()),
        DeskFault::NoDocuments => Problem::new(Kind::NotBuilt, fault.to_string()),
        DeskFault::Alternate(_) => Problem::new(Kind::CannotBeEstimated, fault.to_string()),
        other => of_accounting(other),
    }
}

/// What cannot be handed to accounting, or taken from it.
fn of_accounting(fault: DeskFault) -> Problem {
    match fault {
        DeskFault::Members(faults) => {
            let told = faults.iter();
            let told = told.map(|(at, message)| InputError::does_not_fit(at, message.clone()));
            Problem::invalid_input(told.collect())
        }
        DeskFault::Period { .. } => {
            Problem::invalid_input(vec![InputError::does_not_fit("", fault.to_string())])
        }
        DeskFault::ReceiptDiffers { ours, theirs } => {
            let mut problem = Problem::new(Kind::ReceiptDiffers, fault.to_string());
            problem.body_mut().reasons = vec![json!({"accepted": ours, "ledger": theirs})];
            problem
        }
        DeskFault::Handoff(HandoffFault::EarlyDay { .. }) => {
            Problem::new(Kind::InvalidParameter, fault.to_string())
        }
        DeskFault::Handoff(
            HandoffFault::TooFine(_)
            | HandoffFault::SellerLacks(_)
            | HandoffFault::NoDay(_)
            | HandoffFault::Empty
            | HandoffFault::BeyondCalendar(_),
        ) => Problem::new(Kind::CannotBeHandedOver, fault.to_string()),
        other => Problem::internal(&other),
    }
}

/// Faults that lie in a member of the request are the request's; the others are of the job as a whole.
impl From<EstimateFault> for Problem {
    fn from(fault: EstimateFault) -> Self {
        let reasons = fault.reasons();
        let of_request = reasons.iter().all(|reason| matches!(reason, Reason::Request(_)));
        let errors = reasons.into_iter().map(|reason| match reason {
            Reason::Request(fault) => InputError::from(&fault),
            Reason::Job(message) => InputError::of_the_job(message),
        });
        let errors = errors.collect();
        if of_request {
            return Self::invalid_input(errors);
        }
        let mut problem = Self::new(Kind::CannotBeEstimated, fault.to_string());
        problem.body_mut().errors = errors;
        problem
    }
}
