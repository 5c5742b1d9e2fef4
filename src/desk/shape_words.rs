//! What keeps a text from being of a shape, in words of the office: what the library that reads it says is for programmers.

use estimate::quantity::nearest;

/// What the library asks for, by the beginning of its words, and what that is in the office's.
const ASKED_FOR: &[(&str, &str)] = &[
    ("u8", WHOLE),
    ("u16", WHOLE),
    ("u32", WHOLE),
    ("u64", WHOLE),
    ("usize", WHOLE),
    ("i32", "a whole number"),
    ("i64", "a whole number"),
    ("a nonzero", "a whole number from 1"),
    ("a boolean", "true or false"),
    ("a string", "a text"),
    ("a borrowed string", "a text"),
    ("a character", "a single character"),
    ("a sequence", "a list"),
    ("a Decimal", A_DECIMAL),
    ("a formatted date string", A_DATE),
    ("a map", "an object"),
    ("struct", "an object"),
    ("internally tagged enum", "an object"),
    ("variant identifier", "a word"),
    ("enum", "one of the words that the contract names"),
    ("string or map", "one of the words that the contract names"),
];
/// What counts in wholes.
pub const WHOLE: &str = "a whole number, 0 or more";
const A_DECIMAL: &str = "a decimal, such as \"12.5\"";
/// What a day is.
pub const A_DATE: &str = "a date such as 2026-03-01";

/// What is asked for where `said` tells that something else came.
pub fn asked_for(said: &str) -> Option<&'static str> {
    let (_, expected) = said.split_once(", expected ")?;
    let known = ASKED_FOR.iter().find(|(words, _)| expected.starts_with(words));
    known.map(|(_, words)| *words)
}

/// The first name in backticks behind these words, and those that are expected.
pub fn named<'a>(said: &'a str, words: &str) -> Option<(&'a str, Vec<&'a str>)> {
    let rest = said.strip_prefix(words)?;
    let (name, rest) = rest.strip_prefix('`')?.split_once('`')?;
    let known = rest.split('`').skip(1).step_by(2).collect();
    Some((name, known))
}

/// The sentence for a person.
pub fn plain(said: &str) -> String {
    if let Some((name, _)) = named(said, "missing field ") {
        return format!("`{name}` is missing");
    }
    if let Some((name, known)) = named(said, "unknown field ") {
        return match nearest::hint(name, known.iter().copied()) {
            hint if hint.is_empty() => {
                format!("there is no `{name}` here; {} may stand here", known.join(", "))
            }
            hint => format!("there is no `{name}` here{hint}"),
        };
    }
    if let Some((word, known)) = named(said, "unknown variant ") {
        let hint = nearest::hint(word, known.iter().copied());
        return format!("`{word}` is none of {}{hint}", known.join(", "));
    }
    let came = ["invalid type: ", "invalid value: "]
        .iter()
        .find_map(|words| said.strip_prefix(words)?.split_once(", expected "));
    match (came, asked_for(said)) {
        (Some((came, _)), Some(asked)) => format!("{} came; {asked} is asked for", thing(came)),
        _ => said.to_owned(),
    }
}

/// What came, without the library's name of its kind.
fn thing(came: &str) -> String {
    match came {
        "sequence" => "a list".to_owned(),
        "map" => "a table".to_owned(),
        _ => {
            let kinds = ["string ", "integer ", "floating point ", "boolean "];
            let value = kinds.iter().find_map(|kind| came.strip_prefix(kind));
            value.unwrap_or(came).trim_matches('`').to_owned()
        }
    }
}
