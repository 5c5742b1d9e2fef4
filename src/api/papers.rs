//! Papers, drawings and purchase lists of revisions.

use actix_web::http::header;
use actix_web::web::{Path, Query};
use actix_web::{get, post};
use estimate::handoff::paper::Kind;
use estimate::handoff::purchase_list::PurchaseList;
use estimate::handoff::unprintable::Letters;
use estimate::handoff::words::Language;
use serde::Deserialize;
use utoipa::IntoParams;
use utoipa_actix_web::service_config::ServiceConfig;

use super::at_desk;
use super::body::Json;
use super::paper_input as input;
use super::problem::{Body, Problem};
use super::reply::Reply;
use super::revisions::at;
use super::who::CallersDesk;
use crate::desk::{At, StyleChoice};
use crate::print;

const PDF: &str = "application/pdf";
pub(super) const SVG: &str = "image/svg+xml";
/// What of a paper could not be printed as it should.
const PAPER_NOTES: header::HeaderName = header::HeaderName::from_static("x-paper-notes");
const CSV: &str = "text/csv; charset=utf-8";
const XLSX: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";

/// Which house style a paper has.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct StyleQuery {
    /// Name of the house style; `standard` when it is left out.
    style: Option<String>,
    /// Its version, of a draft's paper; the newest when it is left out. An issued revision has the one that held when it was
    /// issued, and is refused with another.
    style_version: Option<u32>,
}

/// How a paper is printed.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct PaperQuery {
    /// Name of the house style; `standard` when it is left out.
    style: Option<String>,
    /// Its version, of a draft's paper; the newest when it is left out. An issued revision has the one that held when it was
    /// issued, and is refused with another.
    style_version: Option<u32>,
    /// Letters that no font of the papers has: `refuse` makes no paper and tells where they stand, as when it is left out;
    /// `replace` prints a box for each and names them in the header `X-Paper-Notes`.
    #[param(inline)]
    unprintable: Option<Unprintable>,
}

#[derive(Debug, Clone, Copy, Deserialize, utoipa::ToSchema)]
#[serde(rename_all = "lowercase")]
enum Unprintable {
    Refuse,
    Replace,
}

impl PaperQuery {
    fn choices(self) -> (StyleChoice, Letters) {
        let style = StyleChoice {
            id: self.style,
            version: self.style_version,
        };
        let letters = match self.unprintable {
            None | Some(Unprintable::Refuse) => Letters::All,
            Some(Unprintable::Replace) => Letters::Boxes,
        };
        (style, letters)
    }
}

/// How a list is written.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ListQuery {
    /// `json`, `csv` or `xlsx`; JSON when it is left out.
    #[param(inline)]
    format: Option<Format>,
    /// Language of the headings of CSV and workbook, `en` or `es`; that of the house style `standard` when it is left out.
    #[param(inline)]
    language: Option<Spoken>,
}

/// In whose words a curve is told.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct CurveQuery {
    /// Name of the house style; `standard` when it is left out.
    style: Option<String>,
    /// Its version; the newest when it is left out.
    style_version: Option<u32>,
    /// Language of the chart, `en` or `es`; that of the house style when it is left out.
    #[param(inline)]
    language: Option<Spoken>,
}

impl CurveQuery {
    pub(super) fn choices(self) -> (StyleChoice, Option<Language>) {
        let style = StyleChoice {
            id: self.style,
            version: self.style_version,
        };
        (style, self.language.map(Language::from))
    }
}

#[derive(Debug, Clone, Copy, Deserialize, utoipa::ToSchema)]
#[serde(rename_all = "lowercase")]
enum Format {
    Json,
    Csv,
    Xlsx,
}

#[derive(Debug, Clone, Copy, Deserialize, utoipa::ToSchema)]
#[serde(rename_all = "lowercase")]
enum Spoken {
    En,
    Es,
}

impl From<Spoken> for Language {
    fn from(spoken: Spoken) -> Self {
        match spoken {
            Spoken::En => Self::En,
            Spoken::Es => Self::Es,
        }
    }
}

impl From<StyleQuery> for StyleChoice {
    fn from(query: StyleQuery) -> Self {
        Self {
            id: query.style,
            version: query.style_version,
        }
    }
}

/// The routes of this file.
pub(super) fn routes(config: &mut ServiceConfig) {
    config
        .service(read_proposal)
        .service(read_job_sheet)
        .service(read_drawing)
        .service(read_purchase_list)
        .service(read_proposal_of_change_order)
        .service(read_job_sheet_of_change_order)
        .service(read_drawing_of_change_order)
        .service(read_purchase_list_of_change_order)
        .service(merge_purchase_lists);
}

async fn paper(desk: &CallersDesk, at: At, kind: Kind, query: PaperQuery) -> Result<Reply, Problem> {
    let name = match kind {
        Kind::Proposal => "proposal.pdf",
        Kind::JobSheet => "job-sheet.pdf",
        Kind::Proof => "proof.pdf",
    };
    let (style, letters) = query.choices();
    let printed = at_desk(desk, move |desk| desk.paper(&at, kind, &style, letters)).await?;
    let notes = printed.notes();
    Ok(noted(named(Reply::document(printed.bytes, PDF), name), &notes))
}

