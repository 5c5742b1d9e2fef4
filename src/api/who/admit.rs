//! The door itself: every request passes here before any handler sees it.

use std::time::Duration;

use actix_web::body::{EitherBody, MessageBody};
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::{Method, header};
use actix_web::middleware::Next;
use actix_web::rt::time::timeout;
use actix_web::web::Data;
use actix_web::{Error, HttpMessage, ResponseError};

use super::Admitted;
use super::table::{Row, Who, row_of};
use crate::api::blocking::blocking;
use crate::api::documentation::is_documentation;
use crate::api::problem::{Kind, Problem};
use crate::api::rate::Rate;
use crate::api::{parameters, request_headers, unrouted};
use crate::config::Limits;
use crate::desk::Desk;
use crate::desk::access::Caller;

/// Header by which an application's key names the person who acts.
const PERSON: &str = "acting-person";
/// Longest name of a person, in characters.
const PERSON_MOST: usize = 100;
/// Longest bearer text that is looked at.
const BEARER_MOST: usize = 8_192;
/// The methods that the documentation takes; every HEAD is a GET by the time it comes here.
const READ_ONLY: &str = "GET, HEAD";

/// The id of a request.
#[derive(Clone)]
pub struct RequestId(pub String);

/// Lets a request through to its operation where the table admits whoever makes it. What is no operation ends here, so
/// that no handler is reached past the table.
pub async fn admit(
    request: ServiceRequest,
    next: Next<impl MessageBody>,
) -> Result<ServiceResponse<EitherBody<impl MessageBody>>, Error> {
    let path = request.path();
    if is_documentation(path) {
        return documentation(request, next).await;
    }
    let Some(row) = row_of(request.method().as_str(), path) else {
        let answer = unrouted::answer(request.request());
        return Ok(request.into_response(answer).map_into_right_body());
    };
    let fit = admitted(&request, row).await.and_then(|admitted| {
        let unfit = parameters::unfit(&request).or_else(|| request_headers::unfit(&request));
        unfit.map_or(Ok(admitted), Err)
    });
    let problem = match fit {
        Ok(admitted) => {
            if let Some(admitted) = admitted {
                request.extensions_mut().insert(admitted);
            }
            let most = request
                .app_data::<Data<Limits>>()
                .map(|limits| limits.request_time);
            // An error ends on its way out: the request itself is with the handler that was given up.
            return match timeout(most.unwrap_or(Duration::MAX), next.call(request)).await {
                Ok(answer) => Ok(answer?.map_into_left_body()),
                Err(_) => Err(too_long().into()),
            };
        }
        Err(problem) => problem,
    };
    let answer = problem.error_response();
    Ok(request.into_response(answer).map_into_right_body())
}

/// The documentation is read only, and nobody reads it too often.
async fn documentation<B: MessageBody>(
    request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<EitherBody<B>>, Error> {
    let refused = match one_of_its_address(&request) {
        Err(problem) => problem,
        Ok(_) if request.method() == Method::GET => {
            return Ok(next.call(request).await?.map_into_left_body());
        }
        Ok(_) => {
            let detail = format!("{} is not taken here; {READ_ONLY} is", request.method());
            Problem::new(Kind::MethodNotAllowed, detail).with_header(header::ALLOW, READ_ONLY.to_owned())
        }
    };
    let answer = refused.error_response();
    Ok(request.into_response(answer).map_into_right_body())
}

/// A request that is not answered in its time. What it began at the database may still be done.
fn too_long() -> Problem {
    let detail = "the request took too long and was given up; whether it took effect is to be read, or send it again \
        under the same Idempotency-Key";
    Problem::new(Kind::TimedOut, detail).with_header(header::RETRY_AFTER, "5".to_owned())
}

/// Whoever makes a request, once the table admits them; none where nobody is asked.
async fn admitted(request: &ServiceRequest, row: &'static Row) -> Result<Option<Admitted>, Problem> {
    if matches!(row.who, Who::Everybody) {
        if row.is_counted() {
            one_of_its_address(request)?;
        }
        return Ok(None);
    }
    let bearer = match bearer(request) {
        Ok(bearer) => bearer.to_owned(),
        Err(problem) => return one_of_its_address(request).and(Err(problem)),
    };
    let desk = request
        .app_data::<Data<Desk>>()
        .ok_or_else(|| Problem::internal(&"there is no desk"))?
        .clone();
    let rate = request.app_data::<Data<Rate>>();
    let caller = blocking(move || desk.admit(&bearer))
        .await?
        .map_err(Problem::from);
    let caller = match (caller, rate) {
        (Ok(caller), Some(rate)) => rate.take(&caller.key).map(|()| caller),
        // Whoever tries keys has an allowance by address.
        (Err(problem), _) => one_of_its_address(request).and(Err(problem)),
        (caller, None) => caller,
    }?;
    if !row.admits(caller.role) {
        let detail = format!(
            "{} is not for the role {}; it is for {}",
            row.operation,
            caller.role.word(),
            row.roles().join(", ")
        );
        return Err(Problem::new(Kind::Forbidden, detail));
    }
    let caller = acting(request, row, caller)?;
    let id = request.extensions().get::<RequestId>().map(|id| id.0.clone());
    Ok(Some(Admitted {
        caller,
        row,
        request: id,
    }))
}

/// Takes a request from what the address that it comes from may make without a key.
fn one_of_its_address(request: &ServiceRequest) -> Result<(), Problem> {
    let peer = request.peer_addr().map(|peer| format!("from {}", peer.ip()));
    let rate = request.app_data::<Data<Rate>>();
    rate.map_or(Ok(()), |rate| rate.take(peer.as_deref().unwrap_or_default()))
}

/// What `Authorization` presents (RFC 6750, section 2.1).
fn bearer(request: &ServiceRequest) -> Result<&str, Problem> {
    let mut given = request.headers().get_all(header::AUTHORIZATION);
    let only = given.next().filter(|_| given.next().is_none());
    let text = only.and_then(|value| value.to_str().ok());
    let text = text.and_then(|text| {
        let (scheme, text) = text.split_once(' ')?;
        scheme.eq_ignore_ascii_case("bearer").then(|| text.trim())
    });
    text.filter(|text| !text.is_empty() && text.len() <= BEARER_MOST)
        .ok_or_else(|| Problem::unauthorized("Authorization: Bearer with an access key is needed"))
}

/// The caller as the person who acts: a person's key is that person's, an application's key names them.
fn acting(request: &ServiceRequest, row: &Row, caller: Caller) -> Result<Caller, Problem> {
    let needed = || {
        let detail = "Acting-Person with the name of the person who acts, 1 to 100 characters, is needed";
        Problem::new(Kind::ActingPersonRequired, detail)
    };
    let Some(value) = request.headers().get(PERSON) else {
        return if caller.shared && row.writes {
            Err(needed())
        } else {
            Ok(caller)
        };
    };
    let named = |person: &&str| {
        let length = person.chars().count();
        (1..=PERSON_MOST).contains(&length) && !person.chars().any(char::is_control)
    };
    let text = std::str::from_utf8(value.as_bytes()).ok().map(str::trim);
    let person = text.filter(named).ok_or_else(needed)?.to_owned();
    if caller.shared || person == caller.person {
        return Ok(Caller { person, ..caller });
    }
    let detail = format!(
        "this access key is of {}, and only an application's key acts for somebody else",
        caller.person
    );
    Err(Problem::new(Kind::Forbidden, detail))
}
