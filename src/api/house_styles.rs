//! House styles: how papers look, in versions.

use actix_web::http::{StatusCode, header};
use actix_web::web::{Path, Query};
use actix_web::{HttpRequest, get, put};
use estimate::handoff::house_style::HouseStyle;
use serde::{Deserialize, Serialize};
use utoipa::IntoParams;

use super::at_desk;
use super::body::Json;
use super::page::{PageQuery, page};
use super::paper_input as input;
use super::papers::noted;
use super::problem::{Body, Problem};
use super::reply::{self, Reply};
use super::who::CallersDesk;
use crate::desk::{Desk, DeskFault};
use crate::store::StoredStyle;

#[derive(Serialize)]
struct StyleView<'a> {
    id: &'a str,
    version: u32,
    saved_at: &'a str,
    style: &'a HouseStyle,
}

impl<'a> From<&'a StoredStyle> for StyleView<'a> {
    fn from(stored: &'a StoredStyle) -> Self {
        Self {
            id: &stored.id,
            version: stored.version,
            saved_at: &stored.created_at,
            style: &stored.style,
        }
    }
}

/// Which version is read.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct VersionQuery {
    /// The version; the newest when it is left out.
    version: Option<u32>,
}

/// List the house styles
///
/// The newest version of each. `standard` is what papers have where nothing else is asked for; version 0 of it comes
/// with the program.
#[utoipa::path(tag = "papers", params(PageQuery), responses(
    (status = 200, description = "A page of house styles", body = ref("#/components/schemas/HouseStylePage")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/house-styles")]
pub async fn list_house_styles(
    request: HttpRequest,
    desk: CallersDesk,
    query: Query<PageQuery>,
) -> Result<Reply, Problem> {
    let stored = at_desk(&desk, Desk::house_styles).await?;
    let mut newest: Vec<StyleView<'_>> = Vec::new();
    for one in &stored {
        newest.retain(|known| known.id != one.id);
        newest.push(StyleView::from(one));
    }
    page(&request, &query, &newest, |row| row.id)
}

/// Read one house style
#[utoipa::path(tag = "papers",
    params(("id" = String, Path, description = "The style's name"), VersionQuery), responses(
    (status = 200, description = "The style", body = ref("#/components/schemas/StoredHouseStyle")),
    (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[get("/v1/house-styles/{id}")]
pub async fn read_house_style(
    desk: CallersDesk,
    id: Path<String>,
    query: Query<VersionQuery>,
) -> Result<Reply, Problem> {
    let stored = at_desk(&desk, move |desk| desk.house_style(&id, query.version)).await?;
    Reply::json(&StyleView::from(&stored))
}

/// Save a house style, or the next version of it
///
/// Of a style that is there `If-Match` carries the tag of the version that was read. Papers of revisions that were issued
/// before stay as they are. A page is printed in the style first: a logo that cannot be printed is refused, and so
/// is a caution whose code neither the program nor a rulebook of today has; letters that no font has are named in the header
/// `X-Paper-Notes`.
#[utoipa::path(tag = "papers",
    params(
        ("id" = String, Path, description = "The style's name: small letters, digits and hyphens, at most 60"),
        ("If-Match" = Option<String>, Header, description = "The tag of the version that was edited; needed where there is one")),
    request_body(content = ref("#/components/schemas/HouseStyle"), content_type = "application/json"),
    responses(
        (status = 201, description = "The first version", body = ref("#/components/schemas/StoredHouseStyle")),
        (status = 200, description = "The new version", body = ref("#/components/schemas/StoredHouseStyle")),
        (status = 412, description = "Somebody else was quicker", body = Body, content_type = "application/problem+json"),
        (status = 422, description = "Every fault of the style", body = Body, content_type = "application/problem+json"),
        (status = 428, description = "If-Match is needed", body = Body, content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[put("/v1/house-styles/{id}")]
pub async fn edit_house_style(
    request: HttpRequest,
    desk: CallersDesk,
    id: Path<String>,
    body: Json,
) -> Result<Reply, Problem> {
    let style = input::style(&body.0).map_err(Problem::invalid_input)?;
    let id = id.into_inner();
    input::style_name(&id)?;
    let name = id.clone();
    let there = at_desk(&desk, move |desk| match desk.house_style(&name, None) {
        Err(DeskFault::Unknown { .. }) => Ok(None),
        found => found.map(Some),
    });
    let there = there.await?;
    let base = match &there {
        Some(stored) => {
            let current = Reply::json(&StyleView::from(stored))?;
            reply::demand_match(&request, current.tag())?;
            stored.version
        }
        // What was read has never been there.
        None if request.headers().contains_key(header::IF_MATCH) => return Err(DeskFault::Changed.into()),
        None => 0,
    };
    let (saved, notes) = at_desk(&desk, move |desk| desk.save_house_style(&id, style, base)).await?;
    let answer = noted(Reply::json(&StyleView::from(&saved))?, &notes);
    Ok(match there {
        Some(_) => answer,
        None => answer.with_status(StatusCode::CREATED),
    })
}
