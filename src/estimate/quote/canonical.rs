//! Canonical JSON (RFC 8785) and the digest of what is stored.
//!
//! Documents here hold decimals as text; the only JSON numbers are whole and small enough that every reader
//! takes them exactly. Any other number is refused, so no figure ever passes through a binary float on its
//! way into a record.

use std::cmp::Ordering;
use std::fmt;
use std::fmt::Write as _;

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use serde_json::Value;
use sha2::{Digest as _, Sha256};
use thiserror::Error;

/// The greatest whole number that a binary float holds exactly with all below it: 2^53 − 1 (RFC 8785, 3.2.2.3,
/// by way of RFC 7493, 2.2).
pub const MOST_EXACT: i64 = 9_007_199_254_740_991;
/// Deepest nesting that is written.
const MOST_DEEP: usize = 128;

/// Why a value has no canonical form here.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum CanonicalFault {
    /// A number that is not whole, or too large to be exact everywhere.
    #[error(
        "{pointer} is the number {number}; only whole numbers up to {MOST_EXACT} are kept, others as text"
    )]
    Number {
        /// Where, as a JSON Pointer.
        pointer: String,
        /// Its digits.
        number: String,
    },
    /// Nested too deep.
    #[error("the document is nested more than {MOST_DEEP} deep")]
    TooDeep,
    /// A value that is no JSON, such as a map with keys that are not texts.
    #[error("the document is not JSON: {0}")]
    NotJson(String),
}

/// A document in its one form of bytes, and the digest of them. Made once, kept as it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Frozen {
    bytes: Vec<u8>,
    digest: Digest,
}

impl Frozen {
    /// The canonical form of `document`.
    ///
    /// # Errors
    /// It holds a number that is not whole, or is nested too deep.
    pub fn of(document: &(impl Serialize + ?Sized)) -> Result<Self, CanonicalFault> {
        let tree =
            serde_json::to_value(document).map_err(|fault| CanonicalFault::NotJson(fault.to_string()))?;
        Ok(Self::made(text(&tree)?))
    }

    /// The canonical form of `document`, an object, with `part` as its member `name`: a long part is not made anew for it.
    ///
    /// # Errors
    /// As [`Frozen::of`], or the document is no object.
    pub fn with(document: &impl Serialize, name: &str, part: &Value) -> Result<Self, CanonicalFault> {
        let tree =
            serde_json::to_value(document).map_err(|fault| CanonicalFault::NotJson(fault.to_string()))?;
        let members = tree
            .as_object()
            .ok_or_else(|| CanonicalFault::NotJson("it is no object".to_owned()))?;
        let others = members.iter().filter(|(member, _)| *member != name);
        let mut all: Vec<(&str, &Value)> = others.map(|(member, value)| (member.as_str(), value)).collect();
        all.push((name, part));
        let mut writer = Writer::default();
        writer.object(all)?;
        Ok(Self::made(writer.out))
    }

    fn made(text: String) -> Self {
        let bytes = text.into_bytes();
        let digest = Digest::of(&bytes);
        Self { bytes, digest }
    }

    /// The bytes to store: canonical JSON in UTF-8.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// The digest of [`Frozen::bytes`].
    pub fn digest(&self) -> Digest {
        self.digest
    }

    /// The bytes, to keep.
    pub fn into_bytes(self) -> Vec<u8> {
        self.bytes
    }
}

/// `value` as canonical JSON: members sorted by the UTF-16 units of their names, no white space, the shortest
/// escapes.
///
/// # Errors
/// As [`Frozen::of`].
pub fn text(value: &Value) -> Result<String, CanonicalFault> {
    let mut writer = Writer::default();
    writer.value(value)?;
    Ok(writer.out)
}

enum Step<'v> {
    Member(&'v str),
    Entry(usize),
}

#[derive(Default)]
struct Writer<'v> {
    out: String,
    path: Vec<Step<'v>>,
}

impl<'v> Writer<'v> {
    fn value(&mut self, value: &'v Value) -> Result<(), CanonicalFault> {
        match value {
            Value::Null => self.out.push_str("null"),
            Value::Bool(true) => self.out.push_str("true"),
            Value::Bool(false) => self.out.push_str("false"),
            Value::Number(number) => {
                let whole = number
                    .as_i64()
                    .filter(|whole| (-MOST_EXACT..=MOST_EXACT).contains(whole));
                let whole = whole.ok_or_else(|| CanonicalFault::Number {
                    pointer: self.pointer(),
                    number: number.to_string(),
                })?;
                self.out.push_str(&whole.to_string());
            }
            Value::String(string) => self.string(string),
            Value::Array(entries) => self.array(entries)?,
            Value::Object(members) => self.object(
                members
                    .iter()
                    .map(|(name, value)| (name.as_str(), value))
                    .collect(),
            )?,
        }
        Ok(())
    }

