//! A supplier's file: held against the prices that are there, and applied when that is asked for.

use actix_web::web::{Data, Payload, Query};
use actix_web::{HttpRequest, post};
use estimate::catalogue::price_list::{Choices, Comparison, TroubleKind};
use futures_util::StreamExt;
use serde::Deserialize;
use serde_json::json;
use utoipa::IntoParams;

use super::applied::applied;
use super::report::{ListReport, Told};
use crate::api::acting::Repeatable;
use crate::api::blocking::blocking;
use crate::api::body::{broken_off, coded, media_type, unsupported};
use crate::api::problem::{Body, Kind, Problem};
use crate::api::reply::{self, Reply};
use crate::api::who::CallersDesk;
use crate::api::{accept, at_desk, input};
use crate::config::Limits;
use crate::desk::DeskFault;
use crate::desk::price_list::{CsvFile, Intake, ReadList, fingerprint};

const CSV: &str = "text/csv";
const XLSX: &str = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet";
/// Rows of each kind that are told one by one when nothing is said.
const USUAL_SHOW: usize = 200;
/// Most rows of each kind that are told one by one.
const MOST_SHOW: usize = 5_000;

/// How a list is taken.
#[derive(Debug, Deserialize, IntoParams)]
#[serde(deny_unknown_fields)]
#[into_params(parameter_in = Query)]
pub struct ListQuery {
    /// The mapping that it is read by.
    mapping: String,
    /// The first day of its prices, where its rows say none; today when it is left out.
    #[param(format = "date")]
    valid_from: Option<String>,
    /// Whether it is only held against the prices that are there, and nothing is written. It is, unless `false` is said.
    dry_run: Option<bool>,
    /// Where its prices come from, as each of them will say; the supplier and the day when it is left out.
    #[param(max_length = 200)]
    source: Option<String>,
    /// Words with commas between them. `factor`: take prices that are five times the one before or more, or a fifth or
    /// less; `zero`: take prices of nothing.
    accept: Option<String>,
    /// Kinds of trouble whose rows are left out, separated by commas: `unit,currency,duplicate,number,date,code,pack,day_taken,factor,zero`.
    leave_out: Option<String>,
    /// The `comparison` of a dry run: the list is applied only when it still comes to that.
    agreed: Option<String>,
    /// Most rows of each kind that are told one by one: 0 to 5000, 200 when nothing is said. All are counted.
    #[param(maximum = 5000, default = 200)]
    show: Option<usize>,
}

/// Take a supplier's price list
///
/// CSV or a workbook (XLSX), read by a saved mapping. A dry run, which is usual, tells what is new, changed, unchanged,
/// vanished or in trouble and writes nothing. With `dry_run=false` the list is applied, all of it or nothing: each row
/// becomes a dated price, and no price that is there is overwritten. Numbers of a workbook are binary: each is taken by
/// the shortest decimal text that reads back to it, rounded to six decimals; `rounded_from` tells where that changed it.
#[utoipa::path(tag = "price lists", params(ListQuery,
        ("Idempotency-Key" = Option<String>, Header, description = "The request's own name: sent again with the same body it has one effect and one answer, for 48 hours")),
    request_body(content(
        (String = "text/csv", example = json!("Code,Pack,Unit,Price\nTUBE,50,ft,104.20\n")),
        (Vec<u8> = "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet"))),
    responses(
        (status = 200, description = "What a dry run tells", body = ref("#/components/schemas/PriceListReport")),
        (status = 201, description = "The list was applied", body = ref("#/components/schemas/PriceListReport")),
        (status = 409, description = "Every price is there already", body = Body, content_type = "application/problem+json"),
        (status = 412, description = "It comes to something else by now", body = Body,
            content_type = "application/problem+json"),
        (status = 422, description = "The file cannot be read, or rows are in trouble", body = Body,
            content_type = "application/problem+json"),
        (status = "default", description = "A problem", body = Body, content_type = "application/problem+json")))]
