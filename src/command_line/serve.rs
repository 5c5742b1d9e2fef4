//! The server.

use std::io::IsTerminal;
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, channel};
use std::thread::JoinHandle;
use std::time::Duration;

use actix_web::dev::ServerHandle;
use actix_web::rt;
use actix_web::rt::signal::unix::{Signal, SignalKind, signal};
use tallyrule::api::{self, Door, Tls};
use tallyrule::config::{LogFormat, ServeArgs, TlsArgs};
use tallyrule::desk::access::DEMO_KEYS;
use tallyrule::desk::{Desk, DeskFault, Entrances};
use tallyrule::store::{Hand, Loaded};
use tracing::Level;
use tracing_subscriber::filter::filter_fn;
use tracing_subscriber::layer::SubscriberExt;
use tracing_subscriber::util::SubscriberInitExt;

use super::tokens::TokenArgs;
use super::{Told, data, papers};

/// Stores, now and then, that offers have expired, until it is told to stop. Reading does not wait for it.
fn expire_now_and_then(desk: &Desk, every: Duration, stop: Receiver<()>) -> JoinHandle<()> {
    let desk = desk.by(Hand::program("expire"));
    std::thread::spawn(move || {
        loop {
            match desk.expire() {
                Ok(0) => {}
                Ok(count) => tracing::info!(count, "offers expired"),
                Err(fault) => tracing::warn!("expiry waits for the next pass: {fault}"),
            }
            if stop.recv_timeout(every) != Err(RecvTimeoutError::Timeout) {
                return;
            }
        }
    })
}

/// Says how somebody comes in at first: by the keys of the demonstration, or by an owner's key that is made where there
/// is none. It goes past the log, which may be kept.
fn hand_out_keys(desk: &Desk, demo: bool) -> Result<(), Told> {
    if demo {
        eprintln!("Keys of the demonstration, known to everybody; they end with this program:");
        for (key, role, person) in DEMO_KEYS {
            eprintln!("  {key:22}{:12}{person}", role.word());
        }
    } else if let Some(key) = desk.first_access_key().map_err(|fault| data::told(&fault))? {
        eprintln!("There was no access key yet. This is the owner's; it is printed this once:");
        eprintln!("  {}", key.text());
    }
    Ok(())
}

/// Where the HTTP library tells of connections.
const CONNECTIONS: &str = "actix_http::h1::dispatcher";

/// Begins the log, on standard error.
fn begin_log(args: &ServeArgs) {
    let log = tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_max_level(args.log_level)
        .with_target(false);
    let level = args.log_level;
    // What is no request has a line of its own, with the id of its answer.
    let heard = filter_fn(move |line| line.target() != CONNECTIONS || level >= Level::DEBUG);
    match args.log_format {
        LogFormat::Text => log
            .with_ansi(std::io::stderr().is_terminal())
            .finish()
            .with(heard)
            .init(),
        LogFormat::Json => log
            .json()
            .flatten_event(true)
            .with_current_span(true)
            .with_span_list(false)
            .finish()
            .with(heard)
            .init(),
    }
}

fn door(args: &ServeArgs) -> Result<Door, Told> {
    let TlsArgs {
        tls_certificate,
        tls_key,
    } = &args.tls;
    let tls = match (tls_certificate, tls_key) {
        (Some(certificate), Some(key)) => Some(Tls::read(certificate, key)?),
        (None, None) => None,
        _ => {
            let word = "tls_certificate and tls_key go together: name both or none";
            return Err(Told(word.to_owned()));
        }
    };
    let listen = args.listen;
    Ok(Door { listen, tls })
}

