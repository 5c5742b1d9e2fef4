//! Bodies about customers, sites and quotes, read from JSON with every fault told at once.

use estimate::quote::country::is_country;
use estimate::quote::life::State;
use serde_json::{Map, Value, json};
use uuid::{Uuid, Variant};

use super::input::{Members, is_line, is_paragraph, iso_date};
use super::limits::{ADDRESS_LINES, CHOSEN, LINE, PARAGRAPH};
use super::problem::{InputError, Kind, Problem};
use crate::desk::{DeskFault, NewQuote, QuoteQuery, WordOfCustomer, kept_key};
use crate::store::PartyKind;

type Errors = Vec<InputError>;

fn line(value: &Value) -> Option<&str> {
    value.as_str().filter(|text| is_line(text, LINE))
}

fn paragraph(value: &Value) -> Option<&str> {
    value.as_str().filter(|text| is_paragraph(text, PARAGRAPH))
}

const A_LINE: &str = "a text of 1 to 200 characters without control characters";
const A_PARAGRAPH: &str =
    "a text of 1 to 2000 characters without control characters but line breaks and tabs";
const A_KEY: &str = "a UUID of version 7 in its usual spelling, 36 digits and hyphens";

/// A key that the caller made: UUID version 7 with hyphens, in letters of either case (RFC 9562, section 4); it is kept in
/// lower case.
fn own_key(value: &Value) -> Option<String> {
    let text = value.as_str()?;
    let uuid = Uuid::try_parse(text).ok()?;
    let sound = uuid.get_version_num() == 7 && uuid.get_variant() == Variant::RFC4122;
    let plain = uuid.to_string();
    (sound && plain.eq_ignore_ascii_case(text)).then_some(plain)
}

/// The key of something that is there, as it is kept.
fn key(value: &Value) -> Option<String> {
    line(value).map(kept_key)
}

fn address(value: &Value) -> Option<Value> {
    let members = value.as_object()?;
    let lines = members.get("lines")?.as_array()?;
    let sound = (1..=ADDRESS_LINES).contains(&lines.len()) && lines.iter().all(|one| line(one).is_some());
    let country = members.get("country");
    let assigned = |country: &Value| country.as_str().is_some_and(is_country);
    let known = members.keys().all(|name| name == "lines" || name == "country");
    (sound && known && country.is_none_or(assigned)).then(|| value.clone())
}

/// A customer or a site: the caller's own key, and the document.
///
/// # Errors
/// Every fault of the body.
pub fn party(kind: PartyKind, value: &Value, with_key: bool) -> Result<(Option<String>, Value), Errors> {
    let mut members = Members::of(value);
    let mut body = Map::new();
    let id = if with_key {
        members.maybe("id", A_KEY, own_key)
    } else {
        None
    };
    let mut put = |name: &str, value: Option<Value>| {
        if let Some(value) = value {
            body.insert(name.to_owned(), value);
        }
    };
    if kind == PartyKind::Site {
        put(
            "customer",
            members
                .take("customer", "the key of a customer", key)
                .map(|id| json!(id)),
        );
    }
    put("name", members.take("name", A_LINE, line).map(|text| json!(text)));
    if kind == PartyKind::Customer {
        for name in ["contact", "mail", "telephone"] {
            put(name, members.maybe(name, A_LINE, line).map(|text| json!(text)));
        }
    }
    let allowed = "an object with lines, 1 to 6 texts, and perhaps a country by its two letters in ISO 3166-1, such as US";
    put("address", members.take("address", allowed, address));
    match members.finish() {
        errors if errors.is_empty() => Ok((id, Value::Object(body))),
        errors => Err(errors),
    }
}