#[post("/v1/price-lists")]
pub async fn take_price_list(
    request: HttpRequest,
    desk: CallersDesk,
    limits: Data<Limits>,
    query: Query<ListQuery>,
    repeatable: Repeatable,
    payload: Payload,
) -> Result<Reply, Problem> {
    let query = query.into_inner();
    let choices = query.choices()?;
    let show = query.show.unwrap_or(USUAL_SHOW);
    if show > MOST_SHOW {
        return Err(invalid(format!("show is {show}; 0 to {MOST_SHOW} is allowed")));
    }
    let day = query.valid_from.as_deref().map(|text| {
        input::iso_date(text).ok_or_else(|| {
            invalid(format!(
                "valid_from is {text}; a date such as 2026-03-01 is asked for"
            ))
        })
    });
    let day = day.transpose()?;
    let source = query.source.as_deref().map(|text| {
        input::note(text).ok_or_else(|| invalid("source must be a text of 1 to 200 characters".to_owned()))
    });
    let source = source.transpose()?.map(str::to_owned);
    let mapping = query.mapping.clone();
    let intake = at_desk(&desk, move |desk| desk.begin_price_list(&mapping, day)).await?;
    let list = read_file(&request, payload, intake, limits.price_list).await?;
    let source =
        source.unwrap_or_else(|| format!("{}, price list of {}", list.rows.mapping.supplier, list.rows.day));
    let apply = query.dry_run == Some(false);
    let agreed = query.agreed.map(|one| vec![one]);
    // The file itself is not kept: its digest stands for it.
    let key = repeatable.with(&json!(list.digest));
    let told = at_desk(&desk, move |desk| {
        let tell = |comparison: &Comparison, number| {
            let told = Told {
                number,
                list: &list,
                source: &source,
                fingerprint: fingerprint(&list, comparison),
                show,
            };
            reply::told(&ListReport::new(comparison, told))
        };
        if !apply {
            return tell(&desk.compare_price_list(&list, &choices)?, None);
        }
        let (list, key) = ((&list, &choices), key.as_ref());
        desk.apply_price_list(key, list, &source, agreed.as_deref(), |comparison, number| {
            tell(comparison, Some(number))
        })
    });
    let told = told.await?;
    if apply {
        applied(told)
    } else {
        Ok(Reply::told(told)?.without_tag())
    }
}

fn invalid(detail: String) -> Problem {
    Problem::new(Kind::InvalidParameter, detail)
}

impl ListQuery {
    fn choices(&self) -> Result<Choices, Problem> {
        let meant = accept::meant(self.accept.as_deref(), &["factor", "zero"])?;
        let mut choices = Choices {
            accept_factor: meant.factor,
            accept_zero: meant.zero,
            ..Choices::default()
        };
        for word in self
            .leave_out
            .as_deref()
            .unwrap_or_default()
            .split(',')
            .filter(|word| !word.is_empty())
        {
            let kind = TroubleKind::parse(word).ok_or_else(|| {
                let words: Vec<&str> = TroubleKind::ALL.iter().map(|(_, word)| *word).collect();
                invalid(format!(
                    "leave_out names {word}; {} are allowed",
                    words.join(", ")
                ))
            })?;
            choices.leave_out.insert(kind);
        }
        Ok(choices)
    }
}

/// A file that is arriving.
enum Arriving {
    Csv(Box<CsvFile>),
    Workbook(Intake, Vec<u8>),
}

/// Reads the file: CSV as it arrives, a workbook once it is whole.
async fn read_file(
    request: &HttpRequest,
    mut payload: Payload,
    intake: Intake,
    limit: usize,
) -> Result<ReadList, Problem> {
    coded(request)?;
    let kind = media_type(request);
    let mut file = match kind.as_str() {
        CSV => Arriving::Csv(Box::new(intake.csv())),
        XLSX => Arriving::Workbook(intake, Vec::new()),
        _ => return Err(unsupported(&kind, &format!("{CSV} or {XLSX}"))),
    };
    let mut size = 0_usize;
    while let Some(piece) = payload.next().await {
        let piece = piece.map_err(|fault| broken_off(Some(&fault)))?;
        size = size.saturating_add(piece.len());
        if size > limit {
            let detail = format!("at most {limit} bytes of a price list are read");
            return Err(Problem::new(Kind::ContentTooLarge, detail));
        }
        match &mut file {
            Arriving::Csv(file) => file.push(&piece).map_err(DeskFault::File)?,
            Arriving::Workbook(_, whole) => whole.extend_from_slice(&piece),
        }
    }
    let read = blocking(move || match file {
        Arriving::Csv(file) => file.finish(),
        Arriving::Workbook(intake, whole) => intake.workbook(&whole),
    });
    Ok(read.await?.map_err(DeskFault::File)?)
}
