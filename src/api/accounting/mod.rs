//! Hand-off to accounting over REST: the feed, what was accepted in open formats, journal, invoices, receipts.

mod accept;
mod cursor;
mod documents;
mod feed;
mod receipts;
mod reconciliation;
mod settings;
mod settings_input;

pub use cursor::read as position_in_feed;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of accounting.
pub fn routes(config: &mut ServiceConfig) {
    config
        .service(feed::list_accounting_quotes)
        .service(feed::list_without_receipt)
        .service(documents::read_accounting_quote)
        .service(documents::read_journal)
        .service(documents::list_invoices)
        .service(documents::read_invoice)
        .service(receipts::read_receipt)
        .service(receipts::put_receipt)
        .service(reconciliation::read_reconciliation)
        .service(settings::read_accounting_settings)
        .service(settings::edit_accounting_settings);
}
