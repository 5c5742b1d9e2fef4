//! The caller's trace (W3C Trace Context): read into the log, so that an entry is found from theirs.

use actix_web::http::header::HeaderMap;

const TRACE_PARENT: &str = "traceparent";

/// The trace that a request belongs to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trace {
    /// The trace: 32 digits.
    pub id: String,
    /// The caller's step in it: 16 digits.
    pub parent: String,
}

impl Trace {
    /// What the header says. One that is not as the recommendation has it counts as none.
    pub fn of(headers: &HeaderMap) -> Option<Self> {
        let mut said = headers.get_all(TRACE_PARENT);
        let text = said.next()?.to_str().ok()?;
        if said.next().is_some() {
            return None;
        }
        let mut parts = text.split('-');
        let (version, id, parent, flags) = (parts.next()?, parts.next()?, parts.next()?, parts.next()?);
        // Versions to come may add parts behind these four.
        let is_whole = version != "00" || parts.next().is_none();
        let fits = digits(version, 2) && digits(id, 32) && digits(parent, 16) && digits(flags, 2);
        let something = |text: &str| text.bytes().any(|byte| byte != b'0');
        let counts = is_whole && fits && version != "ff" && something(id) && something(parent);
        counts.then(|| Self {
            id: id.to_owned(),
            parent: parent.to_owned(),
        })
    }
}

/// Whether it is so many hexadecimal digits in small letters.
fn digits(text: &str, count: usize) -> bool {
    let digit = |byte: u8| byte.is_ascii_digit() || (b'a'..=b'f').contains(&byte);
    text.len() == count && text.bytes().all(digit)
}
