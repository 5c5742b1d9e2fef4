//! Who acts, which state the caller has seen, and under which name a request may come again.

use std::borrow::Cow;
use std::future::{Ready, ready};

use actix_web::dev::Payload;
use actix_web::http::header;
use actix_web::{FromRequest, HttpRequest};
use estimate::quote::canonical::Digest;
use serde_json::Value;

use super::limits::REPEAT_KEY;
use super::problem::{Kind, Problem};
use super::reply;
use super::who::Admitted;
use crate::desk::{Act, request_key};
use crate::store::RequestKey;

/// Header that names a request which may come again.
const KEY: &str = "idempotency-key";

/// A request that may come again under a name of the caller's own.
pub struct Repeatable {
    key: Option<String>,
    /// Method, address, and the person who acts, where one is named.
    head: String,
}

impl Repeatable {
    /// Its name and what it says, with `body`; none where the caller gave no name.
    pub fn with(self, body: &Value) -> Option<RequestKey> {
        let Self { key, head } = self;
        let said = || Digest::of(format!("{head}\n{body}").as_bytes()).to_string();
        key.map(|key| request_key(key, said()))
    }
}

/// The person who acts, and the request's own name.
pub struct Acting {
    person: String,
    request: Repeatable,
}

impl Acting {
    /// The act of sending `body`.
    pub fn with(self, body: &Value) -> Act {
        Act {
            key: self.request.with(body),
            person: self.person,
        }
    }
}

fn text<'a>(request: &'a HttpRequest, name: &str) -> Option<&'a str> {
    let value = request.headers().get(name)?;
    std::str::from_utf8(value.as_bytes()).ok().map(str::trim)
}

fn acting(request: &HttpRequest) -> Result<Acting, Problem> {
    Ok(Acting {
        person: Admitted::of(request)?.person(),
        request: repeatable(request)?,
    })
}

fn repeatable(request: &HttpRequest) -> Result<Repeatable, Problem> {
    let key = match request.headers().contains_key(KEY) {
        false => None,
        true => {
            let sound = |key: &&str| (1..=REPEAT_KEY).contains(&key.len()) && key.is_ascii();
            let key = text(request, KEY).filter(sound).ok_or_else(|| {
                let detail = "Idempotency-Key has 1 to 255 characters of ASCII";
                Problem::new(Kind::InvalidParameter, detail)
            })?;
            Some(key.to_owned())
        }
    };
    let person = Admitted::of(request)?.person();
    Ok(Repeatable {
        key,
        head: format!("{} {}\n{person}", request.method(), request.uri()),
    })
}

impl FromRequest for Repeatable {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(repeatable(request))
    }
}

impl FromRequest for Acting {
    type Error = Problem;
    type Future = Ready<Result<Self, Problem>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(acting(request))
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
        let seen: Vec<String> = reply::tags(request, &header::IF_MATCH)
            .map(Cow::into_owned)
            .collect();
        if seen.is_empty() {
            let detail = "If-Match with the tag of what was read is needed";
            return Err(Problem::new(Kind::PreconditionRequired, detail));
        }
        Ok(Self(seen))
    }

    /// Whether one of them is of the same writing as `tag`: of a tag with a point in it, what stands before that says which.
    pub fn matches_writing(&self, tag: &str) -> bool {
        let writing = |tag: &str| tag.split('.').next().map(str::to_owned);
        let same = |seen: &String| seen == "*" || (seen.contains('.') && writing(seen) == writing(tag));
        self.0.iter().any(same)
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
