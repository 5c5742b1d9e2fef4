//! What holds for every request: it has an id, it is logged once, and HEAD is a GET without its body.

use std::rc::Rc;
use std::time::Instant;

use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::error::InternalError;
use actix_web::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use actix_web::http::{ConnectionType, Method};
use actix_web::middleware::Next;
use actix_web::web::Data;
use actix_web::{Error, HttpMessage};
use tracing::Instrument;
use uuid::Uuid;

use super::body_watch::Watched;
use super::metrics::Metrics;
use super::server::{Talk, Told};
use super::trace::Trace;
use super::who::{RequestId, row_of};
use crate::config::Limits;

const REQUEST_ID: HeaderName = HeaderName::from_static("x-request-id");
const KEEP_ALIVE: HeaderName = HeaderName::from_static("keep-alive");
/// Longest id that is taken over from the caller.
const ID_MOST: usize = 64;

/// Wraps the whole application.
pub async fn every_request(
    mut request: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<impl MessageBody>, Error> {
    let begun = Instant::now();
    let under_way = request.conn_data::<Rc<Talk>>().map(Talk::begin);
    let idle = idle_time(&request);
    let metrics = request.app_data::<Data<Metrics>>().cloned();
    let _counted = metrics.as_ref().map(|metrics| metrics.begin());
    let id = own_or_new_id(&request);
    let method = request.method().clone();
    if method == Method::HEAD {
        // The connection remembers that HEAD was asked and sends no body.
        request.head_mut().method = Method::GET;
    }
    request.extensions_mut().insert(RequestId(id.clone()));
    let path = request.path().to_owned();
    let route = route(method.as_str(), &path);
    let span = span(&id, Trace::of(request.headers()).as_ref());
    let body = Watched::of(&mut request);
    let answer = next.call(request).instrument(span.clone()).await;
    // Where the rest of a body may still come, the connection ends with the answer.
    let idle = idle.filter(|_| body.has_come());
    let time = begun.elapsed();
    let milliseconds = time.as_secs_f32() * 1000.0;
    let log = |status: u16| {
        if let Some(metrics) = &metrics {
            metrics.answered(method.as_str(), route, status, time);
        }
        span.in_scope(|| tracing::info!(%method, path, status, milliseconds, "answered"));
    };
    match answer {
        Ok(mut answer) => {
            mark(answer.headers_mut(), &id);
            stay(answer.headers_mut(), idle);
            log(answer.status().as_u16());
            Ok(answer.map_body(|_, body| Told::new(body, under_way)))
        }
        Err(fault) => {
            let mut answer = fault.error_response();
            mark(answer.headers_mut(), &id);
            stay(answer.headers_mut(), idle);
            log(answer.status().as_u16());
            let answer = answer.map_body(|_, body| Told::new(body, under_way).boxed());
            Err(InternalError::from_response(fault, answer).into())
        }
    }
}

/// How long the connection stays open after the answer, where the client does not close it.
fn idle_time(request: &ServiceRequest) -> Option<HeaderValue> {
    let time = request
        .app_data::<Data<Limits>>()
        .map(|limits| limits.idle_time)?;
    let kept = request.head().connection_type() == ConnectionType::KeepAlive;
    let told = HeaderValue::from_str(&format!("timeout={}", time.as_secs())).ok()?;
    kept.then_some(told)
}

/// Says how long the connection stays.
fn stay(headers: &mut HeaderMap, idle: Option<HeaderValue>) {
    if let Some(idle) = idle {
        headers.insert(KEEP_ALIVE, idle);
    }
}

/// The address as the contract writes it; what is no operation has one name.
fn route(method: &str, path: &str) -> &'static str {
    if path == "/docs" || path.starts_with("/docs/") {
        return "/docs";
    }
    let method = if method == "HEAD" { "GET" } else { method };
    row_of(method, path).map_or("none", |row| row.path)
}

/// What entries of the log have that belong to the request.
fn span(id: &str, trace: Option<&Trace>) -> tracing::Span {
    match trace {
        Some(Trace { id: trace_id, parent }) => {
            tracing::info_span!("request", %id, %trace_id, parent_id = %parent)
        }
        None => tracing::info_span!("request", %id),
    }
}

/// What every answer has.
pub(super) fn mark(headers: &mut HeaderMap, id: &str) {
    if let Ok(value) = HeaderValue::from_str(id) {
        headers.insert(REQUEST_ID, value);
    }
    headers.insert(
        header::X_CONTENT_TYPE_OPTIONS,
        HeaderValue::from_static("nosniff"),
    );
}

/// The caller's id where it is short and plain, else a new one.
fn own_or_new_id(request: &ServiceRequest) -> String {
    let theirs = request
        .headers()
        .get(REQUEST_ID)
        .and_then(|value| value.to_str().ok());
    let plain = |id: &&str| {
        !id.is_empty()
            && id.len() <= ID_MOST
            && id
                .bytes()
                .all(|byte| byte.is_ascii_alphanumeric() || b"-_.".contains(&byte))
    };
    theirs
        .filter(plain)
        .map_or_else(|| Uuid::now_v7().to_string(), ToOwned::to_owned)
}
