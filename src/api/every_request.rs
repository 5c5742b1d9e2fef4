//! What holds for every request: it has an id, it is logged once, and HEAD is a GET without its body.

use std::time::Instant;

use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::Method;
use actix_web::http::header::{self, HeaderName, HeaderValue};
use actix_web::middleware::Next;
use actix_web::web::Data;
use actix_web::{Error, ResponseError};
use tracing::Instrument;
use uuid::Uuid;

use super::contract::Contract;
use super::parameters;
use super::problem::{Kind, Problem};

const REQUEST_ID: HeaderName = HeaderName::from_static("x-request-id");
/// Longest id that is taken over from the caller.
const ID_MOST: usize = 64;

/// Wraps the whole application.
pub async fn every_request(
    mut request: ServiceRequest,
    next: Next<impl MessageBody + 'static>,
) -> Result<ServiceResponse<impl MessageBody>, Error> {
    let begun = Instant::now();
    let id = own_or_new_id(&request);
    let method = request.method().clone();
    if method == Method::HEAD {
        // The connection remembers that HEAD was asked and sends no body.
        request.head_mut().method = Method::GET;
    }
    let path = request.path().to_owned();
    let span = tracing::info_span!("request", %id);
    let mut answer = match unfit_parameters(&request) {
        Some(problem) => request.into_response(problem.error_response()),
        None => {
            let answer = next.call(request).instrument(span.clone()).await?;
            answer.map_into_boxed_body()
        }
    };
    if let Ok(value) = HeaderValue::from_str(&id) {
        answer.headers_mut().insert(REQUEST_ID, value);
    }
    answer.headers_mut().insert(
        header::X_CONTENT_TYPE_OPTIONS,
        HeaderValue::from_static("nosniff"),
    );
    let milliseconds = begun.elapsed().as_secs_f32() * 1000.0;
    let status = answer.status().as_u16();
    span.in_scope(|| tracing::info!(%method, path, status, milliseconds, "answered"));
    Ok(answer)
}

fn unfit_parameters(request: &ServiceRequest) -> Option<Problem> {
    if request.uri().to_string().contains("%00") {
        // No text here has this sign, and a database may not even be asked for it.
        return Some(Problem::new(Kind::InvalidParameter, "%00 is no sign of a text"));
    }
    let contract = request.app_data::<Data<Contract>>()?;
    let (method, path) = (request.method().as_str(), request.path());
    parameters::judge(contract, method, path, request.query_string()).err()
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
