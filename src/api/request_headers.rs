//! The headers that a request is carried out by, held to what they may say before any handler reads them.

use actix_web::dev::ServiceRequest;
use actix_web::http::header;

use super::problem::{Kind, Problem};

/// Of which one is taken: by which of two something is done would be left to chance.
const ONCE: [&str; 4] = ["content-type", "idempotency-key", "if-match", "acting-person"];
/// Characters of a faulty value that are told.
const CAME_MOST: usize = 60;

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
    None
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
