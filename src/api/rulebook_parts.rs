//! Parts of a draft of a rulebook: listed, read, put in, taken out.

use actix_web::web::Path;
use actix_web::{delete, get, put};
use estimate::rules::rulebook::{PartKind, PartName};

use super::acting::{Acting, Seen};
use super::at_desk;
use super::body::Json;
use super::problem::{Body, Kind, Problem};
use super::reply::Reply;
use super::who::CallersDesk;

/// The draft and the part that an address names.
fn named((draft, kind, name): (String, String, String)) -> Result<(String, PartName), Problem> {
    let Some(kind) = PartKind::of_word(&kind) else {
        let words: Vec<&str> = PartKind::ALL.iter().map(|kind| kind.word()).collect();
        let detail = format!(
            "there is no sort of part of this name; there are {}",
            words.join(", ")
        );
        return Err(Problem::new(Kind::NotFound, detail));
    };
    Ok((draft, PartName { kind, name }))
}

/// List the parts of a draft
///
/// By sort and name, lines behind their assemblies.
#[utoipa::path(tag = "rules", params(
        ("draft" = String, Path, description = "The draft's key")),
    responses(
        (status = 200, description = "The parts", body = ref("#/components/schemas/RulebookParts")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebook-drafts/{draft}/parts")]
pub async fn list_rulebook_parts(desk: CallersDesk, draft: Path<String>) -> Result<Reply, Problem> {
    Reply::told(at_desk(&desk, move |desk| desk.rulebook_parts(&draft)).await?)
}

/// Read a part of a draft
#[utoipa::path(tag = "rules", params(
        ("draft" = String, Path, description = "The draft's key"),
        ("kind" = String, Path, description = "The sort of part: input, table, derived, factor, assembly, line, check, unknown, completeness, exclusion or example"),
        ("name" = String, Path, description = "Its name, percent-encoded; of a line the assembly's code, a slash and its place from 1, of an unknown answer its JSON Pointer, of an example its title")),
    responses(
        (status = 200, description = "The part, with the members of the text", body = ref("#/components/schemas/RulebookPart")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebook-drafts/{draft}/parts/{kind}/{name}")]
pub async fn read_rulebook_part(
    desk: CallersDesk,
    path: Path<(String, String, String)>,
) -> Result<Reply, Problem> {
    let (draft, part) = named(path.into_inner())?;
    Reply::told(at_desk(&desk, move |desk| desk.rulebook_part(&draft, &part)).await?)
}

/// Put a part into a draft
///
/// In the place of the part of this name, or behind the last one of its sort when there is none. The rest of the text stays byte for byte as it is.
#[utoipa::path(tag = "rules", params(
        ("draft" = String, Path, description = "The draft's key"),
        ("kind" = String, Path, description = "The sort of part: input, table, derived, factor, assembly, line, check, unknown, completeness, exclusion or example"),
        ("name" = String, Path, description = "Its name, percent-encoded; of a line the assembly's code, a slash and its place from 1, of an unknown answer its JSON Pointer, of an example its title"),
        ("If-Match" = Option<String>, Header, description = "The tag of the draft as it was read; needed")),
    request_body(content = ref("#/components/schemas/RulebookPart"), content_type = "application/json"),
    responses(
        (status = 200, description = "The draft, without its rules", body = ref("#/components/schemas/RulebookDraftHead")),
        (status = 412, description = "Somebody else was quicker; ETag is that of what stands now", body = Body, content_type = "application/problem+json"),
        (status = 422, description = "Every fault of its shape", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/rulebook-drafts/{draft}/parts/{kind}/{name}")]
pub async fn put_rulebook_part(
    desk: CallersDesk,
    path: Path<(String, String, String)>,
    acting: Acting,
    seen: Seen,
    body: Json,
) -> Result<Reply, Problem> {
    let (draft, part) = named(path.into_inner())?;
    let act = acting.with(&body.0);
    let told = at_desk(&desk, move |desk| {
        desk.put_rulebook_part(&act, &draft, &part, &body.0, |tag| seen.matches(tag))
    });
    Reply::told(told.await?)
}

/// Take a part out of a draft
///
/// With the comment directly above it.
#[utoipa::path(tag = "rules", params(
        ("draft" = String, Path, description = "The draft's key"),
        ("kind" = String, Path, description = "The sort of part: input, table, derived, factor, assembly, line, check, unknown, completeness, exclusion or example"),
        ("name" = String, Path, description = "Its name, percent-encoded; of a line the assembly's code, a slash and its place from 1, of an unknown answer its JSON Pointer, of an example its title"),
        ("If-Match" = Option<String>, Header, description = "The tag of the draft as it was read; needed")),
    responses(
        (status = 200, description = "The draft, without its rules", body = ref("#/components/schemas/RulebookDraftHead")),
        (status = 412, description = "Somebody else was quicker; ETag is that of what stands now", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[delete("/v1/rulebook-drafts/{draft}/parts/{kind}/{name}")]
pub async fn remove_rulebook_part(
    desk: CallersDesk,
    path: Path<(String, String, String)>,
    acting: Acting,
    seen: Seen,
) -> Result<Reply, Problem> {
    let (draft, part) = named(path.into_inner())?;
    let act = acting.with(&serde_json::Value::Null);
    let told = at_desk(&desk, move |desk| {
        desk.remove_rulebook_part(&act, &draft, &part, |tag| seen.matches(tag))
    });
    Reply::told(told.await?)
}
