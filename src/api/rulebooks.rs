//! Rulebooks: read, checked and edited; and what their formulas may use.

use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get, post, put};
use estimate::examples::Tried;
use estimate::quantity::fact::{FactDef, FactKind, FactSource};
use estimate::rules::{Finding, Rulebook};
use serde::{Deserialize, Serialize};
use utoipa::IntoParams;

use super::acting::{Acting, Seen};
use super::at_desk;
use super::body::RulebookBody;
use super::page::{PageQuery, page};
use super::problem::{Body, Problem};
use super::reply::{self, Reply};
use super::who::CallersDesk;
use crate::desk::{CheckedRules, RulebookVersion, version_tag};

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
            id: &version.stored.head.id,
            version: version.stored.head.version,
            title: program.title(),
            published_at: &version.stored.head.created_at,
            digest: &version.stored.head.digest,
            formulas: program.formula_count(),
            lines: program.line_count(),
        }
    }
}

fn view(version: &RulebookVersion) -> Result<Reply, Problem> {
    let view = RulebookView {
        head: version.into(),
        model: version.workbook.rulebook(),
        text: &version.stored.text,
    };
    Ok(Reply::json(&view)?.with_tag(version_tag(&version.stored.head)))
}

/// List the rulebooks
#[utoipa::path(tag = "rules", params(PageQuery), responses(
    (status = 200, description = "A page of rulebooks, the current version of each",
        body = ref("#/components/schemas/RulebookPage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebooks")]
pub async fn list_rulebooks(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<PageQuery>,
) -> Result<Reply, Problem> {
    let office = at_desk(&desk, |desk| {
        let office = desk.office()?;
        // Rules that nobody has asked for yet are opened where it may take a while.
        office
            .shelf
            .ids()
            .try_for_each(|id| office.rulebook(Some(id)).map(drop))?;
        Ok(office)
    })
    .await?;
    let current: Result<Vec<_>, _> = office.shelf.ids().map(|id| office.rulebook(Some(id))).collect();
    let rows: Vec<_> = current?.into_iter().map(RulebookHead::from).collect();
    page(&request, &query, &rows, |row| row.id)
}

/// Read a rulebook
///
/// The version that is current today: its text as the office wrote it, and the same as a tree. Asked for with
/// `Accept: application/toml` it is the text alone.
#[utoipa::path(tag = "rules", params(("id" = String, Path, description = "The rulebook's name")), responses(
    (status = 200, description = "The rulebook", content(
        (ref("#/components/schemas/Rulebook") = "application/json"),
        (String = "application/toml"))),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/rulebooks/{id}")]
pub async fn read_rulebook(
    request: HttpRequest,
    desk: CallersDesk,
    id: Path<String>,
) -> Result<Reply, Problem> {
    let as_text = reply::wants_toml(&request);
    let reply = at_desk(&desk, move |desk| {
        let office = desk.office()?;
        let version = office.rulebook(Some(&id))?;
        Ok(match as_text {
            true => Ok(Reply::toml(
                version.stored.text.clone(),
                version_tag(&version.stored.head),
            )),
            false => view(version),
        })
    });
    reply.await?
}

