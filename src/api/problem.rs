//! What the door answers when it cannot do what was asked: RFC 9457 problem details, one table of kinds.

use actix_web::http::{StatusCode, header};
use actix_web::{HttpResponse, ResponseError};
use estimate::catalogue::price_list::Trouble;
use estimate::examples::Tried;
use estimate::job::Fault;
use estimate::quantity::counted;
use estimate::rules::Finding;
use serde::Serialize;
use utoipa::ToSchema;

/// Media type of every problem.
pub const MEDIA_TYPE: &str = "application/problem+json";

/// The kinds of problem. Each has one row in [`Kind::row`], and its name is stable.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// The body is not JSON, not UTF-8, or cut off.
    MalformedBody,
    /// A parameter of the query or path cannot be read.
    InvalidParameter,
    /// Nobody who may come in.
    Unauthorized,
    /// Somebody who may not do this.
    Forbidden,
    /// No such address or thing.
    NotFound,
    /// The address is there, the method is not.
    MethodNotAllowed,
    /// It is there already.
    Conflict,
    /// `If-Match` names another state than the present one.
    PreconditionFailed,
    /// The body did not arrive in its time.
    RequestTimeout,
    /// No format of `Accept` is there.
    NotAcceptable,
    /// The body is over the limit.
    ContentTooLarge,
    /// The body is of a media type that is not read here.
    UnsupportedMediaType,
    /// The body is JSON, but not what is asked for.
    InvalidInput,
    /// The rulebook has faults.
    RulebookFindings,
    /// Worked examples of the rulebook do not come out.
    WorkedExamples,
    /// Rows of a price list are in trouble.
    PriceListTroubles,
    /// The input is sound, but the job cannot be priced.
    CannotBeEstimated,
    /// `If-Match` is needed.
    PreconditionRequired,
    /// `Acting-Person` is needed.
    ActingPersonRequired,
    /// The revision's state does not allow the move.
    IllegalMove,
    /// A stop stands in the estimate.
    StopStands,
    /// Another person has to approve the draft.
    ApprovalNeeded,
    /// The ledger has an acceptance with another total.
    ReceiptDiffers,
    /// A format cannot carry what was accepted.
    CannotBeHandedOver,
    /// An Idempotency-Key was used for another request.
    IdempotencyKeyReused,
    /// The caller makes more requests than are answered.
    TooManyRequests,
    /// No paper can be made of what stands.
    CannotBePrinted,
    /// The program was built without documents.
    NotBuilt,
    /// A fault of ours.
    Internal,
    /// The request was not answered in its time.
    TimedOut,
    /// The database does not answer, or nothing has been loaded.
    NotReady,
}

impl Kind {
    /// Every kind.
    pub const ALL: &[Self] = &[
        Self::MalformedBody,
        Self::InvalidParameter,
        Self::Unauthorized,
        Self::Forbidden,
        Self::NotFound,
        Self::MethodNotAllowed,
        Self::Conflict,
        Self::PreconditionFailed,
        Self::RequestTimeout,
        Self::NotAcceptable,
        Self::ContentTooLarge,
        Self::UnsupportedMediaType,
        Self::InvalidInput,
        Self::RulebookFindings,
        Self::WorkedExamples,
        Self::PriceListTroubles,
        Self::CannotBeEstimated,
        Self::PreconditionRequired,
        Self::ActingPersonRequired,
        Self::IllegalMove,
        Self::StopStands,
        Self::ApprovalNeeded,
        Self::ReceiptDiffers,
        Self::CannotBeHandedOver,
        Self::IdempotencyKeyReused,
        Self::TooManyRequests,
        Self::CannotBePrinted,
        Self::NotBuilt,
        Self::Internal,
        Self::TimedOut,
        Self::NotReady,
    ];

    /// Status, name and title.
    pub fn row(self) -> (StatusCode, &'static str, &'static str) {
        let (name, title) = self.words();
        (self.status(), name, title)
    }

