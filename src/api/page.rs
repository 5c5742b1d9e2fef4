//! Lists in pages: by key, so that a page stays right when rows are added before it.

use actix_web::HttpRequest;
use actix_web::http::header;
use actix_web::web::Query;
use serde::{Deserialize, Serialize};
use utoipa::IntoParams;

use super::problem::{Kind, Problem};
use super::reply::{self, Reply};

/// Rows on a page when nothing is said.
pub(super) const USUAL: usize = 50;
/// Most rows on a page.
pub(super) const MOST: usize = 500;

/// Which page of a list.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct PageQuery {
    /// Rows on a page: 1 to 500, 50 when nothing is said.
    #[param(minimum = 1, maximum = 500, default = 50)]
    limit: Option<usize>,
    /// The key after which the page begins: the `next` of the page before.
    after: Option<String>,
}

#[derive(Serialize)]
struct Page<'a, T> {
    data: Vec<&'a T>,
    next: Option<&'a str>,
}

/// Answers one page of `rows`, ordered by `key`.
///
/// # Errors
/// The limit is out of bounds.
pub fn page<T: Serialize>(
    request: &HttpRequest,
    query: &Query<PageQuery>,
    rows: &[T],
    key: impl Fn(&T) -> &str,
) -> Result<Reply, Problem> {
    let limit = query.limit.unwrap_or(USUAL);
    if limit == 0 || limit > MOST {
        return Err(Problem::new(
            Kind::InvalidParameter,
            format!("limit is {limit}; 1 to {MOST} is allowed"),
        ));
    }
    let mut sorted: Vec<&T> = rows.iter().collect();
    sorted.sort_by_key(|row| key(row));
    let start = query
        .after
        .as_deref()
        .map_or(0, |after| sorted.partition_point(|row| key(row) <= after));
    let rest = sorted.get(start..).unwrap_or_default();
    let data: Vec<&T> = rest.iter().take(limit).copied().collect();
    let next = if rest.len() > limit {
        data.last().map(|row| key(row))
    } else {
        None
    };
    let link = next.map(|next| {
        let after = reply::percent_encoded(next);
        format!("<{}?limit={limit}&after={after}>; rel=\"next\"", request.path())
    });
    let mut answer = Reply::json(&Page { data, next })?;
    if let Some(link) = link {
        answer = answer.with_header(header::LINK, link);
    }
    Ok(answer)
}