/// Edit a rulebook
///
/// The short way: takes the whole text or tree, checks it, runs its worked examples, and publishes it as the next
/// version, current from today on; the versions before stay as they were. `If-Match` carries the tag of the version that
/// the edit was made from. Step by step it goes over a draft.
#[utoipa::path(tag = "rules",
    params(
        ("id" = String, Path, description = "The rulebook's name"),
        ("If-Match" = Option<String>, Header, description = "The tag of the version that was edited; needed")),
    request_body(content(
        (String = "application/toml", example = json!("[rulebook]\nid = \"…\"")),
        (String = "text/plain"),
        (ref("#/components/schemas/RulebookInput") = "application/json"))),
    responses(
        (status = 200, description = "The new version", body = ref("#/components/schemas/PublishedRulebook")),
        (status = 412, description = "Somebody else was quicker", body = Body, content_type = "application/problem+json"),
        (status = 422, description = "Every finding of the check, or every worked example with what came", body = Body,
            content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/rulebooks/{id}")]
pub async fn edit_rulebook(
    desk: CallersDesk,
    id: Path<String>,
    acting: Acting,
    seen: Seen,
    body: RulebookBody,
) -> Result<Reply, Problem> {
    let act = acting.with(&body.value());
    let told = at_desk(&desk, move |desk| {
        desk.publish_rulebook(&act, &id, &body.0, |tag| seen.matches(tag))
    });
    Reply::told(told.await?)
}

#[derive(Serialize)]
struct CheckView {
    publishable: bool,
    findings: Vec<Finding>,
    #[serde(skip_serializing_if = "Option::is_none")]
    examples: Option<ExamplesView>,
}

#[derive(Serialize)]
struct ExamplesView {
    tried: usize,
    failed: Vec<FailedExample>,
}

#[derive(Serialize)]
struct FailedExample {
    title: String,
    differences: Vec<String>,
}

impl From<Vec<Tried>> for ExamplesView {
    fn from(tried: Vec<Tried>) -> Self {
        let failed = tried
            .iter()
            .filter(|tried| !tried.fits)
            .map(|tried| FailedExample {
                title: tried.title.clone(),
                differences: tried
                    .differences()
                    .into_iter()
                    .map(|told| told.to_string())
                    .collect(),
            });
        Self {
            tried: tried.len(),
            failed: failed.collect(),
        }
    }
}

/// What a check has to say, and whether the rules could be published.
pub(super) fn checked(checked: CheckedRules) -> Result<Reply, Problem> {
    Ok(Reply::json(&CheckView {
        publishable: checked.can_be_published(),
        findings: checked.findings,
        examples: checked.examples.map(ExamplesView::from),
    })?
    .without_tag())
}

/// Check the text of a rulebook
///
/// Publishes nothing: tells every finding with its place in the text, and which worked examples do not come out. The
/// answer is 200 also when there are errors.
#[utoipa::path(tag = "rules",
    request_body(content(
        (String = "application/toml"),
        (String = "text/plain"),
        (ref("#/components/schemas/RulebookInput") = "application/json"))),
    responses(
        (status = 200, description = "The findings", body = ref("#/components/schemas/RulebookCheck")),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/rulebooks/check")]
pub async fn check_rulebook(desk: CallersDesk, body: RulebookBody) -> Result<Reply, Problem> {
    checked(at_desk(&desk, move |desk| desk.check_rulebook(&body.0)).await?)
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
    let reply = at_desk(&desk, move |desk| {
        let office = desk.office()?;
        let workbook = &office.rulebook(query.rulebook.as_deref())?.workbook;
        Ok(Reply::json(&FactsView {
            data: workbook.facts().iter().map(FactView::from).collect(),
        }))
    });
    reply.await?
}

/// The form of the job spec
///
/// JSON Schema 2020-12 of an estimate request under this catalogue and rulebook: every question with its title, unit,
/// bounds, words and default. `x-needed` says that an answer is needed, or beside which answer of the same group (`when`,
/// `is`). `x-matters` says on which jobs an extra input of the rulebook matters: `formula` is the rulebook's condition, and
/// where that asks for no more than answers of the job, `all` has the same for those who read no formulas. Each entry there
/// names an answer by its JSON Pointer in the job spec (`when`) and what it must be: one of the words of `is` (a flag is
/// `true` or `false`), or a number that is `equal`, `not_equal`, `under`, `at_most`, `over` or `at_least` what stands there.
/// All of them must hold; an answer that is left out counts as its default, and while one is not known the input is asked.
#[utoipa::path(tag = "rules", params(FactsQuery), responses(
    (status = 200, description = "A JSON Schema", body = Object),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/job-spec-form")]
pub async fn read_form(desk: CallersDesk, query: Query<FactsQuery>) -> Result<Reply, Problem> {
    let schema = at_desk(&desk, move |desk| {
        let office = desk.office()?;
        let form = office.rulebook(query.rulebook.as_deref())?.workbook.form();
        Ok(form.request_schema())
    });
    Reply::json(&schema.await?)
}
