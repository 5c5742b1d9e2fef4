//! What every operation of the contract may answer beside its own answers, and the headers of all of them: by what it
//! takes and by what it gives.

use serde_json::{Map, Value, json};

/// Headers of the contract: by what name it refers to them, how they are called, and what they say.
const HEADERS: &[(&str, &str, &str)] = &[
    (
        "RequestId",
        "X-Request-Id",
        "The request's id, the caller's own where it sent one: the log has it too",
    ),
    (
        "EntityTag",
        "ETag",
        "The strong tag of what is told, for If-None-Match and If-Match",
    ),
    (
        "Kept",
        "Cache-Control",
        "Whether it may be kept and asked for again by its tag",
    ),
    ("Place", "Location", "Where the new thing is read"),
    (
        "NextPage",
        "Link",
        "The next page, with rel=\"next\", where there is one",
    ),
    ("RetryAfter", "Retry-After", "Seconds to wait"),
    (
        "Codings",
        "Accept-Encoding",
        "Where it is the coding of the body that is not read: in which a body is",
    ),
    ("FileName", "Content-Disposition", "The name of the file"),
    (
        "Varies",
        "Vary",
        "What of the request the answer goes by beside its address: Accept-Encoding where it is packed for who takes that, \
         Accept where there are several formats, Authorization where roles read different things",
    ),
    (
        "Packing",
        "Content-Encoding",
        "gzip, where the caller takes it and the answer is not tiny",
    ),
];

/// Answers that go by what an operation takes: status, when, and what it says.
const ANSWERS: &[(&str, When, &str)] = &[
    (
        "304",
        When::Kept,
        "The caller has it as it is: If-None-Match names its tag",
    ),
    (
        "400",
        When::Always,
        "The request cannot be read: a parameter, a header or the body",
    ),
    ("404", When::Addressed, "There is no such thing"),
    (
        "408",
        When::Always,
        "The head or the body did not arrive in its time",
    ),
    ("409", When::Written, "What stands there does not allow it"),
    ("412", When::Matched, "It has been changed in the meantime"),
    ("413", When::Body, "The body is over the limit"),
    ("414", When::Always, "The address is over the limit"),
    ("431", When::Always, "The headers are over the limit"),
    (
        "415",
        When::Body,
        "The body is of a media type, or in a coding (Content-Encoding), that is not read here",
    ),
    (
        "422",
        When::Judged,
        "What was sent or is asked for has faults, each told with its place; or the Idempotency-Key is of another request",
    ),
    ("428", When::Matched, "If-Match is needed"),
    (
        "500",
        When::Always,
        "A fault of the service, told by nothing but the request's id",
    ),
    (
        "507",
        When::Always,
        "The data cannot be stored or read: the disk is full, read-only or damaged",
    ),
    (
        "503",
        When::Always,
        "The service cannot answer now, or not in time",
    ),
];

#[derive(Clone, Copy, PartialEq, Eq)]
enum When {
    Always,
    /// It reads what is stored.
    Kept,
    /// Its address names something.
    Addressed,
    /// It takes a body.
    Body,
    /// It takes a body or a query, may come again under a name, or makes a paper.
    Judged,
    /// It takes the tag of what was read.
    Matched,
    /// It writes, or makes a paper.
    Written,
}

/// Puts both into every operation.
pub(super) fn describe(document: &mut Value) {
    let paths = document.get_mut("paths").and_then(Value::as_object_mut);
    for (path, item) in paths.into_iter().flatten() {
        for (method, operation) in item.as_object_mut().into_iter().flatten() {
            if let Some(operation) = operation.as_object_mut() {
                describe_one(path, method, operation);
            }
        }
    }
    if let Some(components) = document.get_mut("components").and_then(Value::as_object_mut) {
        let header = |(name, _, says): &(&str, &str, &str)| {
            let kind = if *name == "RetryAfter" {
                "integer"
            } else {
                "string"
            };
            (
                (*name).to_owned(),
                json!({"description": says, "schema": {"type": kind}}),
            )
        };
        components.insert("headers".to_owned(), HEADERS.iter().map(header).collect());
    }
}

