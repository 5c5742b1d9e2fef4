//! The server: where it listens, what it holds connections to, and the application behind it.

mod came;
mod line;
mod talk;
mod unread;

use std::io;
use std::net::{self, SocketAddr};
use std::sync::Arc;
use std::time::Duration;

use actix_http::error::DispatchError;
use actix_http::{HttpService, KeepAlive, Protocol};
use actix_server::{GracefulShutdownSignal, ServerBuilder};
use actix_service::{IntoServiceFactory, ServiceFactoryExt, fn_service, map_config};
use actix_tls::accept::TlsError;
use actix_tls::accept::rustls_0_23::{Acceptor, TlsStream};
use actix_web::body::MessageBody;
use actix_web::dev::{AppConfig, Server, ServiceFactory, ServiceRequest, ServiceResponse};
use actix_web::error::{PathError, QueryPayloadError};
use actix_web::middleware::from_fn;
use actix_web::web::{self, Data, PathConfig, QueryConfig};
use actix_web::{App, Error};
use tokio::net::{TcpSocket, TcpStream};
use utoipa_actix_web::AppExt;

use super::contract::Contract;
use super::documentation::{self, Documentation};
use super::metrics::Metrics;
use super::problem::{Kind, Problem};
use super::rate::Rate;
use super::tls::Tls;
use super::{cors, every_request, head, routes, unrouted, who};
use crate::config::Limits;
use crate::desk::Desk;
use line::{Line, Stream, Terms};

pub(super) use came::Came;
pub(super) use talk::{FRAMING_MOST, Talk, Told};
pub(super) use unread::HEADERS_MOST;

/// Connections that wait to be let in.
const BACKLOG: u32 = 1024;
/// How long is still read of who was answered before the body had come.
const LEAVE: Duration = Duration::from_secs(2);

/// Where the service listens, and by what it is known there.
pub struct Door {
    /// The address.
    pub listen: SocketAddr,
    /// Certificate and key, where it serves over TLS.
    pub tls: Option<Tls>,
}

/// What every thread of the server has in common.
#[derive(Clone)]
struct Shared {
    desk: Data<Desk>,
    contract: Data<Contract>,
    limits: Data<Limits>,
    metrics: Data<Metrics>,
    rate: Data<Rate>,
    documentation: Data<Documentation>,
    stopping: GracefulShutdownSignal,
}

/// Binds the address and gives the server, which runs when it is awaited, and the address that it got. Whoever holds its
/// handle stops it; in order, it answers what it has begun.
///
/// # Errors
/// The address cannot be bound, or the contract cannot be put together.
pub fn server(desk: Arc<Desk>, door: Door, limits: &Limits) -> io::Result<(Server, SocketAddr)> {
    let listener = listener(door.listen)?;
    let address = listener.local_addr()?;
    let builder = ServerBuilder::default()
        .workers(limits.workers.max(1))
        .shutdown_timeout(limits.request_time.as_secs().max(1))
        .disable_signals();
    let shared = Shared {
        desk: Data::from(desk),
        contract: Data::new(Contract::collect().map_err(io::Error::other)?),
        limits: Data::new(limits.clone()),
        metrics: Data::new(Metrics::default()),
        rate: Data::new(Rate::new(limits.requests_a_minute)),
        documentation: Data::new(Documentation::new()),
        stopping: builder.graceful_shutdown_signal(),
    };
    let builder = match door.tls {
        Some(tls) => builder.listen("tls", listener, move || over_tls(&shared, tls.config()))?,
        None => builder.listen("plain", listener, move || plainly(&shared))?,
    };
    Ok((builder.run(), address))
}

fn listener(address: SocketAddr) -> io::Result<net::TcpListener> {
    let socket = match address {
        SocketAddr::V4(_) => TcpSocket::new_v4()?,
        SocketAddr::V6(_) => TcpSocket::new_v6()?,
    };
    socket.set_reuseaddr(true)?;
    socket.bind(address)?;
    socket.listen(BACKLOG)?.into_std()
}

