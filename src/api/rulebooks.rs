//! Rulebooks: read, checked and edited; and what their formulas may use.

use actix_web::http::header;
use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get, post, put};
use estimate::quantity::fact::{FactDef, FactKind, FactSource};
use estimate::rules::{Finding, Rulebook, Severity};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use utoipa::IntoParams;

use super::at_desk;
use super::body::RulebookText;
use super::page::{PageQuery, page};
use super::problem::{Body, Kind, Problem};
use super::reply::{self, Reply};
use super::who::CallersDesk;
use crate::desk::{Desk, DeskFault, RulebookVersion};

#[derive(Serialize)]
struct RulebookHead<'a> {
    id: &'a str,
    version: u32,
    title: &'a str,
    published_at: &'a str,
    digest: &'a str,
    formulas: usize,
    lines: usize,
}

#[derive(Serialize)]
struct RulebookView<'a> {
    #[serde(flatten)]
    head: RulebookHead<'a>,
    model: &'a Rulebook,
    text: &'a str,
}

impl<'a> From<&'a RulebookVersion> for RulebookHead<'a> {
    fn from(version: &'a RulebookVersion) -> Self {
        let program = version.workbook.program();
        Self {
            id: &version.stored.id,
            version: version.stored.version,
            title: program.title(),
            published_at: &version.stored.created_at,
            digest: &version.stored.digest,
            formulas: program.formula_count(),
            lines: program.line_count(),
        }
    }
}

/// The tag of a version: its number and the first half of its digest.
fn tag(version: &RulebookVersion) -> String {
    let digest = version.stored.digest.get(..32).unwrap_or_default();
    format!("\"{}-{digest}\"", version.stored.version)
}

fn view(version: &RulebookVersion) -> Result<Reply, Problem> {
    let view = RulebookView {
        head: version.into(),
        model: version.workbook.rulebook(),
        text: &version.stored.text,
    };
    Ok(Reply::json(&view)?.with_tag(tag(version)))
}

/// List the rulebooks
#[utoipa::path(tag = "rules", params(PageQuery), responses(
    (status = 200, description = "A page of rulebooks, the published version of each",
        body = ref("#/components/schemas/RulebookPage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebooks")]
pub async fn list_rulebooks(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<PageQuery>,
) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    let rows: Vec<_> = office.rulebooks.iter().map(RulebookHead::from).collect();
    page(&request, &query, &rows, |row| row.id)
}

/// Read a rulebook
///
/// The published version: its text as the office wrote it, and the same as a tree.
#[utoipa::path(tag = "rules", params(("id" = String, Path, description = "The rulebook's name")), responses(
    (status = 200, description = "The rulebook", body = ref("#/components/schemas/Rulebook")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebooks/{id}")]
pub async fn read_rulebook(desk: CallersDesk, id: Path<String>) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    view(office.rulebook(Some(&id))?)
}

