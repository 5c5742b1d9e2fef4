//! Answers with a strong entity tag over their bytes.

use std::borrow::Cow;

use actix_web::body::BoxBody;
use actix_web::http::{StatusCode, header};
use actix_web::web::Bytes;
use actix_web::{HttpRequest, HttpResponse, Responder, ResponseError};
use serde::Serialize;
use sha2::{Digest, Sha256};

use super::packing;
use super::problem::{Kind, Problem};
use super::who::{Shape, View, goes_by_role, view_of};
use crate::desk::{DeskFault, Told};

/// The media type of a rulebook's text.
const TOML: &str = "application/toml";

/// Whether the caller asks for TOML and not for JSON.
pub fn wants_toml(request: &HttpRequest) -> bool {
    let mut asked = listed(request, &header::ACCEPT).map(|kind| kind.split(';').next().unwrap_or_default());
    asked.any(|kind| kind.trim().eq_ignore_ascii_case(TOML))
}

/// An answer that is the same at every call: written, tagged and packed once.
#[derive(Debug, Clone)]
pub struct Ready {
    bytes: Bytes,
    packed: Option<Bytes>,
    media_type: &'static str,
    tag: String,
}

impl Ready {
    /// These bytes of this media type.
    pub fn new(bytes: Vec<u8>, media_type: &'static str) -> Self {
        let packed = packing::is_worth_it(media_type, bytes.len()).then(|| packing::pack(&bytes).ok());
        Self {
            packed: packed.flatten().map(Bytes::from),
            tag: tag(&bytes),
            bytes: bytes.into(),
            media_type,
        }
    }
}

/// An answer in JSON, or a document in another format. Asked with `If-None-Match` for what the caller has, it is 304 and empty.
pub struct Reply {
    status: StatusCode,
    bytes: Bytes,
    /// The same bytes made smaller, where that was done before.
    packed: Option<Bytes>,
    media_type: &'static str,
    tag: Option<String>,
    headers: Vec<(header::HeaderName, String)>,
}

impl Reply {
    /// 200 with `value`, tagged by its bytes.
    ///
    /// # Errors
    /// The value cannot be written as JSON.
    pub fn json(value: &impl Serialize) -> Result<Self, Problem> {
        let bytes = serde_json::to_vec(value).map_err(|fault| Problem::internal(&fault))?;
        let tag = tag(&bytes);
        Ok(Self::bytes(bytes, tag))
    }

    /// 200 with what was made before.
    pub fn ready(ready: &Ready) -> Self {
        let Ready {
            bytes,
            packed,
            media_type,
            tag,
        } = ready.clone();
        Self {
            status: StatusCode::OK,
            bytes,
            packed,
            media_type,
            tag: Some(tag),
            headers: Vec::new(),
        }
    }

    /// 200 with what the desk tells, under its tag.
    ///
    /// # Errors
    /// The body cannot be written as JSON.
    pub fn told(told: Told) -> Result<Self, Problem> {
        let reply = Self::json(&told.body)?;
        Ok(Self {
            tag: told.tag,
            ..reply
        })
    }

    /// 201 with what the desk tells of something new, which is read at `location`.
    ///
    /// # Errors
    /// As [`Reply::told`].
    pub fn created(told: Told, location: String) -> Result<Self, Problem> {
        let reply = Self::told(told)?.with_status(StatusCode::CREATED);
        Ok(reply.with_header(header::LOCATION, location))
    }

    /// 200 with JSON that is stored as bytes, tagged by `tag`.
    pub fn bytes(bytes: Vec<u8>, tag: String) -> Self {
        Self {
            status: StatusCode::OK,
            bytes: bytes.into(),
            packed: None,
            media_type: "application/json",
            tag: Some(tag),
            headers: Vec::new(),
        }
    }

    /// 200 with a text in TOML, tagged by `tag`.
    pub fn toml(text: String, tag: String) -> Self {
        Self {
            media_type: TOML,
            ..Self::bytes(text.into_bytes(), tag)
        }
    }

    /// 200 with a document of this media type, tagged by its bytes.
    pub fn document(bytes: Vec<u8>, media_type: &'static str) -> Self {
        let tag = tag(&bytes);
        Self {
            media_type,
            ..Self::bytes(bytes, tag)
        }
    }

    /// The same with another status.
    #[must_use]
    pub fn with_status(mut self, status: StatusCode) -> Self {
        self.status = status;
        self
    }

    /// The same with this tag instead of one over the bytes.
    #[must_use]
    pub fn with_tag(mut self, tag: String) -> Self {
        self.tag = Some(tag);
        self
    }

    /// Its tag, where it has one.
    pub fn tag(&self) -> Option<&str> {
        self.tag.as_deref()
    }

    /// The same without a tag: it is computed anew each time.
    #[must_use]
    pub fn without_tag(mut self) -> Self {
        self.tag = None;
        self
    }

    /// The same with one more header.
    #[must_use]
    pub fn with_header(mut self, name: header::HeaderName, value: String) -> Self {
        self.headers.push((name, value));
        self
    }
}

impl Responder for Reply {
    type Body = BoxBody;

    fn respond_to(self, request: &HttpRequest) -> HttpResponse {
        let seen = match view_of(request) {
            View::Whole => Ok(self),
            View::Part(shape) => self.seen_as(shape),
        };
        match seen {
            Ok(seen) => seen.answer(request),
            Err(problem) => problem.error_response(),
        }
    }
}