/// A survey: the caller's own key, and the document. The job in it may be anything; it is judged later.
///
/// # Errors
/// Every fault of the body around the job.
pub fn survey(value: &Value, with_key: bool) -> Result<(Option<String>, Value), Errors> {
    let mut members = Members::of(value);
    let id = match with_key {
        true => members.maybe("id", A_KEY, own_key),
        false => None,
    };
    let site = members.maybe("site", "the key of a site", key);
    let job = members.take("job", "the job spec, as far as it goes", |value| {
        value.is_object().then_some(value)
    });
    let errors = members.finish();
    let (Some(job), true) = (job, errors.is_empty()) else {
        return Err(errors);
    };
    let mut body = Map::new();
    if let Some(site) = site {
        body.insert("site".to_owned(), json!(site));
    }
    body.insert("job".to_owned(), job.clone());
    Ok((id, Value::Object(body)))
}

/// Whether something is put away.
///
/// # Errors
/// Another shape.
pub fn archived(value: &Value) -> Result<bool, Errors> {
    let mut members = Members::of(value);
    let archived = members.take("archived", "true or false", Value::as_bool);
    match (archived, members.finish()) {
        (Some(archived), errors) if errors.is_empty() => Ok(archived),
        (_, errors) => Err(errors),
    }
}

/// The pattern of quote numbers. Its places are judged later.
///
/// # Errors
/// Another shape.
pub fn quote_numbers(value: &Value) -> Result<String, Errors> {
    let mut members = Members::of(value);
    let pattern = members.take("pattern", "a text such as {year}-{counter:5}", line);
    match (pattern, members.finish()) {
        (Some(pattern), errors) if errors.is_empty() => Ok(pattern.to_owned()),
        (_, errors) => Err(errors),
    }
}

/// A quote to be made. Its draft is judged later.
///
/// # Errors
/// Every fault of the body around the draft.
pub fn new_quote(value: &Value) -> Result<NewQuote, Errors> {
    let mut members = Members::of(value);
    let id = members.maybe("id", A_KEY, own_key);
    let customer = members.take("customer", "the key of a customer", key);
    let site = members.take("site", "the key of a site", key);
    let survey = members.maybe("survey", "the key of a survey", key);
    let draft = members.take("draft", "the content of the draft", |value| {
        value.is_object().then_some(value)
    });
    let errors = members.finish();
    match (customer, site, draft) {
        (Some(customer), Some(site), Some(draft)) if errors.is_empty() => Ok(NewQuote {
            id,
            customer,
            site,
            survey,
            draft: draft.clone(),
        }),
        _ => Err(errors),
    }
}

fn number(value: &Value) -> Option<u32> {
    value.as_u64().and_then(|number| u32::try_from(number).ok())
}

const A_REVISION: &str = "the number of a revision";

/// The revision whose content a further one begins with.
///
/// # Errors
/// Another shape.
pub fn from_revision(value: &Value) -> Result<u32, Errors> {
    let mut members = Members::of(value);
    let from = members.take("from", A_REVISION, number);
    match (from, members.finish()) {
        (Some(from), errors) if errors.is_empty() => Ok(from),
        (_, errors) => Err(errors),
    }
}

/// A move: of which revision, and why; with the word `note` where it is an approval.
///
/// # Errors
/// Every fault of the body.
pub fn moved(value: &Value, why: &'static str) -> Result<(u32, Option<String>), Errors> {
    let mut members = Members::of(value);
    let revision = members.take("revision", A_REVISION, number);
    let reason = members.maybe(why, A_PARAGRAPH, paragraph);
    match (revision, members.finish()) {
        (Some(revision), errors) if errors.is_empty() => Ok((revision, reason.map(str::to_owned))),
        (_, errors) => Err(errors),
    }
}