/// Connections as they come.
fn plainly(
    shared: &Shared,
) -> impl ServiceFactory<TcpStream, Config = (), Response = (), Error = DispatchError, InitError = ()> + use<>
{
    let terms = shared.terms();
    fn_service(move |io: TcpStream| {
        let terms = terms.clone();
        async move {
            let peer = io.peer_addr().ok();
            let _ = io.set_nodelay(true);
            Ok((Line::new(io, terms), Protocol::Http1, peer))
        }
    })
    .and_then(http(shared))
}

/// Connections over TLS.
fn over_tls(
    shared: &Shared,
    mut tls: rustls::ServerConfig,
) -> impl ServiceFactory<
    TcpStream,
    Config = (),
    Response = (),
    Error = TlsError<io::Error, DispatchError>,
    InitError = (),
> + use<> {
    let terms = shared.terms();
    tls.alpn_protocols = vec![b"http/1.1".to_vec()];
    Acceptor::new(tls)
        .map_err(TlsError::into_service_error)
        .and_then(fn_service(move |io: TlsStream<TcpStream>| {
            let terms = terms.clone();
            async move {
                let (below, _) = io.get_ref();
                let peer = below.peer_addr().ok();
                let _ = below.set_nodelay(true);
                Ok((Line::new(io, terms), Protocol::Http1, peer))
            }
        }))
        .and_then(http(shared).map_err(TlsError::Service))
}

/// HTTP over such connections. Their times are the line's: its own clocks stand still.
fn http<T: Stream>(
    shared: &Shared,
) -> impl ServiceFactory<
    (Line<T>, Protocol, Option<SocketAddr>),
    Config = (),
    Response = (),
    Error = DispatchError,
    InitError = (),
> + use<T> {
    let stopping = shared.stopping.clone();
    let app = app(shared).into_factory();
    HttpService::build()
        .graceful_shutdown_signal(move || {
            let stopping = stopping.clone();
            async move { stopping.notified().await }
        })
        .keep_alive(KeepAlive::Os)
        .client_request_timeout(Duration::ZERO)
        .client_disconnect_timeout(LEAVE)
        .on_connect_ext(|line: &Line<T>, extensions| {
            extensions.insert(line.talk());
        })
        .finish(map_config(
            app.map_err(|fault: Error| fault.error_response()),
            |_| AppConfig::default(),
        ))
}

impl Shared {
    fn terms(&self) -> Terms {
        Terms {
            head: self.limits.head_time,
            idle: self.limits.idle_time,
            metrics: self.metrics.clone(),
        }
    }
}

/// The application.
fn app(
    shared: &Shared,
) -> App<
    impl ServiceFactory<
        ServiceRequest,
        Config = (),
        Response = ServiceResponse<impl MessageBody + use<>>,
        Error = Error,
        InitError = (),
    > + use<>,
> {
    App::new()
        .into_utoipa_app()
        .configure(routes)
        .into_app()
        .app_data(shared.desk.clone())
        .app_data(shared.contract.clone())
        .app_data(shared.limits.clone())
        .app_data(shared.rate.clone())
        .app_data(shared.documentation.clone())
        .app_data(shared.metrics.clone())
        .app_data(QueryConfig::default().error_handler(|fault, _| of_query(&fault)))
        .app_data(PathConfig::default().error_handler(|fault, _| of_path(&fault)))
        .service(web::redirect("/docs", "/docs/"))
        .route("/docs/{file:.*}", web::get().to(documentation::read))
        .default_service(web::to(unrouted::unrouted))
        .wrap(from_fn(who::admit))
        .wrap(from_fn(cors::cors))
        .wrap(from_fn(head::within_limits))
        .wrap(from_fn(every_request::every_request))
}

/// What the contract does not tell of a parameter: words that only its reader knows.
fn invalid_parameter(fault: &dyn std::fmt::Display) -> Error {
    Problem::new(Kind::InvalidParameter, fault.to_string()).into()
}

fn of_query(fault: &QueryPayloadError) -> Error {
    match fault {
        QueryPayloadError::Deserialize(cause) => invalid_parameter(cause),
        other => invalid_parameter(other),
    }
}

fn of_path(fault: &PathError) -> Error {
    match fault {
        PathError::Deserialize(cause) => invalid_parameter(cause),
        other => invalid_parameter(other),
    }
}