    fn status(self) -> StatusCode {
        match self {
            Self::MalformedBody | Self::InvalidParameter | Self::ActingPersonRequired => {
                StatusCode::BAD_REQUEST
            }
            Self::Unauthorized => StatusCode::UNAUTHORIZED,
            Self::Forbidden => StatusCode::FORBIDDEN,
            Self::NotFound => StatusCode::NOT_FOUND,
            Self::MethodNotAllowed => StatusCode::METHOD_NOT_ALLOWED,
            Self::Conflict
            | Self::IllegalMove
            | Self::StopStands
            | Self::ApprovalNeeded
            | Self::ReceiptDiffers
            | Self::CannotBeHandedOver => StatusCode::CONFLICT,
            Self::NotAcceptable => StatusCode::NOT_ACCEPTABLE,
            Self::PreconditionFailed => StatusCode::PRECONDITION_FAILED,
            Self::RequestTimeout => StatusCode::REQUEST_TIMEOUT,
            Self::TooManyRequests => StatusCode::TOO_MANY_REQUESTS,
            Self::ContentTooLarge => StatusCode::PAYLOAD_TOO_LARGE,
            Self::UnsupportedMediaType => StatusCode::UNSUPPORTED_MEDIA_TYPE,
            Self::InvalidInput
            | Self::RulebookFindings
            | Self::WorkedExamples
            | Self::PriceListTroubles
            | Self::CannotBeEstimated
            | Self::IdempotencyKeyReused
            | Self::CannotBePrinted => StatusCode::UNPROCESSABLE_ENTITY,
            Self::PreconditionRequired => StatusCode::PRECONDITION_REQUIRED,
            Self::NotBuilt => StatusCode::NOT_IMPLEMENTED,
            Self::Internal => StatusCode::INTERNAL_SERVER_ERROR,
            Self::NotReady | Self::TimedOut => StatusCode::SERVICE_UNAVAILABLE,
        }
    }

    fn words(self) -> (&'static str, &'static str) {
        match self {
            Self::MalformedBody => ("malformed-body", "The body cannot be read"),
            Self::InvalidParameter => ("invalid-parameter", "A parameter cannot be read"),
            Self::Unauthorized => ("unauthorized", "Nobody is let in by this"),
            Self::Forbidden => ("forbidden", "This is not for the caller"),
            Self::NotFound => ("not-found", "There is no such thing here"),
            Self::MethodNotAllowed => ("method-not-allowed", "This address does not take the method"),
            Self::Conflict => ("conflict", "It is there already"),
            Self::PreconditionFailed => ("precondition-failed", "It has been changed in the meantime"),
            Self::RequestTimeout => ("request-timeout", "The body did not arrive in time"),
            Self::TooManyRequests => ("too-many-requests", "The caller asks too often"),
            Self::TimedOut => ("timed-out", "The request was not answered in time"),
            Self::NotAcceptable => ("not-acceptable", "No format of Accept is there"),
            Self::ContentTooLarge => ("content-too-large", "The body is over the limit"),
            Self::UnsupportedMediaType => {
                ("unsupported-media-type", "The body's media type is not read here")
            }
            Self::InvalidInput => ("invalid-input", "The input has faults"),
            Self::RulebookFindings => ("rulebook-findings", "The rulebook has faults"),
            Self::WorkedExamples => (
                "worked-examples",
                "Worked examples of the rulebook do not come out",
            ),
            Self::PriceListTroubles => ("price-list-troubles", "Rows of the price list are in trouble"),
            Self::CannotBeEstimated => ("cannot-be-estimated", "The job cannot be priced as it stands"),
            Self::PreconditionRequired => ("precondition-required", "If-Match is needed"),
            Self::ActingPersonRequired => ("acting-person-required", "Acting-Person is needed"),
            Self::IllegalMove => ("illegal-move", "The state does not allow it"),
            Self::StopStands => ("stop-stands", "A stop stands; the offer must not go out"),
            Self::ApprovalNeeded => ("approval-needed", "Another person has to approve it"),
            Self::ReceiptDiffers => (
                "receipt-differs",
                "The ledger has another total than was accepted",
            ),
            Self::CannotBeHandedOver => (
                "cannot-be-handed-over",
                "The format cannot carry what was accepted",
            ),
            Self::IdempotencyKeyReused => (
                "idempotency-key-reused",
                "The Idempotency-Key was used for another request",
            ),
            Self::CannotBePrinted => ("cannot-be-printed", "It cannot be put on paper as it stands"),
            Self::NotBuilt => ("not-built", "This program was built without that"),
            Self::Internal => ("internal", "A fault of this service, not of the request"),
            Self::NotReady => ("not-ready", "The service cannot answer now"),
        }
    }
}