/// Stops the server when the system says so, in order, so that what was begun is answered. Said again it ends at once, as by
/// a power cut: the database takes back what was not committed.
fn stop_when_told(server: ServerHandle) -> std::io::Result<()> {
    let mut terminate = signal(SignalKind::terminate())?;
    let mut interrupt = signal(SignalKind::interrupt())?;
    rt::spawn(async move {
        either(&mut terminate, &mut interrupt).await;
        tracing::info!("stopping: nobody new is let in, and what was begun is answered");
        rt::spawn(async move {
            either(&mut terminate, &mut interrupt).await;
            tracing::warn!("ending at once");
            std::process::exit(1);
        });
        server.stop(true).await;
    });
    Ok(())
}

/// Reads certificate and key anew when the system says so; where that fails it goes on with those it has.
fn renew_when_told(tls: Tls) -> std::io::Result<()> {
    let mut hangup = signal(SignalKind::hangup())?;
    rt::spawn(async move {
        while hangup.recv().await.is_some() {
            match tls.renew() {
                Ok(()) => tracing::info!("read the certificate and its key anew"),
                Err(fault) => tracing::error!("goes on with the certificate that it has: {fault}"),
            }
        }
    });
    Ok(())
}

async fn either(one: &mut Signal, other: &mut Signal) {
    let (one, other) = (std::pin::pin!(one.recv()), std::pin::pin!(other.recv()));
    futures_util::future::select(one, other).await;
}

/// The desk over the database, with the demonstration in it where that is asked for.
fn open(args: &ServeArgs, tokens: &TokenArgs) -> Result<Desk, Told> {
    let location = args.data.location()?;
    let entrances = Entrances {
        demo_keys: args.demo,
        tokens: tokens.issuer()?,
    };
    // What is wrong with the folder is told before a data file is made.
    let demonstration = match args.demo {
        true => Some(data::sound_folder(&args.seed)?),
        false => None,
    };
    let store = data::open(&location, args.connections, true)?;
    let desk = Desk::open(store.by(Hand::program("serve")), entrances).printing_with(papers::PRESS);
    if let Some(seed) = demonstration {
        match desk.load_seed(seed) {
            Ok(Loaded::Now) => tracing::info!("loaded the demonstration from {}", args.seed.display()),
            Ok(Loaded::Before) => {}
            Err(DeskFault::NotEmpty) => {
                return Err(Told(format!(
                    "{location} holds other data than the demonstration, and --demo would open it to everybody on this machine"
                )));
            }
            Err(fault) => return Err(data::told(&fault)),
        }
    }
    tracing::info!("data in {location}");
    Ok(desk)
}

/// Serves until it is told to stop.
pub fn serve(args: &ServeArgs, tokens: &TokenArgs) -> Result<String, Told> {
    begin_log(args);
    if args.demo && !args.listen.ip().is_loopback() {
        return Err(Told(format!(
            "the keys of --demo are known to everybody: it listens on 127.0.0.1 or [::1], not on {}",
            args.listen.ip()
        )));
    }
    let door = door(args)?;
    let desk = open(args, tokens)?;
    hand_out_keys(&desk, args.demo)?;
    if let Err(fault) = desk.ready() {
        tracing::warn!("not ready to price a job: {fault}");
    }
    let desk = Arc::new(desk);
    let (stop, told) = channel();
    let every = Duration::from_secs(args.expiry_interval.max(1));
    let expiry = expire_now_and_then(&desk, every, told);
    let scheme = if door.tls.is_some() { "https" } else { "http" };
    rt::System::new().block_on(async {
        if let Some(tls) = door.tls.clone() {
            renew_when_told(tls)?;
        }
        let (server, address) = api::server(desk, door, &args.limits())
            .map_err(|fault| Told(format!("cannot listen on {}: {fault}", args.listen)))?;
        stop_when_told(server.handle())?;
        tracing::info!("listening on {scheme}://{address}, documentation at {scheme}://{address}/docs/");
        Ok::<_, Told>(server.await?)
    })?;
    drop(stop);
    if expiry.join().is_err() {
        tracing::error!("the pass over expired offers ended in a panic");
    }
    tracing::info!("stopped");
    Ok(String::new())
}
