//! JSON as RFC 8259 has it, read strictly: a name occurs once in an object, numbers keep their digits, nothing
//! follows the value, and it is neither nested nor long without end.

use std::fmt;

use serde::de::{self, DeserializeSeed, Deserializer, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Value};

/// Most objects and lists in one another.
pub const MOST_DEEP: usize = 64;
/// Most entries of one object or list.
pub const MOST_LONG: usize = 50_000;

/// Why a text is not JSON, and where.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{message} at line {line} column {column}")]
pub struct Malformed {
    /// What is wrong.
    pub message: String,
    /// The line, from 1.
    pub line: usize,
    /// The column in bytes, from 1.
    pub column: usize,
}

impl From<serde_json::Error> for Malformed {
    fn from(fault: serde_json::Error) -> Self {
        let text = fault.to_string();
        let place = format!(" at line {} column {}", fault.line(), fault.column());
        Self {
            message: plain(text.strip_suffix(&place).unwrap_or(&text)),
            line: fault.line(),
            column: fault.column().max(1),
        }
    }
}

/// What the JSON library says, in words for a person who wrote the text.
fn plain(said: &str) -> String {
    let plain = match said {
        "expected value" => "a JSON value is expected here",
        "expected ident" => "this is no word of JSON: true, false or null",
        "key must be a string" => "the name of a member must stand in double quotes",
        "trailing comma" => "there is a comma and nothing behind it",
        "trailing characters" => "something follows behind the end of the JSON value",
        "invalid number" => "this is not a number as JSON has them",
        "control character (\\u0000-\\u001F) found while parsing a string" => {
            "a line break or another control character stands in a text; write it as \\n or the like"
        }
        "invalid escape" => "this is no escape of JSON",
        "invalid unicode code point" => "the text is not UTF-8 here",
        "unexpected end of hex escape" | "lone leading surrogate in hex escape" => {
            "this \\u escape is one half of a pair, and the other half is missing"
        }
        said if said.starts_with("EOF while parsing") => "the text ends too early: something is not closed",
        said => said,
    };
    plain.to_owned()
}

/// The byte order marks of UTF-8 and UTF-16, which RFC 8259 has no text begin with (section 8.1).
const MARKS: [&[u8]; 3] = [b"\xef\xbb\xbf", b"\xff\xfe", b"\xfe\xff"];

/// Reads one JSON value that is the whole of `bytes`.
///
/// # Errors
/// The first place at which the text is not JSON, repeats a name in an object, or is nested more than
/// [`MOST_DEEP`] levels or longer than [`MOST_LONG`] entries.
pub fn read(bytes: &[u8]) -> Result<Value, Malformed> {
    if bytes.iter().all(u8::is_ascii_whitespace) {
        return Err(Malformed {
            message: "there is nothing here, and a JSON value is wanted".to_owned(),
            line: 1,
            column: 1,
        });
    }
    if MARKS.iter().any(|mark| bytes.starts_with(mark)) {
        return Err(Malformed {
            message: "the text begins with a byte order mark; JSON is UTF-8 without one".to_owned(),
            line: 1,
            column: 1,
        });
    }
    let mut reader = serde_json::Deserializer::from_slice(bytes);
    let value = Strict { level: 0 }.deserialize(&mut reader)?;
    reader.end()?;
    Ok(value)
}

/// The name under which the JSON library hands over a number with its digits.
const NUMBER: &str = "$serde_json::private::Number";

/// Reads a value that stands in `level` objects and lists.
#[derive(Clone, Copy)]
struct Strict {
    level: usize,
}

impl Strict {
    /// What reads the entries of an object or a list that stands here.
    fn inside<E: de::Error>(self) -> Result<Self, E> {
        if self.level >= MOST_DEEP {
            return Err(E::custom(format_args!(
                "objects and lists stand in one another more than {MOST_DEEP} deep"
            )));
        }
        Ok(Self {
            level: self.level + 1,
        })
    }
}

fn not_too_long<E: de::Error>(length: usize) -> Result<(), E> {
    if length < MOST_LONG {
        return Ok(());
    }
    Err(E::custom(format_args!(
        "a list or an object has more than {MOST_LONG} entries"
    )))
}

impl<'de> DeserializeSeed<'de> for Strict {
    type Value = Value;

    fn deserialize<D: Deserializer<'de>>(self, deserializer: D) -> Result<Value, D::Error> {
        deserializer.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Strict {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
        Ok(Value::Bool(value))
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(Value::from(value))
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(Value::from(value))
    }

    fn visit_str<E>(self, value: &str) -> Result<Value, E> {
        Ok(Value::String(value.to_owned()))
    }

    fn visit_string<E>(self, value: String) -> Result<Value, E> {
        Ok(Value::String(value))
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut items: A) -> Result<Value, A::Error> {
        let (inside, mut list) = (self.inside()?, Vec::new());
        while let Some(item) = items.next_element_seed(inside)? {
            not_too_long(list.len())?;
            list.push(item);
        }
        Ok(Value::Array(list))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Value, A::Error> {
        let mut next = entries.next_key::<String>()?;
        if next.as_deref() == Some(NUMBER) {
            let digits: String = entries.next_value()?;
            return digits
                .parse()
                .map(Value::Number)
                .map_err(|_| de::Error::custom("invalid number"));
        }
        let (inside, mut object) = (self.inside()?, Map::new());
        while let Some(name) = next {
            if object.contains_key(&name) {
                return Err(de::Error::custom(format_args!(
                    "an object has the name {name:?} twice"
                )));
            }
            not_too_long(object.len())?;
            object.insert(name, entries.next_value_seed(inside)?);
            next = entries.next_key()?;
        }
        Ok(Value::Object(object))
    }
}

/// Places of one value that are named at most.
const MOST_NAMED: usize = 100;

/// The JSON pointers (RFC 6901) of every text that holds the sign U+0000, and of every object with a member whose name does.
/// It is JSON, and no text: a database may not keep it.
pub fn unkept(value: &Value) -> Vec<String> {
    let mut found = Vec::new();
    if holds_nul(value) {
        name_nul(value, String::new(), &mut found);
    }
    found
}

fn holds_nul(value: &Value) -> bool {
    match value {
        Value::String(text) => text.contains('\0'),
        Value::Array(entries) => entries.iter().any(holds_nul),
        Value::Object(members) => members
            .iter()
            .any(|(name, value)| name.contains('\0') || holds_nul(value)),
        _ => false,
    }
}

fn name_nul(value: &Value, pointer: String, found: &mut Vec<String>) {
    let under = |step: &str| format!("{pointer}/{}", step.replace('~', "~0").replace('/', "~1"));
    match value {
        _ if found.len() >= MOST_NAMED => {}
        Value::String(text) if text.contains('\0') => found.push(pointer),
        Value::Array(entries) => {
            for (place, entry) in entries.iter().enumerate() {
                name_nul(entry, under(&place.to_string()), found);
            }
        }
        Value::Object(members) => {
            if members.keys().any(|name| name.contains('\0')) {
                found.push(pointer.clone());
            }
            for (name, value) in members.iter().filter(|(name, _)| !name.contains('\0')) {
                name_nul(value, under(name), found);
            }
        }
        _ => {}
    }
}
