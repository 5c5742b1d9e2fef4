//! The door: HTTP in, HTTP out, and the contract that says what.
//!
//! In: requests. Out: answers of the desk as JSON, or a problem. Deliberately absent: SQL, arithmetic, and any
//! decision that the desk should make.

mod accept;
mod access_keys;
mod accounting;
mod acting;
mod audit_entries;
pub mod blocking;
mod body;
mod catalogue;
mod change_orders;
mod charts;
mod company;
mod contract;
mod cors;
mod estimates;
mod every_request;
mod faults;
mod health;
mod house_styles;
mod input;
mod kind;
mod labour_classes;
mod limits;
mod metrics;
mod packing;
mod page;
mod paper_input;
mod papers;
mod parameters;
mod parties;
mod policies;
mod price_lists;
mod problem;
mod problem_page;
mod quote_input;
mod quotes;
mod rate;
mod reply;
mod revisions;
mod rulebook_drafts;
mod rulebook_parts;
mod rulebook_versions;
mod rulebooks;
mod shape_words;
mod shapes;
mod surveys;
mod tls;
mod trace;
mod unrouted;
mod usual_answers;
mod who;

use std::io;
use std::net::SocketAddr;
use std::sync::Arc;

use actix_web::dev::Server;
use actix_web::error::{PathError, QueryPayloadError};
use actix_web::middleware::from_fn;
use actix_web::web::{self, Data, PathConfig, QueryConfig};
use actix_web::{App, HttpServer};
use utoipa_actix_web::AppExt;
use utoipa_actix_web::service_config::ServiceConfig;
use utoipa_swagger_ui::{Config, SwaggerUi};

use crate::config::Limits;
use crate::desk::{Desk, DeskFault};

pub use accounting::position_in_feed;
pub use contract::{Contract, ContractFault};
pub use limits::{LIMITS, Limit, limits_page};
pub use problem::{Kind, Problem};
pub use problem_page::problem_pages;
pub use tls::{TlsFault, tls};
pub use who::page as who_may_do_what;
pub use who::{ROWS, Row, Who};

use who::CallersDesk;

/// Every route of the service, in the order of the contract.
fn routes(config: &mut ServiceConfig) {
    config
        .service(estimates::create_estimate)
        .service(estimates::create_sweep)
        .service(estimates::create_sizing_report)
        .service(rulebooks::list_facts)
        .service(rulebooks::read_form)
        .service(rulebooks::list_rulebooks)
        .service(rulebooks::check_rulebook)
        .service(rulebooks::read_rulebook)
        .service(rulebooks::edit_rulebook)
        .configure(rules_in_versions)
        .service(catalogue::list_items)
        .service(catalogue::read_item)
        .service(catalogue::read_item_prices)
        .service(catalogue::add_price)
        .service(catalogue::list_equipment)
        .service(catalogue::read_equipment)
        .service(labour_classes::list_labour_classes)
        .service(labour_classes::add_labour_class)
        .service(labour_classes::read_labour_class)
        .service(labour_classes::add_labour_rate)
        .service(policies::list_policies)
        .service(policies::create_policy)
        .service(policies::read_policy)
        .service(policies::list_policy_versions)
        .service(policies::edit_policy)
        .configure(price_lists::routes)
        .configure(parties::routes)
        .configure(surveys::routes)
        .service(company::read_quote_numbers)
        .service(company::set_quote_numbers)
        .service(quotes::create_quote)
        .service(quotes::list_quotes)
        .service(quotes::read_quote)
        .service(quotes::archive_quote)
        .service(quotes::list_transitions)
        .service(revisions::create_revision)
        .service(revisions::read_revision)
        .service(revisions::edit_draft)
        .service(revisions::read_revision_estimate)
        .service(revisions::read_document)
        .service(revisions::compare_revisions)
        .service(revisions::refresh_draft)
        .service(revisions::approve_draft)
        .service(revisions::issue)
        .service(revisions::accept)
        .service(revisions::decline)
        .service(revisions::withdraw)
        .service(change_orders::create_change_order)
        .service(change_orders::create_revision_of_change_order)
        .service(change_orders::read_revision_of_change_order)
        .service(change_orders::edit_draft_of_change_order)
        .service(change_orders::read_revision_estimate_of_change_order)
        .service(change_orders::read_document_of_change_order)
        .service(change_orders::compare_revisions_of_change_order)
        .service(change_orders::approve_draft_of_change_order)
        .service(change_orders::issue_of_change_order)
        .service(change_orders::accept_of_change_order)
        .service(change_orders::decline_of_change_order)
        .service(change_orders::withdraw_of_change_order)
        .configure(access_keys::routes)
        .configure(papers::routes)
        .configure(charts::routes)
        .service(house_styles::list_house_styles)
        .service(house_styles::read_house_style)
        .service(house_styles::edit_house_style)
        .configure(accounting::routes)
        .service(health::healthz)
        .service(health::readyz)
        .service(metrics::read_metrics)
        .service(contract::read_contract)
        .service(problem_page::read_problem_kind);
}