/// Says of `If-Match` what leaving it out comes to. A client that was written when the parameter was told as one that may
/// be left out still compiles, so the words say what `required` does not.
fn say_what_is_needed(operation: &mut Map<String, Value>) {
    let parameters = operation.get_mut("parameters").and_then(Value::as_array_mut);
    let matched = parameters
        .into_iter()
        .flatten()
        .filter(|one| one.get("name").is_some_and(|name| name == "If-Match"));
    for parameter in matched {
        if let Some(Value::String(says)) = parameter.get_mut("description") {
            says.push_str(
                ". It is sent as it came in ETag, in its quotation marks. Where it is needed and left out, the answer is 428; \
                 null is no value of a header",
            );
        }
    }
}

fn describe_one(path: &str, method: &str, operation: &mut Map<String, Value>) {
    say_what_is_needed(operation);
    if let Some(body) = operation.get_mut("requestBody").and_then(Value::as_object_mut) {
        body.insert("required".to_owned(), json!(true));
    }
    let kept = method == "get" && path.starts_with("/v1/");
    if kept {
        let known = json!({
            "name": "If-None-Match",
            "in": "header",
            "description": "The tag of what the caller has: where it is still that, the answer is 304 and empty",
            "required": false,
            "schema": {"type": "string"},
        });
        let parameters = operation.entry("parameters").or_insert_with(|| json!([]));
        parameters
            .as_array_mut()
            .into_iter()
            .for_each(|all| all.push(known.clone()));
    }
    let named = |name: &str| {
        let parameters = operation.get("parameters").and_then(Value::as_array);
        parameters.is_some_and(|all| {
            all.iter()
                .any(|one| one.get("name").is_some_and(|own| own == name))
        })
    };
    let (body, paged) = (operation.contains_key("requestBody"), named("after"));
    let (matched, written) = (named("If-Match"), named("Acting-Person"));
    let paper = operation
        .get("tags")
        .is_some_and(|tags| *tags == json!(["papers"]));
    let asked = operation.get("parameters").and_then(Value::as_array);
    let asked = asked.is_some_and(|all| {
        all.iter()
            .any(|one| one.get("in").is_some_and(|place| place == "query"))
    });
    let judged = body || paper || asked || named("Idempotency-Key");
    let Some(responses) = operation.get_mut("responses").and_then(Value::as_object_mut) else {
        return;
    };
    for (status, when, says) in ANSWERS {
        let may = match when {
            When::Always => true,
            When::Kept => kept,
            When::Addressed => asked || path.contains('{'),
            When::Body => body,
            When::Judged => judged,
            When::Matched => matched,
            When::Written => written || paper,
        };
        if may && !responses.contains_key(*status) {
            responses.insert((*status).to_owned(), answer(status, says));
        }
    }
    responses.sort_keys();
    for (status, response) in responses {
        if let Some(response) = response.as_object_mut() {
            add_headers(status, response, paged);
        }
    }
}

/// An answer without content, or a problem.
fn answer(status: &str, says: &str) -> Value {
    if status == "304" {
        return json!({"description": says});
    }
    json!({
        "description": says,
        "content": {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}},
    })
}

/// The headers that an answer may have.
fn add_headers(status: &str, response: &mut Map<String, Value>, paged: bool) {
    let content = response.get("content").and_then(Value::as_object);
    let kinds: Vec<&str> = content
        .into_iter()
        .flat_map(Map::keys)
        .map(String::as_str)
        .collect();
    let told = matches!(status, "200" | "201") && !kinds.is_empty();
    let files = kinds.iter().any(|kind| !kind.contains("json"));
    let has = |name: &str| match name {
        "RequestId" => true,
        "EntityTag" => told || matches!(status, "304" | "412"),
        "Kept" => told || status == "304",
        "Place" => status == "201",
        "NextPage" => (told || status == "304") && paged,
        "Codings" => status == "415",
        "RetryAfter" => matches!(status, "429" | "503" | "default"),
        "FileName" => told && files,
        "Varies" => told || status == "304",
        "Packing" => told,
        _ => false,
    };
    let more: Vec<_> = HEADERS.iter().filter(|(name, ..)| has(name)).collect();
    let headers = response.entry("headers").or_insert_with(|| json!({}));
    for (name, own, _) in more {
        if let Some(headers) = headers.as_object_mut() {
            headers.insert(
                (*own).to_owned(),
                json!({"$ref": format!("#/components/headers/{name}")}),
            );
        }
    }
}
