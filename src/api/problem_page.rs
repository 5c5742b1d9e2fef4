//! The page of each kind of problem: how it comes about, and what to do.

use actix_web::http::header;
use actix_web::{HttpRequest, HttpResponse, get};
use serde::Serialize;
use utoipa::ToSchema;

use super::problem::{Body, Kind, Problem};
use super::reply::{self, Reply};

/// A kind of problem.
#[derive(Serialize, ToSchema)]
#[schema(as = ProblemKind)]
struct KindView {
    /// Its name, the last part of a problem's `type`.
    name: &'static str,
    /// The HTTP status that goes with it.
    status: u16,
    /// The kind in words.
    title: &'static str,
    /// How it comes about.
    cause: &'static str,
    /// What to do.
    cure: &'static str,
}

impl From<Kind> for KindView {
    fn from(kind: Kind) -> Self {
        let (status, name, title) = kind.row();
        let (cause, cure) = cause_and_cure(kind);
        Self {
            name,
            status: status.as_u16(),
            title,
            cause,
            cure,
        }
    }
}

/// How a kind comes about, and what to do.
fn cause_and_cure(kind: Kind) -> (&'static str, &'static str) {
    of_the_request(kind)
        .or_else(|| of_what_is_asked(kind))
        .or_else(|| of_what_stands(kind))
        .unwrap_or_else(|| of_the_service(kind))
}

/// What came cannot be read, or comes from nobody who may send it.
fn of_the_request(kind: Kind) -> Option<(&'static str, &'static str)> {
    Some(match kind {
        Kind::MalformedRequest => (
            "What came is not HTTP/1.1: its first line or a header is broken, there is no Host, or the length of the body is \
             told twice or not at all. The connection is closed.",
            "Look at what the client, or a proxy between, really sends; a general HTTP client does not send such.",
        ),
        Kind::MalformedBody => (
            "The body is not JSON (RFC 8259), names a member twice, is not UTF-8, nests too deep, or ended early.",
            "position tells the line and column at which it stops being JSON; send it whole and corrected.",
        ),
        Kind::InvalidParameter => (
            "A parameter of the address or the query is not there, is given twice, or has another type.",
            "detail names each; the contract at /openapi.json has their types and bounds.",
        ),
        Kind::Unauthorized => (
            "There is no Authorization: Bearer, or what it presents is no key of this service, has ended, was revoked, \
             or is a token that does not hold.",
            "Present a key that holds; an owner makes one at /v1/access-keys. detail says why to whoever has the secret.",
        ),
        Kind::Forbidden => (
            "The key holds, and its role may not do this; or Acting-Person names somebody else than the key's person.",
            "Ask somebody of a role that detail names; only an application's key acts for others.",
        ),
        Kind::NotFound => (
            "There is nothing at this address, or nothing of this name.",
            "Compare the address with the contract, and the name with the list that it is of.",
        ),
        Kind::MethodNotAllowed => (
            "The address is there, and it does not take this method.",
            "The header Allow names the methods that it takes.",
        ),
        Kind::NotAcceptable => (
            "Accept names no format in which this is told.",
            "Ask for one of those that the contract names for the address, or leave Accept out.",
        ),
        Kind::RequestTimeout => (
            "The head or the body of the request did not arrive in the time that the service waits for it.",
            "Send it again at once and whole; look for what slows the connection down.",
        ),
        Kind::AddressTooLong => (
            "The address with its query has more bytes than are read here.",
            "docs/limits.md has the limit; what is long goes into the body.",
        ),
        Kind::HeadersTooLarge => (
            "The request has more headers than are read here, or they are too long together.",
            "detail tells the limit. Look for what puts them on: cookies of other services, or a proxy.",
        ),
        Kind::ContentTooLarge => (
            "The body has more bytes than are read here.",
            "detail tells the limit. Send less at once.",
        ),
        Kind::UnsupportedMediaType => (
            "Content-Type is missing, or is none that is read at this address; or the body is packed, as Content-Encoding says.",
            "detail names the types that are read. A body is sent as it is, which Accept-Encoding: identity of the answer says.",
        ),
        _ => return None,
    })
}

/// What came was read, and asks for what cannot be done as it is asked.
fn of_what_is_asked(kind: Kind) -> Option<(&'static str, &'static str)> {
    Some(match kind {
        Kind::InvalidInput => (
            "The body is JSON, and members of it are missing, unknown, of another type or out of bounds.",
            "errors has every fault with its JSON Pointer, what came and what is allowed there.",
        ),
        Kind::RulebookFindings => (
            "The text of a rulebook has errors in it.",
            "findings has each with its line and column. POST /v1/rulebooks/check tells them without publishing.",
        ),
        Kind::PriceListTroubles => (
            "Rows of a supplier's list cannot be taken as they are.",
            "troubles names them. Correct the list, or leave such rows out by leave_out.",
        ),
        Kind::PreconditionRequired => (
            "The write is over something that was read, and If-Match does not say what.",
            "Read it, and send its ETag in If-Match.",
        ),
        Kind::ActingPersonRequired => (
            "The key is an application's, and the write does not say which person acts.",
            "Send Acting-Person with the person's name, or use a key of that person.",
        ),
        Kind::IdempotencyKeyReused => (
            "The Idempotency-Key was used in the last 48 hours for another request.",
            "Make a new key for a new request; send the same request again under its own.",
        ),
        _ => return None,
    })
}

