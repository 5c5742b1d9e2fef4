//! The headers that a request is carried out by, held to what they may say before any handler reads them.

use actix_web::dev::ServiceRequest;
use actix_web::http::header;
use actix_web::web::Data;

use super::contract::Contract;
use super::problem::{Kind, Problem};
use super::reply::listed;

/// Of which one is taken: by which of two something is done would be left to chance.
const ONCE: [&str; 4] = ["content-type", "idempotency-key", "if-match", "acting-person"];
/// Characters of a faulty value that are told.
const CAME_MOST: usize = 60;
/// The coding of a body that is as it is.
const AS_IT_IS: &str = "identity";

/// What is wrong with the headers of a request.
pub fn unfit(request: &ServiceRequest) -> Option<Problem> {
    let headers = request.headers();
    let twice = ONCE.iter().find(|name| headers.get_all(**name).nth(1).is_some());
    if let Some(name) = twice {
        return Some(Problem::new(
            Kind::InvalidParameter,
            format!("{name} is given more than once"),
        ));
    }
    if let Some(tags) = headers.get(header::IF_MATCH)
        && !tags.to_str().is_ok_and(names_tags)
    {
        let came: String = String::from_utf8_lossy(tags.as_bytes())
            .chars()
            .take(CAME_MOST)
            .collect();
        let detail = format!(
            "If-Match is {came}; a tag as ETag has it, in quotation marks, such as \"7\", or * is asked for"
        );
        return Some(Problem::new(Kind::InvalidParameter, detail));
    }
    coded_body(request)
}

/// A list of entity tags, or the sign for any (RFC 9110, section 13.1.1).
fn names_tags(text: &str) -> bool {
    text.trim() == "*"
        || text.split(',').map(str::trim).all(|tag| {
            let opaque = tag.strip_prefix("W/").unwrap_or(tag);
            let inner = opaque.strip_prefix('"').and_then(|rest| rest.strip_suffix('"'));
            inner.is_some_and(|inner| !inner.contains(['"', ' ']))
        })
}

/// A body that is packed: none is unpacked here (RFC 9110, section 15.5.16).
fn coded_body(request: &ServiceRequest) -> Option<Problem> {
    let contract = request.app_data::<Data<Contract>>()?;
    let (_, operation) = contract.operation(request.method().as_str(), request.path())?;
    let coding = listed(request.request(), &header::CONTENT_ENCODING)
        .find(|coding| !coding.is_empty() && !coding.eq_ignore_ascii_case(AS_IT_IS))
        .filter(|_| operation.get("requestBody").is_some())?;
    let coding: String = coding.chars().take(CAME_MOST).collect();
    let detail = format!("Content-Encoding is {coding}; a body is read as it is here");
    let problem = Problem::new(Kind::UnsupportedMediaType, detail);
    Some(problem.with_header(header::ACCEPT_ENCODING, AS_IT_IS.to_owned()))
}
