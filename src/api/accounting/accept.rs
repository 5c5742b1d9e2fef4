//! Which of several formats the caller wants: `Accept` (RFC 9110, section 12.5.1).

use actix_web::HttpRequest;
use actix_web::http::header;

use crate::api::problem::{Kind, Problem};
use crate::api::reply::{self, Reply};

/// JSON.
pub(super) const JSON: &str = "application/json";
/// XML.
pub(super) const XML: &str = "application/xml";
/// Comma-separated values.
pub(super) const CSV: &str = "text/csv";
/// The same as it is answered: with a header, in UTF-8 (RFC 4180, section 3).
const CSV_ANSWER: &str = "text/csv; charset=utf-8; header=present";

/// An answer in CSV.
pub(super) fn csv(bytes: Vec<u8>) -> Reply {
    Reply::document(bytes, CSV_ANSWER)
}

/// The answer, where `Accept` said which of several it is.
pub(super) fn varied(reply: Reply) -> Reply {
    reply.with_header(header::VARY, "Accept".to_owned())
}

/// The format that the caller likes best; the first, where nothing is said or all are liked the same.
///
/// # Errors
/// None of them is acceptable.
pub(super) fn format(request: &HttpRequest, offers: &[&'static str]) -> Result<&'static str, Problem> {
    let ranges: Vec<&str> = reply::listed(request, &header::ACCEPT)
        .filter(|range| !range.is_empty())
        .collect();
    let mut best: Option<(&'static str, u16)> = None;
    for offer in offers {
        let quality = if ranges.is_empty() {
            1_000
        } else {
            quality(&ranges, offer)
        };
        if quality > best.map_or(0, |(_, quality)| quality) {
            best = Some((offer, quality));
        }
    }
    best.map(|(offer, _)| offer).ok_or_else(|| {
        let detail = format!(
            "there is {} here, and none of them is in Accept",
            offers.join(", ")
        );
        Problem::new(Kind::NotAcceptable, detail)
    })
}

/// In thousandths, how much `offer` is liked: what the range says that names it most closely.
fn quality(ranges: &[&str], offer: &str) -> u16 {
    let kind = offer.split('/').next().unwrap_or_default();
    let told = ranges.iter().filter_map(|range| {
        let mut parts = range.split(';').map(str::trim);
        let name = parts.next().unwrap_or_default().to_ascii_lowercase();
        let closeness = if name == offer {
            2
        } else if name.strip_suffix("/*") == Some(kind) {
            1
        } else if name == "*/*" {
            0
        } else {
            return None;
        };
        let weight = parts.find_map(|part| part.strip_prefix("q=").or_else(|| part.strip_prefix("Q=")));
        Some((closeness, weight.map_or(1_000, thousandths)))
    });
    told.max().map_or(0, |(_, quality)| quality)
}

/// A weight from 0 to 1 with at most three decimals; what is none weighs nothing.
fn thousandths(weight: &str) -> u16 {
    let (whole, decimals) = weight.split_once('.').unwrap_or((weight, ""));
    let digits = decimals.len() <= 3 && decimals.bytes().all(|digit| digit.is_ascii_digit());
    match whole {
        "0" if digits => format!("{decimals:0<3}").parse().unwrap_or(0),
        "1" if digits => 1_000,
        _ => 0,
    }
}