    fn down(&mut self, step: Step<'v>, value: &'v Value) -> Result<(), CanonicalFault> {
        if self.path.len() >= MOST_DEEP {
            return Err(CanonicalFault::TooDeep);
        }
        self.path.push(step);
        self.value(value)?;
        self.path.pop();
        Ok(())
    }

    fn array(&mut self, entries: &'v [Value]) -> Result<(), CanonicalFault> {
        self.out.push('[');
        for (index, entry) in entries.iter().enumerate() {
            if index > 0 {
                self.out.push(',');
            }
            self.down(Step::Entry(index), entry)?;
        }
        self.out.push(']');
        Ok(())
    }

    fn object(&mut self, mut members: Vec<(&'v str, &'v Value)>) -> Result<(), CanonicalFault> {
        members.sort_by(|(one, _), (other, _)| by_utf16(one, other));
        self.out.push('{');
        for (index, (name, value)) in members.into_iter().enumerate() {
            if index > 0 {
                self.out.push(',');
            }
            self.string(name);
            self.out.push(':');
            self.down(Step::Member(name), value)?;
        }
        self.out.push('}');
        Ok(())
    }

    /// RFC 8785, 3.2.2.2: two-sign escapes where JSON has them, `\u00xx` for the other control characters.
    fn string(&mut self, string: &str) {
        self.out.push('"');
        if string
            .bytes()
            .all(|byte| byte >= b' ' && byte != b'"' && byte != b'\\')
        {
            self.out.push_str(string);
            self.out.push('"');
            return;
        }
        for sign in string.chars() {
            match sign {
                '"' => self.out.push_str("\\\""),
                '\\' => self.out.push_str("\\\\"),
                '\u{8}' => self.out.push_str("\\b"),
                '\t' => self.out.push_str("\\t"),
                '\n' => self.out.push_str("\\n"),
                '\u{c}' => self.out.push_str("\\f"),
                '\r' => self.out.push_str("\\r"),
                control if control < ' ' => {
                    // Writing to a String cannot fail.
                    let _ = write!(self.out, "\\u{:04x}", u32::from(control));
                }
                plain => self.out.push(plain),
            }
        }
        self.out.push('"');
    }

    fn pointer(&self) -> String {
        let mut pointer = String::new();
        for step in &self.path {
            pointer.push('/');
            match step {
                Step::Member(name) => pointer.push_str(&super::pointer::escape(name)),
                Step::Entry(index) => pointer.push_str(&index.to_string()),
            }
        }
        pointer
    }
}

/// The order of two names by their UTF-16 units. In ASCII it is that of the bytes, and quicker told.
fn by_utf16(one: &str, other: &str) -> Ordering {
    if one.is_ascii() && other.is_ascii() {
        return one.cmp(other);
    }
    one.encode_utf16().cmp(other.encode_utf16())
}

/// SHA-256 of stored bytes. Written as 64 lower-case hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Digest([u8; 32]);

/// The text is not 64 lower-case hexadecimal digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("a digest has 64 lower-case hexadecimal digits")]
pub struct NotADigest;

impl Digest {
    /// The digest of `bytes`.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// Reads 64 lower-case hexadecimal digits.
    ///
    /// # Errors
    /// The text is something else.
    pub fn parse(text: &str) -> Result<Self, NotADigest> {
        if text.len() != 64 || !text.bytes().all(|b| matches!(b, b'0'..=b'9' | b'a'..=b'f')) {
            return Err(NotADigest);
        }
        let mut read = [0_u8; 32];
        for (byte, pair) in read.iter_mut().zip(text.as_bytes().chunks_exact(2)) {
            let pair = std::str::from_utf8(pair).map_err(|_| NotADigest)?;
            *byte = u8::from_str_radix(pair, 16).map_err(|_| NotADigest)?;
        }
        Ok(Self(read))
    }
}

impl fmt::Display for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.iter().try_for_each(|byte| write!(f, "{byte:02x}"))
    }
}

impl fmt::Debug for Digest {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl Serialize for Digest {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Digest {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        Self::parse(&String::deserialize(deserializer)?).map_err(de::Error::custom)
    }
}
