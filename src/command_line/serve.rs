//! The server.

use std::io::IsTerminal;
use std::sync::Arc;
use std::time::Duration;

use tallyrule::api;
use tallyrule::config::ServeArgs;
use tallyrule::desk::access::DEMO_KEYS;
use tallyrule::desk::{Desk, DeskFault, Entrances};
use tallyrule::store::{Hand, Loaded};

use super::tokens::TokenArgs;
use super::{Told, data, papers};

/// Stores, now and then, that offers have expired, for as long as the server runs. Reading does not wait for it.
fn expire_now_and_then(desk: &Desk, every: Duration) {
    let desk = desk.by(Hand::program("expire"));
    std::thread::spawn(move || {
        loop {
            match desk.expire() {
                Ok(0) => {}
                Ok(count) => tracing::info!(count, "offers expired"),
                Err(fault) => tracing::warn!("expiry waits for the next pass: {fault}"),
            }
            std::thread::sleep(every);
        }
    });
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

/// Serves until it is told to stop.
pub fn serve(args: &ServeArgs, tokens: &TokenArgs) -> Result<String, Told> {
    let colours = std::io::stderr().is_terminal();
    tracing_subscriber::fmt()
        .with_writer(std::io::stderr)
        .with_ansi(colours)
        .with_target(false)
        .init();
    if args.demo && !args.listen.ip().is_loopback() {
        return Err(Told(format!(
            "the keys of --demo are known to everybody: it listens on 127.0.0.1 or [::1], not on {}",
            args.listen.ip()
        )));
    }
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
    let desk = Desk::open(store.by(Hand::program("serve")), entrances).printing_with(papers::PRINT);
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
    hand_out_keys(&desk, args.demo)?;
    if let Err(fault) = desk.ready() {
        tracing::warn!("not ready to price a job: {fault}");
    }
    let desk = Arc::new(desk);
    expire_now_and_then(&desk, Duration::from_secs(args.expiry_interval.max(1)));
    actix_web::rt::System::new().block_on(async {
        let (server, address) = api::server(desk, args.listen, &args.limits())
            .map_err(|fault| Told(format!("cannot listen on {}: {fault}", args.listen)))?;
        tracing::info!("data in {location}");
        tracing::info!("listening on http://{address}, documentation at http://{address}/docs/");
        server.await?;
        Ok(String::new())
    })
}
