//! Answers made smaller for the way (gzip), for callers on a telephone. A tiny answer fits one packet as it is.

use std::borrow::Cow;
use std::io::{self, Write};

use actix_web::HttpRequest;
use actix_web::http::header;
use flate2::Compression;
use flate2::write::GzEncoder;

use super::reply::listed;

/// Bytes up to which an answer goes as it is.
const TINY: usize = 1_400;
/// How the tag of a packed answer ends: it is another sequence of bytes, so it has another strong tag (RFC 9110, section
/// 8.8.3.3).
const ENDING: &str = "-gzip\"";
/// What is small already.
const PACKED_KINDS: [&str; 4] = [
    "application/pdf",
    "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "image/png",
    "image/jpeg",
];

/// Whether an answer of this kind and length is made smaller where the caller takes that.
pub fn is_worth_it(media_type: &str, length: usize) -> bool {
    length > TINY && !PACKED_KINDS.contains(&media_type)
}

/// Whether the caller takes gzip (RFC 9110, section 12.5.3).
pub fn is_taken(request: &HttpRequest) -> bool {
    let mut any = false;
    for one in listed(request, &header::ACCEPT_ENCODING) {
        let (name, weight) = one.split_once(';').unwrap_or((one, "q=1"));
        let weight = weight.trim().trim_start_matches("q=").trim_start_matches("Q=");
        let wanted = !weight.trim_matches(['0', '.']).is_empty();
        match name.trim().to_ascii_lowercase().as_str() {
            "gzip" | "x-gzip" => return wanted,
            "*" => any = wanted,
            _ => {}
        }
    }
    any
}

/// The bytes, made smaller.
pub fn pack(bytes: &[u8]) -> io::Result<Vec<u8>> {
    let mut packed = GzEncoder::new(Vec::new(), Compression::fast());
    packed.write_all(bytes)?;
    packed.finish()
}

/// The tag of the packed answer.
pub fn tag_of_packed(tag: &str) -> String {
    match tag.strip_suffix('"') {
        Some(inner) => format!("{inner}{ENDING}"),
        None => tag.to_owned(),
    }
}

/// The tag of what was packed, where it is one of a packed answer.
pub fn tag_of_unpacked(tag: &str) -> Cow<'_, str> {
    match tag.strip_suffix(ENDING) {
        Some(inner) => Cow::Owned(format!("{inner}\"")),
        None => Cow::Borrowed(tag),
    }
}