async fn drawing(desk: &CallersDesk, at: At, query: StyleQuery) -> Result<Reply, Problem> {
    let drawing = at_desk(desk, move |desk| desk.drawing(&at, &query.into())).await?;
    Ok(Reply::document(drawing.svg.into_bytes(), SVG))
}

async fn list(desk: &CallersDesk, all: Vec<At>, query: ListQuery) -> Result<Reply, Problem> {
    let (list, language) = at_desk(desk, move |desk| desk.purchase_list(&all)).await?;
    written(&list, query.language.map_or(language, Language::from), &query)
}

fn written(list: &PurchaseList, language: Language, query: &ListQuery) -> Result<Reply, Problem> {
    let name = |ending: &str| format!("purchase-list-{}.{ending}", list.day);
    match query.format {
        None | Some(Format::Json) => Reply::json(list),
        Some(Format::Csv) => {
            let bytes = print::purchase_csv(list, language).into_bytes();
            Ok(named(Reply::document(bytes, CSV), &name("csv")))
        }
        Some(Format::Xlsx) => {
            let bytes = print::purchase_workbook(list, language);
            let bytes = bytes.map_err(|fault| Problem::internal(&fault))?;
            Ok(named(Reply::document(bytes, XLSX), &name("xlsx")))
        }
    }
}

/// Says in a header what of a paper a person should know, in the letters that a header has.
pub(super) fn noted(reply: Reply, notes: &[String]) -> Reply {
    if notes.is_empty() {
        return reply;
    }
    let text = notes.join("; ");
    tracing::warn!("{text}");
    let plain = |sign: char| if (' '..='~').contains(&sign) { sign } else { '?' };
    reply.with_header(PAPER_NOTES, text.chars().map(plain).collect())
}

fn named(reply: Reply, name: &str) -> Reply {
    reply.with_header(
        header::CONTENT_DISPOSITION,
        format!("inline; filename=\"{name}\""),
    )
}

