//! What a connection answers by itself, where there is no request that the application could be given.

use actix_web::ResponseError;
use actix_web::body::MessageBody;
use actix_web::http::header::{self, HeaderMap, HeaderValue};
use actix_web::web::Bytes;
use chrono::Utc;
use uuid::Uuid;

use super::super::every_request::mark;
use super::super::problem::{Kind, Problem};

/// The longest first line that the parser reads, and the most headers.
pub const LINE_MOST: usize = 65_534;
/// The most headers of a request.
pub const HEADERS_MOST: usize = 96;

/// The problem behind an answer of the HTTP library that has a status and nothing else. `line` is the length of the
/// first line that came.
pub fn problem(status: u16, line: usize) -> Option<Problem> {
    Some(match status {
        400 if line > LINE_MOST => Problem::new(
            Kind::AddressTooLong,
            format!("the first line of the request has more than {LINE_MOST} bytes"),
        ),
        400 => Problem::new(
            Kind::MalformedRequest,
            "this is no request of HTTP/1.1: its first line, a header, its Host or the length of its body is not as RFC 9112 has it",
        ),
        408 => Problem::new(
            Kind::RequestTimeout,
            "the head of the request did not arrive in its time",
        ),
        // What was never more than a first line is an address, however much of it came.
        431 if line > LINE_MOST => Problem::new(
            Kind::AddressTooLong,
            format!("the first line of the request has more than {LINE_MOST} bytes"),
        ),
        431 => Problem::new(
            Kind::HeadersTooLarge,
            format!("the headers of the request are more than {HEADERS_MOST}, or too long together"),
        ),
        _ => return None,
    })
}

/// An answer of its own.
pub struct Answer {
    /// The id that it has in the log.
    pub id: String,
    /// Its status.
    pub status: u16,
    /// All of it, as it goes out.
    pub bytes: Bytes,
}

/// The answer, after which the connection ends.
pub fn answer(problem: &Problem) -> Answer {
    let id = Uuid::now_v7().to_string();
    let mut response = problem.error_response();
    mark(response.headers_mut(), &id);
    let headers = response.headers_mut();
    headers.insert(header::CONNECTION, HeaderValue::from_static("close"));
    let date = Utc::now().format("%a, %d %b %Y %H:%M:%S GMT").to_string();
    if let Ok(date) = HeaderValue::from_str(&date) {
        headers.insert(header::DATE, date);
    }
    let (status, headers) = (response.status(), std::mem::take(response.headers_mut()));
    let body = response.into_body().try_into_bytes().unwrap_or_default();
    let mut bytes = head(&status.to_string(), &headers, body.len());
    bytes.extend_from_slice(&body);
    Answer {
        id,
        status: status.as_u16(),
        bytes: bytes.into(),
    }
}

fn head(status: &str, headers: &HeaderMap, length: usize) -> Vec<u8> {
    let mut head = format!("HTTP/1.1 {status}\r\ncontent-length: {length}\r\n").into_bytes();
    for (name, value) in headers {
        for part in [name.as_str().as_bytes(), b": ", value.as_bytes(), b"\r\n"] {
            head.extend_from_slice(part);
        }
    }
    head.extend_from_slice(b"\r\n");
    head
}
