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

pub use super::kind::Kind;

/// Media type of every problem.
pub const MEDIA_TYPE: &str = "application/problem+json";

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

    /// A text, or the name of a member, holds a sign that is kept nowhere.
    pub(super) fn unkept(pointer: &str) -> Self {
        Self {
            pointer: pointer.to_owned(),
            code: "not_allowed".to_owned(),
            came: None,
            allowed: None,
            message: "here, or in the name of a member here, stands the sign U+0000 (\\u0000), which no text has: leave it out"
                .to_owned(),
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
