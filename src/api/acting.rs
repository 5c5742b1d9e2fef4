//! Who acts, which state the caller has seen, and under which name a request may come again.

use std::future::{Ready, ready};

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::{FromRequest, HttpRequest};
use estimate::quote::canonical::Digest;
use serde_json::Value;

use super::problem::{Kind, Problem};
use super::reply;
use super::who::Admitted;
use crate::desk::Act;

/// Header that names a request which may come again.
const KEY: &str = "idempotency-key";
/// Longest name of a request.
const KEY_MOST: usize = 255;

/// The person who acts, and the request's own name.
pub struct Acting {
    person: String,
    key: Option<String>,
    place: String,
}

impl Acting {
    /// The act of sending `body`.
    pub fn with(self, body: &Value) -> Act {
        let Self { person, key, place } = self;
        let request = Digest::of(format!("{place}\n{person}\n{body}").as_bytes()).to_string();
        Act::new(person, key.map(|key| (key, request)))
    }
}

fn text<'a>(request: &'a HttpRequest, name: &str) -> Option<&'a str> {
    let value = request.headers().get(name)?;
    std::str::from_utf8(value.as_bytes()).ok().map(str::trim)
}

fn read(request: &HttpRequest) -> Result<Acting, Problem> {
    let person = Admitted::of(request)?.person();
    let key = match request.headers().contains_key(KEY) {
        false => None,
        true => {
            let sound = |key: &&str| (1..=KEY_MOST).contains(&key.len()) && key.is_ascii();
            let key = text(request, KEY).filter(sound).ok_or_else(|| {
                let detail = "Idempotency-Key has 1 to 255 characters of ASCII";
                Problem::new(Kind::InvalidParameter, detail)
            })?;
            Some(key.to_owned())
        }
    };
    Ok(Acting {
        person,
        key,
        place: format!("{} {}", request.method(), request.uri()),
    })
}

impl FromRequest for Acting {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(read(request))
    }
}

/// The tags that the caller has seen: `If-Match`, which is needed.
pub struct Seen(Vec<String>);

impl Seen {
    /// The tags of a request.
    ///
    /// # Errors
    /// `If-Match` is missing.
    pub fn of(request: &HttpRequest) -> Result<Self, Problem> {
        let seen: Vec<String> = reply::listed(request, &header::IF_MATCH)
            .map(str::to_owned)
            .collect();
        if seen.is_empty() {
            let detail = "If-Match with the tag of what was read is needed";
            return Err(Problem::new(Kind::PreconditionRequired, detail));
        }
        Ok(Self(seen))
    }

    /// Whether `tag` is among them, by strong comparison (RFC 9110, section 13.1.1).
    pub fn matches(&self, tag: &str) -> bool {
        self.0.iter().any(|seen| seen == tag || seen == "*")
    }
}

impl FromRequest for Seen {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(Self::of(request))
    }
}
