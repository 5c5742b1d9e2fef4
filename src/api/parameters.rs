//! The parameters of an address, held against the contract before any handler reads them: names that it does not
//! have, values of another type, and what is missing are told all at once.

use actix_web::dev::ServiceRequest;
use actix_web::web::{Data, Query};
use estimate::quantity::nearest;
use serde_json::Value;

use super::contract::Contract;
use super::problem::{Kind, Problem};

/// Characters of a faulty value that are told.
const CAME_MOST: usize = 60;

/// What is wrong with the parameters of a request.
pub fn unfit(request: &ServiceRequest) -> Option<Problem> {
    if request.uri().to_string().contains("%00") {
        // No text here has this sign, and a database may not even be asked for it.
        return Some(Problem::new(Kind::InvalidParameter, "%00 is no sign of a text"));
    }
    let contract = request.app_data::<Data<Contract>>()?;
    let (method, path) = (request.method().as_str(), request.path());
    judge(contract, method, path, request.query_string()).err()
}

/// Judges the parameters of a request that a route takes. An address or method that is not there is another's matter.
///
/// # Errors
/// Every fault, in one problem.
fn judge(contract: &Contract, method: &str, path: &str, query: &str) -> Result<(), Problem> {
    let Some((template, operation)) = contract.operation(method, path) else {
        return Ok(());
    };
    let parameters = Parameters::of(operation);
    let mut faults = Vec::new();
    for (part, came) in template.split('/').zip(path.split('/')) {
        let name = part.strip_prefix('{').and_then(|part| part.strip_suffix('}'));
        if let Some(schema) = name.and_then(|name| parameters.schema("path", name)) {
            faults.extend(of_value("the address", came, schema));
        }
    }
    let given = Query::<Vec<(String, String)>>::from_query(query).map(Query::into_inner);
    let given = given.unwrap_or_default();
    for (place, (name, came)) in given.iter().enumerate() {
        match parameters.schema("query", name) {
            None => faults.push(parameters.no_such(name)),
            Some(_) if given.iter().take(place).any(|(before, _)| before == name) => {
                faults.push(format!("{name} is given twice"));
            }
            Some(schema) => faults.extend(of_value(name, came, schema)),
        }
    }
    let missing = parameters
        .required()
        .filter(|name| given.iter().all(|(given, _)| given != name));
    faults.extend(missing.map(|name| format!("{name} is missing")));
    if faults.is_empty() {
        Ok(())
    } else {
        Err(Problem::new(Kind::InvalidParameter, faults.join("; ")))
    }
}

/// The parameters of one operation.
struct Parameters<'a> {
    all: &'a [Value],
}

impl<'a> Parameters<'a> {
    fn of(operation: &'a Value) -> Self {
        let all = operation.get("parameters").and_then(Value::as_array);
        Self {
            all: all.map_or(&[], Vec::as_slice),
        }
    }

    fn within(&self, place: &'a str) -> impl Iterator<Item = (&'a str, &'a Value)> {
        self.all
            .iter()
            .filter(move |parameter| parameter.get("in").is_some_and(|within| within == place))
            .filter_map(|parameter| Some((parameter.get("name")?.as_str()?, parameter)))
    }

    fn schema(&self, place: &'static str, name: &str) -> Option<&'a Value> {
        let mut found = self.within(place);
        found.find(|(known, _)| *known == name)?.1.get("schema")
    }

    fn required(&self) -> impl Iterator<Item = &'a str> {
        let needed = |(_, parameter): &(&str, &Value)| parameter.get("required") == Some(&Value::Bool(true));
        self.within("query").filter(needed).map(|(name, _)| name)
    }

    fn no_such(&self, name: &str) -> String {
        let known: Vec<&str> = self.within("query").map(|(known, _)| known).collect();
        let allowed = match known.as_slice() {
            [] => "it takes none".to_owned(),
            known => format!("it takes {}", known.join(", ")),
        };
        let hint = nearest::hint(name, known.iter().copied());
        format!(
            "this address has no parameter {}{hint} ({allowed})",
            shortened(name)
        )
    }
}

/// What is wrong with a value; texts are judged by who reads them.
fn of_value(name: &str, came: &str, schema: &Value) -> Option<String> {
    let bound = |which: &str| schema.get(which).and_then(Value::as_i64);
    let allowed = match schema.get("type")?.as_str()? {
        "boolean" if !matches!(came, "true" | "false") => "true or false".to_owned(),
        "integer" => {
            let (least, most) = (
                bound("minimum").unwrap_or(0),
                bound("maximum").unwrap_or(i64::from(u32::MAX)),
            );
            let within = |number: i64| (least..=most).contains(&number);
            // One number has one spelling: 01 and +1 are others.
            let plain = |number: &i64| number.to_string() == came;
            if came.parse().ok().filter(plain).is_some_and(within) {
                return None;
            }
            format!("a whole number from {least} to {most}")
        }
        "string" => {
            let words = schema.get("enum")?.as_array()?;
            let words: Vec<&str> = words.iter().filter_map(Value::as_str).collect();
            if words.contains(&came) {
                return None;
            }
            format!("one of {}", words.join(", "))
        }
        _ => return None,
    };
    Some(format!("{name} is {}; {allowed} is asked for", shortened(came)))
}

fn shortened(text: &str) -> String {
    let short: String = text
        .chars()
        .take(CAME_MOST)
        .flat_map(char::escape_debug)
        .collect();
    let more = if text.chars().nth(CAME_MOST).is_some() {
        "…"
    } else {
        ""
    };
    format!("\"{short}{more}\"")
}
