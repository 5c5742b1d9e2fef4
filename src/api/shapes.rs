//! Shapes of bodies for the contract: those that the core writes, and the form of the job spec.

use estimate::handoff::house_style::HouseStyle;
use estimate::job::Form;
use estimate::quote::draft::{ChangeOrder, Draft};
use serde_json::{Map, Value, json};

use super::contract::ContractFault;

/// Shapes of what the core writes, as JSON Schema 2020-12. Every answer of the service's own tests is held against
/// them.
const WRITTEN: &[&str] = &[
    include_str!("schemas/accounting.json"),
    include_str!("schemas/catalogue.json"),
    include_str!("schemas/estimate.json"),
    include_str!("schemas/form.json"),
    include_str!("schemas/papers.json"),
    include_str!("schemas/price_lists.json"),
    include_str!("schemas/quotes.json"),
    include_str!("schemas/rulebook_versions.json"),
    include_str!("schemas/rules.json"),
    include_str!("schemas/surveys.json"),
    include_str!("schemas/sweeps.json"),
];

/// What is said of the job spec.
const JOB_SPEC: &str = "What was surveyed. The classes of units and the extra inputs are those of the catalogue and the \
    rulebook, which the form at /v1/job-spec-form has in it. Members of this shape that begin with `x-` mean what \
    JobSpecFormQuestion says of them.";

/// A request that the demonstration prices, to try the service with.
const EXAMPLE: &str = include_str!("schemas/example_request.json");

/// An example of each other shape that is sent; `request` is null where the request above stands.
const EXAMPLES: &str = include_str!("schemas/examples.json");

/// Puts its example into each shape that is sent.
///
/// # Errors
/// An example is not JSON, or of a shape that is not there.
pub fn exemplify(shapes: &mut Map<String, Value>) -> Result<(), ContractFault> {
    let request: Value = serde_json::from_str(EXAMPLE)?;
    let examples: Map<String, Value> = serde_json::from_str(EXAMPLES)?;
    for (name, mut example) in examples {
        for place in ["/request", "/draft/request"] {
            if let Some(open) = example.pointer_mut(place) {
                *open = request.clone();
            }
        }
        match shapes.get_mut(&name).and_then(Value::as_object_mut) {
            Some(shape) => shape.insert("examples".to_owned(), json!([example])),
            None => return Err(ContractFault::NoShape(name)),
        };
    }
    Ok(())
}

/// Every shape by name, those of the form last.
///
/// # Errors
/// A shape is not JSON, or two have one name.
pub fn all() -> Result<Map<String, Value>, ContractFault> {
    let mut shapes = Map::new();
    for text in WRITTEN {
        let more: Map<String, Value> = serde_json::from_str(text)?;
        for (name, shape) in more {
            add(&mut shapes, &name, shape)?;
        }
    }
    form(&mut shapes)?;
    drafts(&mut shapes)?;
    house_style(&mut shapes)?;
    Ok(shapes)
}

fn add(shapes: &mut Map<String, Value>, name: &str, shape: Value) -> Result<(), ContractFault> {
    match shapes.insert(name.to_owned(), shape) {
        None => Ok(()),
        Some(_) => Err(ContractFault::Twice(name.to_owned())),
    }
}

/// The form of the estimate request and of the job spec in it. The form that a catalogue and a rulebook give has
/// the classes and the extra inputs in it; the contract leaves both open.
fn form(shapes: &mut Map<String, Value>) -> Result<(), ContractFault> {
    let mut request = Form::new(&[], &[]).request_schema();
    lift(&mut request);
    let example: Value = serde_json::from_str(EXAMPLE)?;
    let members = request.as_object_mut();
    let parts = members.and_then(|members| {
        members.insert("examples".to_owned(), json!([example]));
        members.remove("$schema");
        members.remove("$defs")
    });
    let Some(Value::Object(mut parts)) = parts else {
        return Err(ContractFault::NoSchemas);
    };
    let mut job = parts.remove("job").unwrap_or_default();
    if let Some(class) = job
        .pointer_mut("/properties/unit/properties/class")
        .and_then(Value::as_object_mut)
    {
        class.remove("enum");
        class.insert("type".to_owned(), json!("string"));
        class.insert("examples".to_owned(), json!(["auto"]));
    }
    if let Some(extra) = job
        .pointer_mut("/properties/extra")
        .and_then(Value::as_object_mut)
    {
        extra.insert("additionalProperties".to_owned(), json!(true));
    }
    add(shapes, "Digits", parts.remove("digits").unwrap_or_default())?;
    if let Some(members) = job.as_object_mut() {
        members.insert("description".to_owned(), json!(JOB_SPEC));
    }
    add(shapes, "JobSpec", job)?;
    add(shapes, "RequestAsKept", as_kept(&request))?;
    add(shapes, "EstimateRequest", request)
}

