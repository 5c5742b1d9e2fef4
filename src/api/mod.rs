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
mod documentation;
mod estimates;
mod every_request;
mod faults;
mod head;
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
mod request_headers;
mod revisions;
mod rulebook_drafts;
mod rulebook_parts;
mod rulebook_versions;
mod rulebooks;
mod server;
mod shape_words;
mod shapes;
mod surveys;
mod tls;
mod trace;
mod unrouted;
mod usual_answers;
mod who;

use utoipa_actix_web::service_config::ServiceConfig;

use crate::desk::{Desk, DeskFault};

pub use accounting::position_in_feed;
pub use contract::{Contract, ContractFault};
pub use limits::{LIMITS, Limit, limits_page};
pub use problem::{Kind, Problem};
pub use problem_page::problem_pages;
pub use server::{Door, server};
pub use tls::{Tls, TlsFault};
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

/// Runs `work` where it may wait for the database.
async fn at_desk<T: Send + 'static>(
    desk: &CallersDesk,
    work: impl FnOnce(&Desk) -> Result<T, DeskFault> + Send + 'static,
) -> Result<T, Problem> {
    let desk = desk.clone();
    let answer = blocking::blocking(move || work(&desk)).await?;
    answer.map_err(Problem::from)
}