/// The customer's word: of which revision, what they chose, and a remark.
///
/// # Errors
/// Every fault of the body.
pub fn acceptance(value: &Value) -> Result<(u32, WordOfCustomer, Option<String>), Errors> {
    let mut members = Members::of(value);
    let revision = members.take("revision", A_REVISION, number);
    let by = members.take("accepted_by", A_LINE, line);
    let reference = members.maybe("reference", A_LINE, line);
    let alternates = members.maybe("alternates", "names of alternates, at most 20", |value| {
        let names = value.as_array().filter(|names| names.len() <= CHOSEN)?;
        names
            .iter()
            .map(|name| line(name).map(str::to_owned))
            .collect::<Option<Vec<_>>>()
    });
    let reason = members.maybe("reason", A_PARAGRAPH, paragraph);
    let errors = members.finish();
    match (revision, by) {
        (Some(revision), Some(by)) if errors.is_empty() => {
            let word = WordOfCustomer {
                accepted_by: by.to_owned(),
                reference: reference.map(str::to_owned),
                alternates: alternates.unwrap_or_default(),
            };
            Ok((revision, word, reason.map(str::to_owned)))
        }
        _ => Err(errors),
    }
}

/// What a list of quotes is asked for, as texts.
#[derive(Debug, serde::Deserialize, utoipa::IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct QuoteListQuery {
    /// Rows on a page: 1 to 500, 50 when nothing is said.
    #[param(minimum = 1, maximum = 500, default = 50)]
    pub limit: Option<i64>,
    /// The place after which the page begins: the `next` of the page before.
    after: Option<String>,
    /// The state now: draft, issued, accepted, declined, withdrawn, expired or superseded.
    state: Option<String>,
    /// The key of a customer.
    customer: Option<String>,
    /// The key of a survey: quotes that come from it.
    survey: Option<String>,
    /// A number, as it is printed.
    number: Option<String>,
    /// Made on this day or later.
    #[param(format = "date")]
    from: Option<String>,
    /// Made on this day or earlier.
    #[param(format = "date")]
    to: Option<String>,
    /// A text that occurs in number, title, customer or site; letters of either case.
    text: Option<String>,
    /// Those that are put away instead of the others.
    #[serde(default)]
    #[param(default = false)]
    archived: bool,
}

fn bad(name: &str, allowed: &str) -> Problem {
    Problem::new(Kind::InvalidParameter, format!("{name}: {allowed} is asked for"))
}

/// Rows on a page, once it is within bounds.
///
/// # Errors
/// It is not.
pub fn limit(given: Option<i64>) -> Result<i64, Problem> {
    let usual = i64::try_from(super::page::USUAL).unwrap_or(i64::MAX);
    let most = i64::try_from(super::page::MOST).unwrap_or(i64::MAX);
    let limit = given.unwrap_or(usual);
    if (1..=most).contains(&limit) {
        return Ok(limit);
    }
    Err(bad("limit", &format!("1 to {most}")))
}

impl QuoteListQuery {
    /// The query that is meant.
    ///
    /// # Errors
    /// The first parameter that cannot be read.
    pub fn read(&self) -> Result<QuoteQuery, Problem> {
        let day = |name: &str, text: &Option<String>| match text {
            None => Ok(None),
            Some(text) => iso_date(text)
                .map(Some)
                .ok_or_else(|| bad(name, "a date such as 2031-03-04")),
        };
        let place = |text: &String| {
            let (year, counter) = text.split_once('.')?;
            Some((year.parse().ok()?, counter.parse().ok()?))
        };
        let (from, to) = (day("from", &self.from)?, day("to", &self.to)?);
        if let (Some(from), Some(to)) = (from, to)
            && from > to
        {
            return Err(DeskFault::Period { from, to }.into());
        }
        let state = |word: &String| State::of_word(word).ok_or_else(|| bad("state", "a state of a revision"));
        Ok(QuoteQuery {
            after: self
                .after
                .as_ref()
                .map(|text| place(text).ok_or_else(|| bad("after", "the next of the page before")))
                .transpose()?,
            limit: limit(self.limit)?,
            state: self.state.as_ref().map(state).transpose()?,
            customer: self.customer.as_deref().map(kept_key),
            survey: self.survey.as_deref().map(kept_key),
            number: self.number.clone(),
            from,
            to,
            text: self.text.clone(),
            archived: self.archived,
        })
    }
}