/// One fault of the input.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct InputError {
    /// Where in the body: a JSON Pointer (RFC 6901); empty for the whole.
    pub pointer: String,
    /// What kind of fault it is; stable.
    pub code: String,
    /// What came, shortened.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub came: Option<String>,
    /// What is allowed there.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub allowed: Option<String>,
    /// The fault in plain words.
    pub message: String,
}

/// A place in a text.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub struct Position {
    /// The line, from 1.
    pub line: usize,
    /// The column in bytes, from 1.
    pub column: usize,
}

/// The body of a problem.
#[derive(Debug, Clone, Serialize, ToSchema)]
#[schema(as = Problem)]
pub struct Body {
    /// A stable name of the kind of problem; a reference relative to this service.
    #[serde(rename = "type")]
    #[schema(example = "/problems/invalid-input")]
    pub kind: String,
    /// The kind in words.
    pub title: &'static str,
    /// The HTTP status again.
    pub status: u16,
    /// This occurrence in words.
    pub detail: String,
    /// Where the text stops being JSON.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub position: Option<Position>,
    /// Every fault of the input.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub errors: Vec<InputError>,
    /// Every finding of the rulebook.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(schema_with = finding_list)]
    pub findings: Vec<Finding>,
    /// The worked examples of the rulebook: what was expected, what came, and how that came about.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(schema_with = example_list)]
    pub examples: Vec<Tried>,
    /// Rows of a price list that keep it from being applied: the first 200 troubles.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(schema_with = trouble_list)]
    pub troubles: Vec<Trouble>,
    /// The moves that the state allows, where another was asked for.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<Vec<String>>)]
    pub allowed: Option<Vec<&'static str>>,
    /// What keeps an offer from going out: stops, or why an approval is needed. Of a receipt that differs, both totals.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    #[schema(value_type = Vec<Object>)]
    pub reasons: Vec<serde_json::Value>,
}

/// Most troubles of a price list that are told one by one.
const TROUBLES_MOST: usize = 200;

fn trouble_list() -> utoipa::openapi::schema::Array {
    utoipa::openapi::schema::Array::new(utoipa::openapi::Ref::from_schema_name("PriceListTrouble"))
}

fn example_list() -> utoipa::openapi::schema::Array {
    utoipa::openapi::schema::Array::new(utoipa::openapi::Ref::from_schema_name("TriedExample"))
}

fn finding_list() -> utoipa::openapi::schema::Array {
    utoipa::openapi::schema::Array::new(utoipa::openapi::Ref::from_schema_name("Finding"))
}

/// A problem on its way out.
#[derive(Debug, Clone)]
pub struct Problem {
    kind: Kind,
    body: Box<Body>,
    /// An `Allow` or `Retry-After` that goes with the status.
    header: Option<(header::HeaderName, String)>,
}

impl Problem {
    /// A problem of this kind, with this occurrence in words.
    pub fn new(kind: Kind, detail: impl Into<String>) -> Self {
        let (status, name, title) = kind.row();
        let body = Body {
            kind: format!("/problems/{name}"),
            title,
            status: status.as_u16(),
            detail: detail.into(),
            position: None,
            errors: Vec::new(),
            findings: Vec::new(),
            examples: Vec::new(),
            troubles: Vec::new(),
            allowed: None,
            reasons: Vec::new(),
        };
        Self {
            kind,
            body: Box::new(body),
            header: None,
        }
    }

    /// With a header that belongs to the status.
    #[must_use]
    pub fn with_header(mut self, name: header::HeaderName, value: String) -> Self {
        self.header = Some((name, value));
        self
    }