/// The proposal of a revision
///
/// What the customer reads and signs: PDF/UA-1 and PDF/A-2a. Of an issued revision it is the same bytes at every read;
/// that of a draft says that it is one. There is no cost, margin, wage or internal note in it. A text with a letter that no
/// font of the papers has is refused and named, unless `unprintable=replace` asks for a box in its place. What could not be
/// printed as it should, such a letter or a logo that cannot be read, stands in the header `X-Paper-Notes`.
#[utoipa::path(tag = "papers", params(
        ("id" = String, Path, description = "The quote's key"),
        ("revision" = u32, Path, description = "Which revision"), PaperQuery),
    responses(
        (status = 200, description = "The proposal", content_type = "application/pdf", body = ref("#/components/schemas/BinaryFile")),
        (status = 501, description = "The program was built without documents", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/revisions/{revision}/proposal")]
pub async fn read_proposal(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    query: Query<PaperQuery>,
) -> Result<Reply, Problem> {
    let (quote, revision) = path.into_inner();
    paper(&desk, at(quote, 0, revision), Kind::Proposal, query.into_inner()).await
}

/// The job sheet of a revision
///
/// What the crew works from: no prices, with a record of commissioning to fill in. Of an accepted revision it is of the job
/// with the alternates that were chosen. Letters that no font has, and the header `X-Paper-Notes`, as of the proposal.
#[utoipa::path(tag = "papers", params(
        ("id" = String, Path, description = "The quote's key"),
        ("revision" = u32, Path, description = "Which revision"), PaperQuery),
    responses(
        (status = 200, description = "The job sheet", content_type = "application/pdf", body = ref("#/components/schemas/BinaryFile")),
        (status = 501, description = "The program was built without documents", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/revisions/{revision}/job-sheet")]
pub async fn read_job_sheet(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    query: Query<PaperQuery>,
) -> Result<Reply, Problem> {
    let (quote, revision) = path.into_inner();
    paper(&desk, at(quote, 0, revision), Kind::JobSheet, query.into_inner()).await
}

/// The drawing of a revision
///
/// An elevation to scale: cellar, units, line set and drain with lengths and heights; of an accepted revision, of what was accepted.
#[utoipa::path(tag = "papers", params(
        ("id" = String, Path, description = "The quote's key"),
        ("revision" = u32, Path, description = "Which revision"), StyleQuery),
    responses(
        (status = 200, description = "The drawing", content_type = "image/svg+xml", body = String),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/revisions/{revision}/drawing")]
pub async fn read_drawing(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    query: Query<StyleQuery>,
) -> Result<Reply, Problem> {
    let (quote, revision) = path.into_inner();
    drawing(&desk, at(quote, 0, revision), query.into_inner()).await
}

/// The purchase list of a revision
///
/// By supplier and item, in whole packs, by the catalogue that the revision was made from; of an accepted revision, of what was
/// accepted. Its `day`, which the file and the workbook's sheet are called by, is that of issue; of a draft, that of its prices.
#[utoipa::path(tag = "papers", params(
        ("id" = String, Path, description = "The quote's key"),
        ("revision" = u32, Path, description = "Which revision"), ListQuery),
    responses(
        (status = 200, description = "The list", content(
            (ref("#/components/schemas/PurchaseList") = "application/json"),
            (String = "text/csv"),
            (ref("#/components/schemas/BinaryFile") = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"))),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/revisions/{revision}/purchase-list")]
pub async fn read_purchase_list(
    desk: CallersDesk,
    path: Path<(String, u32)>,
    query: Query<ListQuery>,
) -> Result<Reply, Problem> {
    let (quote, revision) = path.into_inner();
    list(&desk, vec![at(quote, 0, revision)], query.into_inner()).await
}

/// The paper of a revision of a change order
///
/// As the proposal of an offer, with what it adds, omits and changes and the contract before and after it.
#[utoipa::path(tag = "papers", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("revision" = u32, Path, description = "Which revision"), PaperQuery),
    responses(
        (status = 200, description = "The paper", content_type = "application/pdf", body = ref("#/components/schemas/BinaryFile")),
        (status = 501, description = "The program was built without documents", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/change-orders/{order}/revisions/{revision}/proposal")]
pub async fn read_proposal_of_change_order(
    desk: CallersDesk,
    path: Path<(String, u32, u32)>,
    query: Query<PaperQuery>,
) -> Result<Reply, Problem> {
    let (quote, order, revision) = path.into_inner();
    paper(
        &desk,
        at(quote, order, revision),
        Kind::Proposal,
        query.into_inner(),
    )
    .await
}

/// The job sheet of a revision of a change order: the job as it would be
#[utoipa::path(tag = "papers", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("revision" = u32, Path, description = "Which revision"), PaperQuery),
    responses(
        (status = 200, description = "The job sheet", content_type = "application/pdf", body = ref("#/components/schemas/BinaryFile")),
        (status = 501, description = "The program was built without documents", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/change-orders/{order}/revisions/{revision}/job-sheet")]
pub async fn read_job_sheet_of_change_order(
    desk: CallersDesk,
    path: Path<(String, u32, u32)>,
    query: Query<PaperQuery>,
) -> Result<Reply, Problem> {
    let (quote, order, revision) = path.into_inner();
    paper(
        &desk,
        at(quote, order, revision),
        Kind::JobSheet,
        query.into_inner(),
    )
    .await
}

/// The drawing of a revision of a change order: the job as it would be
#[utoipa::path(tag = "papers", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("revision" = u32, Path, description = "Which revision"), StyleQuery),
    responses(
        (status = 200, description = "The drawing", content_type = "image/svg+xml", body = String),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/change-orders/{order}/revisions/{revision}/drawing")]
pub async fn read_drawing_of_change_order(
    desk: CallersDesk,
    path: Path<(String, u32, u32)>,
    query: Query<StyleQuery>,
) -> Result<Reply, Problem> {
    let (quote, order, revision) = path.into_inner();
    drawing(&desk, at(quote, order, revision), query.into_inner()).await
}

/// The purchase list of a revision of a change order: of the job as it would be
#[utoipa::path(tag = "papers", params(
        ("id" = String, Path, description = "The quote's key"),
        ("order" = u32, Path, description = "Which change order"),
        ("revision" = u32, Path, description = "Which revision"), ListQuery),
    responses(
        (status = 200, description = "The list", content(
            (ref("#/components/schemas/PurchaseList") = "application/json"),
            (String = "text/csv"),
            (ref("#/components/schemas/BinaryFile") = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"))),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/quotes/{id}/change-orders/{order}/revisions/{revision}/purchase-list")]
pub async fn read_purchase_list_of_change_order(
    desk: CallersDesk,
    path: Path<(String, u32, u32)>,
    query: Query<ListQuery>,
) -> Result<Reply, Problem> {
    let (quote, order, revision) = path.into_inner();
    list(&desk, vec![at(quote, order, revision)], query.into_inner()).await
}

/// One purchase list of several quotes
///
/// What they need of an item is added up before packs are chosen, by the catalogue and at the prices of today, the list's `day`.
/// A quote is named once, since each of its revisions is the whole job. Nothing is stored.
#[utoipa::path(tag = "papers", params(ListQuery),
    request_body(content = ref("#/components/schemas/PurchaseListRequest"), content_type = "application/json"),
    responses(
        (status = 200, description = "The list", content(
            (ref("#/components/schemas/PurchaseList") = "application/json"),
            (String = "text/csv"),
            (ref("#/components/schemas/BinaryFile") = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"))),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/purchase-lists")]
pub async fn merge_purchase_lists(
    desk: CallersDesk,
    query: Query<ListQuery>,
    body: Json,
) -> Result<Reply, Problem> {
    let all = input::revisions(&body.0).map_err(Problem::invalid_input)?;
    list(&desk, all, query.into_inner()).await
}
