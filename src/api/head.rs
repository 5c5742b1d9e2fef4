//! How long the head of a request may be: its address, and its headers together.

use actix_web::Error;
use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::middleware::Next;

use super::problem::{Kind, Problem};

/// Longest address with its query, in bytes.
pub(super) const ADDRESS: usize = 16_384;
/// Most bytes of all headers, each with its name and four for what stands between and behind.
pub(super) const HEADERS: usize = 65_536;

/// Lets nothing longer in.
pub async fn within_limits(
    request: ServiceRequest,
    next: Next<impl MessageBody>,
) -> Result<ServiceResponse<impl MessageBody>, Error> {
    let address = request.uri().path_and_query().map_or(0, |all| all.as_str().len());
    if address > ADDRESS {
        let detail = format!("the address has {address} bytes; at most {ADDRESS} are read");
        return Err(Problem::new(Kind::AddressTooLong, detail).into());
    }
    let headers = request.headers().iter();
    let headers: usize = headers
        .map(|(name, value)| name.as_str().len().saturating_add(value.len()).saturating_add(4))
        .fold(0, usize::saturating_add);
    if headers > HEADERS {
        let detail = format!("the headers have {headers} bytes; at most {HEADERS} are read");
        return Err(Problem::new(Kind::HeadersTooLarge, detail).into());
    }
    next.call(request).await
}
