//! The table in the contract: each operation says who may do it, what it takes to come in, and what the field sees.

use serde_json::{Map, Value, json};

use super::table::{ROWS, Row, Who};
use super::view::{Shape, View};
use crate::api::contract::ContractFault;

/// The name of the way in, in the contract.
const SCHEME: &str = "bearer";

/// Puts into the contract what the table says.
///
/// # Errors
/// An operation has no row, or a row has no operation.
pub fn describe(document: &mut Value) -> Result<(), ContractFault> {
    held_against_the_table(document)?;
    let mut components = document
        .get_mut("components")
        .and_then(|components| components.get_mut("schemas"))
        .and_then(Value::as_object_mut)
        .map(std::mem::take)
        .ok_or(ContractFault::NoSchemas)?;
    for row in ROWS {
        let place = [row.path, &row.method.to_ascii_lowercase()]
            .map(|part| part.replace('~', "~0").replace('/', "~1"))
            .join("/");
        if let Some(Value::Object(operation)) = document.pointer_mut(&format!("/paths/{place}")) {
            describe_one(row, operation, &mut components);
        }
    }
    components.sort_keys();
    if let Some(all) = document.get_mut("components").and_then(Value::as_object_mut) {
        let scheme = json!({
            "type": "http",
            "scheme": SCHEME,
            "description": "An access key, or a token (JWT) of the identity provider that the service is set up for.",
        });
        all.insert("schemas".to_owned(), Value::Object(components));
        all.insert("securitySchemes".to_owned(), json!({SCHEME: scheme}));
    }
    Ok(())
}

/// Every operation has a row of its name, and every row an operation.
fn held_against_the_table(document: &Value) -> Result<(), ContractFault> {
    let mut open: Vec<&Row> = ROWS.iter().collect();
    let paths = document.get("paths").and_then(Value::as_object);
    for (path, item) in paths.into_iter().flatten() {
        for (method, operation) in item.as_object().into_iter().flatten() {
            let name = operation.get("operationId").and_then(Value::as_str);
            let own = |row: &&Row| {
                row.path == path && row.method.eq_ignore_ascii_case(method) && Some(row.operation) == name
            };
            let place = open.iter().position(own);
            let place = place
                .ok_or_else(|| ContractFault::NobodyMay(format!("{} {path}", method.to_ascii_uppercase())))?;
            open.remove(place);
        }
    }
    match open.first() {
        None => Ok(()),
        Some(row) => Err(ContractFault::NoOperation(row.operation)),
    }
}

fn problem(description: &str) -> Value {
    json!({
        "description": description,
        "content": {"application/problem+json": {"schema": {"$ref": "#/components/schemas/Problem"}}},
    })
}

fn describe_one(row: &Row, operation: &mut Map<String, Value>, components: &mut Map<String, Value>) {
    let Who::Roles(_) = row.who else {
        operation.insert("security".to_owned(), json!([]));
        if let Some(Value::Object(responses)) = operation.get_mut("responses").filter(|_| row.is_counted()) {
            responses.insert("429".to_owned(), problem("The caller's address asks too often"));
            responses.sort_keys();
        }
        return;
    };
    operation.insert("security".to_owned(), json!([{SCHEME: []}]));
    operation.insert("x-roles".to_owned(), json!(row.roles()));
    let told = format!("For the roles {}.", row.roles().join(", "));
    let text = operation.get("description").and_then(Value::as_str);
    let text = text.map_or_else(|| told.clone(), |text| format!("{}\n\n{told}", text.trim_end()));
    operation.insert("description".to_owned(), json!(text));
    if row.writes {
        let person = json!({
            "name": "Acting-Person",
            "in": "header",
            "description": "Name of the person who acts: needed with an application's key, and taken from the key of a person",
            "required": false,
            "schema": {"type": "string", "minLength": 1, "maxLength": 100},
        });
        let parameters = operation.entry("parameters").or_insert_with(|| json!([]));
        if let Some(parameters) = parameters.as_array_mut() {
            parameters.push(person);
        }
    }
    let Some(responses) = operation.get_mut("responses").and_then(Value::as_object_mut) else {
        return;
    };
    let mut nobody = problem("Nobody is let in by what was presented");
    if let Some(members) = nobody.as_object_mut() {
        let header =
            json!({"WWW-Authenticate": {"description": "How to come in", "schema": {"type": "string"}}});
        members.insert("headers".to_owned(), header);
    }
    responses.insert("401".to_owned(), nobody);
    responses.insert("403".to_owned(), problem("It is not for the caller's role"));
    responses.insert("429".to_owned(), problem("The caller asks too often"));
    if let View::Part(shape) = row.view {
        seen_by_the_field(shape, responses, components);
    }
    responses.sort_keys();
}

/// The answer is one of two shapes: whole, or as the field sees it.
fn seen_by_the_field(shape: &Shape, responses: &mut Map<String, Value>, components: &mut Map<String, Value>) {
    let whole = responses
        .get_mut("200")
        .and_then(|answer| answer.pointer_mut("/content/application~1json/schema"));
    if let Some(whole) = whole {
        let part = shape.schema(whole, components);
        *whole = json!({"anyOf": [whole.clone(), part]});
    }
}