/// Routes of versions and drafts of rulebooks.
fn rules_in_versions(config: &mut ServiceConfig) {
    config
        .service(rulebook_versions::list_rulebook_versions)
        .service(rulebook_versions::read_rulebook_version)
        .service(rulebook_versions::try_rulebook_version)
        .service(rulebook_versions::compare_rulebook_versions)
        .service(rulebook_versions::try_rulebook_version_on_job)
        .service(rulebook_versions::make_rulebook_current)
        .service(rulebook_versions::retire_rulebook)
        .service(rulebook_drafts::create_rulebook_draft)
        .service(rulebook_drafts::list_rulebook_drafts)
        .service(rulebook_drafts::read_rulebook_draft)
        .service(rulebook_drafts::replace_rulebook_draft)
        .service(rulebook_drafts::discard_rulebook_draft)
        .service(rulebook_drafts::format_rulebook_draft)
        .service(rulebook_drafts::check_rulebook_draft)
        .service(rulebook_drafts::try_rulebook_draft)
        .service(rulebook_drafts::take_example_figures)
        .service(rulebook_drafts::compare_rulebook_draft)
        .service(rulebook_drafts::try_rulebook_draft_on_job)
        .service(rulebook_drafts::publish_rulebook_draft)
        .service(rulebook_parts::list_rulebook_parts)
        .service(rulebook_parts::read_rulebook_part)
        .service(rulebook_parts::put_rulebook_part)
        .service(rulebook_parts::remove_rulebook_part);
}

/// Where the service listens, and by what it is known there.
pub struct Door {
    /// The address.
    pub listen: SocketAddr,
    /// Certificate and key, where it serves over TLS.
    pub tls: Option<rustls::ServerConfig>,
}

/// Binds the address and gives the server, which runs when it is awaited, and the address that it got. Whoever holds its
/// handle stops it; in order, it answers what it has begun.
///
/// # Errors
/// The address cannot be bound, or the contract cannot be put together.
pub fn server(desk: Arc<Desk>, door: Door, limits: &Limits) -> io::Result<(Server, SocketAddr)> {
    let contract = Data::new(Contract::collect().map_err(io::Error::other)?);
    let desk: Data<Desk> = Data::from(desk);
    let shared_limits = Data::new(limits.clone());
    let metrics = Data::new(metrics::Metrics::default());
    let rate = Data::new(rate::Rate::new(limits.requests_a_minute));
    let server = HttpServer::new(move || {
        App::new()
            .into_utoipa_app()
            .configure(routes)
            .into_app()
            .app_data(desk.clone())
            .app_data(contract.clone())
            .app_data(shared_limits.clone())
            .app_data(rate.clone())
            .app_data(metrics.clone())
            .app_data(QueryConfig::default().error_handler(|fault, _| of_query(&fault)))
            .app_data(PathConfig::default().error_handler(|fault, _| of_path(&fault)))
            .service(web::redirect("/docs", "/docs/"))
            .service(
                SwaggerUi::new("/docs/{_:.*}").config(Config::from("/openapi.json").validator_url("none")),
            )
            .default_service(web::to(unrouted::unrouted))
            .wrap(from_fn(who::admit))
            .wrap(from_fn(cors::cors))
            .wrap(from_fn(every_request::every_request))
    })
    .workers(limits.workers.max(1))
    .shutdown_timeout(limits.request_time.as_secs().max(1))
    .disable_signals();
    let server = match door.tls {
        Some(tls) => server.bind_rustls_0_23(door.listen, tls)?,
        None => server.bind(door.listen)?,
    };
    let address = server.addrs().first().copied().unwrap_or(door.listen);
    Ok((server.run(), address))
}

/// What the contract does not tell of a parameter: words that only its reader knows.
fn invalid_parameter(fault: &dyn std::fmt::Display) -> actix_web::Error {
    Problem::new(Kind::InvalidParameter, fault.to_string()).into()
}

fn of_query(fault: &QueryPayloadError) -> actix_web::Error {
    match fault {
        QueryPayloadError::Deserialize(cause) => invalid_parameter(cause),
        other => invalid_parameter(other),
    }
}

fn of_path(fault: &PathError) -> actix_web::Error {
    match fault {
        PathError::Deserialize(cause) => invalid_parameter(cause),
        other => invalid_parameter(other),
    }
}

/// Runs `work` where it may wait for the database.
async fn at_desk<T: Send + 'static>(
    desk: &CallersDesk,
    work: impl FnOnce(&Desk) -> Result<T, DeskFault> + Send + 'static,
) -> Result<T, Problem> {
    let desk = desk.clone();
    let answer = blocking::blocking(move || work(&desk)).await?;
    answer.map_err(Problem::from)
}
