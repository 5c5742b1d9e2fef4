//! What no route takes: the address is not there, or it does not take the method.

use actix_web::http::header;
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, ResponseError};

use super::contract::Contract;
use super::documentation::is_documentation;
use super::problem::{Kind, Problem};

/// Answers 404, or 405 with the methods that the address takes, as the contract names them.
pub async fn unrouted(request: HttpRequest) -> HttpResponse {
    answer(&request)
}

/// The same.
pub fn answer(request: &HttpRequest) -> HttpResponse {
    let path = request.path();
    let methods = match is_documentation(path) {
        true => vec!["GET".to_owned(), "HEAD".to_owned()],
        false => request
            .app_data::<Data<Contract>>()
            .map(|contract| contract.methods(path))
            .unwrap_or_default(),
    };
    if methods.is_empty() {
        // CONNECT names a host and a port instead of a path.
        let whole = request.uri().to_string();
        let named = if path.is_empty() { &whole } else { path };
        let shown: String = named.chars().take(120).collect();
        let detail = format!("{shown} is not an address of this service");
        return Problem::new(Kind::NotFound, detail).error_response();
    }
    let allowed = methods.join(", ");
    let detail = format!("{} is not taken here; {allowed} is", request.method());
    Problem::new(Kind::MethodNotAllowed, detail)
        .with_header(header::ALLOW, allowed)
        .error_response()
}