/// A request as a draft keeps it: of a unit cost the digits alone.
fn as_kept(request: &Value) -> Value {
    let mut kept = titled(request, "Request as kept");
    for list in ["manual_lines", "overrides"] {
        let cost = kept.pointer_mut(&format!("/properties/{list}/items/properties/unit_cost"));
        let members = cost.and_then(Value::as_object_mut);
        if let Some(members) = members
            && let Some(Value::Array(mut shapes)) = members.remove("anyOf")
            && let Some(Value::Object(digits)) = shapes.pop()
        {
            members.extend(digits);
        }
    }
    kept
}

/// The shape under a title of its own, since generators of clients name what they make by it.
fn titled(shape: &Value, title: &str) -> Value {
    let mut titled = shape.clone();
    if let Some(members) = titled.as_object_mut() {
        members.insert("title".to_owned(), json!(title));
    }
    titled
}

/// The contents of drafts, whose request is an estimate request.
fn drafts(shapes: &mut Map<String, Value>) -> Result<(), ContractFault> {
    let forms = [
        ("QuoteDraft", Draft::schema()),
        ("ChangeOrderDraft", ChangeOrder::schema()),
    ];
    for (name, mut shape) in forms {
        lift(&mut shape);
        if let Some(members) = shape.as_object_mut() {
            members.remove("$schema");
            members.remove("$defs");
        }
        if let Some(request) = shape.pointer_mut("/properties/request") {
            *request = json!({"$ref": "#/components/schemas/RequestAsKept"});
            add(shapes, "QuoteContent", titled(&shape, "Contents of a quote"))?;
        }
        if let Some(request) = shape.pointer_mut("/properties/request") {
            *request = json!({"$ref": "#/components/schemas/EstimateRequest"});
        }
        add(shapes, name, shape)?;
    }
    Ok(())
}

/// The house style, by its own form.
fn house_style(shapes: &mut Map<String, Value>) -> Result<(), ContractFault> {
    let mut shape = HouseStyle::schema();
    lift(&mut shape);
    if let Some(members) = shape.as_object_mut() {
        members.remove("$schema");
        members.remove("$defs");
    }
    add(shapes, "HouseStyle", shape)
}

/// Says the same so that generators of clients read it: an object whose members nobody names may have any, where they
/// read silence as none, and a choice is one list of words.
pub fn plain(value: &mut Value) {
    match value {
        Value::Object(members) => {
            list_words(members);
            let says = ["properties", "additionalProperties", "allOf", "anyOf", "oneOf"];
            let object = members.get("type").is_some_and(|kind| kind == "object");
            if object && says.iter().all(|word| !members.contains_key(*word)) {
                members.insert("additionalProperties".to_owned(), json!(true));
            }
            // An example is an answer, and no shape.
            let shapes = members.iter_mut().filter(|(name, _)| *name != "examples");
            shapes.for_each(|(_, shape)| plain(shape));
        }
        Value::Array(items) => items.iter_mut().for_each(plain),
        _ => {}
    }
}

/// Makes one list of words of a choice that has each apart with its title; the titles go into the description.
fn list_words(shape: &mut Map<String, Value>) {
    let word = |choice: &Value| {
        let members = choice.as_object()?;
        let known = members.keys().all(|name| name == "const" || name == "title");
        let word = members.get("const")?.as_str().filter(|_| known)?;
        Some((word.to_owned(), members.get("title")?.as_str()?.to_owned()))
    };
    let choices = shape.get("oneOf").and_then(Value::as_array);
    let Some(words) = choices.and_then(|all| all.iter().map(word).collect::<Option<Vec<_>>>()) else {
        return;
    };
    let titles: Vec<String> = words
        .iter()
        .map(|(word, title)| format!("`{word}`: {title}"))
        .collect();
    let said = shape
        .get("description")
        .and_then(Value::as_str)
        .map(|said| format!("{said}\n\n"));
    let said = said.unwrap_or_default() + &titles.join("; ");
    shape.remove("oneOf");
    shape.insert("type".to_owned(), json!("string"));
    shape.insert(
        "enum".to_owned(),
        words.into_iter().map(|(word, _)| json!(word)).collect(),
    );
    shape.insert("description".to_owned(), json!(said));
}

/// Turns references into `$defs` into references to shapes of the contract.
fn lift(value: &mut Value) {
    match value {
        Value::Object(members) => {
            let target = match members.get("$ref").and_then(Value::as_str) {
                Some("#/$defs/job") => Some("#/components/schemas/JobSpec"),
                Some("#/$defs/digits") => Some("#/components/schemas/Digits"),
                _ => None,
            };
            if let Some(target) = target {
                members.insert("$ref".to_owned(), json!(target));
            }
            members.values_mut().for_each(lift);
        }
        Value::Array(items) => items.iter_mut().for_each(lift),
        _ => {}
    }
}