/// What does not go with what stands.
fn of_what_stands(kind: Kind) -> Option<(&'static str, &'static str)> {
    Some(match kind {
        Kind::Conflict => (
            "What stands does not allow the change.",
            "Read what is there; detail says what stands in the way.",
        ),
        Kind::AlreadyThere => (
            "Something of this name, or of this day, is there already, and nothing is overwritten.",
            "Read what is there; give another name or another day, or leave it as it is.",
        ),
        Kind::PreconditionFailed => (
            "Somebody else has changed it since it was read.",
            "Read it again, look at both, and send the change under the new ETag.",
        ),
        Kind::CannotBeEstimated => (
            "The request is sound, and the job has no price as it stands: something has no price on the day, or figures \
             are out of reach.",
            "errors says what is missing and where; correct the job, the prices or the rules.",
        ),
        Kind::IllegalMove => (
            "The revision is in a state that this move does not start from.",
            "allowed names the moves that its state allows.",
        ),
        Kind::StopStands => (
            "The estimate has a stop in it: as it is, the work must not be offered.",
            "reasons has the stops. Change the job until none stands; a stop is never approved away.",
        ),
        Kind::ApprovalNeeded => (
            "The offer is over a limit of the policy, and nobody else has approved exactly what it is now.",
            "reasons has the limits. Another person than its authors approves it at …/approvals; under another name of the same \
             token or key nobody is another person.",
        ),
        Kind::WorkedExamples => (
            "A rulebook is to be published, and worked examples in it do not come to what they expect.",
            "examples says what was expected and what came. Correct the rules, or take the new figures over where they are meant.",
        ),
        Kind::CannotBePrinted => (
            "No paper can be made of what stands: something in it has no place on paper, or a text has letters that no font of \
             the papers has.",
            "detail says what is in the way and where; correct the house style or the wording. unprintable=replace prints a box \
             for each letter that no font has.",
        ),
        Kind::ReceiptDiffers => (
            "The ledger's receipt has another total than what was accepted.",
            "Compare both; the receipt is kept as refused until they agree.",
        ),
        Kind::CannotBeHandedOver => (
            "What was accepted cannot be written in this format: its currency has more than two decimals, the settings lack \
             what EN 16931 asks of the seller, or nobody has said the day of an instalment.",
            "Take JSON or CSV, save the settings that detail names, or say the day with issued_on.",
        ),
        _ => return None,
    })
}

/// What is the matter with the service.
fn of_the_service(kind: Kind) -> (&'static str, &'static str) {
    match kind {
        Kind::TooManyRequests => (
            "One key, or one address without one, makes more requests a minute than are answered.",
            "Wait for as many seconds as Retry-After says; spread requests, and keep what was read by its ETag.",
        ),
        Kind::TimedOut => (
            "The service did not come to an answer in the time that a request may take.",
            "Read whether it took effect, or send it again under the same Idempotency-Key after Retry-After.",
        ),
        Kind::NotBuilt => (
            "This program was built without documents, and a document was asked for.",
            "Ask the operator for a program with the feature documents.",
        ),
        Kind::Storage => (
            "The disk of the data is full or fails, the data is read-only for the service, or the data file is damaged. Nothing of the request was stored.",
            "Tell the operator what detail says; send the request again with its Idempotency-Key once that is mended.",
        ),
        Kind::NotReady => (
            "The database does not answer, is busy, or holds nothing yet.",
            "Try again after Retry-After; where nothing is loaded, load a catalogue first.",
        ),
        _ => (
            "A defect of the service, or data that is not as it was written. The answer tells no more on purpose.",
            "Give the operator the x-request-id of the answer: the log has the cause under it. tallyrule verify checks the data.",
        ),
    }
}

fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}

impl KindView {
    /// The same for a browser.
    fn page(&self) -> String {
        format!(
            "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\">\
             <meta name=\"viewport\" content=\"width=device-width, initial-scale=1\"><title>{title}</title></head>\n\
             <body><h1>{title}</h1>\n<p>{name}, status {status}</p>\n<h2>How it comes about</h2>\n<p>{cause}</p>\n\
             <h2>What to do</h2>\n<p>{cure}</p>\n</body></html>\n",
            title = escaped(self.title),
            name = self.name,
            status = self.status,
            cause = escaped(self.cause),
            cure = escaped(self.cure),
        )
    }
}

/// Every kind on one page, in Markdown.
pub fn problem_pages() -> String {
    let mut text = "# Problems\n\nEvery error is a problem (RFC 9457) whose `type` leads to one of these. This page is written by \
        the program; `UPDATE=1\ncargo test --test service problems` writes it anew.\n"
        .to_owned();
    for kind in Kind::ALL {
        let view = KindView::from(*kind);
        text.push_str(&format!(
            "\n## {}\n\n{}. Status {}.\n\n{}\n\n{}\n",
            view.name, view.title, view.status, view.cause, view.cure
        ));
    }
    text
}

/// What a kind of problem means
///
/// The `type` of a problem is this address: how it comes about and what to do, for a browser as a page.
#[utoipa::path(tag = "service", params(("name" = String, Path, description = "The kind's name")), responses(
    (status = 200, description = "The kind", content(
        (KindView = "application/json"),
        (String = "text/html"))),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/problems/{name}")]
pub async fn read_problem_kind(
    request: HttpRequest,
    name: actix_web::web::Path<String>,
) -> Result<actix_web::Either<Reply, HttpResponse>, Problem> {
    let found = Kind::ALL.iter().find(|kind| *kind.row().1 == **name);
    let found = found.ok_or_else(|| Problem::new(Kind::NotFound, "there is no such kind of problem"))?;
    let view = KindView::from(*found);
    let browser = reply::listed(&request, &header::ACCEPT).any(|kind| kind.starts_with("text/html"));
    Ok(if browser {
        let page = HttpResponse::Ok()
            .insert_header((header::CONTENT_TYPE, "text/html"))
            .body(view.page());
        actix_web::Either::Right(page)
    } else {
        actix_web::Either::Left(Reply::json(&view)?)
    })
}
