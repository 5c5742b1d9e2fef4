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

impl PageQuery {
    /// The page of `limit` rows after `after`.
    pub fn new(limit: Option<usize>, after: Option<String>) -> Self {
        Self { limit, after }
    }

    /// Rows on the page.
    ///
    /// # Errors
    /// Out of bounds.
    pub fn limit(&self) -> Result<usize, Problem> {
        match self.limit.unwrap_or(USUAL) {
            limit @ 1..=MOST => Ok(limit),
            limit => {
                let detail = format!("limit is {limit}; 1 to {MOST} is allowed");
                Err(Problem::new(Kind::InvalidParameter, detail))
            }
        }
    }

    /// The key after which the page begins.
    pub fn after(&self) -> Option<&str> {
        self.after.as_deref()
    }

    /// The number after which the page begins; 0 for the first page.
    ///
    /// # Errors
    /// It is no number.
    pub fn after_number(&self) -> Result<u32, Problem> {
        let after = self.after.as_deref().map_or(Ok(0), str::parse);
        after.map_err(|_| {
            Problem::new(
                Kind::InvalidParameter,
                "after must be the `next` of the page before",
            )
        })
    }
}

/// Answers one page of `rows`, which are in the order of their keys and one more than `limit` where another page
/// follows. `more` goes into the link, before the page's own parameters.
///
/// # Errors
/// A row cannot be written.
pub fn keyset<T: Serialize>(
    request: &HttpRequest,
    limit: usize,
    rows: &[T],
    more: &str,
    key: impl Fn(&T) -> String,
) -> Result<Reply, Problem> {
    let data: Vec<&T> = rows.iter().take(limit).collect();
    let next = data.last().filter(|_| rows.len() > limit).map(|row| key(row));
    let link = next.as_deref().map(|next| {
        let after = reply::percent_encoded(next);
        format!(
            "<{}?{more}limit={limit}&after={after}>; rel=\"next\"",
            request.path()
        )
    });
    let answer = Reply::json(&Page {
        data,
        next: next.as_deref(),
    })?;
    Ok(match link {
        Some(link) => answer.with_header(header::LINK, link),
        None => answer,
    })
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
    let limit = query.limit()?;
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