/// Edit a rulebook
///
/// Takes the whole text, checks it, and publishes it as the next version; the version before stays as it was.
/// `If-Match` carries the tag of the version that the edit was made from.
#[utoipa::path(tag = "rules",
    params(
        ("id" = String, Path, description = "The rulebook's name"),
        ("If-Match" = Option<String>, Header, description = "The tag of the version that was edited; needed")),
    request_body(content(
        (String = "application/toml", example = json!("[rulebook]\nid = \"…\"")),
        (String = "text/plain"),
        (ref("#/components/schemas/RulebookText") = "application/json"))),
    responses(
        (status = 200, description = "The new version", body = ref("#/components/schemas/Rulebook")),
        (status = 412, description = "Somebody else was quicker", body = Body, content_type = "application/problem+json"),
        (status = 422, description = "Every finding of the check", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/rulebooks/{id}")]
pub async fn edit_rulebook(
    request: HttpRequest,
    desk: CallersDesk,
    id: Path<String>,
    text: RulebookText,
) -> Result<Reply, Problem> {
    let id = id.into_inner();
    let office = at_desk(&desk, Desk::office).await?;
    let base = office.rulebook(Some(&id))?;
    if !request.headers().contains_key(header::IF_MATCH) {
        let detail = "If-Match with the tag of the version that was edited is needed";
        return Err(Problem::new(Kind::PreconditionRequired, detail));
    }
    if !reply::matches(&request, &tag(base)) {
        return Err(DeskFault::Changed.into());
    }
    let (base, name) = (base.stored.version, id.clone());
    let office = at_desk(&desk, move |desk| {
        desk.publish_rulebook(&name, base, &text.0)?;
        desk.office()
    });
    view(office.await?.rulebook(Some(&id))?)
}

#[derive(Serialize)]
struct CheckView {
    publishable: bool,
    findings: Vec<Finding>,
}

/// Check the text of a rulebook
///
/// Publishes nothing: tells every finding with its place in the text. The answer is 200 also when there are errors.
#[utoipa::path(tag = "rules",
    request_body(content(
        (String = "application/toml"),
        (String = "text/plain"),
        (ref("#/components/schemas/RulebookText") = "application/json"))),
    responses(
        (status = 200, description = "The findings", body = ref("#/components/schemas/RulebookCheck")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/rulebooks/check")]
pub async fn check_rulebook(desk: CallersDesk, text: RulebookText) -> Result<Reply, Problem> {
    let findings = at_desk(&desk, move |desk| desk.check_rulebook(&text.0)).await?;
    let publishable = findings.iter().all(|finding| finding.severity != Severity::Error);
    Ok(Reply::json(&CheckView {
        publishable,
        findings,
    })?
    .without_tag())
}

/// Which rulebook a list or a form is for.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct FactsQuery {
    /// The rulebook whose extra inputs are listed too; the company's own when none is named.
    rulebook: Option<String>,
}

#[derive(Serialize)]
struct FactView<'a> {
    name: &'a str,
    kind: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    words: Option<Vec<&'a str>>,
    meaning: &'a str,
    source: FactSource,
}

impl<'a> From<&'a FactDef> for FactView<'a> {
    fn from(fact: &'a FactDef) -> Self {
        let (kind, unit, words) = match &fact.kind {
            FactKind::Number(unit) => ("number", Some(unit.symbol()), None),
            FactKind::Flag => ("flag", None, None),
            FactKind::Choice(domain) => (
                "choice",
                None,
                Some(domain.words.iter().map(|word| &**word).collect()),
            ),
        };
        Self {
            name: &fact.name,
            kind,
            unit,
            words,
            meaning: &fact.meaning,
            source: fact.source,
        }
    }
}

#[derive(Serialize)]
struct FactsView<'a> {
    data: Vec<FactView<'a>>,
}

/// List every name that a formula may use
///
/// Facts of the job, of the sizing report and of the equipment, and the rulebook's extra inputs, each with its unit
/// or its words and its meaning.
#[utoipa::path(tag = "rules", params(FactsQuery), responses(
    (status = 200, description = "The facts", body = ref("#/components/schemas/Facts")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/facts")]
pub async fn list_facts(desk: CallersDesk, query: Query<FactsQuery>) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    let workbook = &office.rulebook(query.rulebook.as_deref())?.workbook;
    Reply::json(&FactsView {
        data: workbook.facts().iter().map(FactView::from).collect(),
    })
}

/// The form of the job spec
///
/// JSON Schema 2020-12 of an estimate request under this catalogue and rulebook: every question with its title, unit,
/// bounds, words and default.
#[utoipa::path(tag = "rules", params(FactsQuery), responses(
    (status = 200, description = "A JSON Schema", body = Object),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/job-spec-form")]
pub async fn read_form(desk: CallersDesk, query: Query<FactsQuery>) -> Result<Reply, Problem> {
    let office = at_desk(&desk, Desk::office).await?;
    let schema: Value = office
        .rulebook(query.rulebook.as_deref())?
        .workbook
        .form()
        .request_schema();
    Reply::json(&schema)
}
