//! Request bodies: read whole, up to the limit, of a known media type.

use std::future::Future;
use std::pin::Pin;

use actix_web::dev::Payload;
use actix_web::error::PayloadError;
use actix_web::http::header;
use actix_web::rt::time::timeout;
use actix_web::web::{Bytes, Data};
use actix_web::{FromRequest, HttpRequest};
use serde_json::{Value, json};

use super::problem::{InputError, Kind, Problem};
use super::reply::listed;
use super::server::FRAMING_MOST;
use super::who::beyond_the_caller;
use crate::config::Limits;
use crate::desk::{Given, strict_json};

type Ready<T> = Pin<Box<dyn Future<Output = Result<T, Problem>>>>;

/// A JSON body, read strictly.
pub struct Json(pub Value);

/// A rulebook: its text as it is (`application/toml`, `text/plain`) or in a JSON object as `text`, or its tree.
pub struct RulebookBody(pub Given);

impl RulebookBody {
    /// What came, as JSON.
    pub fn value(&self) -> Value {
        match &self.0 {
            Given::Text(text) => json!({ "text": text }),
            Given::Tree(tree) => tree.clone(),
        }
    }
}

impl FromRequest for Json {
    type Error = Problem;
    type Future = Ready<Self>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let (kind, own) = (media_type(request), request.clone());
        let (whole, coded) = (whole(request, payload), coded(request));
        Box::pin(async move {
            coded?;
            if kind != "application/json" {
                return Err(unsupported(&kind, "application/json"));
            }
            let value = json_of(&whole.await?)?;
            match beyond_the_caller(&own, &value) {
                beyond if beyond.is_empty() => Ok(Self(value)),
                beyond => Err(Problem::invalid_input(
                    beyond
                        .iter()
                        .map(|place| InputError::not_for_role(place))
                        .collect(),
                )),
            }
        })
    }
}

impl FromRequest for RulebookBody {
    type Error = Problem;
    type Future = Ready<Self>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let kind = media_type(request);
        let (whole, coded) = (whole(request, payload), coded(request));
        Box::pin(async move {
            coded?;
            match kind.as_str() {
                "application/toml" | "text/plain" => {
                    let text = String::from_utf8(whole.await?.to_vec())
                        .map_err(|_| Problem::new(Kind::MalformedBody, "the text is not UTF-8"))?;
                    if text.contains('\0') {
                        return Err(Problem::invalid_input(vec![InputError::unkept("")]));
                    }
                    Ok(Self(Given::Text(text)))
                }
                "application/json" => {
                    let value = json_of(&whole.await?)?;
                    let members = value.as_object().filter(|members| members.len() == 1);
                    let text = members.and_then(|members| members.get("text")?.as_str());
                    Ok(Self(match text {
                        Some(text) => Given::Text(text.to_owned()),
                        None => Given::Tree(value),
                    }))
                }
                _ => Err(unsupported(
                    &kind,
                    "application/toml, text/plain or application/json",
                )),
            }
        })
    }
}

/// JSON that came, with no sign in it that a database may not keep.
fn json_of(bytes: &[u8]) -> Result<Value, Problem> {
    let value = strict_json::read(bytes)?;
    match strict_json::unkept(&value) {
        unkept if unkept.is_empty() => Ok(value),
        unkept => Err(Problem::invalid_input(
            unkept.iter().map(|place| InputError::unkept(place)).collect(),
        )),
    }
}

/// The media type without its parameters, in lower case; empty when none is given.
pub fn media_type(request: &HttpRequest) -> String {
    let value = request
        .headers()
        .get(header::CONTENT_TYPE)
        .and_then(|value| value.to_str().ok());
    let essence = value.unwrap_or_default().split(';').next().unwrap_or_default();
    essence.trim().to_ascii_lowercase()
}

/// The problem of a media type that is not read here.
pub fn unsupported(came: &str, taken: &str) -> Problem {
    let came = if came.is_empty() { "none" } else { came };
    let came: String = came.chars().take(80).collect();
    Problem::new(
        Kind::UnsupportedMediaType,
        format!("Content-Type is {came}; {taken} is read here"),
    )
}

/// Refuses a body that was packed or otherwise coded for the way (RFC 9110, section 8.4): bodies are read as they are.
///
/// # Errors
/// It says that it was.
pub fn coded(request: &HttpRequest) -> Result<(), Problem> {
    let mut codings = listed(request, &header::CONTENT_ENCODING);
    let is_plain = |coding: &str| coding.is_empty() || coding.eq_ignore_ascii_case("identity");
    let Some(coding) = codings.find(|coding| !is_plain(coding)) else {
        return Ok(());
    };
    let coding: String = coding.chars().take(80).collect();
    let detail = format!("Content-Encoding is {coding}; a body is read as it is, without one");
    let problem = Problem::new(Kind::UnsupportedMediaType, detail);
    // Which codings are taken instead (RFC 9110, section 15.5.16).
    Err(problem.with_header(header::ACCEPT_ENCODING, "identity".to_owned()))
}

/// The problem of a body that cannot be read to its end.
pub fn broken_off(fault: Option<&PayloadError>) -> Problem {
    match fault {
        Some(PayloadError::Overflow) => Problem::new(
            Kind::ContentTooLarge,
            format!("beside the content of a body in chunks, at most {FRAMING_MOST} bytes are read"),
        ),
        _ => Problem::new(Kind::MalformedBody, "the body ended before its end"),
    }
}

/// The whole body, or the word that it is over the limit: at once where its length is told.
fn whole(
    request: &HttpRequest,
    payload: &mut Payload,
) -> impl Future<Output = Result<Bytes, Problem>> + use<> {
    let limits = request.app_data::<Data<Limits>>();
    let (limit, time) = limits.map_or_else(Default::default, |limits| (limits.body, limits.body_time));
    let too_large = move || {
        Problem::new(
            Kind::ContentTooLarge,
            format!("at most {limit} bytes are read here"),
        )
    };
    let told = request
        .headers()
        .get(header::CONTENT_LENGTH)
        .and_then(|value| value.to_str().ok());
    let told: Option<usize> = told.and_then(|value| value.parse().ok());
    let payload = actix_web::web::Payload::from_request(request, payload);
    async move {
        if told.is_some_and(|length| length > limit) {
            return Err(too_large());
        }
        let payload = payload.await.map_err(|fault| broken_off(fault.as_error()))?;
        let Ok(whole) = timeout(time, payload.to_bytes_limited(limit)).await else {
            let detail = format!("the body did not arrive within {} s", time.as_secs());
            return Err(Problem::new(Kind::RequestTimeout, detail));
        };
        match whole {
            Ok(bytes) => bytes.map_err(|fault| broken_off(fault.as_error())),
            Err(_) => Err(too_large()),
        }
    }
}
