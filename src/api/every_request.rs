//! What holds for every request: it has an id, it is logged once, and HEAD is a GET without its body.

use std::rc::Rc;
use std::time::Instant;

use actix_web::body::MessageBody;
use actix_web::dev::{ResponseHead, ServiceRequest, ServiceResponse};
use actix_web::error::InternalError;
use actix_web::http::header::{self, HeaderMap, HeaderName, HeaderValue};
use actix_web::http::{ConnectionType, Method};
use actix_web::middleware::Next;
use actix_web::web::Data;
use actix_web::{Error, HttpMessage};
use tracing::Instrument;
use uuid::Uuid;

use super::documentation::is_documentation;
use super::metrics::Metrics;
use super::server::{Came, Talk, Told};
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
    let talk = request.conn_data::<Rc<Talk>>().cloned();
    if let Some(talk) = talk.as_ref().filter(|talk| talk.is_ending()) {
        // Behind one that ends the connection nothing is carried out (RFC 9112, section 9.6): this waits for the end.
        talk.cut();
        std::future::pending::<()>().await;
    }
    let under_way = talk.as_ref().map(Talk::begin);
    let came = Came::of(&mut request, talk.as_ref());
    let end = End::of(&request, talk, came);
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
    let answer = next.call(request).instrument(span.clone()).await;
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
            end.tell(answer.response_mut().head_mut());
            log(answer.status().as_u16());
            Ok(answer.map_body(|_, body| Told::new(body, under_way)))
        }
        Err(fault) => {
            let mut answer = fault.error_response();
            mark(answer.headers_mut(), &id);
            end.tell(answer.head_mut());
            log(answer.status().as_u16());
            let answer = answer.map_body(|_, body| Told::new(body, under_way).boxed());
            Err(InternalError::from_response(fault, answer).into())
        }
    }
}

/// What becomes of the connection after the answer.
struct End {
    talk: Option<Rc<Talk>>,
    came: Option<Came>,
    /// Whether the length of the body is not told before.
    in_chunks: bool,
    /// How long it stays open, where the client does not close it.
    idle: Option<HeaderValue>,
}

impl End {
    fn of(request: &ServiceRequest, talk: Option<Rc<Talk>>, came: Option<Came>) -> Self {
        let limits = request.app_data::<Data<Limits>>();
        let idle = limits.and_then(|limits| {
            HeaderValue::from_str(&format!("timeout={}", limits.idle_time.as_secs())).ok()
        });
        let kept = request.head().connection_type() == ConnectionType::KeepAlive;
        if let Some(talk) = talk.as_ref().filter(|_| !kept) {
            talk.end();
        }
        Self {
            talk,
            came,
            in_chunks: request.headers().contains_key(header::TRANSFER_ENCODING),
            idle: idle.filter(|_| kept),
        }
    }

    /// Says how long the connection stays. It ends where the client wants that, and where a body was left unread, whose
    /// rest would be taken for the next request's.
    fn tell(&self, head: &mut ResponseHead) {
        let unread = self.came.as_ref().is_some_and(|came| !came.wholly());
        match self.idle.as_ref().filter(|_| !unread) {
            Some(idle) => {
                head.headers_mut().insert(KEEP_ALIVE, idle.clone());
            }
            None => head.set_connection_type(ConnectionType::Close),
        }
        if let Some(talk) = self.talk.as_ref().filter(|_| unread) {
            talk.end();
            if self.in_chunks {
                talk.cut();
            }
        }
    }
}

/// The address as the contract writes it; what is no operation has one name.
fn route(method: &str, path: &str) -> &'static str {
    if is_documentation(path) {
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
