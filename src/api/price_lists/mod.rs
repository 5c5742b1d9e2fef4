//! Suppliers' price lists over REST: mappings, a file with its dry run, applied lists, and taking one back.

mod applied;
mod file;
mod mappings;
mod report;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of price lists.
pub fn routes(config: &mut ServiceConfig) {
    config
        .service(mappings::list_price_list_mappings)
        .service(mappings::create_price_list_mapping)
        .service(mappings::read_price_list_mapping)
        .service(mappings::edit_price_list_mapping)
        .service(file::take_price_list)
        .service(applied::list_price_lists)
        .service(applied::read_price_list)
        .service(applied::list_price_list_differences)
        .service(applied::take_price_list_back);
}