    /// Whoever asks is not let in (RFC 6750, section 3).
    pub fn unauthorized(detail: impl Into<String>) -> Self {
        Self::new(Kind::Unauthorized, detail)
            .with_header(header::WWW_AUTHENTICATE, "Bearer realm=\"tallyrule\"".to_owned())
    }

    /// The input's faults, all of them.
    pub fn invalid_input(errors: Vec<InputError>) -> Self {
        let detail = format!("{}; see errors", counted(errors.len(), "fault"));
        let mut problem = Self::new(Kind::InvalidInput, detail);
        problem.body.errors = errors;
        problem
    }

    /// The rulebook's findings, all of them.
    pub fn findings(findings: &[Finding]) -> Self {
        let mut problem = Self::new(
            Kind::RulebookFindings,
            format!("{}; see findings", counted(findings.len(), "finding")),
        );
        problem.body.findings = findings.to_vec();
        problem
    }

    /// What is answered, to be filled in.
    pub(super) fn body_mut(&mut self) -> &mut Body {
        &mut self.body
    }

    /// Rows of a price list that keep it from being applied.
    pub(super) fn troubles(troubles: &[Trouble]) -> Self {
        let count = counted(troubles.len(), "trouble");
        let detail = format!("{count}; correct the list, or leave such rows out; see troubles");
        let mut problem = Self::new(Kind::PriceListTroubles, detail);
        problem.body.troubles = troubles.iter().take(TROUBLES_MOST).cloned().collect();
        problem
    }

    /// This occurrence in words.
    pub fn detail(&self) -> &str {
        &self.body.detail
    }

    /// A fault of ours: the cause goes to the log, once, and not to the caller.
    pub fn internal(cause: &dyn std::fmt::Display) -> Self {
        tracing::error!(%cause, "cannot answer");
        Self::new(
            Kind::Internal,
            "the cause is in the service's log, under this request's id",
        )
    }
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.body.title, self.body.detail)
    }
}

impl ResponseError for Problem {
    fn status_code(&self) -> StatusCode {
        self.kind.row().0
    }

    fn error_response(&self) -> HttpResponse {
        let mut answer = HttpResponse::build(self.status_code());
        if let Some((name, value)) = &self.header {
            answer.insert_header((name.clone(), value.as_str()));
        }
        let text = serde_json::to_vec(&self.body).unwrap_or_default();
        answer
            .insert_header((header::CONTENT_TYPE, MEDIA_TYPE))
            .body(text)
    }
}

impl From<&Fault> for InputError {
    fn from(fault: &Fault) -> Self {
        Self {
            pointer: fault.pointer.clone(),
            code: word(fault.code),
            came: Some(fault.came.clone()),
            allowed: Some(fault.allowed.clone()),
            message: fault.message.clone(),
        }
    }
}

/// The word of a code, as it is written in JSON.
fn word(code: impl Serialize) -> String {
    serde_json::to_value(code)
        .ok()
        .and_then(|value| value.as_str().map(str::to_owned))
        .unwrap_or_default()
}

impl InputError {
    /// A member does not fit, for the reason that is told.
    pub fn does_not_fit(pointer: &str, message: String) -> Self {
        Self {
            pointer: pointer.to_owned(),
            code: "does_not_fit".to_owned(),
            came: None,
            allowed: None,
            message,
        }
    }

    /// A member is not for the caller's role.
    pub(super) fn not_for_role(pointer: &str) -> Self {
        Self {
            pointer: pointer.to_owned(),
            code: "not_for_role".to_owned(),
            came: None,
            allowed: None,
            message: "this is left to others than the caller's role".to_owned(),
        }
    }

    /// The request is sound, and the job or the office's data is not.
    pub(super) fn of_the_job(message: String) -> Self {
        Self {
            pointer: String::new(),
            code: "cannot_be_estimated".to_owned(),
            came: None,
            allowed: None,
            message,
        }
    }

    /// A member names something that is not there.
    pub(super) fn unknown(pointer: &str, what: &str, name: &str) -> Self {
        Self {
            pointer: pointer.to_owned(),
            code: "unknown_name".to_owned(),
            came: Some(name.to_owned()),
            allowed: Some(format!("a known {what}")),
            message: format!("there is no {what} {name}"),
        }
    }
}