impl Reply {
    /// What `shape` shows of it.
    fn seen_as(mut self, shape: &Shape) -> Result<Self, Problem> {
        let value = serde_json::from_slice(&self.bytes).map_err(|fault| Problem::internal(&fault))?;
        let whole = tag(&self.bytes);
        let shown = serde_json::to_vec(&shape.show(value)).map_err(|fault| Problem::internal(&fault))?;
        (self.bytes, self.packed) = (shown.into(), None);
        if self.tag.as_ref() == Some(&whole) {
            self.tag = Some(tag(&self.bytes));
        }
        Ok(self)
    }

    fn answer(self, request: &HttpRequest) -> HttpResponse {
        let known = self.tag.as_deref().is_some_and(|tag| known_already(request, tag));
        let status = if known {
            StatusCode::NOT_MODIFIED
        } else {
            self.status
        };
        let mut answer = HttpResponse::build(status);
        let may_be_packed = packing::is_worth_it(self.media_type, self.bytes.len());
        let packed = may_be_packed && packing::is_taken(request);
        if let Some(tag) = &self.tag {
            let tag = if packed {
                packing::tag_of_packed(tag)
            } else {
                tag.clone()
            };
            answer.insert_header((header::ETAG, tag));
            answer.insert_header((header::CACHE_CONTROL, "private, no-cache"));
        } else {
            answer.insert_header((header::CACHE_CONTROL, "no-store"));
        }
        let (own, others): (Vec<_>, Vec<_>) = self
            .headers
            .into_iter()
            .partition(|(name, _)| name == header::VARY);
        let more = [
            may_be_packed.then_some("accept-encoding"),
            goes_by_role(request).then_some("authorization"),
        ];
        let own = own.iter().map(|(_, value)| value.as_str());
        let varies: Vec<&str> = own.chain(more.into_iter().flatten()).collect();
        if !varies.is_empty() {
            answer.insert_header((header::VARY, varies.join(", ")));
        }
        for (name, value) in others {
            answer.insert_header((name, value));
        }
        if known {
            return answer.finish();
        }
        answer.insert_header((header::CONTENT_TYPE, self.media_type));
        if !packed {
            return answer.body(self.bytes);
        }
        match self
            .packed
            .map_or_else(|| packing::pack(&self.bytes).map(Bytes::from), Ok)
        {
            Ok(bytes) => answer
                .insert_header((header::CONTENT_ENCODING, "gzip"))
                .body(bytes),
            Err(fault) => Problem::internal(&fault).error_response(),
        }
    }
}

/// `view` for the desk to keep and to tell, tagged by the bytes that it is answered with.
///
/// # Errors
/// The view cannot be written as JSON.
pub fn told(view: &impl Serialize) -> Result<Told, DeskFault> {
    let defect = |fault: serde_json::Error| DeskFault::Defect(fault.to_string());
    let body = serde_json::to_value(view).map_err(defect)?;
    let bytes = serde_json::to_vec(&body).map_err(defect)?;
    Ok(Told {
        tag: Some(tag(&bytes)),
        body,
    })
}

/// A strong entity tag over `bytes`.
pub fn tag(bytes: &[u8]) -> String {
    let digest = Sha256::digest(bytes);
    let digits: String = digest.iter().take(16).map(|byte| format!("{byte:02x}")).collect();
    format!("\"{digits}\"")
}

/// Whether `If-Match` names `tag`: by strong comparison (RFC 9110, section 13.1.1).
pub fn matches(request: &HttpRequest, tag: &str) -> bool {
    tags(request, &header::IF_MATCH).any(|one| one == tag || one == "*")
}

/// Demands that `If-Match` names `tag`, the tag of what is there now.
///
/// # Errors
/// It is not there, or names another.
pub fn demand_match(request: &HttpRequest, tag: Option<&str>) -> Result<(), Problem> {
    if !request.headers().contains_key(header::IF_MATCH) {
        let detail = "If-Match with the tag of what was read is needed";
        return Err(Problem::new(Kind::PreconditionRequired, detail));
    }
    if tag.is_some_and(|tag| matches(request, tag)) {
        return Ok(());
    }
    Err(DeskFault::Changed.into())
}

/// Whether what is read is known: `If-None-Match` names `tag`, by weak comparison (RFC 9110, section 13.1.2). What was
/// written is always told.
fn known_already(request: &HttpRequest, tag: &str) -> bool {
    request.method().is_safe()
        && tags(request, &header::IF_NONE_MATCH)
            .any(|one| one.strip_prefix("W/").unwrap_or(&one) == tag || one == "*")
}

/// The tags that a header names; that of a packed answer is the tag of what was packed.
pub(super) fn tags<'a>(
    request: &'a HttpRequest,
    name: &header::HeaderName,
) -> impl Iterator<Item = Cow<'a, str>> {
    listed(request, name).map(packing::tag_of_unpacked)
}

pub(super) fn listed<'a>(
    request: &'a HttpRequest,
    name: &header::HeaderName,
) -> impl Iterator<Item = &'a str> {
    let values = request
        .headers()
        .get_all(name)
        .filter_map(|value| value.to_str().ok());
    values.flat_map(|value| value.split(',')).map(str::trim)
}

/// `text` with everything but letters, digits and `-._~` percent-encoded (RFC 3986).
pub fn percent_encoded(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for byte in text.bytes() {
        if byte.is_ascii_alphanumeric() || b"-._~".contains(&byte) {
            out.push(char::from(byte));
        } else {
            out.push_str(&format!("%{byte:02X}"));
        }
    }
    out
}
