//! Pages of other origins that call from a browser (CORS of the Fetch standard): those that are named, and none unless said.

use actix_web::body::{EitherBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::error::InternalError;
use actix_web::http::header::{self, HeaderMap, HeaderValue};
use actix_web::http::{Method, StatusCode};
use actix_web::middleware::Next;
use actix_web::web::Data;
use actix_web::{Error, HttpResponse};

use crate::config::Limits;

const METHODS: &str = "GET, HEAD, POST, PUT, PATCH, DELETE";
/// What a page may send beside what every page may.
const SENT: &str = "accept, acting-person, authorization, content-type, idempotency-key, if-match, if-none-match, \
    traceparent, tracestate, x-request-id";
/// What a page may read beside what every page may.
const READ: &str = "accept-encoding, allow, content-disposition, content-encoding, etag, link, location, retry-after, vary, \
    www-authenticate, x-paper-notes, x-request-id";
/// Seconds for which a browser need not ask again whether it may.
const ASKED_ONCE: &str = "600";

/// Answers a browser that asks whether a page may call, and marks the answers to one that may.
pub async fn cors(
    request: ServiceRequest,
    next: Next<impl MessageBody>,
) -> Result<ServiceResponse<EitherBody<impl MessageBody>>, Error> {
    let Some(origin) = named(&request) else {
        return Ok(next.call(request).await?.map_into_left_body());
    };
    let headers = request.headers();
    if request.method() == Method::OPTIONS && headers.contains_key(header::ACCESS_CONTROL_REQUEST_METHOD) {
        let mut answer = HttpResponse::new(StatusCode::NO_CONTENT);
        mark(answer.headers_mut(), &origin);
        for (name, value) in [
            (header::ACCESS_CONTROL_ALLOW_METHODS, METHODS),
            (header::ACCESS_CONTROL_ALLOW_HEADERS, SENT),
            (header::ACCESS_CONTROL_MAX_AGE, ASKED_ONCE),
        ] {
            answer.headers_mut().insert(name, HeaderValue::from_static(value));
        }
        return Ok(request.into_response(answer).map_into_right_body());
    }
    match next.call(request).await {
        Ok(mut answer) => {
            mark(answer.headers_mut(), &origin);
            Ok(answer.map_into_left_body())
        }
        Err(fault) => {
            let mut answer = fault.error_response();
            mark(answer.headers_mut(), &origin);
            Err(InternalError::from_response(fault, answer).into())
        }
    }
}

/// The origin of the page that calls, where it is one of those that are named.
fn named(request: &ServiceRequest) -> Option<HeaderValue> {
    let limits = request.app_data::<Data<Limits>>()?;
    let origin = request.headers().get(header::ORIGIN)?;
    let text = origin.to_str().ok()?;
    limits
        .cors_origins
        .iter()
        .any(|named| named == text)
        .then(|| origin.clone())
}

fn mark(headers: &mut HeaderMap, origin: &HeaderValue) {
    headers.insert(header::ACCESS_CONTROL_ALLOW_ORIGIN, origin.clone());
    headers.insert(
        header::ACCESS_CONTROL_EXPOSE_HEADERS,
        HeaderValue::from_static(READ),
    );
    headers.append(header::VARY, HeaderValue::from_static("origin"));
}
