//! Asking over HTTP, and an answer that is held against the contract.

use std::collections::BTreeMap;
use std::net::SocketAddr;
use std::sync::{Arc, Mutex, OnceLock, PoisonError};

use jsonschema::Validator;
use serde_json::{Value, json};
use tallyrule::api::Contract;

/// An answer, read whole.
#[derive(Debug)]
pub struct Answer {
    pub status: u16,
    /// The body as text; what is no text in it is replaced.
    pub text: String,
    /// The body.
    pub bytes: Vec<u8>,
    headers: Vec<(String, String)>,
}

impl Answer {
    /// The first header of this name.
    pub fn header(&self, name: &str) -> Option<&str> {
        self.headers
            .iter()
            .find(|(known, _)| known == name)
            .map(|(_, value)| value.as_str())
    }

    /// The body as JSON.
    pub fn json(&self) -> Value {
        serde_json::from_str(&self.text).unwrap_or_else(|fault| panic!("{fault}: {}", self.text))
    }

    /// The body as JSON, once the status is the wanted one.
    #[track_caller]
    pub fn expect(&self, status: u16) -> Value {
        assert_eq!(self.status, status, "{}", self.text);
        self.json()
    }

    /// The problem, once its status and kind are the wanted ones.
    #[track_caller]
    pub fn problem(&self, status: u16, kind: &str) -> Value {
        assert_eq!(
            self.header("content-type"),
            Some("application/problem+json"),
            "{}",
            self.text
        );
        let problem = self.expect(status);
        assert_eq!(problem["type"], format!("/problems/{kind}"));
        assert_eq!(problem["status"], json!(status));
        problem
    }
}

/// Asks, and holds the answer against the contract.
#[track_caller]
pub fn ask(address: SocketAddr, method: &str, path: &str, headers: &[(&str, &str)], body: &[u8]) -> Answer {
    let answer = try_ask(address, method, path, headers, body).unwrap();
    if !path.starts_with("/docs") && method != "HEAD" {
        hold_against_contract(method, path, &answer);
    }
    answer
}

/// Asks a server that may go away before it has answered.
pub fn try_ask(
    address: SocketAddr,
    method: &str,
    path: &str,
    headers: &[(&str, &str)],
    body: &[u8],
) -> Result<Answer, ureq::Error> {
    let mut request = ureq::http::Request::builder()
        .method(method)
        .uri(format!("http://{address}{path}"));
    for (name, value) in headers {
        request = request.header(*name, *value);
    }
    let agent: ureq::Agent = ureq::Agent::config_builder()
        .http_status_as_error(false)
        .allow_non_standard_methods(true)
        .max_redirects(0)
        .build()
        .into();
    let mut response = agent.run(request.body(body)?)?;
    let headers = response
        .headers()
        .iter()
        .map(|(name, value)| (name.as_str().to_owned(), value.to_str().unwrap().to_owned()));
    let headers: Vec<_> = headers.collect();
    let status = response.status().as_u16();
    let bytes = response.body_mut().read_to_vec()?;
    Ok(Answer {
        status,
        text: String::from_utf8_lossy(&bytes).into_owned(),
        bytes,
        headers,
    })
}

/// The contract as a document.
pub fn contract() -> &'static Value {
    static CONTRACT: OnceLock<Value> = OnceLock::new();
    CONTRACT.get_or_init(|| serde_json::from_str(&Contract::collect().unwrap().text()).unwrap())
}

/// Every answer has the shape that the contract promises; what no operation answers is a problem.
#[track_caller]
fn hold_against_contract(method: &str, path: &str, answer: &Answer) {
    let promised = operation(method, path.split('?').next().unwrap())
        .map(|operation| promised(operation, &format!("{method} {path}"), answer));
    let problem = json!({"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}});
    let content = promised.map_or(&problem, |response| &response["content"]);
    let kind = answer.header("content-type").unwrap_or_default();
    let kind = kind.split(';').next().unwrap_or_default();
    if matches!(answer.status, 204 | 304) {
        assert!(
            promised.is_some_and(|response| response["content"].is_null()),
            "{method} {path}: {}",
            answer.status
        );
        assert_eq!(answer.text, "", "{method} {path}: an answer without content");
        return;
    }
    let schema = content.get(kind).map(|media| &media["schema"]);
    let schema = schema.unwrap_or_else(|| panic!("{method} {path} answers {kind}, promised is {content}"));
    // What is no text is held to its media type only.
    if !kind.starts_with("text/") && !kind.ends_with("json") && !kind.ends_with("xml") {
        return;
    }
    let validator = validator(schema);
    let body = match kind.ends_with("json") {
        true => answer.json(),
        false => Value::String(answer.text.clone()),
    };
    let faults: Vec<String> = validator
        .iter_errors(&body)
        .take(5)
        .map(|fault| format!("{}: {fault}", fault.instance_path()))
        .collect();
    assert!(
        faults.is_empty(),
        "{method} {path} breaks the contract: {faults:#?}"
    );
}

/// Headers that go by what is answered: an answer has none of them that the contract does not name.
const HEADERS: &[&str] = &[
    "ETag",
    "Location",
    "Link",
    "Retry-After",
    "WWW-Authenticate",
    "Content-Disposition",
    "Vary",
    "X-Request-Id",
    "Cache-Control",
];

/// What an operation promises for the status of an answer, which it must name, with every header that came.
#[track_caller]
fn promised<'a>(operation: &'a Value, place: &str, answer: &Answer) -> &'a Value {
    let response = &operation["responses"][answer.status.to_string()];
    assert!(
        response.is_object(),
        "{place} answers {}: {}",
        answer.status,
        answer.text
    );
    for name in HEADERS {
        let came = answer.header(&name.to_ascii_lowercase());
        let known = &response["headers"][*name];
        assert!(
            came.is_none() || known.is_object(),
            "{place} answers {} with {name}: {came:?}",
            answer.status
        );
    }
    response
}

/// The validator of a schema of the contract, made once.
fn validator(schema: &Value) -> Arc<Validator> {
    static MADE: Mutex<BTreeMap<String, Arc<Validator>>> = Mutex::new(BTreeMap::new());
    let mut made = MADE.lock().unwrap_or_else(PoisonError::into_inner);
    let make = || {
        let whole = json!({"allOf": [schema], "components": contract()["components"]});
        Arc::new(jsonschema::draft202012::new(&whole).unwrap())
    };
    Arc::clone(made.entry(schema.to_string()).or_insert_with(make))
}

fn operation<'a>(method: &str, path: &str) -> Option<&'a Value> {
    let paths = contract()["paths"].as_object().unwrap();
    let fits = |template: &str| {
        let (wanted, given): (Vec<_>, Vec<_>) = (template.split('/').collect(), path.split('/').collect());
        wanted.len() == given.len()
            && wanted
                .iter()
                .zip(given)
                .all(|(want, got)| *want == got || (want.starts_with('{') && !got.is_empty()))
    };
    let (_, item) = paths.iter().find(|(template, _)| fits(template))?;
    // Names of methods are case-sensitive (RFC 9110, section 9.1).
    let known = method.bytes().all(|sign| sign.is_ascii_uppercase());
    item.get(method.to_ascii_lowercase()).filter(|_| known)
}
