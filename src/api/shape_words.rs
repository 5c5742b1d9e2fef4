//! What keeps a body from being of a shape, in words of the office: what the library that reads it says is for
//! programmers.

use estimate::quantity::nearest;
use serde_json::Value;

use super::problem::InputError;
use crate::desk::shape_words::{A_DATE, WHOLE, asked_for, named};

/// Characters of a faulty value that are told.
const CAME_MOST: usize = 60;

/// What is said of texts that are no date.
const NO_DATE: [&str; 5] = [
    "premature end of input",
    "input contains invalid characters",
    "input is out of range",
    "trailing input",
    "no possible date and time matching input",
];

/// A fault at `pointer` of `body`, from what the library says of it.
pub(super) fn fault(body: &Value, pointer: String, said: &str) -> InputError {
    let came = body.pointer(&pointer).map(short);
    if let Some((name, known)) = named(said, "unknown field ") {
        return unknown_field(pointer, name, &known);
    }
    if let Some((name, known)) = named(said, "unknown variant ") {
        return unknown_word(pointer, name, &known);
    }
    if let Some((name, _)) = named(said, "missing field ") {
        return InputError {
            pointer: format!("{pointer}/{}", name.replace('~', "~0").replace('/', "~1")),
            code: "missing".to_owned(),
            came: None,
            allowed: None,
            message: format!("`{name}` is missing"),
        };
    }
    let too_large = || {
        body.pointer(&pointer)
            .is_some_and(|value| value.as_u64() > Some(u64::from(u32::MAX)))
    };
    let asked = if said == "invalid number" {
        Some(if too_large() {
            "a smaller whole number"
        } else {
            WHOLE
        })
    } else if NO_DATE.iter().any(|words| said.starts_with(words)) {
        Some(A_DATE)
    } else if ["invalid type: ", "invalid value: ", "invalid length "]
        .iter()
        .any(|words| said.starts_with(words))
    {
        Some(asked_for(said).unwrap_or("something else"))
    } else {
        None
    };
    InputError {
        pointer,
        code: "not_allowed".to_owned(),
        message: match (&came, asked) {
            (Some(came), Some(asked)) => format!("{came} came; {asked} is asked for"),
            (None, Some(asked)) => format!("{asked} is asked for"),
            // The office's own types say it in its words.
            (_, None) => said.to_owned(),
        },
        came,
        allowed: asked.map(str::to_owned),
    }
}

fn unknown_field(pointer: String, name: &str, known: &[&str]) -> InputError {
    // Some readers point at the object, some at the member.
    let step = format!("/{}", name.replace('~', "~0").replace('/', "~1"));
    let pointer = if pointer.ends_with(&step) {
        pointer
    } else {
        pointer + &step
    };
    let allowed = known.join(", ");
    let hint = nearest::hint(name, known.iter().copied());
    InputError {
        pointer,
        code: "unknown_field".to_owned(),
        came: None,
        message: match hint.is_empty() {
            true => format!("there is no `{name}` here; {allowed} may stand here"),
            false => format!("there is no `{name}` here{hint}"),
        },
        allowed: Some(format!("one of {allowed}")),
    }
}

fn unknown_word(pointer: String, word: &str, known: &[&str]) -> InputError {
    let allowed = known.join(", ");
    let hint = nearest::hint(word, known.iter().copied());
    InputError {
        pointer,
        code: "not_allowed".to_owned(),
        came: Some(short(&Value::from(word))),
        message: format!("`{word}` is none of {allowed}{hint}"),
        allowed: Some(format!("one of {allowed}")),
    }
}

fn short(value: &Value) -> String {
    value.to_string().chars().take(CAME_MOST).collect()
}
